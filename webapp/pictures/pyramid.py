"""A picture as a pyramid of tiles, so that a phone may look at a hundred megapixels without ever having them.

Level 0 shows the whole picture in one tile; each level above has twice the pixels a side; the last has all of them.
Tiles are JPEGs of 512 pixels a side, upright, in sRGB, with nothing in them but pixels.

JPEG, TIFF, PNG and WebP are streamed: only a band of the picture is in memory at a time. A raw file is developed at
half its size, without a tone curve; HEIC is decoded whole.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from webapp.pictures.kinds import Kind, kind_of
from webapp.pictures.pillow import broken, refusing
from webapp.pictures.store import flush_directory
from webapp.pictures.stored import view_of
from webapp.pictures.vips import image_of

if TYPE_CHECKING:
    from pyvips import Image as VipsImage

TILE_PX: Final = 512
_QUALITY: Final = 80
_MANIFEST: Final = "pyramid.json"
_TILES: Final = "tiles_files"
"""As libvips names the directory of the tiles that it calls "tiles"."""


@dataclass(frozen=True, slots=True)
class Pyramid:
    """What there is to look at: the upright size of the last level, and how many levels there are.

    `reduced_by` is 2 where the last level has half the pixels of the file (raw files).
    """

    width_px: int
    height_px: int
    levels: int
    tile_px: int = TILE_PX
    reduced_by: int = 1

    def level_size(self, level: int) -> tuple[int, int]:
        """Width and height of a level in pixels. Raises ValueError for a level that there is not.

        >>> Pyramid(6000, 4000, 5).level_size(0), Pyramid(6000, 4000, 5).level_size(4)
        ((375, 250), (6000, 4000))
        """
        if not 0 <= level < self.levels:
            raise ValueError(f"The pyramid has levels 0 to {self.levels - 1}, and no level {level}.")
        below = 2 ** (self.levels - 1 - level)
        return -(-self.width_px // below), -(-self.height_px // below)

    @property
    def tiles(self) -> int:
        """How many there are on all levels.

        >>> Pyramid(600, 400, 2).tiles
        3
        """
        sizes = map(self.level_size, range(self.levels))
        return sum(-(-width // self.tile_px) * -(-height // self.tile_px) for width, height in sizes)


def make_pyramid(path: Path, into: Path) -> Pyramid:
    """Cut a picture into tiles: `into`/level/x_y.jpg, with what they are beside them. A name that stands there
    stands for a whole pyramid, also after a power cut.

    One picture is cut by one process at a time; what an earlier one left unfinished is swept away. Raises
    PictureRefused where the file is broken, TooLarge past the limit of pixels.
    """
    kind = kind_of(path)
    unfinished = _unfinished(into)
    shutil.rmtree(unfinished, ignore_errors=True)
    unfinished.mkdir(parents=True)
    try:
        with streamed(path, kind) as image, refusing(broken(kind)):
            pyramid = Pyramid(
                image.width,
                image.height,
                levels=_levels(max(image.width, image.height)),
                reduced_by=2 if kind == "raw" else 1,
            )
            manifest = json.dumps(asdict(pyramid))
            # There from the start, for whoever asks how far the tiles are.
            (unfinished / _MANIFEST).write_text(manifest)
            image.dzsave(
                str(unfinished / "tiles"),
                layout="dz",
                depth="onetile",
                tile_size=TILE_PX,
                overlap=0,
                suffix=".jpg",
                Q=_QUALITY,
                keep="none",
            )
        tiles = unfinished / _TILES
        (tiles / "vips-properties.xml").unlink(missing_ok=True)
        (tiles / _MANIFEST).write_text(manifest)
        _flush(tiles)
        shutil.rmtree(into, ignore_errors=True)
        tiles.replace(into)
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)
    return pyramid


def read_pyramid(directory: Path) -> Pyramid | None:
    """What lies in a directory of tiles; None where nothing does, or nothing that can be read."""
    try:
        return Pyramid(**json.loads((directory / _MANIFEST).read_text()))
    except (FileNotFoundError, NotADirectoryError, ValueError, TypeError):
        return None


def share_made(into: Path) -> float:
    """The share of a pyramid's tiles that is cut while it is made, 0 to 1; 0 where that has not begun."""
    unfinished = _unfinished(into)
    pyramid = read_pyramid(unfinished)
    if pyramid is None:
        return 0.0
    # Not by a glob, which fails where the last tile is cut just then and all are moved to their place.
    cut = sum(name.endswith(".jpg") for _, _, names in os.walk(unfinished / _TILES) for name in names)
    return min(1.0, cut / pyramid.tiles)


def _unfinished(into: Path) -> Path:
    return into.with_name(f"unfinished-{into.name}")


def _levels(longest_px: int) -> int:
    """As many as halve the longer side until it fits into a tile.

    >>> _levels(512), _levels(513), _levels(6000)
    (1, 2, 5)
    """
    return 1 + (-(-longest_px // TILE_PX) - 1).bit_length()


def _flush(tiles: Path) -> None:
    flush_directory(tiles)
    for path in tiles.rglob("*"):
        if path.is_dir():
            flush_directory(path)
        else:
            with path.open("rb") as file:
                os.fsync(file.fileno())


def tile_in(directory: Path, level: int, x: int, y: int) -> Path:
    """Where a tile lies, whether it is there or not."""
    return directory / str(level) / f"{x}_{y}.jpg"


@contextmanager
def streamed(path: Path, kind: Kind) -> Iterator[VipsImage]:
    """Any picture to be looked at, as `stored.view_of`; a raw file developed at half its size, without a tone curve."""
    if kind != "raw":
        with view_of(path, kind) as image:
            yield image
        return
    from webapp.pictures.decode import developed, raw_picture

    with raw_picture(path) as raw:
        pixels = developed(raw, bits=8)
    yield image_of(pixels).colourspace("srgb")
