"""The steps of building: from the document alone, in the order in which a set goes up, each with its check."""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.recipes.made import head, light, recipe
from webapp.quantities.lengths import Lengths
from webapp.recipes.building import alone_at, building_steps, thing_shone_on
from webapp.recipes.document import (
    AmbientPart,
    FilterPart,
    PatchPart,
    PlacePart,
    PositionPart,
    Recipe,
    SharePart,
    StepPart,
    ThingPart,
)
from webapp.recipes.written_frame import light_of, thing_of
from webapp.web.words.steps import drafted_steps, steps_read

SHEET = FilterPart(name="ND 0.6", kind="neutral", loss_stops=2.0)
GEL = FilterPart(name="quarter orange", kind="gel", loss_stops=0.3, shift_mired=42.0)


def thing(thing_id: str, kind: str, x: float, y: float, z: float, *size: float) -> ThingPart:
    at = PositionPart(at=PlacePart(x_mm=x, y_mm=y, z_mm=z), known="taped")
    return ThingPart(id=thing_id, kind=kind, position=at, width_mm=size[0], height_mm=size[1])  # type: ignore[arg-type]


def at(x: float, y: float, z: float, **aim: float) -> PositionPart:
    return PositionPart(at=PlacePart(x_mm=x, y_mm=y, z_mm=z), aim=PlacePart(**aim), known="taped")


def patch(name: str, level: float, **shares: float) -> PatchPart:
    told = tuple(SharePart(letter=letter, share=share) for letter, share in shares.items())
    return PatchPart(
        name=name, x=0.1, y=0.1, width=0.1, height=0.1, read_stops=level, tolerance_stops=0.1, shares=told
    )


def whole(**over: Any) -> Recipe:
    """A bottle: light on the panel behind it, a light on the label, a card beside it."""
    rim = light(
        "C", role="rim", shines_on="panel", distance_mm=900.0, position=at(0, 1350, 0, y_mm=450), direction="back"
    )
    key = light("D", filters=(SHEET, SHEET, GEL), position=at(459, -655, 0), distance_mm=800.0, incident_av=6.4)
    said: dict[str, Any] = {
        "things": (
            thing("reflector-2", "reflector", 120, 0, 0, 200, 150),
            thing("subject", "subject", 0, 0, 0, 70, 180),
            thing("table", "table", 0, 0, -90, 600, 0),
            thing("background", "background", 0, 350, 0, 280, 370),
            thing("reflector-1", "reflector", 0, 450, 0, 1200, 900),
        ),
        "ambient": AmbientPart(margin_stops=8.5, patch="label"),
        "patches": (patch("label", 0.0, C=0.1, D=0.9), patch("rim", 2.3, C=0.98, D=0.02)),
    }
    return recipe(rim, key, **(said | over))


def test_a_set_goes_up_from_the_subject_to_its_lights_one_at_a_time() -> None:
    assert [(each.about, each.whose) for each in building_steps(whole())] == [
        ("subject", "subject"),
        ("camera", ""),
        ("background", "background"),
        ("room", ""),
        ("card", "reflector-1"),
        ("light", "C"),
        ("light", "D"),
        ("card", "reflector-2"),
        ("together", ""),
    ]


def words_of(made: Recipe, about: str, whose: str = "") -> StepPart:
    return next(each for each in drafted_steps(made) if (each.about, each.whose) == (about, whose))


def test_a_light_says_what_it_shines_on_and_how_far_that_is() -> None:
    told = words_of(whole(), "light", "C").words

    assert "It shines on the panel (reflector 1), 90 cm from it" in told
    assert "90 cm from the subject" not in told


def test_sheets_are_counted_as_they_stand() -> None:
    assert "2 × ND 0.6, quarter orange" in words_of(whole(), "light", "D").words


def test_a_light_alone_gives_its_share_of_the_level_of_all() -> None:
    # 2.3 + log2 0.98 = 2.27, and 0 + log2 0.9 = -0.15: addition of linear light (definition of the stop).
    rim, key = alone_at(whole(), "C"), alone_at(whole(), "D")
    assert rim is not None
    assert key is not None
    assert (rim[0].name, round(rim[1], 2)) == ("rim", 2.27)
    assert (key[0].name, round(key[1], 2)) == ("label", -0.15)


def test_what_is_not_known_of_a_light_is_no_check() -> None:
    made = recipe(light("A", incident_av=None), light("B"), patches=(patch("label", 0.0, A=0.5),))

    assert alone_at(made, "B") is None
    assert alone_at(made, "A") is not None


def test_the_checks_of_a_light_are_its_meter_reading_and_its_patch() -> None:
    told = words_of(whole(), "light", "D")

    # f/9.19 is 2^(6.4/2).
    assert "Key D alone meters f/9.19 at the subject, at ISO 100 (by the kit, not metered on this set)." in told.check
    assert "With it alone label reads −0.2 ± 0.1." in told.check
    assert "4.3 stops over and bluer" in told.otherwise


def test_a_stack_is_one_step_with_the_step_that_was_logged() -> None:
    settings = whole().settings.model_copy(
        update={"stack_frames": 12, "stack_step_mm": 0.29, "wanted_depth_mm": 3.0, "magnification": 1.2}
    )
    steps = [each for each in drafted_steps(whole(settings=settings)) if each.about == "stack"]

    assert len(steps) == 1
    assert "12 frames through 3 mm, focus moved 0.29 mm from one to the next" in steps[0].words


def test_a_room_that_was_not_proven_has_no_figure() -> None:
    told = words_of(whole(ambient=None), "room")

    assert (told.check, told.otherwise) == ("", "")


def test_a_light_that_is_off_and_a_thing_that_is_not_there_are_no_steps() -> None:
    made = recipe(light("A"), light("B", lit=False))

    assert [(each.about, each.whose) for each in building_steps(made)] == [
        ("subject", "subject"),
        ("camera", ""),
        ("room", ""),
        ("light", "A"),
    ]


@pytest.mark.parametrize(
    ("shines_on", "aim", "found"),
    [
        ("panel", 450.0, "reflector-1"),
        ("card", 10.0, "reflector-2"),
        ("background", 0.0, "background"),
        ("panel", 0.0, None),
    ],
)
def test_what_a_light_shines_on_is_what_it_is_aimed_at(shines_on: str, aim: float, found: str | None) -> None:
    part = light("C", shines_on=shines_on, position=at(0, 1350, 0, y_mm=aim))
    thing = thing_shone_on(light_of(part), tuple(map(thing_of, whole().things)))

    assert (thing.id if thing else None) == found


def test_a_drafted_step_is_read_in_the_readers_units_and_a_written_one_as_it_is() -> None:
    drafted = whole(subject="a bottle")
    written = StepPart(about="other", words="30 cm of tape on the floor")
    made = drafted.model_copy(update={"steps": (*drafted_steps(drafted), written)})

    inches = steps_read(made, Lengths(inches=True))

    assert steps_read(made, Lengths()) == made.steps
    assert any("47.2 × 35.4 in" in each.words for each in inches)
    assert inches[-1] == written
    assert not any("cm" in each.words for each in inches[:-1])


def test_a_head_without_a_modifier_has_no_size_beside_it() -> None:
    bare = light("A", head=head(name="bare head"), modifier=None)

    assert words_of(recipe(bare), "light", "A").words.startswith(
        "Key A: bare head. 90 cm from the subject, from the side"
    )
