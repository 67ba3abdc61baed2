"""A recipe's set-up filled in again, and held against the recipe's own frame."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.ledger.builders import CAMERA, HEAD, LENS, set_up, standing_light
from tests.unit.recipes.made import head, light, recipe, setting
from webapp.facts import fact
from webapp.ledger.assessment import Assessment, Baselines, assess
from webapp.ledger.entries import Cause
from webapp.ledger.reasons import Reason
from webapp.ledger.set_up import (
    EmittingFigures,
    FilterFigures,
    HeadFigures,
    IncidentReading,
    Light,
    ModifierFigures,
    SetUp,
)
from webapp.optics.equivalence import Measure
from webapp.optics.scales import Quantity
from webapp.quantities.powers import Marking
from webapp.recipes.adapt.adapting import OtherKit
from webapp.recipes.checklist import Heading, drafted_checklist
from webapp.recipes.document import FilterPart, LightPart, PatchPart, Recipe, Setting, SettingsPart, SharePart
from webapp.recipes.drafting import light_part
from webapp.recipes.kit_match import KitInUse, OwnPieces, own_pieces
from webapp.recipes.rebuilding import is_as_written, lettered, rebuilt, target_of_recipe
from webapp.web.words.say import say

NINETY = replace(LENS, name="90 mm", id="lens-90", shortest_focal_mm=90, longest_focal_mm=90)
C_HEAD = HeadFigures("c", "head", "flash", "head", 500.0, -6.0, 0.1, Marking.JOULES)
BOX = ModifierFigures("box", "softbox", 1.7, EmittingFigures("rectangle", 600.0, 600.0), diffuses=True)
GEL = FilterFigures("gel", "quarter orange gel", "gel", 0.3, 42.0)
GEL_PART = FilterPart(name="quarter orange gel", kind="gel", loss_stops=0.3, shift_mired=42.0)


def bottle(**over: Any) -> Recipe:
    """44 × 33 upright, 120 mm at 77.5 cm, f/11; C is 500 J at 125 J, a small reflector 90 cm behind its panel."""
    c = light("C", head=head(500.0), shape="point", width_mm=None, angular_size_deg=None, distance_mm=900)
    return recipe(c.model_copy(update={"incident_av": 6.0}), **over)


def held(against: Recipe, own: OwnPieces, kit: OtherKit, stands: SetUp) -> Assessment:
    """What is said of a set-up against the recipe."""
    return assess(stands, Baselines(target=target_of_recipe(against, own, kit)))


def stops_of(said: Assessment, letter: str) -> float | None:
    line = said.of(letter)
    assert line is not None
    return line.stops


lights = st.builds(
    standing_light,
    power=st.none() | st.integers(-60, 0).map(lambda tenths: tenths / 10.0),
    distance_mm=st.none() | st.floats(100.0, 4000.0),
    modifier=st.sampled_from([None, BOX]),
    filters=st.sampled_from([(), (GEL,), (GEL, GEL)]),
    incident=st.none() | st.just(IncidentReading(6.0, "8", -3.0, 900.0)),
)


@given(
    key=lights,
    fill=lights,
    f_number=st.sampled_from(["2.8", "5.6", "11", "22"]),
    magnification=st.floats(0.02, 2.0),
    lens_filters=st.sampled_from([(), (GEL,)]),
)
def test_the_same_kit_stands_level_with_the_recipe(
    key: Light, fill: Light, f_number: str, magnification: float, lens_filters: tuple[FilterFigures, ...]
) -> None:
    was = set_up(
        f_number, key, replace(fill, letter="B", role="fill"), magnification=magnification, lens_filters=lens_filters
    )
    written = recipe(
        *(light_part(was, each) for each in was.lights),
        camera=None,
        lens=None,
        settings=SettingsPart(
            f_number=setting(Quantity.F_NUMBER, f_number),
            shutter=setting(Quantity.SHUTTER, "1/125"),
            iso=setting(Quantity.ISO, "100"),
            focal_length_mm=100,
            magnification=magnification,
            lens_filters=tuple(GEL_PART for _ in lens_filters),
        ),
    )
    own = own_pieces(written, KitInUse([CAMERA], [LENS], [HEAD], [BOX], [GEL]))
    kit = OtherKit(CAMERA, LENS, lights={each.letter: replace(each, distance_mm=None) for each in was.lights})

    again = rebuilt(written, kit, own, solve=False).set_up
    said = held(written, own, kit, again)

    assert again.lights == was.lights
    for each in was.lights:
        assert stops_of(said, each.letter) == (None if each.power_stops is None else 0.0)
        assert said.of(each.letter).against == fact(Reason.AGAINST_RECIPE)  # type: ignore[union-attr]


def eight_months_on(**over: Any) -> tuple[Recipe, OwnPieces, OtherKit, SetUp]:
    """The bottle again with the smaller camera and C where the room lets it stand, 130 cm from the panel."""
    written = bottle(**over)
    own = own_pieces(written, KitInUse([CAMERA], [NINETY], [C_HEAD], [], []))
    kit = OtherKit(CAMERA, NINETY, Measure.WIDTH, {"C": Light("C", "key", C_HEAD, distance_mm=1300)}, frozenset("C"))
    return written, own, kit, rebuilt(written, kit, own, solve=True).set_up


def test_solved_for_another_camera_the_light_stands_within_its_dial_of_the_recipe() -> None:
    written, own, kit, stands = eight_months_on()

    (c,) = stands.lights
    assert stands.f_number is not None
    assert stands.f_number.text == "9"
    assert c.distance_mm == 1300
    assert c.power_stops is not None
    assert 500 * 2**c.power_stops == pytest.approx(153.9, abs=0.05)
    # The dial's nearest mark to 151 J lies 0.03 over.
    assert stops_of(held(written, own, kit, stands), "C") == pytest.approx(0.03, abs=0.005)


def test_a_light_that_was_moved_and_turned_down_shows_both_against_the_recipe() -> None:
    written, own, kit, stands = eight_months_on()
    c = stands.lights[0]
    assert c.power_stops is not None
    slipped = stands.with_light(replace(c, distance_mm=1100.0, power_stops=c.power_stops - 1.0))

    before, after = held(written, own, kit, stands).of("C"), held(written, own, kit, slipped).of("C")

    assert before is not None
    assert after is not None
    assert after.stops == pytest.approx(-0.49, abs=0.01)
    by_cause = {entry.cause: entry.stops for entry in after.entries}
    was = {entry.cause: entry.stops for entry in before.entries}
    # 20 log(130/110) is 0.48 stop nearer; 153.9 to 76.9 J is one down.
    assert (by_cause[Cause.DISTANCE] or 0) - (was[Cause.DISTANCE] or 0) == pytest.approx(0.48, abs=0.005)
    assert (by_cause[Cause.ENERGY] or 0) - (was[Cause.ENERGY] or 0) == pytest.approx(-1.0)


def test_a_large_face_moved_nearer_gains_by_its_own_law() -> None:
    was = set_up("8", standing_light(modifier=BOX, distance_mm=600.0))
    written = recipe(light_part(was, was.lights[0]), camera=None, lens=None)
    own = own_pieces(written, KitInUse(heads=[HEAD], modifiers=[BOX]))
    kit = OtherKit(CAMERA, LENS, lights={"A": Light("A", "key", HEAD, BOX)})
    stands = rebuilt(written, kit, own, solve=False).set_up

    nearer = stands.with_light(replace(stands.lights[0], distance_mm=300.0))

    # Half the distance is two stops for a point; a face as wide as its distance gives clearly less.
    found = stops_of(held(written, own, kit, nearer), "A")
    assert found is not None
    assert 1.0 < found < 1.6


def other_kit(mine: IncidentReading | None) -> tuple[Recipe, OwnPieces, OtherKit]:
    """The bottle with C's place taken by a head that the recipe does not know."""
    stranger = HeadFigures("x", "stranger", "flash", "head", 250.0, -5.0, 0.1)
    written = bottle()
    own = own_pieces(written, KitInUse([CAMERA], [LENS], [stranger]))
    return written, own, OtherKit(CAMERA, LENS, lights={"C": Light("C", "key", stranger, incident=mine)})


