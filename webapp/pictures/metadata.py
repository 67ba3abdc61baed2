"""What a camera file says of itself: the settings, the time, the camera.

The file is only read. Serial numbers and the place are never looked at, and maker notes never parsed.
Nothing a file says is trusted: a value that no camera can have had (an exposure of 4,294,967,295 s, f/0) is
left out and named in `refused`.

Tags and their meaning: CIPA DC-008 (Exif), clause numbers from memory.
"""

from __future__ import annotations

import contextlib
import io
import math
import re
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, Final

from webapp.errors import PictureRefused
from webapp.optics.scales import LIMITS, Quantity
from webapp.pictures.header import header_of
from webapp.pictures.kinds import Kind, kind_of
from webapp.pictures.pillow import check_pixels, open_picture

if TYPE_CHECKING:
    from PIL import Image


@dataclass(frozen=True, slots=True)
class PictureStyle:
    """How a camera or a program rendered a file, as far as Exif has a tag for it. `contrast` and `scene` are the numbers of
    their tags (contrast 0 normal, 1 soft, 2 hard; scene 0 standard, 1 landscape, 2 portrait, 3 night), `custom` whether
    it was rendered in a way of its own, `program` the name of what wrote it, without its version."""

    contrast: int | None = None
    scene: int | None = None
    custom: bool | None = None
    program: str = ""


@dataclass(frozen=True, slots=True)
class PictureFacts:
    """What the file says. None is unknown; `refused` names the fields whose value could not be true.

    `taken_at` is the camera's local time as the text it was ("2026:11:24 10:31:07"), `subsecond` the digits
    after its decimal point, `utc_offset` as "+01:00". `subject_distance_mm` is infinity where the file says so.
    `width_px` and `height_px` are of the upright picture; `orientation` is the Exif number (1 is upright).
    `flash_fired` False says little: the camera knows nothing of a flash that it does not speak with.
    `style` is that of a rendered file.
    """

    # The distance that JSON has no number for.
    __pydantic_config__: ClassVar = {"ser_json_inf_nan": "strings"}

    kind: Kind
    f_number: float | None = None
    exposure_time_s: float | None = None
    iso: float | None = None
    focal_length_mm: float | None = None
    taken_at: str | None = None
    subsecond: str | None = None
    utc_offset: str | None = None
    camera: str | None = None
    lens: str | None = None
    subject_distance_mm: float | None = None
    width_px: int | None = None
    height_px: int | None = None
    orientation: int = 1
    flash_fired: bool | None = None
    refused: tuple[str, ...] = ()
    style: PictureStyle | None = None


def read_facts(path: Path) -> PictureFacts:
    """Read the settings of a picture file. Bad metadata never raises: what cannot be read is None.

    Raises PictureRefused where the file is no picture, TooLarge where it says that it has too many pixels.
    """
    kind = kind_of(path)
    return _read_raw(path) if kind == "raw" else _read_rendered(path, kind)


def same_exposure_key(facts: PictureFacts, stem: str) -> Hashable | None:
    """Equal for a raw file and a JPEG of one exposure: same camera, stem and time to the written subsecond.

    None where the camera or the time is unknown: then nothing says that two files are one exposure.
    """
    if facts.camera is None or facts.taken_at is None:
        return None
    return (facts.camera.casefold(), stem.casefold(), facts.taken_at, (facts.subsecond or "").rstrip("0"))


def order_of_exposure(facts: PictureFacts) -> str:
    """Sorts pictures of one camera as they were exposed, by the camera's own clock; "" where a file does not say."""
    return f"{facts.taken_at}.{facts.subsecond or ''}" if facts.taken_at else ""


def turned(orientation: int) -> bool:
    """Whether the upright picture has the stored one's width as its height."""
    return orientation >= 5


# --- tags -----------------------------------------------------------------------------------------------------

# Exif tag numbers, with the names that ExifRead gives them where it has one.
_TAGS: Final[dict[int, str]] = {
    0x010F: "Make",
    0x0110: "Model",
    0x0112: "Orientation",
    0x0131: "Software",
    0x829A: "ExposureTime",
    0x829D: "FNumber",
    0x8827: "ISOSpeedRatings",
    0x8830: "SensitivityType",
    0x8831: "StandardOutputSensitivity",
    0x8832: "RecommendedExposureIndex",
    0x8833: "ISOSpeed",
    0x9003: "DateTimeOriginal",
    0x9004: "DateTimeDigitized",
    0x9011: "OffsetTimeOriginal",
    0x9012: "OffsetTimeDigitized",
    0x9201: "ShutterSpeedValue",
    0x9202: "ApertureValue",
    0x9206: "SubjectDistance",
    0x9209: "Flash",
    0x920A: "FocalLength",
    0x9291: "SubSecTimeOriginal",
    0x9292: "SubSecTimeDigitized",
    0xA401: "CustomRendered",
    0xA406: "SceneCaptureType",
    0xA408: "Contrast",
    0xA434: "LensModel",
}
_EXIF_DIRECTORY = 0x8769
_ALL_ONES = 0xFFFFFFFF
_ISO_SATURATED = 65535

