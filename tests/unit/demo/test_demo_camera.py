from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from fractions import Fraction
from math import log2
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.demo_bake.camera import BODY_44X33, Blur, CameraSettings, expose, light_on_sensor, write_jpeg
from tests.demo_bake.scenes import Scene, patch_level
from tests.demo_bake.still_life import LUMINANCE, patch_of

SETTINGS = CameraSettings(
    f_number=9.0,
    exposure_time_s=Fraction(1, 125),
    iso=100,
    focal_length_mm=120.0,
    taken_at=datetime(2026, 3, 4, 10, 31, 7, 480_000),
    body=BODY_44X33,
    lens="Macro 120 mm",
)


@pytest.fixture
def file_stops(colour_library: ModuleType, tmp_path: Path) -> Callable[..., float]:
    """Level of a patch in a written file, in stops about 18 % of saturation, by another library's sRGB curve."""

    def read(scene: Scene, patch: str, **light_stops: float | None) -> float:
        path = tmp_path / "read.jpg"
        write_jpeg(path, expose(scene, light_stops, None, seed=1, glare=()), SETTINGS)
        with Image.open(path) as image:
            light = np.asarray(colour_library.models.eotf_sRGB(np.asarray(image) / 255.0))
        return log2(patch_level(light, scene.patches[patch]) / 0.18)

    return read


def test_two_lights_together_are_the_sum_of_each_alone(tile: Scene) -> None:
    together = light_on_sensor(tile, {"A": 2.9, "B": 1.9}, -7.0)

    a = light_on_sensor(tile, {"A": 2.9}, None)
    b = light_on_sensor(tile, {"A": None, "B": 1.9}, None)
    room = light_on_sensor(tile, {}, -7.0)
    np.testing.assert_allclose(together, a + b + room, rtol=1e-5, atol=1e-6)


def test_a_stop_more_doubles_every_place(bottle: Scene) -> None:
    less = light_on_sensor(bottle, {"C": -1.0, "D": -1.5}, -8.0)
    more = light_on_sensor(bottle, {"C": 0.0, "D": -0.5}, -7.0)

    np.testing.assert_allclose(more, 2 * less, rtol=1e-5)


def test_all_lights_off_leave_the_sensor_dark(cock: Scene) -> None:
    assert not light_on_sensor(cock, {"A": None}, None).any()


def test_wanted_level_lies_at_eighteen_per_cent_in_the_file(cock: Scene, file_stops: Callable[..., float]) -> None:
    assert file_stops(cock, "gilt", A=0.0) == pytest.approx(0.0, abs=0.02)


@pytest.mark.parametrize("stops", [-4.0, -2.0, -1.0, 0.0])
def test_a_stop_more_doubles_the_patch_in_the_file(
    cock: Scene, file_stops: Callable[..., float], stops: float
) -> None:
    less = file_stops(cock, "gilt", A=stops)
    more = file_stops(cock, "gilt", A=stops + 1)

    assert more - less == pytest.approx(1.0, abs=0.05)


@pytest.mark.parametrize(("patch", "expected"), [("left", -0.28), ("centre", -0.38), ("right", -0.44)])
def test_file_of_the_tile_shows_that_b_is_a_stop_low(
    tile: Scene, file_stops: Callable[..., float], patch: str, expected: float
) -> None:
    read = file_stops(tile, patch, A=0.039, B=-0.961)

    assert read == pytest.approx(expected, abs=0.02)


def test_overexposure_stops_at_saturation(cock: Scene) -> None:
    picture = expose(cock, {"A": 4.0}, None, seed=1)

    assert picture.max() == 1.0
    assert np.all(patch_of(picture, cock.patches["gilt"])[..., 0] == 1.0)


def test_same_seed_gives_the_same_picture_and_another_seed_other_noise(cock: Scene) -> None:
    first, again, other = (expose(cock, {"A": 0.0}, -7.0, seed=seed) for seed in (5, 5, 6))

    np.testing.assert_array_equal(first, again)
    assert np.any(first != other)


