"""Every kind of picture file against the light that was put into it.

The scene is made in linear light and encoded by a general colour library; the files are written by tifffile and Pillow.
So a reading is held against what fell on the scene and not against what another program reads. Where a file means its
colours by a profile, LittleCMS (through Pillow) converts the same codes beside it.
"""

from __future__ import annotations

import io
import math
import struct
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np
import pytest
import pyvips
import tifffile
from numpy.typing import NDArray
from PIL import Image, ImageCms

from tests.made_pictures import (
    colour,
    grey_profile,
    jpeg_bytes,
    matrix_profile,
    parametric_curve,
    power_curve,
    srgb_codes,
    table_curve,
)
from tests.reference.conftest import Checked
from webapp.pictures.measure import measure
from webapp.pictures.readings import Patch, PatchReading

TOPIC: Final = "picture files"
WITHIN_STOPS: Final = 0.02
HEIGHT, WIDTH = 120, 240
LEVELS: Final = (0.002, 0.02, 0.09, 0.18, 0.4, 0.8)
"""From nine stops below clipping to a third of a stop below it."""
TINTS: Final = ((1.0, 1.0, 1.0), (1.0, 0.6, 0.35), (0.45, 0.7, 1.0))
PATCHES: Final = tuple(
    Patch(
        f"{column} {row}", (column + 0.1) / len(LEVELS), (row + 0.1) / len(TINTS), 0.8 / len(LEVELS), 0.8 / len(TINTS)
    )
    for row in range(len(TINTS))
    for column in range(len(LEVELS))
)
ADOBE: Final = colour.RGB_COLOURSPACES["Adobe RGB (1998)"]
PROPHOTO: Final = colour.RGB_COLOURSPACES["ProPhoto RGB"]
SRGB: Final = colour.RGB_COLOURSPACES["sRGB"]
P3: Final = colour.RGB_COLOURSPACES["Display P3"]

Light = NDArray[np.float64]
Written = Callable[[Path, Light], None]


