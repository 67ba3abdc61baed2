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
