"""Pictures that the tests make: raw files and JPEGs of known scenes, with known settings and known noise."""

from __future__ import annotations

import io
import struct
import warnings
from collections.abc import Mapping, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import numpy as np
import tifffile
from numpy.typing import NDArray
from PIL import Image

with warnings.catch_warnings():
    # On import it warns of drawing packages that no test here needs.
    warnings.simplefilter("ignore")
    import colour as colour

CAMERA = ("Invented Works", "Bench Camera 1")
WHITE = 15871
BLACK = (512, 509, 515, 511)  # of the four places of the colour pattern, left to right and down
_PHOTOMETRIC_CFA = 32803

_BYTE, _ASCII, _SHORT, _LONG, _RATIONAL, _SIGNED_RATIONAL = 1, 2, 3, 4, 5, 10


def mosaic(rgb: NDArray[np.float64]) -> NDArray[np.float64]:
    """Light of height x width x 3 as a sensor with the pattern red, green over green, blue sees it."""
    seen = rgb[:, :, 1].copy()
    seen[0::2, 0::2] = rgb[0::2, 0::2, 0]
    seen[1::2, 1::2] = rgb[1::2, 1::2, 2]
    return seen


def counts_of(light: NDArray[np.float64], *, noise: float = 0.0, seed: int = 0) -> NDArray[np.uint16]:
    """The counts of mosaic light (1 is saturation) on a sensor with its own black at each place of the pattern."""
    seen = light + np.random.default_rng(seed).normal(0.0, noise, light.shape) if noise else light
    counts = np.empty(light.shape)
    for place, black in enumerate(BLACK):
        rows, columns = slice(place // 2, None, 2), slice(place % 2, None, 2)
        counts[rows, columns] = black + seen[rows, columns] * (WHITE - black)
    return np.clip(np.rint(counts), 0, WHITE).astype(np.uint16)


def write_dng(
    path: Path,
    counts: NDArray[np.uint16],
    *,
    orientation: int = 1,
    exposure_time: tuple[int, int] = (1, 125),
    f_number: tuple[int, int] = (8, 1),
    taken_at: str = "2026:11:24 10:31:07",
) -> Path:
    """Write counts as a DNG in the colour pattern red, green over green, blue."""
    matrix = [(n, 10_000) for n in (8000, -2000, -500, -3000, 11000, 2000, -500, 1500, 6000)]
    tags = [
        (271, _ASCII, 0, CAMERA[0]),
        (272, _ASCII, 0, CAMERA[1]),
        (274, _SHORT, 1, orientation),
        (33421, _SHORT, 2, (2, 2)),
        (33422, _BYTE, 4, bytes((0, 1, 1, 2))),
        (33434, _RATIONAL, 1, exposure_time),
        (33437, _RATIONAL, 1, f_number),
        (34855, _SHORT, 1, 100),
        (36867, _ASCII, 0, taken_at),
        (37386, _RATIONAL, 1, (100, 1)),
        (37521, _ASCII, 0, "25"),
        (50706, _BYTE, 4, bytes((1, 4, 0, 0))),
        (50708, _ASCII, 0, " ".join(CAMERA)),
        (50713, _SHORT, 2, (2, 2)),
        (50714, _LONG, 4, BLACK),
        (50717, _LONG, 1, WHITE),
        (50721, _SIGNED_RATIONAL, 9, [part for pair in matrix for part in pair]),
        (50728, _RATIONAL, 3, (1, 1, 1, 1, 1, 1)),
        (50778, _SHORT, 1, 21),
    ]
    tifffile.imwrite(
        path, counts, photometric=_PHOTOMETRIC_CFA, extratags=[(*tag, True) for tag in tags], metadata=None
    )
    return path


def srgb_codes(light: NDArray[np.float64]) -> NDArray[np.uint8]:
    """Light as 8-bit codes of IEC 61966-2-1, by a general colour library."""
    return np.rint(np.clip(colour.models.eotf_inverse_sRGB(np.clip(light, 0, 1)), 0, 1) * 255).astype(np.uint8)


def jpeg_bytes(
    codes: NDArray[np.uint8],
    *,
    exif: Mapping[int, Any] | None = None,
    settings: Mapping[int, Any] | None = None,
    **options: Any,
) -> bytes:
    """A JPEG of these codes; `exif` are tags of its first directory, `settings` of its Exif directory."""
    directory = Image.Exif()
    for tag, value in (exif or {}).items():
        directory[tag] = value
    if settings:
        directory.get_ifd(0x8769).update(settings)
    out = io.BytesIO()
    Image.fromarray(codes).save(out, "JPEG", quality=95, exif=directory.tobytes(), **options)
    return out.getvalue()


def rational(value: str | float) -> Any:
    """A rational number as Pillow writes it into a file."""
    from PIL.TiffImagePlugin import IFDRational

    exact = Fraction(value)
    return IFDRational(exact.numerator, exact.denominator)


def scene(height: int = 120, width: int = 160) -> NDArray[np.float64]:
    """A smooth scene in light: grey from 2 % at the left to 20 % at the right, warmer below than above."""
    grey = np.linspace(0.02, 0.2, width)[np.newaxis, :].repeat(height, axis=0)
    warmth = np.linspace(0.9, 1.1, height)[:, np.newaxis]
    return np.stack([grey * warmth, grey, grey / warmth], axis=2)


SRGB_COLORANTS: Final = ((0.43607, 0.22249, 0.01392), (0.38515, 0.71687, 0.09708), (0.14307, 0.06061, 0.71410))
"""The primaries of sRGB adapted to D50, as the profiles of that space have them."""


def matrix_profile(
    *, gamma: float | None = None, curve: bytes | None = None, colorants: Sequence[Sequence[float]] = SRGB_COLORANTS
) -> bytes:
    """An ICC profile (version 2, ICC.1) of red, green and blue, with a plain power for its curve or with any."""
    curve = power_curve(gamma or 1.0) if curve is None else curve
    return _profile(
        b"RGB ",
        dict(zip((b"rXYZ", b"gXYZ", b"bXYZ"), (_xyz(*each) for each in colorants), strict=True))
        | dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve),
    )


