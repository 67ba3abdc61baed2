"""Whatever a worksheet is asked, it answers in finite figures or refuses in a sentence; extremes stay in order."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from webapp.worksheets import WORKSHEETS
from webapp.worksheets.parameters import Parameter
from webapp.worksheets.sheet import Worksheet

Ask = Callable[..., dict[str, Any]]
EXTREME = [
    "0",
    "-0",
    "1e-12",
    "1e12",
    "1e-300",
    "1e300",
    "-1",
    "200",
    "-200",
    "0.9999999999",
    "45",
    "89.9999999999",
]
NONSENSE = st.one_of(
    st.sampled_from(["", " ", "nan", "inf", "f/", "1/0", ",", "1,", "true", "ring"]), st.text(max_size=12)
)


def _texts(parameter: Parameter) -> st.SearchStrategy[str]:
    numbers = st.one_of(
        st.floats(1e-3, 1e4).map(lambda value: f"{value:.6g}"),
        st.floats(-300, 300).map(lambda value: f"{value:.6g}"),
        st.sampled_from(EXTREME),
    )
    kinds: dict[str, st.SearchStrategy[str]] = {
        "number": numbers,
        "mark": st.sampled_from(["f/8", "1/125", "30", "100", "1.2", "0.3", "1024", "1e6", "8 1/3"]),
        "list": st.lists(numbers, min_size=1, max_size=4).map(",".join),
        "text": st.sampled_from(["f/11", "1/125", "1/64+0.7", "full", "-5", "ISO 200", "+1"]),
        "switch": st.sampled_from(["true", "false"]),
        "choice": st.sampled_from([*parameter.choices, "none"]),
    }
    likely = [kinds[parameter.kind]] * 4
    return st.one_of(*likely, st.just(parameter.example), NONSENSE)


def _queries(sheet: Worksheet[Any]) -> st.SearchStrategy[dict[str, str]]:
    required = {each.name: _texts(each) for each in sheet.parameters if each.required}
    optional = {each.name: _texts(each) for each in sheet.parameters if not each.required}
    return st.fixed_dictionaries(required, optional=optional)


_WITHOUT_MEANING = re.compile(r"\b(?:nan|inf)\b", re.IGNORECASE)


def _refuse_constant(name: str) -> None:
    raise AssertionError(f"{name} in an answer")


@pytest.mark.parametrize("name", WORKSHEETS)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_any_question_is_answered_or_refused(client: TestClient, name: str, data: st.DataObject) -> None:
    query = data.draw(_queries(WORKSHEETS[name]))
    # A page that is asked nothing at all shows its example.
    assume(query)

    answer = client.get(f"/api/v1/worksheets/{name}", params=query)
    page = client.get(f"/worksheets/{name}", params=query)

    told = json.loads(answer.text, parse_constant=_refuse_constant)
    assert answer.status_code in (200, 422)
    assert page.status_code == answer.status_code
    if answer.status_code == 422:
        assert {problem["loc"][0] for problem in told["detail"]} == {"query"}
        assert {problem["loc"][1] for problem in told["detail"]} <= {
            each.name for each in WORKSHEETS[name].parameters
        }
    else:
        assert told["results"]
        assert not _WITHOUT_MEANING.search(page.text)


@given(st.floats(0.01, 100), st.floats(1.01, 10))
@settings(max_examples=40, deadline=None)
def test_more_magnification_asks_for_more_exposure(ask: Ask, magnification: float, times: float) -> None:
    less = ask("close-up", f_number=8, magnification=magnification)
    more = ask("close-up", f_number=8, magnification=magnification * times)

    assert more["exposure_increase_stops"] > less["exposure_increase_stops"]


@given(st.floats(1, 1e4), st.floats(1, 1e5))
@settings(max_examples=40, deadline=None)
def test_a_ring_without_a_hole_is_the_disc(ask: Ask, diameter_mm: float, distance_mm: float) -> None:
    ring = ask(
        "source-illuminance",
        shape="ring",
        diameter_mm=diameter_mm,
        inner_diameter_mm=0,
        distance_mm=distance_mm,
    )
    disc = ask("source-illuminance", shape="disc", diameter_mm=diameter_mm, distance_mm=distance_mm)

    assert ring["relative_illuminance"] == pytest.approx(disc["relative_illuminance"], rel=1e-9)


@given(st.sampled_from(["disc", "rectangle"]), st.floats(10, 2000))
@settings(max_examples=40, deadline=None)
def test_far_away_inverse_square_holds(ask: Ask, shape: str, size_mm: float) -> None:
    sizes = {"diameter_mm": size_mm} if shape == "disc" else {"width_mm": size_mm, "height_mm": size_mm}

    far = ask("source-illuminance", shape=shape, **sizes, distance_mm=10 * size_mm, to_distance_mm=20 * size_mm)

    assert far["over_inverse_square_stops"] == pytest.approx(0, abs=0.01)
    assert far["change_stops"] == pytest.approx(-2, abs=0.01)


@given(st.floats(0.5, 5), st.sampled_from(["f/4", "f/8", "f/16"]))
@settings(max_examples=40, deadline=None)
def test_close_up_the_slice_of_a_stack_is_the_exact_depth(ask: Ask, magnification: float, mark: str) -> None:
    lens = {"f_number": mark, "circle_of_confusion_mm": 0.01, "magnification": magnification}

    exact = ask("depth-of-field", focal_length_mm=100, **lens)
    close_up = ask("focus-stack", **lens, depth_mm=10, overlap=0)

    assert close_up["slice_mm"] == pytest.approx(exact["depth_mm"], rel=1e-4)


@given(st.floats(-20, 20), st.floats(-20, 20))
@settings(max_examples=40, deadline=None)
def test_together_lights_are_brighter_than_the_brightest(ask: Ask, one: float, other: float) -> None:
    mixed = ask("mixed-light", levels_stops=f"{one!r};{other!r}")

    assert max(one, other) <= mixed["total_stops"] <= max(one, other) + 1 + 1e-9
    assert math.fsum(mixed["shares"]) == pytest.approx(1)