def test_another_head_is_compared_by_the_meter_readings() -> None:
    # The recipe's C alone meters 2^(6/2) = f/8 at ISO 100; this one f/11.3 at full from 90 cm, a stop more.
    written, own, kit = other_kit(IncidentReading(7.0, "11", 0.0, 900.0))
    stands = rebuilt(written, kit, own, solve=False).set_up
    at_full = stands.with_light(replace(stands.lights[0], power_stops=0.0))
    same_lens = replace(at_full, lens=replace(LENS, pupil_ratio=1.0))

    line = held(written, own, kit, same_lens).of("C")

    assert line is not None
    assert line.stops == pytest.approx(1.0)
    assert not line.metered
    assert [entry.cause for entry in line.entries] == [Cause.METERED]


def test_another_head_without_a_reading_is_unknown_and_what_to_meter_is_said() -> None:
    written, own, kit = other_kit(None)

    found = rebuilt(written, kit, own, solve=False)
    said = held(written, own, kit, found.set_up)

    assert found.set_up.lights[0].power_stops is None
    assert "The power of key C is left open: stranger is another head than the recipe's." in [
        *map(say, found.left_open)
    ]
    assert stops_of(said, "C") is None
    assert "Meter key C at ISO 100, with it alone: the recipe's level is f/8 here." in [say(n) for n in said.notes]


