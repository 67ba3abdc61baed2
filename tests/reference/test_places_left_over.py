"""Where light is left over in a picture, against what was planted there: a set of three lights whose light is known to the
last photon (`tests/made_sets.py`), in raw files, each patch brightened or darkened while the lights give this and that."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import pytest

from tests.made_sets import PATCHES, MadeSet, Truth, made_set
from tests.reference.conftest import Checked
from webapp.shoots.explain import explain

TOPIC = "places left over"
SOURCE = "made sets of known light"
# Half a stop less at the crown, which A alone lights, is what A a little weaker and B and C a little stronger show as well:
# with six places for three lights the tiles leave room for that.
NOT_APART = ("crown", -0.5)
LIGHTS = ({}, {"A": -0.6}, {"B": 0.7, "C": -0.5})


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[MadeSet]:
    with made_set(tmp_path_factory.mktemp("places")) as found:
        yield found


@pytest.mark.parametrize(
    ("patch", "stops"),
    [each for each in itertools.product(PATCHES, (-1.2, -0.5, 0.5, 1.0)) if each != NOT_APART],
)
def test_a_planted_place_is_found_with_its_size_where_it_is(
    made: MadeSet, checked: Checked, patch: str, stops: float
) -> None:
    index = PATCHES.index(patch)
    row, column = divmod(index, 3)
    frame_id = made.plant({}, Truth(LIGHTS[index % 3], local={patch: stops}))

    found = explain(made.records, frame_id).left_over

    assert found is not None
    [region] = found.regions
    x, y = region.middle
    # The patches are the thirds across of the halves down.
    checked(TOPIC, SOURCE, "stops of the place", stops, region.stops, 0.1, "stop")
    checked(TOPIC, SOURCE, "middle, across", (column + 0.5) / 3, x, 0.03, "width")
    checked(TOPIC, SOURCE, "middle, down", (row + 0.5) / 2, y, 0.04, "height")
