"""Light adds: pictures lit by one light each make the picture lit by all of them."""

from __future__ import annotations

import io
import math
from datetime import datetime
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from tests.demo_bake.camera import CameraSettings, expose, write_jpeg
from tests.demo_bake.scenes import Scene, render_scene
from tests.made_pictures import counts_of, mosaic, scene, write_dng
from webapp.pictures.colours import light_from_srgb
from webapp.pictures.decode import linear_picture
from webapp.pictures.mixing import added, clipped, clipped_share_at, jpeg_of, level_at
from webapp.pictures.readings import Patch

SETTINGS = CameraSettings(11, Fraction(1, 125), 100, 100, datetime(2026, 11, 24, 10, 0))
WITHIN_STOPS = 0.02


@pytest.fixture(scope="module")
def bottle() -> Scene:
    return render_scene("bottle", (450, 600))


def exposed(
    folder: Path, name: str, scene: Scene, lights: dict[str, float | None], ambient: float | None
) -> np.ndarray:
    path = folder / f"{name}.jpg"
    write_jpeg(path, expose(scene, lights, ambient, seed=sum(map(ord, name))), SETTINGS)
    return linear_picture(path, 300).rgb


@pytest.mark.parametrize(("c", "d"), [(0.0, 0.0), (-1.0, 0.0), (0.0, -1.5), (-2.0, 0.4)])
def test_the_sum_is_the_scene_lit_by_both(tmp_path: Path, bottle: Scene, c: float, d: float) -> None:
    alone = [
        exposed(tmp_path, "c", bottle, {"C": -1.0}, None),
        exposed(tmp_path, "d", bottle, {"D": -1.0}, None),
    ]
    both = exposed(tmp_path, "both", bottle, {"C": -1.0 + c, "D": -1.0 + d}, None)

    mixed = added(alone, [2.0**c, 2.0**d])

    label = Patch("label", *bottle.patches["label"])
    assert math.log2(level_at(mixed, label) / level_at(both, label)) == pytest.approx(0.0, abs=WITHIN_STOPS)
    told = ~clipped(both) & ~clipped(mixed) & (both.min(axis=2) > 0.02)
    stops = np.log2(mixed[told] / both[told])
    assert np.abs(np.median(stops)) <= WITHIN_STOPS
    assert np.quantile(np.abs(stops), 0.9) <= 0.06  # 8-bit codes and noise of single pixels


def test_the_ambient_light_counts_once(tmp_path: Path, bottle: Scene) -> None:
    room = -3.0
    alone = [
        exposed(tmp_path, "c", bottle, {"C": -1.0}, room),
        exposed(tmp_path, "d", bottle, {"D": -1.0}, room),
    ]
    check = exposed(tmp_path, "room", bottle, {}, room)
    both = exposed(tmp_path, "both", bottle, {"C": -1.0, "D": 0.0}, room)
    label = Patch("label", *bottle.patches["label"])

    left_in = added(alone, [1.0, 2.0])
    mixed = added([*alone, check], [1.0, 2.0, 1.0 - 1.0 - 2.0])

    assert math.log2(level_at(mixed, label) / level_at(both, label)) == pytest.approx(0.0, abs=WITHIN_STOPS)
    assert math.log2(level_at(left_in, label) / level_at(both, label)) > 0.1


def test_raw_files_add_up_exactly(tmp_path: Path) -> None:
    one, other = scene(240, 320), scene(240, 320)[:, ::-1] * 0.5
    for name, light in (("one", one), ("other", other), ("both", one * 2 + other * 0.5)):
        write_dng(tmp_path / f"{name}.dng", counts_of(mosaic(light)))
    pictures = {each: linear_picture(tmp_path / f"{each}.dng", 80).rgb for each in ("one", "other", "both")}

    mixed = added([pictures["one"], pictures["other"]], [2.0, 0.5])

    told = pictures["both"] > 0.01
    assert np.abs(np.log2(mixed[told] / pictures["both"][told])).max() <= WITHIN_STOPS


gains = st.floats(0.0, 8.0)


@given(gains, gains, gains)
def test_a_mixture_of_mixtures_is_a_mixture(one: float, other: float, whole: float) -> None:
    pictures = [scene(12, 16).astype(np.float32), scene(12, 16)[::-1].astype(np.float32)]

    twice = added([added(pictures, [one, other])], [whole])

    np.testing.assert_allclose(twice, added(pictures, [one * whole, other * whole]), rtol=1e-5, atol=1e-6)


def test_clipped_parts_are_hatched_and_the_rest_is_the_light() -> None:
    light = np.full((64, 64, 3), 0.18, np.float32)
    light[:, 32:] = 1.4
    marks = clipped(light)

    shown = np.asarray(Image.open(io.BytesIO(jpeg_of(light, marks))), dtype=np.float64)

    assert clipped_share_at(marks, Patch("right", 0.5, 0, 0.5, 1)) == 1.0
    # Mid-tone is code 117.6 of IEC 61966-2-1.
    assert shown[:, :24].mean() == pytest.approx(117.6, abs=1.0)
    right = shown[:, 40:]
    assert ((right[:, :, 0] - right[:, :, 1]) > 60).mean() > 0.15
    plain = np.asarray(Image.open(io.BytesIO(jpeg_of(light))), dtype=np.float64)
    assert plain[:, 40:].min() >= 250


def test_codes_of_the_preview_stand_for_the_light() -> None:
    light = np.linspace(0.01, 0.9, 256, dtype=np.float32)
    picture = np.repeat(np.repeat(light[:, np.newaxis, np.newaxis], 64, axis=1), 3, axis=2)

    shown = np.asarray(Image.open(io.BytesIO(jpeg_of(picture))))

    assert light_from_srgb(shown[200, 32, 0] / 255.0) == pytest.approx(light[200], rel=0.02)


@pytest.mark.parametrize("gains", [[1.0], [1.0, math.nan]])
def test_what_is_no_sum_is_refused(gains: list[float]) -> None:
    with pytest.raises(ValueError, match="gain"):
        added([np.zeros((2, 2, 3), np.float32)] * 2, gains)


def test_pictures_of_different_sizes_are_refused() -> None:
    with pytest.raises(ValueError, match="different sizes"):
        added([np.zeros((2, 2, 3), np.float32), np.zeros((2, 3, 3), np.float32)], [1.0, 1.0])