Tags = Mapping[str, Any]


def _read_rendered(path: Path, kind: Kind) -> PictureFacts:
    if kind == "tiff":
        # Pillow does not open every TIFF, and turns those that it does.
        header = header_of(path, kind)
        return _facts(kind, _tags_by_exifread(path), header.width_px, header.height_px)
    with open_picture(path, kind) as image:
        width_px, height_px = image.size
        return _facts(kind, _tags_by_pillow(image), width_px, height_px)


def _tags_by_pillow(image: Image.Image) -> Tags:
    # A PNG may carry its metadata after the pixels; all of them would have to be decoded to find out.
    if image.format == "PNG" and "exif" not in image.info:
        return {}
    try:
        exif = image.getexif()
        found: dict[int, Any] = {**exif, **exif.get_ifd(_EXIF_DIRECTORY)}
    # Broken metadata comes out of Pillow as TypeError, SyntaxError, struct.error and others; none costs the frame.
    except Exception:
        return {}
    return {name: found[tag] for tag, name in _TAGS.items() if tag in found}


def _tags_by_exifread(path: Path) -> Tags:
    import exifread

    try:
        with path.open("rb") as file:
            found = exifread.process_file(file, details=False, extract_thumbnail=False)
        tags = {}
        for number, name in _TAGS.items():
            for key in (f"EXIF {name}", f"Image {name}", f"EXIF Tag 0x{number:04X}"):
                if key in found:
                    values = found[key].values
                    tags[name] = values[0] if isinstance(values, list) and len(values) == 1 else values
                    break
        return tags
    # ExifRead meets broken directories with AssertionError, IndexError and others; none costs the frame.
    except Exception:
        return {}


def _read_raw(path: Path) -> PictureFacts:
    tags = dict(_tags_by_exifread(path) or _tags_of_embedded_jpeg(path))
    sizes = _ask_decoder(path, tags)
    if sizes is None and not tags:
        raise PictureRefused("The raw file is broken, cut short, or of a camera that cannot be read yet.")
    width_px, height_px = sizes or (None, None)
    return _facts("raw", tags, width_px, height_px)


def _ask_decoder(path: Path, tags: dict[str, Any]) -> tuple[int, int] | None:
    """Fill in what LibRaw knows and the tags do not; the stored width and height, None where it cannot open it."""
    import rawpy

    # A decoder that meets a broken file raises its own errors, and others over the values it holds.
    try:
        raw = rawpy.imread(str(path))
    except Exception:
        return None
    with raw:
        sizes = raw.sizes
        check_pixels(sizes.raw_width, sizes.raw_height)
        tags["Orientation"] = ORIENTATION_OF_FLIP.get(sizes.flip, 1)
        # To ask for the settings unpacks the pixels, which takes its time and may fail where the size does not.
        if _SETTINGS - tags.keys():
            with contextlib.suppress(Exception):
                _fill_in(tags, raw.other, raw.lens.model)
    return sizes.width, sizes.height


_SETTINGS: Final = {"FNumber", "ExposureTime", "ISOSpeedRatings", "FocalLength", "DateTimeOriginal"}


def _fill_in(tags: dict[str, Any], other: Any, lens: str) -> None:
    for name, value in (
        ("FNumber", other.aperture),
        ("ExposureTime", other.shutter_speed),
        ("ISOSpeedRatings", other.iso_speed),
        ("FocalLength", other.focal_length),
        ("LensModel", lens),
    ):
        if value:
            tags.setdefault(name, value)
    if other.timestamp.year > _FIRST_CAMERA_YEAR:
        tags.setdefault("DateTimeOriginal", other.timestamp.strftime("%Y:%m:%d %H:%M:%S"))


_FIRST_CAMERA_YEAR: Final = 1970  # which is also what a missing time comes out as

ORIENTATION_OF_FLIP: Final = {0: 1, 3: 3, 5: 8, 6: 6}
"""LibRaw's flip, as the Exif orientation that means the same."""

_RAF_JPEG_PLACE = 84


