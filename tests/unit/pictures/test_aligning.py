"""Two previews over each other: a nudge that is known is found, and none where none was."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import gaussian_filter

from tests.made_pictures import srgb_codes
from webapp.demo.fill import PICTURES
from webapp.pictures.aligning import MOST_NUDGED, Over, held_over

SIZE = (400, 600)
PIXEL = 1.0 / SIZE[1]
Light = NDArray[np.floating]


def surface(seed: int, margin_px: int = 60) -> Light:
    """A surface with detail of many sizes, larger than the picture."""
    draw = np.random.default_rng(seed)
    shape = (SIZE[0] + 2 * margin_px, SIZE[1] + 2 * margin_px)
    grains = [gaussian_filter(draw.standard_normal(shape), blur) * blur for blur in (1.0, 4.0, 16.0)]
    return np.asarray(0.18 * np.exp2(1.2 * np.sum(grains, axis=0)))


def seen(surface: Light, path: Path, *, right: int = 0, down: int = 0, stops: float = 0.0, side: float = 0.0) -> Path:
    """A picture of the middle of a surface, its subject so many pixels further to the right and down; `side` is how many
    stops more light falls from the right than from the left."""
    top, left = ((whole - own) // 2 for whole, own in zip(surface.shape, SIZE, strict=True))
    cut = surface[top - down : top - down + SIZE[0], left - right : left - right + SIZE[1]]
    fall = np.exp2(stops + side * np.linspace(-0.5, 0.5, SIZE[1]))
    Image.fromarray(srgb_codes(np.repeat((cut * fall)[:, :, np.newaxis], 3, axis=2))).save(path, quality=85)
    return path


@settings(max_examples=12)
@given(st.integers(-25, 25), st.integers(-25, 25), st.floats(-2.0, 1.0), st.floats(-1.5, 1.5))
def test_a_nudge_is_found_whatever_the_exposure_and_the_side_of_the_light(
    tmp_path_factory: pytest.TempPathFactory, right: int, down: int, stops: float, side: float
) -> None:
    folder, board = tmp_path_factory.mktemp("nudged"), surface(3)
    first = seen(board, folder / "first.jpg")

    over = held_over(first, seen(board, folder / "second.jpg", right=right, down=down, stops=stops, side=side))

    assert (over.across, over.down) == (
        pytest.approx(right * PIXEL, abs=PIXEL),
        pytest.approx(down * PIXEL, abs=PIXEL),
    )


def test_how_much_brighter_is_told_in_stops_of_light(tmp_path: Path) -> None:
    board = surface(5)

    over = held_over(
        seen(board, tmp_path / "a.jpg", stops=-2.0), seen(board, tmp_path / "b.jpg", right=9, stops=-0.5)
    )

    assert over.brighter_stops == pytest.approx(1.5, abs=0.02)


def test_a_picture_of_a_larger_field_is_laid_by_its_scale(tmp_path: Path) -> None:
    board = surface(7)
    first = seen(board, tmp_path / "a.jpg")
    seen(board, tmp_path / "b.jpg", right=12)
    with Image.open(first) as whole:
        middle = whole.crop((150, 100, 450, 300)).resize((900, 600), Image.Resampling.LANCZOS)
        middle.save(tmp_path / "near.jpg", quality=90)

    # The whole is twice as wide as the middle, in units of which the nudge is told.
    over = held_over(tmp_path / "near.jpg", tmp_path / "b.jpg", scale=2.0)

    assert over.across == pytest.approx(12 / 300, abs=2 / 300)
    assert over.down == pytest.approx(0.0, abs=2 / 300)


def test_no_nudge_is_told_of_another_subject_or_of_a_black_picture(tmp_path: Path) -> None:
    first = seen(surface(1), tmp_path / "a.jpg")

    assert held_over(first, seen(surface(2), tmp_path / "b.jpg")).across is None
    assert held_over(first, seen(surface(1), tmp_path / "c.jpg", stops=-14.0)) == Over()


def test_a_picture_that_was_framed_anew_is_left_to_the_hand(tmp_path: Path) -> None:
    board = surface(1, margin_px=120)
    far = round(MOST_NUDGED * SIZE[1]) + 20

    assert held_over(seen(board, tmp_path / "a.jpg"), seen(board, tmp_path / "b.jpg", right=far)).across is None


@pytest.mark.parametrize("shoot", ["bottle", "cock", "tile"])
def test_frames_of_a_camera_that_stood_still_are_moved_by_nothing(shoot: str) -> None:
    pictures = sorted(PICTURES.glob(f"{shoot}-*.jpg"))

    found = [held_over(first, second) for first, second in pairwise(pictures)]

    assert len(found) > 5
    assert not any(over.across or over.down for over in found)