def test_noise_is_small_and_does_not_move_the_level(tile: Scene) -> None:
    rect = tile.patches["centre"]
    clean = patch_of(light_on_sensor(tile, {"A": 0.0, "B": 0.0}, None), rect) * 0.18

    noisy = patch_of(expose(tile, {"A": 0.0, "B": 0.0}, None, seed=3), rect)

    difference = noisy - clean
    assert 0 < np.std(difference) < 0.01 * 0.18
    assert abs(np.mean(difference)) < 4 * np.std(difference) / np.sqrt(difference.size)


def test_crossed_polarisers_take_the_glare_and_nothing_else(tile: Scene) -> None:
    lights = {"A": 0.0, "B": 0.0}

    shining, crossed = light_on_sensor(tile, lights, None), light_on_sensor(tile, lights, None, glare=())

    np.testing.assert_allclose(shining - crossed, tile.glare["A"] + tile.glare["B"], atol=1e-4)


def test_glare_of_a_light_that_is_off_is_not_seen(tile: Scene) -> None:
    by_day = light_on_sensor(tile, {"A": None, "B": None}, -0.4)

    np.testing.assert_allclose(by_day, (tile.ambient + tile.glare["ambient"]) * 2**-0.4, rtol=1e-5)


def test_gel_warms_as_a_black_body_of_the_shifted_temperature_does(bottle: Scene, colour_library: ModuleType) -> None:
    plain = light_on_sensor(bottle, {"D": 0.0}, None)
    warmed = light_on_sensor(bottle, {"D": 0.0}, None, mired_shifts={"D": 42.0})
    place = np.unravel_index(np.argmax(plain.sum(axis=-1)), plain.shape[:2])

    colour = colour_library
    # 5600 K and 42 mired more, both as spectra seen by the 2 degree observer (colour-science)
    before, after = (
        colour.XYZ_to_RGB(
            colour.sd_to_XYZ(colour.sd_blackbody(kelvin)),
            "sRGB",
            apply_cctf_encoding=False,
            chromatic_adaptation_transform=None,
        )
        for kelvin in (5600.0, 1e6 / (1e6 / 5600 + 42))
    )
    expected = (after / before) / (after / before)[1]
    gain = warmed[place] / plain[place]
    np.testing.assert_allclose(gain / gain[1], expected, rtol=0.003)
    assert gain @ LUMINANCE == pytest.approx(1.0, abs=1e-4)


def detail(picture: np.ndarray[Any, Any], rows: slice, columns: slice) -> float:
    level = (picture @ LUMINANCE)[rows, columns]
    return float(np.var(np.diff(level, axis=1)))


def test_diffraction_softens_the_engraving_but_keeps_the_level(cock: Scene) -> None:
    sharp = light_on_sensor(cock, {"A": 0.0}, None)
    mushy = light_on_sensor(cock, {"A": 0.0}, None, blur=Blur(everywhere_px=1.5))

    whole = slice(None)
    assert detail(mushy, whole, whole) < 0.3 * detail(sharp, whole, whole)
    gilt = cock.patches["gilt"]
    assert log2(patch_level(mushy, gilt) / patch_level(sharp, gilt)) == pytest.approx(0.0, abs=0.02)


def test_what_is_in_focus_changes_with_the_focused_height(cock: Scene) -> None:
    table, foot = (slice(150, 250), slice(70, 120)), (slice(80, 320), slice(520, 560))

    on_table, on_foot = (
        light_on_sensor(cock, {"A": 0.0}, None, blur=Blur(focus_mm=height_mm, px_per_mm=2.0))
        for height_mm in (2.75, 0.6)
    )

    assert detail(on_table, *table) > 2 * detail(on_foot, *table)
    assert detail(on_foot, *foot) > 2 * detail(on_table, *foot)


