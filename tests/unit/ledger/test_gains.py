"""What each light gave, solved from the readings, against light that is known."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.ledger.added_up import Part, curve_that_adds_up
from webapp.ledger.gains import Level, Place, Source, solve
from webapp.optics.tone_curve import unknown

COLOURS = ("red", "green", "blue")
# Green of each light in four patches, against clipping.
REACH = {"A": (0.16, 0.08, 0.02, 0.04), "B": (0.02, 0.06, 0.12, 0.05), "C": (0.01, 0.03, 0.02, 0.09)}


def levels(green: tuple[float, ...], redder: float = 0.0) -> dict[Place, Level]:
    """Readings that are good to a hundredth; red and blue lie `redder` stops apart."""
    shift = {"red": redder / 2.0, "green": 0.0, "blue": -redder / 2.0}
    found = {}
    for index, level in enumerate(green):
        for colour in COLOURS:
            light = level * 2.0 ** shift[colour]
            found[str(index), colour] = Level(light, 0.01 * light + 1e-6)
    return found


def together(*parts: dict[Place, Level]) -> dict[Place, Level]:
    return {
        place: Level(sum(each[place].light for each in parts), sum(each[place].error for each in parts))
        for place in parts[0]
    }


def lit(**stops: float | None) -> dict[Place, Level]:
    """The frame with each light so many stops over its own frame; None is dark."""
    parts = []
    for letter, reach in REACH.items():
        over = stops.get(letter, 0.0)
        if over is not None:
            parts.append(levels(tuple(each * 2.0**over for each in reach)))
    return together(*parts)


SOURCES = {letter: Source(levels(reach)) for letter, reach in REACH.items()}


@given(st.dictionaries(st.sampled_from("ABC"), st.floats(-3.0, 2.0)))
def test_every_light_is_found_with_what_it_gave(stops: dict[str, float]) -> None:
    solved = solve(lit(**stops), SOURCES)

    assert solved is not None
    for letter in REACH:
        gain = solved.of(letter)
        assert gain is not None
        assert gain.stops == pytest.approx(stops.get(letter, 0.0), abs=0.01)
    assert not solved.unexplained


def test_as_logged_nothing_differs() -> None:
    solved = solve(lit(), SOURCES)

    assert solved is not None
    assert (solved.differing, solved.unexplained) == ((), ())


def test_a_light_that_gave_nothing_has_no_stops() -> None:
    solved = solve(lit(C=None), SOURCES)

    assert solved is not None
    assert [(each.source, each.stops) for each in solved.differing] == [("C", None)]


def test_a_light_that_is_logged_off_and_gave_light_is_found() -> None:
    solved = solve(lit(), SOURCES | {"C": Source(SOURCES["C"].levels, lit=False)})

    assert solved is not None
    assert [(each.source, each.lit) for each in solved.differing] == [("C", False)]


def test_a_light_of_another_colour_is_told_by_how_much_it_is_redder() -> None:
    parts = [levels(REACH["A"], redder=0.8), levels(REACH["B"]), levels(REACH["C"])]

    solved = solve(together(*parts), SOURCES)

    assert solved is not None
    (coloured,) = [each for each in solved.gains if each.is_coloured]
    assert (coloured.source, coloured.redder_stops) == ("A", pytest.approx(0.8, abs=0.02))
    assert not solved.unexplained


def test_something_at_one_patch_is_left_over_there_and_blames_no_light() -> None:
    sources = {letter: SOURCES[letter] for letter in "AB"}
    frame = together(levels(REACH["A"]), levels(REACH["B"]))
    frame |= {place: Level(each.light * 2.0**-0.6, each.error) for place, each in frame.items() if place[0] == "2"}

    solved = solve(frame, sources)

    assert solved is not None
    assert solved.differing == ()
    (left,) = solved.unexplained
    assert (left.patch, left.stops) == ("2", pytest.approx(-0.6, abs=0.02))


def test_two_lights_that_reach_every_patch_alike_cannot_be_told_apart() -> None:
    sources = {"A": SOURCES["A"], "B": Source(levels(tuple(each / 2.0 for each in REACH["A"])))}

    solved = solve(lit(B=None, C=None), sources)

    assert solved is not None
    assert not solved.apart


def test_a_source_too_faint_to_be_seen_is_taken_as_logged() -> None:
    room = Source({place: Level(each.light * 1e-4, each.error) for place, each in SOURCES["B"].levels.items()})

    solved = solve(lit(A=-1.0), SOURCES | {"room": room})

    assert solved is not None
    faint = solved.of("room")
    assert faint is not None
    assert (faint.factor, faint.told) == (1.0, False)
    assert [each.source for each in solved.differing] == ["A"]


def test_without_a_place_that_all_were_read_at_there_is_nothing_to_solve() -> None:
    assert solve(levels((0.1,)), {"A": Source({})}) is None


# --- the camera's curve -------------------------------------------------------------------------------------------

WITHIN_STOPS = 0.15


def bent(read: dict[Place, Level], power: float) -> dict[Place, Level]:
    return {place: Level(0.18 * (each.light / 0.18) ** power, each.error) for place, each in read.items()}


@given(st.floats(0.8, 1.4))
def test_a_curve_is_known_by_what_makes_the_lights_add_up(power: float) -> None:
    alone = [Part(bent(levels(reach), power)) for reach in REACH.values()]

    curve = curve_that_adds_up(bent(lit(), power), alone, unknown())

    assert curve is not None
    straight = curve.straightened(bent(lit(A=-1.0), power))
    for place, each in lit(A=-1.0).items():
        own = curve.straightened(bent(levels(REACH["A"]), power))[place].light
        ratio = each.light / levels(REACH["A"])[place].light
        assert math.log2(straight[place].light / own) == pytest.approx(math.log2(ratio), abs=WITHIN_STOPS)


def test_frames_at_other_settings_add_up_once_they_are_brought_to_those_of_the_frame_lit_by_all() -> None:
    power = 1.3
    closed = [Part(bent(lit(**{letter: -1.0} | dict.fromkeys({*REACH} - {letter})), power), 1.0) for letter in REACH]

    curve = curve_that_adds_up(bent(lit(), power), closed, unknown())

    assert curve is not None
    assert curve.slope(-1.5) == pytest.approx(1.0 / power, abs=0.05)


def test_the_room_is_in_every_frame_and_in_the_sum_once() -> None:
    power = 1.2
    room = levels((0.01, 0.01, 0.01, 0.01))
    alone = [Part(bent(together(levels(reach), room), power)) for reach in REACH.values()]
    checked = Part(bent(room, power))

    with_room = curve_that_adds_up(bent(together(lit(), room), power), alone, unknown(), checked)
    without = curve_that_adds_up(bent(together(lit(), room), power), alone, unknown())

    assert with_room is not None
    assert with_room.slope(-1.5) == pytest.approx(1.0 / power, abs=0.02)
    assert without is None or abs(without.slope(-1.5) - 1.0 / power) > abs(with_room.slope(-1.5) - 1.0 / power)


def test_no_curve_is_made_of_lights_that_do_not_add_up() -> None:
    alone = [Part(levels(reach)) for reach in REACH.values()]

    assert curve_that_adds_up(lit(A=-3.0), alone, unknown()) is None
    assert curve_that_adds_up(lit(B=None, C=None), alone[:1], unknown()) is None
