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
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from webapp.pictures.kinds import Kind, kind_of
from webapp.pictures.pillow import broken, open_picture, refusing
from webapp.pictures.store import flush_directory

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from pyvips import Image as VipsImage

TILE_PX: Final = 512
_QUALITY: Final = 80
_MANIFEST: Final = "pyramid.json"
_LOADERS: Final[dict[Kind, str]] = {
    "jpeg": "jpegload",
    "tiff": "tiffload",
    "png": "pngload",
    "webp": "webpload",
}
_TURNED_FROM: Final = 5
# Beyond this a picture that has to be read out of order is laid out on the disk.
_MOST_IN_MEMORY: Final = "100m"


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


def make_pyramid(path: Path, into: Path) -> Pyramid:
    """Cut a picture into tiles: `into`/level/x_y.jpg, with what they are beside them. A name that stands there
    stands for a whole pyramid, also after a power cut.

    Raises PictureRefused where the file is broken, TooLarge past the limit of pixels.
    """
    kind = kind_of(path)
    into.parent.mkdir(parents=True, exist_ok=True)
    unfinished = Path(tempfile.mkdtemp(prefix="unfinished-", dir=into.parent))
    try:
        with streamed(path, kind) as image, refusing(broken(kind)):
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
            size = (image.width, image.height)
        tiles = unfinished / "tiles_files"
        (tiles / "vips-properties.xml").unlink(missing_ok=True)
        pyramid = Pyramid(*size, levels=sum(1 for _ in tiles.iterdir()), reduced_by=2 if kind == "raw" else 1)
        (tiles / _MANIFEST).write_text(json.dumps(asdict(pyramid)))
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
    """A picture as the streaming library reads it: upright, 8 bits of red, green and blue in sRGB.

    It can be read once, from the top down. Raises PictureRefused where the file is broken, TooLarge past the limit
    of pixels.
    """
    if kind == "raw":
        with _decoded_raw(path) as image:
            yield image
        return
    with open_picture(path, kind) as header:
        orientation = header.getexif().get(0x0112, 1) if kind != "png" else 1
    with refusing(broken(kind)):
        image = _of_heic(path) if kind == "heic" else _opened(path, kind, orientation)
        image = _in_srgb(image)
    yield image


def rows_of(image: VipsImage) -> Callable[[int, int], NDArray[np.uint8]]:
    """Bands of a streamed picture, to be fetched from the top down: (first row, row after the last)."""
    import numpy as np

    region = _library().Region.new(image)

    def rows(top: int, bottom: int) -> NDArray[np.uint8]:
        pixels = region.fetch(0, top, image.width, bottom - top)
        return np.frombuffer(pixels, dtype=np.uint8).reshape(bottom - top, image.width, image.bands)

    return rows


def _library() -> Any:
    """The streaming library, asked to keep nothing between pictures."""
    os.environ.setdefault("VIPS_DISC_THRESHOLD", _MOST_IN_MEMORY)
    import pyvips

    pyvips.cache_set_max(0)
    return pyvips


def _opened(path: Path, kind: Kind, orientation: int) -> VipsImage:
    vips = _library()
    # Turned on its side, a picture is read across its rows, and not from the top down.
    access = "random" if isinstance(orientation, int) and orientation >= _TURNED_FROM else "sequential"
    load = getattr(vips.Image, _LOADERS[kind])
    return load(str(path), access=access, fail_on="truncated").autorot()


def _in_srgb(image: VipsImage) -> VipsImage:
    if image.get_typeof("icc-profile-data"):
        image = image.icc_transform("srgb", embedded=True, intent="relative")
    elif image.interpretation == "rgb16" or image.interpretation == "grey16":
        image = image.colourspace("srgb" if image.bands >= 3 else "b-w")
    if image.hasalpha():
        image = image.flatten()
    image = image.colourspace("srgb")
    return image if image.format == "uchar" else image.cast("uchar")


@contextmanager
def _decoded_raw(path: Path) -> Iterator[VipsImage]:
    import numpy as np

    from webapp.pictures.decode import developed, raw_picture

    with raw_picture(path) as raw:
        pixels = developed(raw, bits=8)
    if pixels.ndim == 2 or pixels.shape[2] == 1:
        pixels = np.repeat(pixels.reshape(*pixels.shape[:2], 1), 3, axis=2)
    yield _library().Image.new_from_array(np.ascontiguousarray(pixels), interpretation="srgb")


def _of_heic(path: Path) -> VipsImage:
    import numpy as np
    from PIL import ImageOps

    with open_picture(path, "heic") as image:
        upright = ImageOps.exif_transpose(image).convert("RGB")
    return _library().Image.new_from_array(np.asarray(upright), interpretation="srgb")
