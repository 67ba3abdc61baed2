"""Whether the kit that is here can rebuild a recipe: by counting lights, by the size of faces, by how close a lens gets."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.houses import new_records
from tests.unit.recipes.made import head, light, recipe
from webapp.recipes.document import LightPart, Recipe, SettingsPart
from webapp.recipes.kit_match import ALL_OF_IT, FACET, Owned, needs_of, owned_by
from webapp.recipes.publish import publish
from webapp.recipes.search.finding import Filters, Finder
from webapp.records.engine import Records
from webapp.records.recipe_search import KitHere
from webapp.records.tables import Camera, Lens, LightHead, Modifier

REBUILT = Filters(facets=((FACET, ALL_OF_IT),))


def with_box(letter: str = "A", side_mm: float = 600.0, **over: Any) -> LightPart:
    return light(letter, modifier="softbox", width_mm=side_mm, height_mm=side_mm, shape="rectangle", **over)


def with_strip(**over: Any) -> LightPart:
    return light(modifier="strip box", width_mm=300.0, height_mm=1200.0, shape="rectangle", **over)


@pytest.fixture
def records(tmp_path: Any) -> Iterator[Records]:
    made = new_records(tmp_path)
    yield made
    made.close()


def keep(records: Records, *kit: Any) -> None:
    with records.writing() as db:
        db.add_all(kit)


def camera() -> Camera:
    return Camera(
        name="body",
        sensor_width_mm=36,
        sensor_height_mm=24,
        width_px=6000,
        height_px=4000,
        lowest_iso=100,
        highest_iso=800,
    )


def lens(greatest: float | None = 1.0) -> Lens:
    return Lens(
        name="macro",
        shortest_focal_mm=100,
        longest_focal_mm=100,
        widest_f_number=4,
        smallest_f_number=32,
        greatest_magnification=greatest,
    )


def flash(**over: Any) -> LightHead:
    return LightHead(**({"name": "head", "lowest_power_stops": -6, "step_stops": 0.1} | over))


def box(side_mm: float = 600.0, **over: Any) -> Modifier:
    return Modifier(name="box", shape="rectangle", width_mm=side_mm, height_mm=over.pop("height_mm", side_mm), **over)


def is_rebuilt(records: Records, one: Recipe) -> bool:
    """Whether the search offers the recipe as one that the kit can rebuild, by the filter and by the count alike."""
    finder = Finder(records)
    published = publish(records, one)
    narrowed = {line.recipe_id for line in finder.find("", REBUILT).lines}
    counted = {(facet, value): count for facet, value, count in finder.find("").facets}
    assert counted.get((FACET, ALL_OF_IT), 0) == len(narrowed)
    return published.recipe_id in narrowed


def test_a_house_with_the_lights_the_box_and_the_lens_can_rebuild_it(records: Records) -> None:
    keep(records, camera(), lens(), flash(), box())

    assert is_rebuilt(records, recipe(with_box()))


@pytest.mark.parametrize(
    ("what", "missing"),
    [
        ("a second head", recipe(with_box(), with_box("B"))),
        ("a ring", recipe(light(head=head(form="ring")))),
        ("a lamp", recipe(light(head=head(kind="continuous")))),
        ("a larger box", recipe(with_box(side_mm=1200.0))),
        ("a strip", recipe(with_strip())),
        ("a closer lens", recipe(settings=SettingsPart(magnification=3.0))),
        ("a size", recipe(light(modifier="softbox", width_mm=None, shape="point"))),
        ("a magnification", recipe(settings=SettingsPart())),
    ],
)
def test_what_is_missing_or_unknown_is_not_had(records: Records, what: str, missing: Recipe) -> None:
    keep(records, camera(), lens(), flash(), box())

    assert not is_rebuilt(records, missing), what


@pytest.mark.parametrize("noun", [camera, lens, flash, box])
def test_retired_kit_does_not_count(records: Records, noun: Any) -> None:
    kit = {each: each() for each in (camera, lens, flash, box)}
    kit[noun].retired = True
    keep(records, *kit.values())

    assert not is_rebuilt(records, recipe(with_box()))


def test_a_lens_that_does_not_say_how_close_it_gets_reaches_only_what_is_far(records: Records) -> None:
    keep(records, camera(), lens(None), flash(), box())

    assert not is_rebuilt(records, recipe(with_box()))
    assert is_rebuilt(records, recipe(with_box(), settings=SettingsPart(magnification=0.0)))


def test_a_box_stands_for_one_of_like_size_and_a_strip_for_a_strip(records: Records) -> None:
    # 60 cm at 80 cm looks as large as 90 cm at 120 cm: common practice.
    keep(records, camera(), lens(), flash(), box(900.0), box(250.0, height_mm=1000.0))

    assert is_rebuilt(records, recipe(with_box(side_mm=620.0)))
    assert is_rebuilt(records, recipe(with_strip()))
    assert not is_rebuilt(records, recipe(with_box(side_mm=400.0)))


sizes = st.floats(20.0, 4000.0)


@given(sizes, st.lists(sizes, max_size=4))
def test_more_kit_never_rebuilds_less(needed: float, others: list[float]) -> None:
    def owned(*faces: float) -> Owned:
        return owned_by(KitHere((("flash", "head"),), tuple(("disc", each, None) for each in faces), 36.0, 1.0))

    few, more = owned(*others[:2]), owned(*others)

    assert few.face_sizes & ~more.face_sizes == 0
    assert needs_of(recipe(with_box(side_mm=needed))).face_sizes
    own = owned(needed).face_sizes
    needs = needs_of(recipe(with_box(side_mm=needed))).face_sizes
    assert needs is not None
    assert needs & ~own == 0
