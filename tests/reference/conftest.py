"""What the reference tests share: outside values read from data/, and `checked`, which compares and records.

At the end of a run without failures and with STOPLEDGER_WRITE_VALUES=1 the record becomes VALUES.md. Write it
from a run of all of tests/reference in one process (`-n 0`, the default): a worker of pytest-xdist sees only
its own tests, so in a parallel run nothing is written.
"""

from __future__ import annotations

import csv
import importlib
import math
import os
import warnings
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import pytest

HERE = Path(__file__).parent
VALUES_PAGE = HERE / "VALUES.md"
WRITE_SWITCH = "STOPLEDGER_WRITE_VALUES"

# Below this a deviation is the rounding of the machine, and differs from one machine to the next.
MACHINE_ROUNDING = 1e-9

Checked = Callable[[str, str, str, float, float, float, str], None]
Table = Callable[[str], list[dict[str, str]]]


@dataclass(frozen=True, slots=True)
class Comparison:
    """One value of ours set against one from outside."""

    topic: str
    what: str
    source: str
    deviation: float
    tolerance: float
    unit: str


COMPARISONS: pytest.StashKey[list[Comparison]] = pytest.StashKey()


@pytest.fixture(scope="session")
def table() -> Table:
    """`table(name)` is the rows of data/`name`; lines that begin with # are for people."""

    def rows(name: str) -> list[dict[str, str]]:
        with (HERE / "data" / name).open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(line for line in file if not line.startswith("#")))

    return rows


@pytest.fixture(scope="session")
def colour_science() -> ModuleType:
    """The package `colour`; on import it warns of drawing packages that no test here needs."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return importlib.import_module("colour")


def values_page(comparisons: Iterable[Comparison]) -> str:
    """The record as a Markdown table: a row for each thing checked against each source."""
    groups: dict[tuple[str, str, str, float, str], list[float]] = {}
    for one in comparisons:
        key = (one.topic, one.what, one.source, one.tolerance, one.unit)
        groups.setdefault(key, []).append(one.deviation)
    lines = [
        "# What was checked against what",
        "",
        f"Written by the tests (`{WRITE_SWITCH}=1 pytest tests/reference -n 0`); not edited by hand. "
        "The deviation is the largest in the row, in the row's unit; "
        "“relative” is a fraction of the outside value.",
        "",
        "| topic | what | against | values | largest deviation | tolerance | unit |",
        "|---|---|---|---|---|---|---|",
    ]
    for (topic, what, source, tolerance, unit), deviations in sorted(groups.items()):
        largest = max(deviations)
        shown = f"{largest:.2g}" if largest >= MACHINE_ROUNDING else f"below {MACHINE_ROUNDING:g}"
        lines.append(f"| {topic} | {what} | {source} | {len(deviations)} | {shown} | {tolerance:.2g} | {unit} |")
    return "\n".join(lines) + "\n"


def pytest_configure(config: pytest.Config) -> None:
    config.stash[COMPARISONS] = []


@pytest.fixture
def checked(request: pytest.FixtureRequest) -> Checked:
    """`checked(topic, source, what, expected, got, tolerance, unit)` asserts, and records the deviation.

    `source` is the publication, or the independent route ("ray trace, root found by SciPy"). The deviation
    is |got - expected| in `unit`, or that over |expected| where `unit` is "relative". Rows of VALUES.md gather
    by all words and the tolerance, so keep them the same across a table.
    """
    comparisons = request.config.stash[COMPARISONS]

    def check(topic: str, source: str, what: str, expected: float, got: float, tolerance: float, unit: str) -> None:
        deviation = abs(got - expected)
        if unit == "relative":
            deviation /= abs(expected)
        assert math.isfinite(deviation), f"{what}: got {got}, {source} has {expected}"
        assert deviation <= tolerance, f"{what}: got {got}, {source} has {expected} (± {tolerance} {unit})"
        comparisons.append(Comparison(topic, what, source, deviation, tolerance, unit))

    return check


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    in_one_process = not hasattr(session.config, "workerinput")
    comparisons = session.config.stash[COMPARISONS]
    if os.environ.get(WRITE_SWITCH) == "1" and exitstatus == pytest.ExitCode.OK and in_one_process and comparisons:
        VALUES_PAGE.write_text(values_page(comparisons), encoding="utf-8")
