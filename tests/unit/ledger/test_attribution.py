"""What may lie behind an unexplained difference. The light of each case is added up here by itself, from what really
stood on the set."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.unit.ledger.builders import set_up, standing_light
from webapp.facts import Fact, fact
from webapp.ledger.attribution import attribute
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.explanations import Attribution, Case, PatchCase
from webapp.ledger.set_up import FilterFigures, SetUp

ND = FilterFigures("nd", "ND 0.6", "neutral", 2.0)
GEL = FilterFigures("gel", "quarter orange", "gel", 0.3, 42.0)
FULL = frozenset({"f_number", "iso", "shutter"})


def lit_by_a(reference: SetUp, logged: SetUp, predicted: float, measured: float, **over: object) -> Case:
    """One light, one patch."""
    patch = PatchCase("card", measured, predicted, 0.1, measured, balances={"A": predicted}, shares={"A": 1.0})
    values: dict[str, object] = {"previous": reference, "previous_number": 1, "told_by_file": FULL}
    return Case(set_up=logged, reference=reference, patches=(patch,), **(values | over))  # type: ignore[arg-type]


def two_lights(really: dict[str, float], shares: dict[str, tuple[float, float]], **over: object) -> Case:
    """Key A and fill B, nothing changed in the log; `really` is what each did, None for off."""
    logged = set_up("8", standing_light("A", power=-3.0), standing_light("B", power=-3.0, role="fill"))
    patches = []
    for name, (a, b) in shares.items():
        light = a * 2.0 ** really.get("A", 0.0) + b * 2.0 ** really.get("B", 0.0)
        measured = float(np.log2(light))
        patches.append(
            PatchCase(name, measured, 0.0, 0.1, measured, balances={"A": 0.0, "B": 0.0}, shares={"A": a, "B": b})
        )
    values: dict[str, object] = {"previous": logged, "told_by_file": FULL}
    return Case(set_up=logged, reference=logged, patches=tuple(patches), **(values | over))  # type: ignore[arg-type]


def causes(found: Attribution) -> list[tuple[Fact, ...]]:
    return [each.causes for each in found.explanations]


def stood_at(letter: str, stood: str, marks: int, logged: str = "50 J") -> Fact:
    """A light of 0.1 stop a mark, called as the builder calls it."""
    name = {"A": "key A", "B": "fill B"}[letter]
    return fact(
        Reason.LIGHT_AT_ANOTHER_MARK,
        letter,
        light=name,
        stood=stood,
        logged=logged,
        marks=marks,
        makes_stops=pytest.approx(marks / 10),
    )


def aperture_at(stood: str, found: Attribution) -> bool:
    """Whether the aperture is said to have stood at a mark."""
    told = [each for group in causes(found) for each in group if each.reason == Reason.CAMERA_AT_ANOTHER_MARK]
    return any(each["cause"] == "aperture" and each["stood"] == stood for each in told)


def test_within_the_tolerance_nothing_is_said() -> None:
    reference = set_up("8", standing_light(power=-3.0))

    assert attribute(lit_by_a(reference, reference, 0.0, 0.09)) == Attribution()


def test_a_head_one_stop_off_its_log_is_named_by_its_mark() -> None:
    reference = set_up("5.6", standing_light(power=-6.0))
    logged = set_up("11", standing_light(power=-4.0))

    found = attribute(lit_by_a(reference, logged, 0.0, 1.0)).explanations[0]

    assert found.causes == (stood_at("A", "50 J", 10, logged="25 J"),)
    assert found.changes == (("lights.A.power", -3.0),)
    assert found.leaves == {"card": pytest.approx(0.0)}


def test_a_change_that_was_written_down_and_not_made_comes_first() -> None:
    reference = set_up("8", standing_light(power=-3.0))
    logged = set_up("8", standing_light(power=-2.0))

    found = attribute(lit_by_a(reference, logged, 1.0, 0.0))

    assert causes(found)[0] == (fact(Reason.CHANGE_NOT_MADE, "A", cause="energy", was="50 J", now="100 J"),)
    assert found.explanations[0].changes == (("lights.A.power", -3.0),)


def test_the_neighbouring_mark_is_called_so() -> None:
    third = replace(standing_light(power=-3.0), head=replace(standing_light().head, step_stops=1 / 3))
    reference = set_up("8", third)

    found = attribute(lit_by_a(reference, reference, 0.0, 1 / 3)).explanations[0]

    assert [(each.reason, each.about, each["marks"]) for each in found.causes] == [
        (Reason.LIGHT_AT_ANOTHER_MARK, "A", 1)
    ]


def test_a_forgotten_filter_explains_its_own_loss() -> None:
    reference = set_up("8", standing_light(power=-3.0))
    logged = set_up("8", standing_light(power=-1.0, filters=(ND,)))

    found = attribute(lit_by_a(reference, logged, 0.0, 2.0, previous=logged))

    assert causes(found)[0] == (fact(Reason.FILTER_NOT_ON, "A", filter="ND 0.6", loss_stops=2.0),)
    assert found.explanations[0].changes == (("lights.A.filters", ()),)


def test_a_missing_gel_is_known_by_its_colour() -> None:
    logged = set_up("8", standing_light(power=-3.0, filters=(GEL,)))
    case = lit_by_a(logged, logged, 0.0, 0.3)
    bluer = replace(case, patches=(replace(case.patches[0], warmth_stops=-0.4),))
    redder = replace(case, patches=(replace(case.patches[0], warmth_stops=0.4),))

    by_colour = attribute(bluer).explanations[0]
    not_on = fact(Reason.FILTER_NOT_ON, "A", filter="quarter orange", loss_stops=0.3)
    against_colour = next(each for each in attribute(redder).explanations if each.causes == (not_on,))

    assert by_colour.causes == (not_on,)
    assert by_colour.colour == fact(Reason.COLOUR_AGREES, bluer=True)
    assert against_colour.colour == fact(Reason.COLOUR_DISAGREES, bluer=False)


def test_a_light_that_did_not_fire_is_told_from_one_turned_down() -> None:
    case = two_lights({"B": -60.0}, {"left": (0.75, 0.25), "right": (0.25, 0.75)})

    found = attribute(case)

    assert causes(found)[0] == (fact(Reason.DID_NOT_FIRE, "B", light="fill B"),)
    assert found.explanations[0].changes == (("lights.B.lit", False),)


def test_two_patches_tell_which_of_two_lights_it_was() -> None:
    case = two_lights({"A": 1.0}, {"left": (0.75, 0.25), "right": (0.25, 0.75)})

    assert causes(attribute(case))[0] == (stood_at("A", "100 J", 10),)


def test_two_causes_at_once_are_told_apart() -> None:
    case = two_lights({"A": 1.0, "B": -2.0}, {"left": (0.75, 0.25), "right": (0.25, 0.75)})

    assert causes(attribute(case))[0] == (stood_at("A", "100 J", 10), stood_at("B", "12.5 J", -20))


def test_the_file_vouches_for_the_dials_of_the_camera() -> None:
    reference = set_up("8", standing_light(power=-3.0))
    case = lit_by_a(reference, reference, 0.0, -1.0)

    with_file = attribute(case)
    without = attribute(replace(case, told_by_file=frozenset()))

    assert not any(each.values.get("cause") == "aperture" for group in causes(with_file) for each in group)
    assert aperture_at("11", without)


def test_ambient_light_is_checked_against_the_proof() -> None:
    # Three stops under, the room adds log2(1 + 2^-3) = 0.17 where the reference frame had next to none of it.
    reference = set_up("8", standing_light(power=-3.0))
    measured = float(np.log2(1 + 2.0**-3))
    case = lit_by_a(reference, reference, 0.0, measured)
    [patch] = case.patches
    case = replace(case, patches=(replace(patch, room_stops=-3.0, room_in_reference_stops=-12.0),))

    found = next(each for each in attribute(case).explanations if each.key == "ambient")

    assert found.fits
    assert found.changes == ()


def test_a_close_up_loss_that_was_counted_twice_gives_light_back() -> None:
    reference = set_up("8", standing_light(power=-3.0), magnification=0.0)
    logged = set_up("8", standing_light(power=-3.0), magnification=1.0)

    found = attribute(lit_by_a(reference, logged, -2.0, 0.0, previous=logged))

    twice = fact(Reason.CLOSE_UP_COUNTED_TWICE, was=0.0, now=1.0, loss_stops=pytest.approx(2.0))
    assert (twice,) in causes(found)


def test_a_close_up_loss_that_is_not_written_down_is_named_by_its_magnification() -> None:
    reference = set_up("8", standing_light(power=-3.0), magnification=0.0)

    found = attribute(lit_by_a(reference, reference, 0.0, -1.17))

    loss = pytest.approx(1.17, abs=0.001)  # 2 log2(1.5) = 1.170
    assert (fact(Reason.CLOSE_UP_NOT_COUNTED, really=0.5, logged=0.0, loss_stops=loss),) in causes(found)


def test_what_is_known_of_the_head_explains_what_lies_within_it() -> None:
    reference = set_up("8", standing_light(power=-3.0))
    case = lit_by_a(reference, reference, 0.0, 0.15, spreads={"A": 0.08})

    found = next(each for each in attribute(case).explanations if each.key == "variation")

    assert found.causes == (fact(Reason.FLASH_VARIES, lights=("A",), deviation_stops=0.08, off_stops=0.15),)
    assert attribute(case).test_frame == fact(Reason.TEST_FOR_SCATTER)


def test_where_shares_are_unknown_no_single_light_is_blamed() -> None:
    case = two_lights({"A": 1.0, "B": 1.0}, {"card": (0.5, 0.5)})
    blind = replace(
        case, patches=tuple(replace(each, shares=None) for each in case.patches), told_by_file=frozenset()
    )

    assert all(each.effect.by_light == {} for each in attribute(blind).explanations)
    assert aperture_at("5.6", attribute(blind))


def test_a_frame_lit_by_one_light_alone_tells_two_explanations_apart() -> None:
    # Both lights give half, so that one patch cannot say which of them it was.
    case = two_lights({"A": 1.0}, {"card": (0.5, 0.5)})

    said = attribute(case).test_frame

    assert said is not None
    assert (said.reason, said.about) == (Reason.TEST_WITH_ONE_LIGHT, "A")
    assert sorted([said.number("first_stops"), said.number("second_stops")]) == pytest.approx([0.0, 1.0])


@pytest.mark.parametrize("measured", [-2.7, -0.8, 0.4, 2.2])
def test_every_offered_mark_leaves_what_it_says(measured: float) -> None:
    reference = set_up("8", standing_light(power=-3.0))

    for found in attribute(lit_by_a(reference, reference, 0.0, measured)).explanations:
        moved = sum(found.effect.by_light.values()) + found.effect.everywhere
        assert measured - moved == pytest.approx(found.leaves["card"])
        assert abs(found.leaves["card"]) <= 0.1 + 1e-9


def test_a_pair_that_fits_clearly_better_stands_beside_the_single_that_only_just_does() -> None:
    # Near clipping a rendered file tells little: the tolerance of the left patch is wide.
    case = two_lights({"A": 1.0, "B": -2.0}, {"left": (0.75, 0.25), "right": (0.25, 0.75)})
    loose = replace(
        case, patches=(replace(case.patches[0], tolerance_stops=0.6), replace(case.patches[1], tolerance_stops=0.6))
    )

    found = attribute(loose)

    assert (stood_at("A", "100 J", 10), stood_at("B", "12.5 J", -20)) in causes(found)
