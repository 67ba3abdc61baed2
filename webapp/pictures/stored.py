"""A rendered picture with all its bits and pixels, as it is stored (not yet upright), and what its codes mean."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from webapp.errors import PictureRefused
from webapp.facts import Fact, fact
from webapp.pictures.colours import Colours, plain_colours, profiled_colours
from webapp.pictures.header import Header, header_of
from webapp.pictures.kinds import Kind
from webapp.pictures.metadata import turned
from webapp.pictures.pillow import broken, decoded, refusing
from webapp.pictures.reasons import Reason
from webapp.pictures.vips import Access, Rows, image_of, library, opened, rows_of, with_profile

if TYPE_CHECKING:
    from pyvips import Image as VipsImage

_WHITE_CODES: Final = {"uchar": 255, "ushort": 65535, "float": None, "double": None}
_DEEP_WHITE: Final = 65535


@dataclass(frozen=True, slots=True)
class Meaning:
    """The channels of a picture that are colours, and what their codes mean.

    Where a profile with tables said it, they were looked up in it: `image` then has sRGB with 16 bits, and after it the
    file's own channels. `clipping_white` is the code of white in the last channels. `profile` is one that is still to be
    converted from for a picture to be looked at.
    """

    image: VipsImage
    colours: Colours
    clipping_white: int | None
    profile: bytes | None
    notes: tuple[Fact, ...]


def meaning_of(image: VipsImage, profile: bytes | None, *notes: Fact) -> Meaning:
    """What a picture means by its profile, None being sRGB; `notes` is what has to be said of it already.

    Raises PictureRefused for whole numbers of which nobody knows the white.
    """
    if image.format not in _WHITE_CODES:
        raise PictureRefused(
            "A picture of 32-bit whole numbers says nowhere which of them is white; save it with 8 or 16 bits, or as "
            "floating-point numbers."
        )
    if image.interpretation == "cmyk":
        return _of_printing_colours(image, profile, notes)
    white_code = _WHITE_CODES[image.format]
    channels = 3 if image.bands >= 3 else 1
    if image.bands > channels:
        notes += (fact(Reason.TRANSPARENCY_LEFT_OUT),)
        image = image.extract_band(0, n=channels)
    if white_code is None:
        notes += (fact(Reason.FLOATING_POINT_READ),)
    plain = plain_colours(channels, white_code)
    if profile is None:
        return Meaning(image, plain, white_code, None, notes)
    found, said = profiled_colours(profile, channels, white_code)
    if found is not None:
        is_converted = found.curves != plain.curves or found.to_linear_srgb is not None
        return Meaning(image, found, white_code, profile if is_converted else None, notes + said)
    if white_code is None:
        image, white_code = (image * _DEEP_WHITE).cast("ushort"), _DEEP_WHITE
    try:
        looked_up = _looked_up(image, profile).bandjoin(image.cast("ushort"))
    except library().Error:
        return Meaning(
            image, plain_colours(channels, white_code), white_code, None, (*notes, fact(Reason.PROFILE_BROKEN))
        )
    return Meaning(looked_up, plain_colours(3, _DEEP_WHITE), white_code, None, notes + said)


def _of_printing_colours(image: VipsImage, profile: bytes | None, notes: tuple[Fact, ...]) -> Meaning:
    if profile is not None:
        _, said = profiled_colours(profile, 4, None)
        with suppress(library().Error):
            return Meaning(_looked_up(image, profile), plain_colours(3, _DEEP_WHITE), _DEEP_WHITE, None, notes + said)
    white_code = _WHITE_CODES[image.format] or 1
    paper = image.linear(-1, white_code)
    inked = (paper.extract_band(0, n=3) * paper.extract_band(3) / white_code).rint().cast(image.format)
    colours = plain_colours(3, white_code)
    return Meaning(inked, colours, white_code, None, (*notes, fact(Reason.PRINTING_COLOURS)))


def _looked_up(image: VipsImage, profile: bytes) -> VipsImage:
    """A picture in sRGB with 16 bits, by the tables of its profile (relative colorimetric)."""
    return with_profile(image, profile).icc_transform("srgb", embedded=True, intent="relative", depth=16)


@dataclass(frozen=True, slots=True)
class StoredPicture:
    """`rows` fetches codes, once and from the top down: first the channels that `colours` speaks of; the last are those
    that clip, of which `clipping_white` is the white."""

    width_px: int
    height_px: int
    orientation: int
    colours: Colours
    rows: Rows
    clipping_white: int | None
    notes: tuple[Fact, ...]


@contextmanager
def stored_picture(path: Path, kind: Kind) -> Iterator[StoredPicture]:
    """Open a rendered picture; its pixels are decoded as they are fetched.

    Raises PictureRefused where the file is broken, TooLarge past the limit of pixels.
    """
    header = header_of(path, kind)
    with refusing(broken(kind)):
        meaning = meaning_of(*_source(path, kind, header))
        yield StoredPicture(
            header.width_px,
            header.height_px,
            header.orientation,
            meaning.colours,
            rows_of(meaning.image),
            meaning.clipping_white,
            meaning.notes,
        )


def _source(path: Path, kind: Kind, header: Header, access: Access = "sequential") -> tuple[Any, ...]:
    """The picture, its profile and what has to be said of it, for `meaning_of`."""
    if header.streams:
        return opened(path, kind, access), header.profile
    codes, is_converted, notes = decoded(path, kind)
    return image_of(codes), None if is_converted else header.profile, *notes


@contextmanager
def view_of(path: Path, kind: Kind) -> Iterator[VipsImage]:
    """A rendered picture to be looked at: upright, 8 bits of red, green and blue in sRGB.

    It can be read once, from the top down. Raises PictureRefused where the file is broken, TooLarge past the limit
    of pixels.
    """
    header = header_of(path, kind)
    with refusing(broken(kind)):
        # Turned on its side, a picture is read across its rows, and not from the top down.
        access: Access = "random" if turned(header.orientation) else "sequential"
        yield _upright(_in_srgb(meaning_of(*_source(path, kind, header, access))), header.orientation)


def _in_srgb(meaning: Meaning) -> VipsImage:
    image = meaning.image.extract_band(0, n=len(meaning.colours.curves))
    white_code = meaning.colours.white_code
    if meaning.profile is not None:
        if white_code is None:
            image = (image * _DEEP_WHITE).cast("ushort")
        return with_profile(image, meaning.profile).icc_transform("srgb", embedded=True, intent="relative")
    if white_code is None:
        return image.bandjoin([image] * (3 - image.bands)).copy(interpretation="scrgb").colourspace("srgb")
    deep = image.copy(interpretation=_INTERPRETATIONS[image.bands, white_code])
    return deep.colourspace("srgb")


_INTERPRETATIONS: Final = {(1, 255): "b-w", (3, 255): "srgb", (1, 65535): "grey16", (3, 65535): "rgb16"}


def _upright(image: VipsImage, orientation: int) -> VipsImage:
    stored = image.copy()
    stored.set_type(library().GValue.gint_type, "orientation", orientation)
    return stored.autorot()