def scene() -> Light:
    """Patches of every level and tint, in linear sRGB."""
    light = np.empty((HEIGHT, WIDTH, 3))
    for row, tint in enumerate(TINTS):
        for column, level in enumerate(LEVELS):
            rows = slice(row * HEIGHT // len(TINTS), (row + 1) * HEIGHT // len(TINTS))
            light[rows, column * WIDTH // len(LEVELS) : (column + 1) * WIDTH // len(LEVELS)] = level * np.array(tint)
    return light


def grey(light: Light) -> Light:
    """The luminance of a scene (ITU-R BT.709)."""
    plane: Light = light @ np.array([0.2126, 0.7152, 0.0722])
    return plane


def in_space(light: Light, space: Any) -> Light:
    """Linear sRGB as the linear light of other primaries, by the general library."""
    converted: Light = colour.RGB_to_RGB(light, SRGB, space, "Bradford")
    return converted


def colorants(space: Any) -> Sequence[Sequence[float]]:
    """The primaries of a space adapted to D50, as a profile has them, by the general library."""
    d50 = colour.xy_to_XYZ(colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"])
    adapted = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        colour.xy_to_XYZ(space.whitepoint), d50, transform="Bradford"
    )
    found: Sequence[Sequence[float]] = (adapted @ space.matrix_RGB_to_XYZ).T.tolist()
    return found


def deep(codes: Light) -> NDArray[np.uint16]:
    return np.rint(np.clip(codes, 0, 1) * 65535).astype(np.uint16)


def shallow(codes: Light) -> NDArray[np.uint8]:
    """8 bits, up or down by chance, so that a patch has the mean that was meant and not the nearest code."""
    chance = np.random.default_rng(11).uniform(0, 1, codes.shape)
    return np.floor(np.clip(codes, 0, 1) * 255 + chance).clip(0, 255).astype(np.uint8)


def srgb(light: Light) -> NDArray[np.uint8]:
    return shallow(colour.models.eotf_inverse_sRGB(light))


def tiff(path: Path, codes: NDArray[Any], profile: bytes | None = None, **options: Any) -> None:
    photometric = "rgb" if codes.ndim == 3 and codes.shape[2] >= 3 else "minisblack"
    tifffile.imwrite(path, codes, photometric=photometric, iccprofile=profile, **options)


def adobe_exif() -> Image.Exif:
    """What a camera set to Adobe RGB writes: ColorSpace “uncalibrated”, and R03 in the interoperability directory."""
    exif = Image.Exif()
    exif.get_ifd(0x8769).update({0xA001: 0xFFFF, 0xA005: {1: "R03", 2: b"0100"}})
    return exif


def tiff_by_exif(path: Path, light: Light) -> None:
    """A TIFF whose Exif directory says Adobe RGB; Pillow writes none into a TIFF, so it is put behind the pixels.

    TIFF 6.0: a directory is a count, entries of tag, type, number and value, and a last zero.
    """
    placeholder = 0x00ADADAD
    tiff(path, shallow(ADOBE.cctf_encoding(in_space(light, ADOBE))), extratags=[(0x8768, 4, 1, placeholder, True)])
    content = path.read_bytes()
    at = len(content) + len(content) % 2
    exif = struct.pack("<HHHIIHHIII", 2, 0xA001, 3, 1, 0xFFFF, 0xA005, 4, 1, at + 30, 0)
    interoperability = struct.pack("<HHHI4sI", 1, 1, 2, 4, b"R03\0", 0)
    # tifffile does not write the tag of an Exif directory: it stands under the number before it until here.
    pointed = content.replace(
        struct.pack("<HHII", 0x8768, 4, 1, placeholder), struct.pack("<HHII", 0x8769, 4, 1, at), 1
    )
    path.write_bytes(pointed.ljust(at, b"\0") + exif + interoperability)


GAMMA_18 = 461 / 256
DOTS: Final = np.linspace(0, 1, 256) ** 1.75 * (1 - 0.15 * np.sin(np.pi * np.linspace(0, 1, 256)))
SRGB_PARAMETERS: Final = (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)


def undone(curve: Light, light: Light) -> Light:
    """The codes that a tabled curve turns into this light."""
    codes: Light = np.interp(light, curve, np.linspace(0, 1, len(curve)))
    return codes


KINDS: Final[dict[str, Written]] = {
    "TIFF, 16 bits, sRGB": lambda path, light: tiff(path, deep(colour.models.eotf_inverse_sRGB(light))),
    "TIFF, 16 bits in planes, sRGB": lambda path, light: tiff(
        path, np.moveaxis(deep(colour.models.eotf_inverse_sRGB(light)), 2, 0), planarconfig="separate"
    ),
    "TIFF, 16 bits, linear profile": lambda path, light: tiff(path, deep(light), matrix_profile(gamma=1.0)),
    "TIFF, 16 bits, ProPhoto RGB profile": lambda path, light: tiff(
        path,
        deep(in_space(light, PROPHOTO) ** (1 / GAMMA_18)),
        matrix_profile(gamma=GAMMA_18, colorants=colorants(PROPHOTO)),
    ),
    "TIFF, 32-bit floating point": lambda path, light: tiff(path, light.astype(np.float32)),
    "TIFF, 16-bit floating point": lambda path, light: tiff(path, light.astype(np.float16)),
    "TIFF, 32-bit floating point, Adobe RGB primaries": lambda path, light: tiff(
        path, in_space(light, ADOBE).astype(np.float32), matrix_profile(gamma=1.0, colorants=colorants(ADOBE))
    ),
    "TIFF, Adobe RGB by Exif alone": tiff_by_exif,
    "PNG, 8 bits, sRGB": lambda path, light: Image.fromarray(srgb(light)).save(path),
    "PNG, Display P3 profile, parametric curve": lambda path, light: Image.fromarray(srgb(in_space(light, P3))).save(
        path, icc_profile=matrix_profile(curve=parametric_curve(3, *SRGB_PARAMETERS), colorants=colorants(P3))
    ),
    "JPEG, Display P3 profile, parametric curve": lambda path, light: Image.fromarray(srgb(in_space(light, P3))).save(
        path,
        quality=100,
        subsampling=0,
        icc_profile=matrix_profile(curve=parametric_curve(3, *SRGB_PARAMETERS), colorants=colorants(P3)),
    ),
    "JPEG, Adobe RGB by Exif alone": lambda path, light: Image.fromarray(
        shallow(ADOBE.cctf_encoding(in_space(light, ADOBE)))
    ).save(path, quality=100, subsampling=0, exif=adobe_exif()),
    "multi-picture file, the first picture": lambda path, light: Image.fromarray(srgb(light)).save(
        path,
        format="MPO",
        quality=100,
        subsampling=0,
        save_all=True,
        append_images=[Image.new("RGB", (WIDTH, HEIGHT), (7, 7, 7))],
    ),
}
GREYS: Final[dict[str, Written]] = {
    "grey TIFF, 16 bits, sRGB curve": lambda path, light: tiff(path, deep(colour.models.eotf_inverse_sRGB(light))),
    "grey TIFF, 16 bits, gamma profile": lambda path, light: tiff(
        path, deep(light ** (1 / 2.2)), grey_profile(power_curve(2.2))
    ),
    "grey TIFF, 16 bits, linear profile": lambda path, light: tiff(path, deep(light), grey_profile(power_curve(1.0))),
    "grey TIFF, 16 bits, tabled profile": lambda path, light: tiff(
        path, deep(undone(DOTS, light)), grey_profile(table_curve(DOTS.tolist()))
    ),
    "grey TIFF, 32-bit floating point": lambda path, light: tiff(path, light.astype(np.float32)),
    "grey TIFF, white is zero": lambda path, light: tifffile.imwrite(
        path, 65535 - deep(colour.models.eotf_inverse_sRGB(light)), photometric="miniswhite"
    ),
}
# A JPEG rounds its colours more coarsely than light can be told by: its luminance is held alone, and from here on.
DARKEST_OF_A_JPEG: Final = 0.09


def hold(checked: Checked, kind: str, readings: Sequence[PatchReading], light: Light) -> None:
    for patch, reading in zip(PATCHES, readings, strict=True):
        row, column = (round(side * count - 0.1) for side, count in ((patch.y, len(TINTS)), (patch.x, len(LEVELS))))
        true = light[(2 * row + 1) * HEIGHT // (2 * len(TINTS)), (2 * column + 1) * WIDTH // (2 * len(LEVELS))]
        level = float(grey(true)) if true.ndim else float(true)
        planted = {reading.level: level}
        if suffix_of(kind) != ".jpg":
            planted |= dict(zip((each.level for each in reading.channels), np.atleast_1d(true).tolist(), strict=True))
        elif LEVELS[column] < DARKEST_OF_A_JPEG:
            continue
        for got, wanted in planted.items():
            source = "the light of the made scene"
            checked(TOPIC, source, kind, math.log2(wanted), math.log2(got), WITHIN_STOPS, "stop")


def suffix_of(kind: str) -> str:
    return ".tif" if "TIFF" in kind else ".png" if "PNG" in kind else ".jpg"


@pytest.mark.parametrize("kind", KINDS)
def test_a_colour_file_reads_as_the_light_that_was_put_into_it(kind: str, tmp_path: Path, checked: Checked) -> None:
    path = tmp_path / f"made{suffix_of(kind)}"
    KINDS[kind](path, scene())

    hold(checked, kind, measure(path, PATCHES), scene())


@pytest.mark.parametrize("kind", GREYS)
def test_a_grey_file_reads_as_the_light_that_was_put_into_it(kind: str, tmp_path: Path, checked: Checked) -> None:
    path = tmp_path / "made.tif"
    GREYS[kind](path, grey(scene()))

    hold(checked, kind, measure(path, PATCHES), grey(scene()))


@pytest.mark.parametrize("megapixels", [4, 24])
@pytest.mark.parametrize("texture", ["chequers", "noise"])
def test_a_fine_texture_reads_as_its_mean_light(
    tmp_path: Path, checked: Checked, texture: str, megapixels: int
) -> None:
    # Light that goes up and down by 90 % from pixel to pixel: a decoder that reduces averages its codes, which lie above
    # or below the mean light by as much as half a stop.
    height, width = (1600, 2400) if megapixels == 4 else (4000, 6000)
    # Some rows, again and again from top to bottom: the patches below begin and end where the rows do.
    rows = 80
    if texture == "chequers":
        swing = np.where(np.indices((rows, width)).sum(axis=0) % 2, 0.9, -0.9)
    else:
        swing = np.random.default_rng(7).uniform(-0.9, 0.9, (rows, width))
    level = np.linspace(0.05, 0.4, width)
    light = level * (1 + swing)
    path = tmp_path / "textured.jpg"
    Image.fromarray(np.tile(srgb_codes(light), (height // rows, 1))).save(path, quality=98)
    patches = [Patch(str(place), place / 10, 0.3, 0.08, 0.4) for place in range(10)]

    for patch, reading in zip(patches, measure(path, patches), strict=True):
        true = light[:, round(patch.x * width) : round((patch.x + patch.width) * width)].mean()
        assert reading.level_stops is not None
        checked(
            TOPIC,
            "the mean light of the made texture",
            f"JPEG, {megapixels} megapixels, texture of ±90 %",
            math.log2(true),
            reading.level_stops,
            WITHIN_STOPS,
            "stop",
        )


def by_littlecms(image: Image.Image, profile: bytes) -> NDArray[np.uint8]:
    """Codes in sRGB, by LittleCMS."""
    converted = ImageCms.profileToProfile(
        image,
        ImageCms.ImageCmsProfile(io.BytesIO(profile)),
        ImageCms.createProfile("sRGB"),
        ImageCms.Intent.RELATIVE_COLORIMETRIC,
        outputMode="RGB",
    )
    assert converted is not None
    return np.asarray(converted)


PROFILES: Final = {
    "matrix and power": matrix_profile(gamma=1.8),
    "matrix of other primaries": matrix_profile(gamma=2.2, colorants=colorants(ADOBE)),
    "parametric, kind 0": matrix_profile(curve=parametric_curve(0, 1.9)),
    "parametric, kind 1": matrix_profile(curve=parametric_curve(1, 2.0, 0.9, 0.1)),
    "parametric, kind 2": matrix_profile(curve=parametric_curve(2, 2.0, 0.9, 0.05, 0.02)),
    "parametric, kind 3": matrix_profile(curve=parametric_curve(3, *SRGB_PARAMETERS)),
    "parametric, kind 4": matrix_profile(curve=parametric_curve(4, 2.2, 0.9, 0.1, 0.1, 0.05, 0.0, 0.0)),
    "table": matrix_profile(curve=table_curve(DOTS.tolist())),
}


@pytest.mark.parametrize("name", PROFILES)
def test_a_profile_means_what_another_library_makes_of_it(name: str, tmp_path: Path, checked: Checked) -> None:
    path = tmp_path / "made.png"
    # Codes whose colours sRGB has, too: LittleCMS clips the others.
    rng = np.random.default_rng(3)
    codes = np.repeat(np.repeat(rng.integers(110, 170, (len(TINTS), len(LEVELS), 3)), 40, axis=0), 40, axis=1)
    image = Image.fromarray(codes.astype(np.uint8))
    image.save(path, icc_profile=PROFILES[name])
    theirs = by_littlecms(image, PROFILES[name])

    for patch, reading in zip(PATCHES, measure(path, PATCHES), strict=True):
        x, y = (
            round((patch.x + patch.width / 2) * codes.shape[1]),
            round((patch.y + patch.height / 2) * codes.shape[0]),
        )
        for channel, code in zip(reading.channels, theirs[y, x].tolist(), strict=True):
            # LittleCMS answers in whole codes here.
            got = 255 * float(colour.models.eotf_inverse_sRGB(channel.level))
            checked(TOPIC, "LittleCMS, 8 bits", f"profile: {name}", code, got, 1.0, "code of 255")


def test_printing_colours_are_looked_up_in_their_profile(tmp_path: Path, checked: Checked) -> None:
    # A profile with tables, which rides with the streaming library.
    profile = pyvips.Operation.call("profile_load", "cmyk")
    path = tmp_path / "printed.tif"
    rng = np.random.default_rng(5)
    inks = np.repeat(np.repeat(rng.integers(20, 140, (len(TINTS), len(LEVELS), 4)), 40, axis=0), 40, axis=1)
    image = Image.fromarray(inks.astype(np.uint8), "CMYK")
    image.save(path, icc_profile=profile)
    theirs = by_littlecms(image, profile)

    for patch, reading in zip(PATCHES, measure(path, PATCHES), strict=True):
        x, y = round((patch.x + patch.width / 2) * inks.shape[1]), round((patch.y + patch.height / 2) * inks.shape[0])
        for channel, code in zip(reading.channels, theirs[y, x].tolist(), strict=True):
            got = 255 * float(colour.models.eotf_inverse_sRGB(channel.level))
            checked(TOPIC, "LittleCMS, 8 bits", "profile: tables of printing colours", code, got, 1.0, "code of 255")


def test_the_codes_of_a_jpeg_are_those_of_another_decoder(tmp_path: Path) -> None:
    path = tmp_path / "made.jpg"
    path.write_bytes(jpeg_bytes(srgb_codes(scene())))
    with Image.open(path) as image:
        codes = np.asarray(image)

    (reading,) = measure(path, [Patch("all", 0, 0, 1, 1)])

    # Both are libjpeg's, with the same arithmetic.
    expected = colour.models.eotf_sRGB(codes / 255).mean(axis=(0, 1))
    assert [each.level for each in reading.channels] == pytest.approx(expected.tolist(), rel=1e-3)
