"""Colour profiles whose colours are a curve a channel and a matrix: from codes to linear light, with nothing rounded.

The curves are read here, since the colour library hands on none; the colorants are its own. A profile that holds tables
instead of a matrix is left to the colour library.

Source: ICC.1 (curveType and parametricCurveType; numbers of their clauses from memory).
"""

from __future__ import annotations

import io
import struct
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from webapp.optics.arrays import Floats, np

if TYPE_CHECKING:
    from PIL import ImageCms

Curve = Callable[[Floats], Floats]
"""From codes (0 is black, 1 is white) to light."""

LINEAR_SRGB_TO_XYZ: Final = (
    (0.4360747, 0.3850649, 0.1430804),
    (0.2225045, 0.7168786, 0.0606169),
    (0.0139322, 0.0971045, 0.7141733),
)
"""The primaries of sRGB (iec-61966-2-1), adapted to the D50 of profiles by Bradford's transform."""

_TAG_TABLE_AT: Final = 128
_MOST_TAGS: Final = 200
_PARAMETERS_OF: Final = {0: 1, 1: 3, 2: 4, 3: 5, 4: 7}
"""How many parameters each kind of parametric curve has."""


@dataclass(frozen=True, slots=True)
class MatrixProfile:
    """A curve for each channel, and what brings red, green and blue light to that of linear sRGB; None for a grey."""

    curves: tuple[Curve, ...]
    to_linear_srgb: Floats | None


def matrix_profile_of(profile: ImageCms.ImageCmsProfile, content: bytes) -> MatrixProfile | None:
    """The curves and the matrix of a profile; None where it has tables, or colours that are neither red, green and blue
    nor grey. Raises ValueError for a broken one."""
    core = profile.profile
    tags = _tags(content)
    if core.xcolor_space.strip() == "GRAY":
        return MatrixProfile((_curve(tags[b"kTRC"]),), None) if b"kTRC" in tags else None
    # Where there are tables, they are what the profile means, and its matrix a stand-in.
    if core.xcolor_space.strip() != "RGB" or b"A2B0" in tags or b"A2B1" in tags:
        return None
    colorants = [each[0] for each in (core.red_colorant, core.green_colorant, core.blue_colorant) if each is not None]
    names = (b"rTRC", b"gTRC", b"bTRC")
    if len(colorants) < 3 or not tags.keys() >= set(names):
        return None
    # Channels mostly share their curve, and are then looked up at once.
    curve_of = {element: _curve(element) for element in {tags[name] for name in names}}
    return MatrixProfile(
        curves=tuple(curve_of[tags[name]] for name in names),
        to_linear_srgb=np.linalg.inv(np.array(LINEAR_SRGB_TO_XYZ)) @ np.array(colorants).T,
    )


def _tags(content: bytes) -> Mapping[bytes, bytes]:
    try:
        (count,) = struct.unpack_from(">I", content, _TAG_TABLE_AT)
        entries = [
            struct.unpack_from(">4sII", content, _TAG_TABLE_AT + 4 + 12 * number)
            for number in range(min(count, _MOST_TAGS))
        ]
    except struct.error as problem:
        raise ValueError("The profile is cut short.") from problem
    return {name: content[start : start + size] for name, start, size in entries}


def _curve(element: bytes) -> Curve:
    """A curve as its tag describes it. Raises ValueError for one that is broken."""
    try:
        if element.startswith(b"curv"):
            return _tabled(element)
        if element.startswith(b"para"):
            return _parametric(element)
    except struct.error as problem:
        raise ValueError("A curve of the profile is cut short.") from problem
    raise ValueError("A curve of the profile is of no known kind.")


def _tabled(element: bytes) -> Curve:
    """No entry: the codes are light. One: a power. More: light at even steps of code."""
    (count,) = struct.unpack_from(">I", element, 8)
    if count == 0:
        return lambda code: code
    if count == 1:
        gamma = struct.unpack_from(">H", element, 12)[0] / 256
        return lambda code: np.maximum(code, 0.0) ** gamma
    light = np.array(struct.unpack_from(f">{count}H", element, 12)) / 65535
    at = np.linspace(0.0, 1.0, count)
    return lambda code: np.interp(code, at, light)