def test_what_no_piece_was_chosen_for_is_said_and_left_out() -> None:
    written = recipe(light(), light("B", role="fill", modifier="softbox", filters=(GEL_PART,)))

    found = rebuilt(written, OtherKit(CAMERA, LENS, lights={"B": Light("B", "fill", HEAD)}), OwnPieces(), solve=False)

    assert [each.letter for each in found.set_up.lights] == ["B"]
    assert found.set_up.lights[0].modifier is None
    assert found.set_up.lights[0].filters == ()
    told = " ".join(map(say, found.left_open))
    assert "key A is left out of the set-up: no head was chosen for head." in told
    assert "fill B stands bare: softbox is on it in the recipe." in told
    assert "quarter orange gel on fill B is not in this studio, and left out." in told


def test_a_recipe_that_says_too_little_to_be_solved_stands_as_written() -> None:
    written = bottle(settings=SettingsPart(iso=setting(Quantity.ISO, "100")))

    found = rebuilt(written, OtherKit(CAMERA, LENS), OwnPieces(), solve=True)

    assert any("The figures stand as written." in each for each in map(say, found.left_open))
    assert found.set_up.f_number is None
    assert "The recipe does not say the f-number." in [*map(say, found.left_open)]


def test_kit_of_the_house_is_known_by_its_id_after_it_was_renamed() -> None:
    was = set_up("8", standing_light(modifier=BOX, filters=(GEL,)))
    written = recipe(light_part(was, was.lights[0]))
    renamed = KitInUse(
        [replace(CAMERA, name="other")],
        [LENS],
        [replace(HEAD, name="monolight, new tube")],
        [replace(BOX, name="box, new cloth")],
        [replace(GEL, name="¼ orange")],
    )

    here, elsewhere = own_pieces(written, renamed, was), own_pieces(written, renamed)

    assert (here.heads["A"].id, here.modifiers["A"].id, here.camera) == (HEAD.id, BOX.id, renamed.cameras[0])
    assert [each.id for each in here.filters.values()] == ["gel"]
    assert (elsewhere.heads, elsewhere.modifiers, elsewhere.filters) == ({}, {}, {})


def test_a_head_of_the_same_name_with_other_figures_is_another() -> None:
    own = own_pieces(recipe(light()), KitInUse(heads=[replace(C_HEAD, full_energy_j=400.0)]))

    assert own.heads == {}


def test_the_checklist_follows_the_set_as_it_is_filled_in() -> None:
    written, own, kit, stands = eight_months_on(
        cautions=("Hot lamps near paper.",), patches=(PatchPart(name="rim", x=0.1, y=0.1, width=0.1, height=0.1),)
    )

    lines = drafted_checklist(written, stands, target_of_recipe(written, own, kit))

    assert lines[0].heading == Heading.ROOM
    words = [say(each.fact) for each in lines]
    assert "Distance 130 cm, face to subject." in words
    assert "Power 154 J." in words
    assert "prove black" in words
    assert "Hot lamps near paper." in words
    assert [say(each.fact) for each in lines if each.heading == Heading.CHECKS] == [
        # The recipe's f/8, less what the wider mark and the smaller magnification give (0.67 and 0.12).
        "Meter key C alone at ISO 100: f/6.08.",
        "Distances within ± 10 mm.",
        "Lay the patches over the first picture: rim.",
    ]