def grey_profile(curve: bytes) -> bytes:
    """An ICC profile of a grey."""
    return _profile(b"GRAY", {b"kTRC": curve})


def power_curve(gamma: float) -> bytes:
    """ICC.1, curveType with one entry."""
    return b"curv\0\0\0\0" + struct.pack(">IH", 1, round(gamma * 256)) + b"\0\0"


def table_curve(light: Sequence[float]) -> bytes:
    """ICC.1, curveType with many entries: the light of even steps of code."""
    entries = [round(each * 65535) for each in light]
    return b"curv\0\0\0\0" + struct.pack(f">I{len(entries)}H", len(entries), *entries)


def parametric_curve(kind: int, *numbers: float) -> bytes:
    """ICC.1, parametricCurveType."""
    return b"para\0\0\0\0" + struct.pack(">HH", kind, 0) + b"".join(map(_fixed, numbers))


def _fixed(value: float) -> bytes:
    return struct.pack(">i", round(value * 65536))


def _xyz(*values: float) -> bytes:
    return b"XYZ \0\0\0\0" + b"".join(map(_fixed, values))


def _profile(space: bytes, colours: Mapping[bytes, bytes]) -> bytes:
    text = b"test\0"
    description = b"desc\0\0\0\0" + struct.pack(">I", len(text)) + text + bytes(78)
    d50 = (0.9642, 1.0, 0.8249)
    tags = {b"desc": description, b"cprt": b"text\0\0\0\0" + text, b"wtpt": _xyz(*d50), **colours}
    table, data = b"", b""
    start = 128 + 4 + 12 * len(tags)
    for name, value in tags.items():
        padded = value + bytes(-len(value) % 4)
        table += name + struct.pack(">II", start + len(data), len(value))
        data += padded
    header = struct.pack(">I", start + len(data)) + bytes(4) + b"\x02\x40\0\0" + b"mntr" + space + b"XYZ "
    header += bytes(12) + b"acsp" + bytes(28) + b"".join(map(_fixed, d50))
    return header + bytes(128 - len(header)) + struct.pack(">I", len(tags)) + table + data


def write_dng_with_preview(
    path: Path, counts: NDArray[np.uint16], preview: bytes, preview_size: tuple[int, int], *, orientation: int
) -> Path:
    """A DNG with a JPEG in its first directory, as cameras write it, and the counts in the directory below.

    TIFF 6.0: a directory is a count, entries of tag, type, number and value or place, and a last zero.
    """
    sizes = {_BYTE: 1, _ASCII: 1, _SHORT: 2, _LONG: 4}
    letters = {_BYTE: "B", _ASCII: "B", _SHORT: "H", _LONG: "I"}

    def directory(at: int, entries: list[tuple[int, int, Sequence[int]]]) -> bytes:
        table, beyond = struct.pack("<H", len(entries)), b""
        beyond_at = at + 2 + 12 * len(entries) + 4
        for tag, kind, values in sorted(entries):
            packed = struct.pack(f"<{len(values)}{letters[kind]}", *values)
            if len(values) * sizes[kind] > 4:
                place = struct.pack("<I", beyond_at + len(beyond))
                beyond += packed + bytes(len(packed) % 2)
            else:
                place = packed.ljust(4, b"\0")
            table += struct.pack("<HHI", tag, kind, len(values)) + place
        return table + bytes(4) + beyond

    def layout(
        at: int, width: int, height: int, photometric: int, length: int
    ) -> list[tuple[int, int, Sequence[int]]]:
        return [
            (256, _LONG, (width,)),
            (257, _LONG, (height,)),
            (262, _SHORT, (photometric,)),
            (273, _LONG, (at,)),
            (278, _LONG, (height,)),
            (279, _LONG, (length,)),
        ]

    pixels = counts.tobytes()
    below_at = 1024
    preview_at = 2048
    pixels_at = preview_at + len(preview) + len(preview) % 2
    above = [
        *layout(preview_at, *preview_size, 6, len(preview)),
        (254, _LONG, (1,)),
        (258, _SHORT, (8, 8, 8)),
        (259, _SHORT, (7,)),
        (271, _ASCII, CAMERA[0].encode() + b"\0"),
        (272, _ASCII, CAMERA[1].encode() + b"\0"),
        (274, _SHORT, (orientation,)),
        (277, _SHORT, (3,)),
        (330, _LONG, (below_at,)),
        (50706, _BYTE, (1, 4, 0, 0)),
    ]
    below = [
        *layout(pixels_at, counts.shape[1], counts.shape[0], _PHOTOMETRIC_CFA, len(pixels)),
        (254, _LONG, (0,)),
        (258, _SHORT, (16,)),
        (259, _SHORT, (1,)),
        (277, _SHORT, (1,)),
        (33421, _SHORT, (2, 2)),
        (33422, _BYTE, (0, 1, 1, 2)),
        (50713, _SHORT, (2, 2)),
        (50714, _LONG, BLACK),
        (50717, _LONG, (WHITE,)),
    ]
    content = (b"II*\0" + struct.pack("<I", 8) + directory(8, above)).ljust(below_at, b"\0")
    content = (content + directory(below_at, below)).ljust(preview_at, b"\0")
    path.write_bytes((content + preview).ljust(pixels_at, b"\0") + pixels)
    return path
