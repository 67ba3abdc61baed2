"""A sheet as PDF, by WeasyPrint: an extra, since it needs Pango from the system.

Nothing is fetched: what a document refers to is served from our own static files and from pictures in memory, and
every other address is refused.
"""

from __future__ import annotations

import importlib.util
import logging
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import urlsplit

from webapp.errors import NotFound
from webapp.paths import STATIC

# A name that no server can have (RFC 2606).
_HERE: Final = "http://sheet.invalid/"
_STATIC: Final = "/static/"
_TYPES: Final = {".css": "text/css", ".svg": "image/svg+xml", ".woff": "font/woff"}
# They tell every step, and every property that is for screens alone.
_TALKATIVE: Final = ("weasyprint", "weasyprint.progress", "fontTools")
# Laying out takes a processor by itself: one at a time leaves the other to the desk.
_one_at_a_time = threading.Lock()


def is_there() -> bool:
    """Whether the extra is installed; whether it can be used shows when it is."""
    return importlib.util.find_spec("weasyprint") is not None


@dataclass(frozen=True, slots=True)
class LaidOut:
    """A document on its pages."""

    _document: Any

    @property
    def pages(self) -> int:
        return len(self._document.pages)

    def pdf(self) -> bytes:
        with _one_at_a_time:
            made: bytes = self._document.write_pdf()
        return made


def pdf_of(document: str, pictures: Mapping[str, Callable[[], bytes]]) -> bytes:
    """The PDF of an HTML document, on as many pages as it takes; otherwise as `laid_out`."""
    return laid_out(document, pictures).pdf()


def laid_out(document: str, pictures: Mapping[str, Callable[[], bytes]]) -> LaidOut:
    """An HTML document on its pages. `pictures` gives the JPEG behind each address that the document names. Raises
    NotFound, with what to do, where the extra or a library of it is missing."""
    from PIL import ImageFile

    tolerant = ImageFile.LOAD_TRUNCATED_IMAGES
    # Before, since it parses its own stylesheets when it is imported; after, since it sets a level of its own then.
    _quieten()
    try:
        from weasyprint import HTML
        from weasyprint.urls import URLFetcher, URLFetcherResponse
    except (ImportError, OSError) as missing:
        raise NotFound(
            "This server makes no PDF: print the sheet from the browser (to a printer or into a file), or install the "
            "extra with pip install 'stopledger[pdf]' and, on Debian, libpango-1.0-0, libpangoft2-1.0-0 and "
            "libharfbuzz-subset0."
        ) from missing
    finally:
        # It makes Pillow take pictures that are cut short, for the whole process; here those are refused.
        ImageFile.LOAD_TRUNCATED_IMAGES = tolerant
    _quieten()

    class OurFilesAlone(URLFetcher):  # type: ignore[misc]
        def fetch(self, url: str, headers: Any = None) -> Any:
            content, kind = _served(url, pictures)
            return URLFetcherResponse(url, content, headers={"Content-Type": kind})

    with _one_at_a_time:
        return LaidOut(HTML(string=document, base_url=_HERE, url_fetcher=OurFilesAlone()).render())


def _quieten() -> None:
    for name in _TALKATIVE:
        logging.getLogger(name).setLevel(logging.ERROR)


def _served(url: str, pictures: Mapping[str, Callable[[], bytes]]) -> tuple[bytes, str]:
    asked = urlsplit(url)
    if not url.startswith(_HERE):
        raise ValueError(f"A sheet fetches nothing: {url}")
    if asked.path in pictures:
        return pictures[asked.path](), "image/jpeg"
    path = (STATIC / asked.path.removeprefix(_STATIC)).resolve()
    if not asked.path.startswith(_STATIC) or not path.is_relative_to(STATIC.resolve()) or path.suffix not in _TYPES:
        raise ValueError(f"There is no {asked.path} for a sheet.")
    return path.read_bytes(), _TYPES[path.suffix]
