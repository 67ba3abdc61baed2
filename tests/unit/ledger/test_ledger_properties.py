"""What holds for every pair of frames: there and back is even, entries sum, corrections correct."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.ledger.builders import light
from webapp.ledger.corrections import suggest
from webapp.ledger.entries import Cause, balance, compare
from webapp.ledger.exposures import Exposure, Filters
from webapp.ledger.sheets import Sheet
from webapp.ledger.ways import Means, Target
from webapp.optics import sources
from webapp.optics.scales import Dial, Marked, Quantity, marks
from webapp.quantities.marks import read_mark

F_NUMBERS = [m for m in marks(Quantity.F_NUMBER, Dial.THIRD) if 2.8 <= m.literal <= 32]
TIMES = [m for m in marks(Quantity.SHUTTER, Dial.THIRD) if 1 / 250 <= m.literal <= 30]
ISOS = [m for m in marks(Quantity.ISO, Dial.THIRD) if 100 <= m.literal <= 6400]
SOURCES = st.sampled_from(
    [sources.Point(), sources.Disc(600.0), sources.Ring(130.0, 90.0), sources.Rectangle(300.0, 1200.0)]
)


def marked(quantity: Quantity, text: str) -> Marked:
    return read_mark(quantity, text, Dial.THIRD)


@st.composite
def exposures(draw: st.DrawFn, source: sources.Source) -> Exposure:
    lights = tuple(
        light(
            letter,
            round(draw(st.integers(-60, 0)) / 10, 1),
            distance_mm=float(draw(st.integers(120, 3000))),
            source=source,
            filters=Filters((str(loss := draw(st.integers(0, 30))),), loss / 10, ("sheets",)),
        )
        for letter in ("A", "B")
    )
    return Exposure(
        f_number=marked(Quantity.F_NUMBER, draw(st.sampled_from(F_NUMBERS)).text),
        shutter=marked(Quantity.SHUTTER, draw(st.sampled_from(TIMES)).text),
        iso=marked(Quantity.ISO, draw(st.sampled_from(ISOS)).text),
        lights=lights,
        magnification=draw(st.floats(0, 3)),
        pops=draw(st.integers(1, 16)),
    )


PAIRS = SOURCES.flatmap(lambda source: st.tuples(exposures(source), exposures(source)))


@given(PAIRS)
def test_there_and_back_is_even(pair: tuple[Exposure, Exposure]) -> None:
    there, back = compare(*pair).balances, compare(*reversed(pair)).balances

    for letter, stops in there.items():
        assert stops is not None
        assert back[letter] == pytest.approx(-stops, abs=1e-9)


@given(SOURCES.flatmap(lambda source: st.tuples(exposures(source), exposures(source), exposures(source))))
def test_the_way_over_a_third_frame_comes_to_the_same(three: tuple[Exposure, Exposure, Exposure]) -> None:
    first, second, third = three

    direct, one, two = (compare(*pair).balances for pair in ((first, third), (first, second), (second, third)))

    for letter, stops in direct.items():
        assert stops == pytest.approx(one[letter] + two[letter], abs=1e-9)  # type: ignore[operator]


@given(PAIRS)
def test_entries_sum_to_the_balance(pair: tuple[Exposure, Exposure]) -> None:
    compared = compare(*pair)

    for letter, stops in compared.balances.items():
        assert stops == pytest.approx(balance(compared.of(letter)), abs=1e-9)


def _applied(exposure: Exposure, acts_on: str, to: dict[str, object]) -> Exposure:
    from dataclasses import replace

    camera = {
        field: marked(quantity, str(to[field]))
        for field, quantity in (("f_number", Quantity.F_NUMBER), ("iso", Quantity.ISO))
        if field in to
    }
    moved = replace(exposure, pops=to.get("pops", exposure.pops), **camera)  # type: ignore[arg-type]
    if "lens_filter_stops" in to:
        moved = replace(moved, lens_filters=Filters(("new",), float(to["lens_filter_stops"]), ("new",)))  # type: ignore[arg-type]
    changes = to.get("lights", {acts_on: to})
    assert isinstance(changes, dict)
    lights = []
    for each in moved.lights:
        change = changes.get(each.letter, {})
        if "filter_stops" in change:
            each = replace(each, filters=Filters(("new",), change["filter_stops"], ("new",)))
        lights.append(
            replace(
                each,
                power_stops=change.get("power_stops", each.power_stops),
                distance_mm=change.get("distance_mm", each.distance_mm),
            )
        )
    return replace(moved, lights=tuple(lights))


@given(PAIRS, st.floats(-1, 1))
@settings(max_examples=200)
def test_every_correction_leaves_what_it_says_it_leaves(pair: tuple[Exposure, Exposure], target: float) -> None:
    before, after = pair
    compared = compare(before, after).balances

    corrections, _ = suggest(after, compared, Target(target), Means())

    for correction in corrections:
        corrected = compare(before, _applied(after, correction.acts_on, correction.to)).balances
        letters = ("A", "B") if correction.acts_on == "all" else (correction.acts_on,)
        left = max((corrected[letter] - target for letter in letters), key=abs)  # type: ignore[operator]
        assert left == pytest.approx(correction.leaves_stops, abs=0.051)
        if correction.cause is Cause.ENERGY and not correction.sheets:
            assert abs(left) <= 0.05 + 0.05 + 1e-9
        if correction.cause in (Cause.APERTURE, Cause.ISO):
            assert abs(left) <= 1 / 6 + 0.05 + 1e-9


@given(PAIRS)
def test_no_correction_makes_the_balance_worse(pair: tuple[Exposure, Exposure]) -> None:
    before, after = pair
    compared = compare(before, after).balances

    corrections, _ = suggest(after, compared, Target(), Means())

    for correction in corrections:
        off = compared["A"] if correction.acts_on == "all" else compared[correction.acts_on]
        assert off is not None
        assert abs(correction.leaves_stops) < abs(off) + 0.051


SHEETS = st.lists(
    st.builds(
        lambda loss, softens: Sheet(f"s{loss}{softens}", f"sheet {loss}", loss / 10, softens=softens),
        st.integers(2, 40),
        st.booleans(),
    ),
    max_size=4,
).map(tuple)


@given(PAIRS, SHEETS)
def test_a_way_that_turns_back_what_was_just_changed_stands_behind_all_others(
    pair: tuple[Exposure, Exposure], sheets: tuple[Sheet, ...]
) -> None:
    before, after = pair
    compared = compare(before, after)

    corrections, _ = suggest(after, compared.balances, Target(), Means(light_sheets=sheets), compared.entries)

    for way in corrections:
        # A dial with sheets is judged by the light of both; here each change is looked at by itself.
        if way.turns_back or (way.cause is Cause.ENERGY and way.sheets):
            continue
        corrected = compare(before, _applied(after, way.acts_on, way.to))
        for letter in ("A", "B") if way.acts_on == "all" else (way.acts_on,):
            was, now = (
                sum(entry.stops or 0.0 for entry in each.of(letter) if entry.cause is way.cause)
                for each in (compared, corrected)
            )
            # Never more than half of the change is gone; lights that count as alike may differ by a hair.
            assert was == 0.0 or math.copysign(1.0, was) * now >= abs(was) / 2 - 0.06
    assert [way.turns_back for way in corrections] == sorted(way.turns_back for way in corrections)


@given(PAIRS, SHEETS)
def test_what_is_offered_leaves_less_than_it_found_and_is_in_the_kit(
    pair: tuple[Exposure, Exposure], sheets: tuple[Sheet, ...]
) -> None:
    before, after = pair
    compared = compare(before, after)
    means = Means(light_sheets=sheets, lens_sheets=sheets)

    corrections, _ = suggest(after, compared.balances, Target(), means, compared.entries)

    for way in corrections:
        letters = ("A", "B") if way.acts_on == "all" else (way.acts_on,)
        assert abs(way.leaves_stops) < max(abs(compared.balances[letter] or 0.0) for letter in letters) + 1e-9
        corrected = compare(before, _applied(after, way.acts_on, way.to)).balances
        left = max((corrected[letter] or 0.0 for letter in letters), key=abs)
        assert left == pytest.approx(way.leaves_stops, abs=1e-8)
        assert {each for ids in way.sheets.values() for each in ids} <= {sheet.id for sheet in sheets}
        for light_state in _applied(after, way.acts_on, way.to).lights:
            assert light_state.dial is not None
            assert light_state.power_stops is not None
            assert light_state.dial.on_a_mark(light_state.power_stops)
