"""The camera of the demo: adds up the light that was set, and writes the file that a camera would write.

Light is a share of saturation once it is exposed: the wanted level of a scene, 1.0, lies at 18 % of saturation.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from tests.demo_bake.still_life import AMBIENT, LUMINANCE, Scene
from tests.demo_bake.surfaces import Plane, as_plane, gaussian_blur, gaussian_blurs, mix
from webapp.optics.colour import kelvin_after_shift, planckian
from webapp.optics.tone import srgb_from_linear

WANTED_SHARE_OF_SATURATION: Final = 0.18
FLASH_KELVIN: Final = 5600.0
"""White balance of the made files, and the colour of their flash without a gel."""
SATURATION_ELECTRONS: Final = 400_000.0
READ_NOISE_ELECTRONS: Final = 25.0
"""Of a pixel of the made picture, which stands for some twenty-five of the sensor."""
JPEG_QUALITY: Final = 93


@dataclass(frozen=True, slots=True)
class Blur:
    """Why the picture is not sharp; spreads are standard deviations in pixels of the picture.

    everywhere_px: diffraction. focus_mm: the height above the lowest plane that is in focus, None where all of
    it is. px_per_mm: the spread that each millimetre out of focus adds.

    Raises ValueError for a spread or a focus that is no number, and for a negative spread.
    """

    everywhere_px: float = 0.0
    focus_mm: float | None = None
    px_per_mm: float = 0.0

    def __post_init__(self) -> None:
        if not (0 <= self.everywhere_px < math.inf and 0 <= self.px_per_mm < math.inf):
            raise ValueError("A blur cannot be below zero; its spreads must be numbers of 0 or more.")
        if self.focus_mm is not None and not math.isfinite(self.focus_mm):
            raise ValueError("The focused height must be a number of millimetres.")


SHARP: Final = Blur()


def light_on_sensor(
    scene: Scene,
    light_stops: Mapping[str, float | None],
    ambient_stops: float | None,
    *,
    glare: Collection[str] | None = None,
    mired_shifts: Mapping[str, float] | None = None,
    blur: Blur = SHARP,
) -> Plane:
    """The light of all sources together, 1.0 at the wanted level, before saturation and noise.

    sum of 2^stops times what each source alone contributes; None, or a light that is not named, is off.
    `glare` names the sources whose mirror reflections reach the lens, all by default; with crossed polarisers
    it is empty. `mired_shifts` gives the gel on a light, + warms; a gel's loss belongs to the stops.

    Raises ValueError for a light or a glare that the scene has not, and a level that is no number or above 20 stops.
    """
    shifts = mired_shifts or {}
    unknown = sorted((set(light_stops) | set(shifts)) - set(scene.lights))
    if unknown:
        raise ValueError(f"The scene “{scene.name}” has no light {', '.join(unknown)}.")
    seen = set(scene.glare) if glare is None else set(glare)
    if not seen <= set(scene.glare):
        raise ValueError(f"The scene “{scene.name}” has no glare of {', '.join(sorted(seen - set(scene.glare)))}.")
    total = np.zeros_like(scene.ambient)
    sources = {name: (scene.lights[name], stops) for name, stops in light_stops.items()}
    for name, (alone, stops) in {**sources, AMBIENT: (scene.ambient, ambient_stops)}.items():
        if stops is None:
            continue
        together = alone + scene.glare[name] if name in seen else alone
        total += together * _gain(stops, shifts.get(name, 0.0))
    return _blurred(total, scene.height_mm, blur)


def expose(
    scene: Scene,
    light_stops: Mapping[str, float | None],
    ambient_stops: float | None,
    *,
    seed: int,
    glare: Collection[str] | None = None,
    mired_shifts: Mapping[str, float] | None = None,
    blur: Blur = SHARP,
) -> Plane:
    """The exposed picture as a share of saturation, 0 to 1, linear sRGB, with shot and read noise.

    See `light_on_sensor` for the arguments; the same arguments and `seed` always give the same picture.
    """
    light = light_on_sensor(scene, light_stops, ambient_stops, glare=glare, mired_shifts=mired_shifts, blur=blur)
    share = light * np.float32(WANTED_SHARE_OF_SATURATION)
    variance = np.maximum(share, 0) / SATURATION_ELECTRONS + (READ_NOISE_ELECTRONS / SATURATION_ELECTRONS) ** 2
    noise = np.random.default_rng(seed).standard_normal(share.shape, dtype=np.float32)
    return as_plane(np.clip(share + noise * np.sqrt(variance), 0, 1))


def _gain(stops: float, shift_mired: float) -> Plane:
    if not (math.isfinite(stops) and stops <= 20):
        raise ValueError(f"A light cannot stand {stops} stops about its level; it must be a number up to 20.")
    return as_plane(2.0**stops * _gel_colour(shift_mired))


@lru_cache(maxsize=32)
def _gel_colour(shift_mired: float) -> NDArray[np.float64]:
    """What a gel does to red, green and blue, at unchanged luminance: black bodies before and after it."""
    warmed = _linear_rgb(kelvin_after_shift(FLASH_KELVIN, shift_mired)) / _linear_rgb(FLASH_KELVIN)
    return warmed / float(warmed @ LUMINANCE)


def _linear_rgb(kelvin: float) -> NDArray[np.float64]:
    """A black body in linear sRGB at luminance 1: CIE 1960 (u, v) to (x, y), then the matrix of IEC 61966-2-1."""
    place = planckian(kelvin)
    below = 2 * place.u - 8 * place.v + 4
    x, y = 3 * place.u / below, 2 * place.v / below
    matrix = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])
    return np.asarray(matrix @ np.array([x / y, 1.0, (1 - x - y) / y]), dtype=np.float64)


def _blurred(light: Plane, height_mm: Plane, blur: Blur) -> Plane:
    if blur.focus_mm is None:
        return gaussian_blur(light, blur.everywhere_px)
    defocus_px = as_plane(np.abs(height_mm - blur.focus_mm) * blur.px_per_mm)
    widest_px = float(defocus_px.max())
    steps_px = [0.0, 0.25 * widest_px, 0.5 * widest_px, widest_px]
    layers = gaussian_blurs(light, [math.hypot(blur.everywhere_px, step_px) for step_px in steps_px])
    # each pixel lies between two pictures of known spread
    result = layers[0]
    for (near_px, far_px), layer in zip(pairwise(steps_px), layers[1:], strict=True):
        towards = np.clip((defocus_px - near_px) / max(far_px - near_px, 1e-6), 0, 1)
        result = mix(result, layer, towards[..., np.newaxis])
    return result


# --- the file -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Body:
    """An invented camera, as it names itself in its files."""

    model: str
    make: str = "Invented Camera Works"


BODY_36X24: Final = Body("Studio body 36x24")
BODY_44X33: Final = Body("Studio body 44x33")


@dataclass(frozen=True, slots=True)
class CameraSettings:
    """What the camera writes into its file: marked f-number, exposure time in seconds, ISO, focal length in mm,
    the camera's time (to the millisecond; with a zone, its offset is written too), the body and the lens.

    Raises ValueError for a value that no camera can have.
    """

    f_number: float
    exposure_time_s: Fraction
    iso: int
    focal_length_mm: float
    taken_at: datetime
    body: Body = BODY_36X24
    lens: str = "Macro 100 mm"

    def __post_init__(self) -> None:
        for name, value in (
            ("f-number", self.f_number),
            ("exposure time", self.exposure_time_s),
            ("focal length", self.focal_length_mm),
        ):
            if not 0 < value < 100_000:
                raise ValueError(f"The {name} cannot be {value}; it must be a number above 0 and below 100000.")
        if not 1 <= self.iso <= 65_534:
            raise ValueError(f"The ISO cannot be {self.iso}; it must lie between 1 and 65534.")


def write_jpeg(path: Path, linear: Plane, settings: CameraSettings) -> None:
    """Write a picture, given as a share of saturation in linear sRGB, as a JPEG with its Exif.

    The codes follow the curve of IEC 61966-2-1 with no picture style on top.
    """
    codes = _code_of_light()[np.rint(np.clip(linear, 0, 1) * 65535).astype(np.uint16)]
    Image.fromarray(codes).save(
        path,
        format="JPEG",
        quality=JPEG_QUALITY,
        optimize=True,
        subsampling="4:4:4",
        exif=_exif(settings, codes.shape),
    )


@lru_cache(maxsize=1)
def _code_of_light() -> NDArray[np.uint8]:
    return np.array([round(255 * srgb_from_linear(step / 65535)) for step in range(65536)], dtype=np.uint8)


def _exif(settings: CameraSettings, shape: tuple[int, ...]) -> Image.Exif:
    """Tags of CIPA DC-008 (Exif); the first directory names the maker, the second the exposure."""
    exif = Image.Exif()
    taken = settings.taken_at.strftime("%Y:%m:%d %H:%M:%S")
    exif[_MAKE], exif[_MODEL] = settings.body.make, settings.body.model
    exif[_DESCRIPTION] = "Rendered by Stopledger for its demo; no camera took it."
    exif[_ORIENTATION] = 1
    exif[_DATE_TIME] = taken
    exposure = exif.get_ifd(_EXIF_DIRECTORY)
    exposure[_EXPOSURE_TIME] = _rational(settings.exposure_time_s)
    exposure[_F_NUMBER] = _rational(Fraction(str(settings.f_number)))
    exposure[_ISO] = settings.iso
    exposure[_EXIF_VERSION] = b"0232"
    exposure[_DATE_TIME_ORIGINAL] = taken
    if settings.taken_at.tzinfo is not None:
        zone = settings.taken_at.strftime("%z")
        exposure[_OFFSET_ORIGINAL] = f"{zone[:3]}:{zone[3:5]}"
    milliseconds = f"{settings.taken_at.microsecond // 1000:03d}"
    exposure[_SUBSEC], exposure[_SUBSEC_ORIGINAL] = milliseconds, milliseconds
    exposure[_FOCAL_LENGTH] = _rational(Fraction(str(settings.focal_length_mm)))
    exposure[_COLOUR_SPACE] = 1
    exposure[_HEIGHT], exposure[_WIDTH] = shape[0], shape[1]
    exposure[_LENS_MODEL] = settings.lens
    return exif


def _rational(value: Fraction) -> IFDRational:
    limited = value.limit_denominator(100_000)
    return IFDRational(limited.numerator, limited.denominator)


_DESCRIPTION, _MAKE, _MODEL, _ORIENTATION, _DATE_TIME = 0x010E, 0x010F, 0x0110, 0x0112, 0x0132
_EXIF_DIRECTORY = 0x8769
_EXPOSURE_TIME, _F_NUMBER, _ISO, _EXIF_VERSION = 0x829A, 0x829D, 0x8827, 0x9000
_DATE_TIME_ORIGINAL, _OFFSET_ORIGINAL, _SUBSEC, _SUBSEC_ORIGINAL = 0x9003, 0x9011, 0x9290, 0x9291
_FOCAL_LENGTH, _COLOUR_SPACE, _WIDTH, _HEIGHT, _LENS_MODEL = 0x920A, 0xA001, 0xA002, 0xA003, 0xA434
