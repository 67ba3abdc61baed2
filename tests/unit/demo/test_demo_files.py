"""The files that come with the program are what the renderer makes of the shoots as they are written now."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.demo_bake.__main__ import exposed
from tests.demo_bake.camera import CameraSettings, write_jpeg
from tests.demo_bake.exposures import SIZE_AGAIN, TAKEN
from tests.demo_bake.scenes import patches_in
from webapp.demo.fill import PICTURES, shoots_with

SHOOTS = {shoot.file_stem: shoot for shoot in shoots_with(defaultdict(str))}

pytestmark = pytest.mark.xdist_group("demo")


def test_there_is_one_file_for_every_frame_and_no_other() -> None:
    counts = {stem: len(shoot.frames) for stem, shoot in SHOOTS.items()}

    assert {stem: len(taken.frames) for stem, taken in TAKEN.items()} == counts
    assert {path.name for path in PICTURES.iterdir()} == {
        f"{stem}-{number:04d}.jpg" for stem, count in counts.items() for number in range(1, count + 1)
    }


@pytest.mark.parametrize(
    ("stem", "number"), [("bottle", 2), ("bottle-again", 1), ("tile", 3), ("tile", 7), ("cock", 4)]
)
def test_file_shows_what_was_really_on_the_set(stem: str, number: int, tmp_path: Path) -> None:
    settings = CameraSettings(11, Fraction(1, 125), 100, 100, dt.datetime(2026, 11, 24, 10, 0))
    really = TAKEN[stem].frames[number - 1]

    write_jpeg(tmp_path / "anew.jpg", exposed(really, really.render(), number), settings)

    with Image.open(tmp_path / "anew.jpg") as anew, Image.open(PICTURES / f"{stem}-{number:04d}.jpg") as kept:
        difference = np.abs(np.asarray(anew, dtype=np.int16) - np.asarray(kept, dtype=np.int16))
    # another release of the encoder may round otherwise
    assert difference.mean() < 0.1
    assert difference.max() <= 8


@pytest.mark.parametrize(
    ("stem", "scene", "size"),
    [
        ("bottle", "bottle", None),
        ("bottle-again", "bottle", SIZE_AGAIN),
        ("tile", "tile", None),
        ("cock", "balance-cock", None),
    ],
)
def test_patches_lie_where_the_renderer_has_them(stem: str, scene: str, size: tuple[int, int] | None) -> None:
    drawn = SHOOTS[stem].patches

    rendered = patches_in(scene, size)

    assert list(drawn) == list(rendered)
    for name, place in rendered.items():
        assert drawn[name][0] == pytest.approx(place, abs=1e-5)
