"""Where a made picture shows what its lights do not explain: raw files, and JPEGs through a camera's curve."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from tests.made_sets import Curve, MadeSet, Truth, contrasty, made_set, picture_of, soft, straight
from webapp.shoots.explain import explain

CURVES: dict[str, Curve | None] = {"raw": None, "straight": straight, "contrasty": contrasty, "soft": soft}


@pytest.fixture(scope="module", params=CURVES)
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[MadeSet]:
    with made_set(tmp_path_factory.mktemp("left-over"), CURVES[request.param]) as found:
        yield found


def seen(made: MadeSet, frame_id: str) -> Any:
    found = explain(made.records, frame_id).left_over
    assert found is not None
    return found


@pytest.mark.parametrize(
    "truth",
    [
        Truth(),
        Truth({"A": -0.6}),
        Truth({"B": 0.8, "C": -1.0}),
        Truth({"C": None}),
        Truth(camera=-0.5),
        Truth(gels={"A": 100.0}),
    ],
    ids=["as logged", "one light", "two lights", "no flash", "aperture", "gel"],
)
def test_what_a_light_or_the_camera_did_is_no_place(made: MadeSet, truth: Truth) -> None:
    found = seen(made, made.plant({}, truth))

    assert found.fits
    assert found.regions == ()


# A flag before the label, and a reflection in it.
@pytest.mark.parametrize("stops", [-1.0, 0.9])
def test_a_place_that_no_light_explains_is_found(made: MadeSet, stops: float) -> None:
    frame_id = made.plant({}, Truth({"B": -0.4}, local={"label": stops}))

    found = seen(made, frame_id)

    assert found.fits
    [region] = found.regions
    # The label is the right third of the upper half.
    assert region.middle == pytest.approx((5 / 6, 1 / 4), abs=0.05)
    assert region.stops == pytest.approx(stops, abs=0.12 if made.curve is None else 0.3)


def test_a_glint_beside_all_patches_is_found(made: MadeSet) -> None:
    light = picture_of(Truth())
    light[4:20, 4:20] += 0.15
    made.set(lights__A__lit="on")

    found = seen(made, made.shoot(light))

    assert [region.stops > 0 for region in found.regions] == [True]
    assert found.regions[0].middle == pytest.approx((12 / 180, 12 / 120), abs=0.05)


def test_a_picture_of_another_view_has_no_map(made: MadeSet) -> None:
    light = np.roll(picture_of(Truth({"A": 0.5})), 60, axis=1)

    found = seen(made, made.shoot(light))

    assert not found.fits or found.regions


def test_without_a_frame_of_each_light_there_is_no_map(made: MadeSet) -> None:
    made.set(lights__B__lit="off", lights__C__lit="off")
    alone = made.shoot(picture_of(Truth({"B": None, "C": None})))
    made.set(lights__B__lit="on", lights__C__lit="on")

    # The newest frame of A alone is this one itself.
    assert explain(made.records, alone).left_over is None