def _tags_of_embedded_jpeg(path: Path) -> Tags:
    """The settings in a raw file whose container ExifRead does not know but which begins with a whole JPEG.

    The place of the JPEG in the header is from memory.
    """
    with path.open("rb") as file:
        head = file.read(_RAF_JPEG_PLACE + 8)
        if not head.startswith(b"FUJIFILMCCD-RAW") or len(head) < _RAF_JPEG_PLACE + 8:
            return {}
        start = int.from_bytes(head[_RAF_JPEG_PLACE : _RAF_JPEG_PLACE + 4])
        length = int.from_bytes(head[_RAF_JPEG_PLACE + 4 :])
        file.seek(start)
        # The metadata stand in the first segments, which hold at most 64 kB each.
        jpeg = file.read(min(length, 1 << 20))
    try:
        with open_picture(io.BytesIO(jpeg), "jpeg") as image:
            return _tags_by_pillow(image)
    except PictureRefused:
        return {}


# --- from tags to facts -----------------------------------------------------------------------------------------


def _facts(kind: Kind, tags: Tags, width_px: int | None, height_px: int | None) -> PictureFacts:
    refused: list[str] = []

    def taken(field: str, reader: Callable[[Tags], Any]) -> Any:
        try:
            return reader(tags)
        except (ValueError, TypeError, ArithmeticError):
            refused.append(field)
            return None

    orientation = taken("orientation", _orientation) or 1
    if turned(orientation):
        width_px, height_px = height_px, width_px
    return PictureFacts(
        kind=kind,
        f_number=taken("f_number", _f_number),
        exposure_time_s=taken("exposure_time_s", _exposure_time_s),
        iso=taken("iso", _iso),
        focal_length_mm=taken("focal_length_mm", _focal_length_mm),
        taken_at=taken("taken_at", _taken_at),
        subsecond=taken("subsecond", _subsecond),
        utc_offset=taken("utc_offset", _utc_offset),
        camera=_camera(tags),
        lens=_text(tags.get("LensModel")) or None,
        subject_distance_mm=taken("subject_distance_mm", _subject_distance_mm),
        width_px=width_px,
        height_px=height_px,
        orientation=orientation,
        flash_fired=taken("flash_fired", _flash_fired),
        style=None if kind == "raw" else _style(tags),
        refused=tuple(refused),
    )


def _number(tags: Tags, name: str) -> float | None:
    """The tag as a number; None where it is not there. Raises where it is there and is no number."""
    value: Any = tags.get(name)
    if isinstance(value, (list, tuple)) and value:
        value = value[0]
    return None if value is None else float(value)


def _within(low: float, value: float, high: float) -> float:
    if not low <= value <= high:
        raise ValueError(f"{value:g} cannot be true")
    return value


def _f_number(tags: Tags) -> float | None:
    """FNumber, or the APEX ApertureValue Av = 2 log2 N where it is missing."""
    value = _number(tags, "FNumber")
    if value is None and (apex := _number(tags, "ApertureValue")) is not None:
        value = 2.0 ** (apex / 2.0)
    return None if value is None else _within(LIMITS[Quantity.F_NUMBER][0], value, LIMITS[Quantity.F_NUMBER][1])


def _exposure_time_s(tags: Tags) -> float | None:
    """ExposureTime, or the APEX ShutterSpeedValue Tv = -log2 t where it is missing."""
    value = _number(tags, "ExposureTime")
    if value is None and (apex := _number(tags, "ShutterSpeedValue")) is not None:
        value = 2.0**-apex
    return None if value is None else _within(LIMITS[Quantity.SHUTTER][0], value, LIMITS[Quantity.SHUTTER][1])


# SensitivityType says which of the 32-bit tags repeats the 16-bit one.
_LONG_SENSITIVITIES: Final[dict[int, tuple[str, ...]]] = {
    1: ("StandardOutputSensitivity",),
    2: ("RecommendedExposureIndex",),
    3: ("ISOSpeed",),
    4: ("StandardOutputSensitivity", "RecommendedExposureIndex"),
    5: ("StandardOutputSensitivity", "ISOSpeed"),
    6: ("RecommendedExposureIndex", "ISOSpeed"),
    7: ("StandardOutputSensitivity", "RecommendedExposureIndex", "ISOSpeed"),
}
_ANY_LONG_SENSITIVITY = ("RecommendedExposureIndex", "StandardOutputSensitivity", "ISOSpeed")