def test_what_is_unknown_in_the_recipe_is_a_line_to_find_out() -> None:
    written = recipe(light(power_stops=None, distance_mm=None, angular_size_deg=None))
    kit = OtherKit(CAMERA, LENS, lights={"A": Light("A", "key", C_HEAD)})
    own = own_pieces(written, KitInUse(heads=[C_HEAD]))
    stands = rebuilt(written, kit, own, solve=False).set_up

    words = [say(each.fact) for each in drafted_checklist(written, stands, target_of_recipe(written, own, kit))]

    assert "Distance: unknown; find it and set it on the desk." in words
    assert "Power: unknown; find it and set it on the desk." in words


def test_other_kit_or_another_distance_is_not_as_written() -> None:
    written, elsewhere, kit, _ = eight_months_on()
    own = replace(elsewhere, camera=CAMERA, lens=NINETY)
    in_place = replace(kit.lights["C"], distance_mm=None)

    assert is_as_written(written, replace(kit, lights={"C": in_place}), own)
    assert is_as_written(written, replace(kit, lights={}), own)
    assert not is_as_written(written, kit, own)
    assert not is_as_written(written, replace(kit, lights={"C": in_place}, own=frozenset()), own)
    assert not is_as_written(written, replace(kit, lens=LENS, lights={"C": in_place}), own)


def test_lights_that_are_lettered_as_no_set_letters_them_get_letters_of_their_own() -> None:
    patch = PatchPart(name="rim", x=0, y=0, width=0.1, height=0.1, shares=(SharePart(letter="A", share=1.0),))

    twice = lettered(recipe(light("A"), light("A"), light("key"), patches=(patch,)))
    fine = recipe(light("C"), light("D"), patches=(patch,))

    assert [each.letter for each in twice.lights] == ["A", "B", "C"]
    assert twice.patches[0].shares == ()
    assert lettered(fine) is fine


stops = st.floats(-60, 60)
lengths = st.floats(0.001, 1e6)
any_setting = st.none() | st.builds(Setting, text=st.just("x"), stops=stops, dial=st.sampled_from([None, "third"]))
any_light = st.builds(
    lambda letter, over: light(letter, **over),
    st.sampled_from("ABC"),
    st.fixed_dictionaries(
        {
            "head": st.builds(head, full_j=st.floats(0.001, 1e6), lowest=stops),
            "shape": st.sampled_from(["point", "disc", "ring", "rectangle"]),
            "lit": st.booleans(),
            "modifier": st.sampled_from([None, "softbox"]),
        },
        optional={
            "power_stops": st.none() | stops,
            "distance_mm": st.none() | lengths,
            "width_mm": st.none() | lengths,
            "height_mm": st.none() | lengths,
            "inner_diameter_mm": st.none() | st.floats(0, 1e6),
            "angular_size_deg": st.none() | st.floats(0.001, 179.99),
            "incident_av": st.none() | stops,
        },
    ),
)
any_settings = st.builds(
    SettingsPart,
    f_number=any_setting,
    shutter=any_setting,
    iso=any_setting,
    focal_length_mm=st.none() | lengths,
    magnification=st.none() | st.floats(0, 100),
    subject_distance_mm=st.none() | lengths,
    pops=st.integers(1, 10_000),
)


@given(st.lists(any_light, max_size=4), any_settings, st.booleans(), st.booleans())
def test_whatever_a_document_may_hold_is_rebuilt_or_refused_with_a_sentence(
    parts: list[LightPart], settings: SettingsPart, solve: bool, same: bool
) -> None:
    written = lettered(recipe(*parts, settings=settings))
    kit = OtherKit(
        CAMERA,
        LENS,
        lights={part.letter: Light(part.letter, part.role, C_HEAD, BOX) for part in written.lit},
        own=frozenset(part.letter for part in written.lit if same),
    )

    # A figure that no light has is refused so; every other error is a mistake of the program.
    with suppress(ValueError):
        stands = rebuilt(written, kit, OwnPieces(), solve=solve).set_up
        target = target_of_recipe(written, OwnPieces(), kit)
        assess(stands, Baselines(target=target))
        lines = drafted_checklist(written, stands, target)
        words = [say(line.fact) for line in lines]
        assert all(each and "nan" not in each for each in words)
