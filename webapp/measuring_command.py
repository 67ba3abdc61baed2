"""`stopledger measure FILE [FILE ...]`: the settings, the reading and the difference in stops, for scripts.

One line a file, columns with tabs between them, a header first; readings are in stops about mid-tone (18 % of
clipping) and differences against the first file that could be read. What cannot be read is a sentence on standard
error, and the exit status is then 1.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from webapp.errors import PictureRefused
from webapp.facts import Wording
from webapp.ledger.evidence import MID_TONE_STOPS
from webapp.pictures.isolation import IsolatedPictures
from webapp.pictures.metadata import PictureFacts
from webapp.pictures.readings import MIDDLE, Patch, PatchReading
from webapp.quantities.numbers import read_decimal

COLUMNS: Final = ("file", "f-number", "time_s", "iso", "read_stops", "tolerance_stops", "difference_stops", "kind")
_UNKNOWN: Final = "-"


@dataclass(frozen=True, slots=True)
class Measured:
    """A file with what it says and what it shows."""

    name: str
    facts: PictureFacts
    reading: PatchReading


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the command line."""
    parser = commands.add_parser(
        "measure",
        help="read picture files: settings, reading in stops about mid-tone, difference to the first file",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("files", metavar="FILE", nargs="+", type=Path)
    parser.add_argument(
        "--patch",
        type=patch_of,
        default=MIDDLE,
        metavar="X;Y;W;H",
        help="where to read: left, top, width and height in fractions of the upright picture, in quotes (default: its middle fifth)",
    )


def patch_of(text: str) -> Patch:
    """A patch as it is typed. Raises ArgumentTypeError, which the command line turns into its own sentence."""
    try:
        x, y, width, height = (read_decimal(side) for side in text.split(";"))
        return Patch("patch", x, y, width, height)
    except ValueError as problem:
        raise argparse.ArgumentTypeError(
            f'{text} is no patch: write four numbers with semicolons, such as "0.4;0.4;0.2;0.2"'
        ) from problem


def run(asked: argparse.Namespace, say: Wording) -> int:
    """Measure the files; the answer is the exit status."""
    first: Measured | None = None
    refused = 0
    print("\t".join(COLUMNS))
    with IsolatedPictures() as pictures:
        for path in asked.files:
            try:
                measured = _measured(pictures, path, asked.patch)
            except (PictureRefused, OSError) as reason:
                refused += 1
                print(f"stopledger: {path}: {_sentence(reason)}", file=sys.stderr)
                continue
            first = first or measured
            print("\t".join(line_of(measured, first)))
            for note in measured.reading.notes:
                print(f"stopledger: {path}: {say(note)}", file=sys.stderr)
    return 1 if refused else 0


def _measured(pictures: IsolatedPictures, path: Path, patch: Patch) -> Measured:
    # The worker names no missing file; the plain error of the system does.
    with path.open("rb"):
        pass
    return Measured(str(path), pictures.read_facts(path), pictures.measure(path, [patch])[0])


def _sentence(reason: Exception) -> str:
    return f"{reason.strerror}." if isinstance(reason, OSError) and reason.strerror else str(reason)


def line_of(measured: Measured, first: Measured) -> Sequence[str]:
    """The columns of one file."""
    facts, reading = measured.facts, measured.reading
    read = None if reading.level_stops is None else reading.level_stops - MID_TONE_STOPS
    at_most = f"<{reading.at_most_stops - MID_TONE_STOPS:+.2f}"
    return (
        measured.name.replace("\t", " "),
        _number(facts.f_number),
        _number(facts.exposure_time_s),
        _number(facts.iso),
        at_most if read is None else f"{read:+.2f}",
        _number(reading.tolerance_stops, 2),
        _difference(reading, first.reading),
        facts.kind,
    )


def _difference(reading: PatchReading, first: PatchReading) -> str:
    if reading.level_stops is None or first.level_stops is None or (reading.kind == "raw") != (first.kind == "raw"):
        return _UNKNOWN
    return f"{reading.level_stops - first.level_stops:+.2f}"


def _number(value: float | None, figures: int = 6) -> str:
    return _UNKNOWN if value is None or not math.isfinite(value) else f"{value:.{figures}g}"
