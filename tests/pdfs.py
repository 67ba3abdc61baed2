"""PDFs as the tests look into them: their pages, counted without a PDF library."""

from __future__ import annotations

import os
import re
import zlib

import pytest

from webapp.errors import NotFound
from webapp.exports.pdf import pdf_of
from webapp.web.paper.sizes import PaperName

_PAGE = re.compile(rb"/Type\s*/Page(?![A-Za-z])")
_BOX = re.compile(rb"/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)")
_FONT = re.compile(rb"/FontName\s*/(?:[A-Z]{6}\+)?([\w-]+)")
_STREAM = re.compile(rb"stream\r?\n(.*?)endstream", re.DOTALL)
MM_PER_POINT = 25.4 / 72
PAPER_MM: dict[PaperName, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


def _can_be_made() -> bool:
    try:
        pdf_of("<p>one line</p>", {})
    except NotFound:
        return False
    return True


# With CI set nothing is skipped: then a PDF that cannot be made fails the test.
needs_pdf = pytest.mark.skipif(
    not os.environ.get("CI") and not _can_be_made(), reason="the extra “pdf” or Pango is missing here"
)


def _objects(content: bytes) -> bytes:
    """The objects of a PDF, those in compressed streams among them."""
    parts = [content]
    for stream in _STREAM.findall(content):
        try:
            parts.append(zlib.decompress(stream))
        except zlib.error:
            continue
    return b"\n".join(parts)


def page_count(content: bytes) -> int:
    return len(_PAGE.findall(_objects(content)))


def page_size_mm(content: bytes) -> tuple[float, float]:
    """Width and height of the first page."""
    found = _BOX.search(_objects(content))
    assert found is not None
    width, height = (float(each) * MM_PER_POINT for each in found.groups())
    return width, height


def fonts_of(content: bytes) -> set[str]:
    """The names of the typefaces in it, without the tags of their subsets."""
    return {name.decode() for name in _FONT.findall(_objects(content))}


_WORD = re.compile(rb"[^\s\[\]<>()/%]+")


def bars_mm(content: bytes) -> list[float]:
    """The lengths, on paper, of the scale bars of its drawings: one level line, and three upright ticks in one path. The
    drawing's own matrices are followed; what a form of the PDF adds is taken as none."""
    found: list[float] = []
    for stream in _STREAM.findall(content):
        try:
            words = _WORD.findall(zlib.decompress(stream))
        except zlib.error:
            continue
        matrix, kept, path = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), [], []
        numbers: list[float] = []
        for word in words:
            if re.fullmatch(rb"[-+]?(?:\d+\.?\d*|\.\d+)", word):
                numbers.append(float(word))
                continue
            if word == b"q":
                kept.append(matrix)
            elif word == b"Q" and kept:
                matrix = kept.pop()
            elif word == b"cm" and len(numbers) >= 6:
                matrix = _times(numbers[-6:], matrix)
            elif word in (b"m", b"l") and len(numbers) >= 2:
                x, y = numbers[-2:]
                at = (x * matrix[0] + y * matrix[2] + matrix[4], x * matrix[1] + y * matrix[3] + matrix[5])
                # A point that is moved on from is none of the path.
                path = [*(path[:-1] if word == b"m" and path and path[-1][0] == b"m" else path), (word, *at)]
            elif word in (b"S", b"n", b"f", b"B"):
                found += _bar(path)
                path = []
            numbers = []
    return found


def _times(one: list[float], other: tuple[float, ...]) -> tuple[float, float, float, float, float, float]:
    (a, b, c, d, e, f), (a2, b2, c2, d2, e2, f2) = one, other
    return (
        a * a2 + b * c2,
        a * b2 + b * d2,
        c * a2 + d * c2,
        c * b2 + d * d2,
        e * a2 + f * c2 + e2,
        e * b2 + f * d2 + f2,
    )


def _bar(path: list[tuple[bytes, float, float]]) -> list[float]:
    if [word for word, _, _ in path] != [b"m", b"l"] * 4:
        return []
    (_, x1, y1), (_, x2, y2), *ticks = path
    upright = all(abs(one[1] - other[1]) < 0.01 for one, other in zip(ticks[::2], ticks[1::2], strict=True))
    return [abs(x2 - x1) * MM_PER_POINT] if abs(y1 - y2) < 0.01 and upright else []
