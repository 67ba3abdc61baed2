"""What a file is, told from its first bytes; the ending of its name is only asked where they leave it open."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import BinaryIO, Final, Literal, get_args

from webapp.errors import PictureRefused

Kind = Literal["jpeg", "tiff", "raw", "heic", "png", "webp"]
KINDS: Final[tuple[Kind, ...]] = get_args(Kind)

RENDERED_SUFFIXES: Final = frozenset(
    {".jpg", ".jpeg", ".jpe", ".tif", ".tiff", ".heic", ".heif", ".hif", ".png", ".webp"}
)
# fmt: off
RAW_SUFFIXES: Final = frozenset(
    {".3fr", ".arw", ".cr2", ".cr3", ".crw", ".dcr", ".dng", ".erf", ".fff", ".gpr", ".iiq", ".kdc",
     ".mef", ".mos", ".mrw", ".nef", ".nrw", ".orf", ".pef", ".raf", ".raw", ".rw2", ".rwl", ".sr2",
     ".srf", ".srw", ".x3f"}
)
# fmt: on
PICTURE_SUFFIXES: Final = RENDERED_SUFFIXES | RAW_SUFFIXES

# What cameras write beside pictures, and pictures that cannot be read here: told of, not taken.
_OTHER_SUFFIXES: Final = frozenset(
    {".avi", ".avif", ".bay", ".braw", ".cap", ".crm", ".eip", ".jxl", ".m4v", ".mov", ".mp4", ".mts", ".mxf", ".ptx"}
)
CAMERA_SUFFIXES: Final = PICTURE_SUFFIXES | _OTHER_SUFFIXES

MOST_PIXELS: Final = 200_000_000
"""The most pixels taken; a picture that says it holds more is refused before any of it is decoded."""

_HEAD_BYTES = 64
_RAW_MARKS = (
    b"FUJIFILMCCD-RAW",
    b"FOVb",
    b"\0MRM",
    b"II\x1a\0\0\0HEAPCCDR",
    b"IIU\0",
    b"IIRO",
    b"IIRS",
    b"MMOR",
)
_HEIC_BRANDS = frozenset({b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"})

# TIFF tags (TIFF 6.0; DNG; TIFF/EP) by which a raw file in a TIFF container is told from a picture.
_PHOTOMETRIC, _DNG_VERSION = 262, 50706
_RAW_PHOTOMETRICS = frozenset({32803, 34892})  # colour filter array, linear raw


def kind_of(path: Path) -> Kind:
    """The kind of a picture file, whatever its ending says.

    Raises PictureRefused where it is none that can be taken in.
    """
    try:
        # A pipe or a device would be waited for, and never end.
        if path.exists() and not path.is_file():
            raise PictureRefused("This is not a file.")
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
            kind = _kind_from(head, file, path.suffix.lower())
    except OSError as problem:
        raise PictureRefused(f"The file cannot be read: {problem.strerror or problem}.") from problem
    if not head:
        raise PictureRefused("The file is empty.")
    if kind is None:
        raise PictureRefused(
            "This is not a picture that can be taken in: it holds no JPEG, TIFF, PNG, WebP, HEIC or camera raw data."
        )
    return kind


def _kind_from(head: bytes, file: BinaryIO, suffix: str) -> Kind | None:
    if head.startswith(b"\xff\xd8\xff"):
        return "jpeg"
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png"
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "webp"
    if head.startswith(_RAW_MARKS):
        return "raw"
    if head[4:8] == b"ftyp":
        return _kind_of_boxes(head)
    if head[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
        is_raw = suffix in RAW_SUFFIXES or head[8:10] == b"CR" or _says_raw(head, file)
        return "raw" if is_raw else "tiff"
    return None


def _kind_of_boxes(head: bytes) -> Kind | None:
    size = min(int.from_bytes(head[:4]), len(head))
    brands = {head[place : place + 4] for place in (8, *range(16, size, 4))}
    if b"crx " in brands:
        return "raw"
    return "heic" if brands & _HEIC_BRANDS and b"avif" not in brands else None


def _says_raw(head: bytes, file: BinaryIO) -> bool:
    """Whether the first directory of a classic TIFF holds a tag that only raw files hold."""
    order = "<" if head[:2] == b"II" else ">"
    if len(head) < 8 or struct.unpack(order + "H", head[2:4])[0] != 42:
        return False
    file.seek(struct.unpack(order + "I", head[4:8])[0])
    count_bytes = file.read(2)
    if len(count_bytes) < 2:
        return False
    entries = file.read(12 * struct.unpack(order + "H", count_bytes)[0])
    for start in range(0, len(entries) - 11, 12):
        tag, _, _, value = struct.unpack(order + "HHIH", entries[start : start + 10])
        if tag == _DNG_VERSION or (tag == _PHOTOMETRIC and value in _RAW_PHOTOMETRICS):
            return True
    return False