def test_file_says_what_the_camera_was_set_to(cock: Scene, tmp_path: Path) -> None:
    write_jpeg(tmp_path / "a.jpg", expose(cock, {"A": 0.0}, None, seed=1), SETTINGS)

    with Image.open(tmp_path / "a.jpg") as image:
        first, exposure = image.getexif(), image.getexif().get_ifd(0x8769)
        size = image.size
    assert (first[0x010F], first[0x0110]) == ("Invented Camera Works", "Studio body 44x33")
    assert Fraction(exposure[0x829A].numerator, exposure[0x829A].denominator) == Fraction(1, 125)
    assert (exposure[0x829D], exposure[0x8827], exposure[0x920A]) == (9, 100, 120)
    assert (exposure[0x9003], exposure[0x9290], exposure[0x9291]) == ("2026:03:04 10:31:07", "480", "480")
    assert exposure[0xA434] == "Macro 120 mm"
    assert size == (exposure[0xA002], exposure[0xA003]) == (600, 400)


def test_zone_of_the_clock_is_written_where_it_is_known(cock: Scene, tmp_path: Path) -> None:
    zoned = CameraSettings(8.0, Fraction(1), 100, 100.0, datetime(2026, 3, 4, 10, 31, tzinfo=UTC))

    write_jpeg(tmp_path / "a.jpg", cock.ambient * 0.1, zoned)

    with Image.open(tmp_path / "a.jpg") as image:
        assert image.getexif().get_ifd(0x8769)[0x9011] == "+00:00"


@pytest.mark.parametrize(
    ("level", "code"),
    [(0.0, 0), (0.0030353, 10), (0.127438, 100), (0.18, 118), (0.5, 188), (1.0, 255), (1.7, 255), (-0.1, 0)],
)
def test_codes_follow_the_srgb_curve(tmp_path: Path, level: float, code: int) -> None:
    """IEC 61966-2-1; codes 10, 100 and 188 and the light of them as tabulated from the standard's curve."""
    write_jpeg(tmp_path / "grey.jpg", np.full((64, 64, 3), level, dtype=np.float32), SETTINGS)

    with Image.open(tmp_path / "grey.jpg") as image:
        assert np.median(np.asarray(image)) == code


@pytest.mark.parametrize(
    ("lights", "ambient", "options", "message"),
    [
        ({"Z": 0.0}, None, {}, "no light Z"),
        ({"A": 0.0}, None, {"mired_shifts": {"Z": 42.0}}, "no light Z"),
        ({"A": float("nan")}, None, {}, "number up to 20"),
        ({"A": 21.0}, None, {}, "number up to 20"),
        ({}, float("inf"), {}, "number up to 20"),
        ({"A": 0.0}, None, {"glare": ("A",)}, "no glare of A"),
    ],
)
def test_senseless_exposures_are_refused(
    cock: Scene, lights: dict[str, float | None], ambient: float | None, options: dict[str, Any], message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        expose(cock, lights, ambient, seed=1, **options)


@pytest.mark.parametrize(
    "senseless",
    [{"everywhere_px": -1.0}, {"px_per_mm": -1.0}, {"everywhere_px": float("inf")}, {"focus_mm": float("nan")}],
)
def test_senseless_blur_is_refused(senseless: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="must be"):
        Blur(**senseless)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"f_number": 0.0}, "f-number"),
        ({"exposure_time_s": Fraction(0)}, "exposure time"),
        ({"focal_length_mm": float("nan")}, "focal length"),
        ({"iso": 0}, "ISO"),
        ({"iso": 70_000}, "ISO"),
    ],
)
def test_settings_that_no_camera_has_are_refused(changed: dict[str, Any], message: str) -> None:
    values: dict[str, Any] = {
        "f_number": 8.0,
        "exposure_time_s": Fraction(1, 125),
        "iso": 100,
        "focal_length_mm": 100.0,
        "taken_at": datetime(2026, 3, 4),
    }

    with pytest.raises(ValueError, match=message):
        CameraSettings(**(values | changed))
