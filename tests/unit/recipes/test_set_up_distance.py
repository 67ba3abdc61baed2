"""How alike two set-ups are."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tests.unit.recipes.made import light, recipe
from webapp.recipes.search.lines import Vector, set_up_distance, vector_of
from webapp.recipes.search.techniques import Meeting

some = st.one_of(st.none(), st.floats(0.01, 100))
vectors = st.builds(
    Vector,
    meetings=st.sets(st.sampled_from(list(Meeting))).map(lambda s: tuple(sorted(s))),
    key_meeting=st.none() | st.sampled_from(list(Meeting)),
    through=st.none() | st.booleans(),
    key_angle_deg=some,
    fill_stops=st.one_of(st.none(), st.floats(-6, 0)),
    light_count=st.integers(0, 6),
    magnification=some,
    looks=st.sets(st.sampled_from(["hard", "soft"])).map(tuple),
)


@given(vectors, vectors)
def test_distance_is_symmetric_and_lies_between_none_and_one(one: Vector, other: Vector) -> None:
    assert set_up_distance(one, other) == set_up_distance(other, one)
    assert 0.0 <= set_up_distance(one, other) <= 1.0


def test_a_set_up_is_nearest_to_itself_and_direction_counts_more_than_a_second_light() -> None:
    own = vector_of(recipe())
    turned = vector_of(recipe(light(direction="back")))
    with_fill = vector_of(recipe(light(), light("B", role="fill")))

    assert set_up_distance(own, own) == 0.0
    assert set_up_distance(own, turned) > set_up_distance(own, with_fill) > 0.0