def _parametric(element: bytes) -> Curve:
    """Y = (aX + b)^g + e from d on (from -b/a on for the kinds without a d), cX + f below it."""
    (kind,) = struct.unpack_from(">H", element, 8)
    if kind not in _PARAMETERS_OF:
        raise ValueError("A curve of the profile is of no known kind.")
    numbers = struct.unpack_from(f">{_PARAMETERS_OF[kind]}i", element, 12)
    g, a, b, c, d, e, f = _parameters(kind, [number / 65536 for number in numbers])

    def curve(code: Floats) -> Floats:
        above: Floats = np.maximum(a * code + b, 0.0) ** g + e
        return np.where(code >= d, above, c * code + f)

    return curve


def _parameters(kind: int, given: list[float]) -> tuple[float, float, float, float, float, float, float]:
    """g, a, b, c, d, e and f of any kind of parametric curve."""
    if kind == 0:
        return given[0], 1.0, 0.0, 0.0, 0.0, 0.0, 0.0
    if kind in (1, 2):
        g, a, b = given[:3]
        if a == 0:
            raise ValueError("A curve of the profile has no slope.")
        lowest = given[3] if kind == 2 else 0.0
        return g, a, b, 0.0, -b / a, lowest, lowest
    g, a, b, c, d = given[:5]
    e, f = given[5:] or (0.0, 0.0)
    return g, a, b, c, d, e, f


_ADOBE_RGB_GAMMA: Final = 563 / 256
_ADOBE_RGB_COLORANTS: Final = ((0.60974, 0.31111, 0.01947), (0.20528, 0.62567, 0.06087), (0.14919, 0.06322, 0.74457))
_D50: Final = (0.9642, 1.0, 0.8249)


@lru_cache(maxsize=1)
def adobe_rgb() -> bytes:
    """A profile (ICC version 2) of the colours that a camera means where it names its colour space by Exif alone.

    Source: Adobe RGB (1998) Color Image Encoding: a gamma of 2 51/256, and its primaries adapted to D50.
    """

    def fixed(value: float) -> bytes:
        return struct.pack(">i", round(value * 65536))

    def xyz(values: tuple[float, float, float]) -> bytes:
        return b"XYZ \0\0\0\0" + b"".join(map(fixed, values))

    name = b"Adobe RGB by Exif\0"
    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(_ADOBE_RGB_GAMMA * 256))
    tags = {
        b"desc": b"desc\0\0\0\0" + struct.pack(">I", len(name)) + name + bytes(78),
        b"cprt": b"text\0\0\0\0none\0",
        b"wtpt": xyz(_D50),
        **dict(zip((b"rXYZ", b"gXYZ", b"bXYZ"), map(xyz, _ADOBE_RGB_COLORANTS), strict=True)),
        b"rTRC": curve,
        b"gTRC": curve,
        b"bTRC": curve,
    }
    table, elements = b"", b""
    for tag, element in tags.items():
        start = _TAG_TABLE_AT + 4 + 12 * len(tags) + len(elements)
        table += struct.pack(">4sII", tag, start, len(element))
        elements += element + bytes(-len(element) % 4)
    size = _TAG_TABLE_AT + 4 + len(table) + len(elements)
    header = struct.pack(">I4xI", size, 0x02400000) + b"mntrRGB XYZ " + bytes(12) + b"acsp" + bytes(28)
    header += b"".join(map(fixed, _D50))
    return header.ljust(_TAG_TABLE_AT, b"\0") + struct.pack(">I", len(tags)) + table + elements


def opened_profile(content: bytes) -> ImageCms.ImageCmsProfile:
    """A profile as the colour library has it. Raises whatever that raises over a broken one."""
    from PIL import ImageCms

    return ImageCms.ImageCmsProfile(io.BytesIO(content))