def _iso(tags: Tags) -> float | None:
    """PhotographicSensitivity; where it is missing, or stands at its 16-bit end, the 32-bit tags."""
    value = _number(tags, "ISOSpeedRatings")
    if value is None or value >= _ISO_SATURATED:
        kind = _number(tags, "SensitivityType")
        names = _LONG_SENSITIVITIES.get(int(kind) if kind is not None else 0, _ANY_LONG_SENSITIVITY)
        longer = [number for name in names if (number := _number(tags, name)) is not None]
        if value is not None and not longer:
            raise ValueError("an ISO of 65535 says only that the tag was too small for it")
        value = longer[0] if longer else None
    return None if value is None else _within(LIMITS[Quantity.ISO][0], value, LIMITS[Quantity.ISO][1])


def _focal_length_mm(tags: Tags) -> float | None:
    value = _number(tags, "FocalLength")
    return None if value is None else _within(0.1, value, 20_000.0)


def _subject_distance_mm(tags: Tags) -> float | None:
    """SubjectDistance is in metres; a numerator of FFFFFFFF means infinity, 0 unknown."""
    value = tags.get("SubjectDistance")
    if value is None or getattr(value, "numerator", value) == 0:
        return None
    if getattr(value, "numerator", value) == _ALL_ONES:
        return math.inf
    return _within(1.0, float(value) * 1000.0, 1e9)


def _orientation(tags: Tags) -> int | None:
    value = _number(tags, "Orientation")
    # Some programs write 0 where they mean that they do not know.
    return None if value is None or value == 0 else int(_within(1, value, 8))


def _flash_fired(tags: Tags) -> bool | None:
    """Bit 0 of Flash; the others tell of its mode and of what came back."""
    value = _number(tags, "Flash")
    return None if value is None else bool(int(_within(0, value, 0xFF)) & 1)


def _style(tags: Tags) -> PictureStyle:
    """How a file was rendered. A number that its tag does not have is as none."""
    custom = _choice(tags, "CustomRendered", 8)
    words = [word for word in _text(tags.get("Software")).split() if not re.search(r"\d", word)]
    return PictureStyle(
        contrast=_choice(tags, "Contrast", 2),
        scene=_choice(tags, "SceneCaptureType", 3),
        custom=None if custom is None else custom > 0,
        program=" ".join(words),
    )


def _choice(tags: Tags, name: str, most: int) -> int | None:
    try:
        value = _number(tags, name)
        return None if value is None else int(_within(0, value, most))
    except (ValueError, TypeError, ArithmeticError):
        return None


_BLANK_TIME = re.compile(r"[0\s:]*")


def _taken_at(tags: Tags) -> str | None:
    for name in ("DateTimeOriginal", "DateTimeDigitized"):
        text = _text(tags.get(name))
        if not _BLANK_TIME.fullmatch(text):
            datetime.strptime(text, "%Y:%m:%d %H:%M:%S")
            return text
    return None


def _subsecond(tags: Tags) -> str | None:
    text = _text(tags.get("SubSecTimeOriginal")) or _text(tags.get("SubSecTimeDigitized"))
    if text and not re.fullmatch(r"[0-9]{1,9}", text):
        raise ValueError(f"“{text}” is no part of a second")
    return text or None


def _utc_offset(tags: Tags) -> str | None:
    text = _text(tags.get("OffsetTimeOriginal")) or _text(tags.get("OffsetTimeDigitized"))
    if text.strip(": ") and not re.fullmatch(r"[+-](0\d|1[0-4]):[0-5]\d", text):
        raise ValueError(f"“{text}” is no difference from UTC")
    return text.strip(": ") or None


def _camera(tags: Tags) -> str | None:
    """Make and model; a model that begins with the first word of the make already says who made it."""
    make, model = _text(tags.get("Make")), _text(tags.get("Model"))
    if make and model and model.casefold().startswith(make.split()[0].casefold()):
        return model
    return f"{make} {model}".strip() or None


_LONGEST_TEXT = 120


def _text(value: object) -> str:
    """A text tag as one trimmed line: up to its first NUL, without control characters."""
    if isinstance(value, (list, tuple)):
        value = value[0] if value else ""
    if isinstance(value, bytes):
        value = value.decode("latin-1")
    if not isinstance(value, str):
        return ""
    before_nul = value.split("\0", 1)[0]
    # Exif text is ASCII by its rule and UTF-8 by habit; Pillow reads it as Latin-1.
    with contextlib.suppress(UnicodeError):
        before_nul = before_nul.encode("latin-1").decode("utf-8")
    return " ".join("".join(mark if mark.isprintable() else " " for mark in before_nul).split())[:_LONGEST_TEXT]
