"""The files under static/, held in memory, compressed once, and named by what they hold.

A page asks for /static/<version>/stopledger.css. The version is a digest of the whole tree, so that what stands under
it never changes and is kept by the browser for good, and so that a module or a stylesheet which names its neighbour by
a relative address gets the neighbour of its own version. Without a version, or under one that has passed (a page that
was open while the program was updated), the present file answers, and is asked about each time.
"""

from __future__ import annotations

import gzip
import hashlib
import mimetypes
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final

from starlette.requests import Request
from starlette.responses import Response

from webapp.errors import NotFound
from webapp.paths import STATIC

PLACE: Final = "/static/"
_FOR_GOOD: Final = "public, max-age=31536000, immutable"
_ASK_EACH_TIME: Final = "public, no-cache"
_VERSION_LENGTH: Final = 16
_VERSIONED: Final = re.compile(rf"([0-9a-f]{{{_VERSION_LENGTH}}})/(.+)")
# By what a file is, not by what this machine's tables say of its ending.
_TYPES: Final = {
    ".css": "text/css",
    ".js": "text/javascript",
    ".svg": "image/svg+xml",
    ".webp": "image/webp",
    ".json": "application/json",
    ".webmanifest": "application/manifest+json",
}
_SMALLEST_COMPRESSED: Final = 500


@dataclass(frozen=True, slots=True)
class StaticFile:
    """A file as it is sent. `compressed` is None where that would make nothing smaller."""

    content: bytes
    kind: str
    digest: str
    compressed: bytes | None


@dataclass(frozen=True, slots=True)
class StaticTree:
    """All files by their path under static/, and the version that they make up."""

    files: dict[str, StaticFile]
    version: str


@lru_cache(maxsize=1)
def tree() -> StaticTree:
    """The files as they were when they were first asked for; a later change shows after the next start."""
    return read_tree(STATIC)


def read_tree(root: Path) -> StaticTree:
    """The files under a directory."""
    paths = sorted(path for path in root.rglob("*") if path.is_file())
    files = {path.relative_to(root).as_posix(): _read(path) for path in paths}
    whole = hashlib.sha256()
    for name, file in files.items():
        whole.update(f"{name}\0{file.digest}\n".encode())
    return StaticTree(files, whole.hexdigest()[:_VERSION_LENGTH])


def address_of(name: str) -> str:
    """Where a page finds a file. Raises NotFound for a name that is none, so that no page is drawn with it."""
    found = tree()
    _file_in(found, name)
    return f"{PLACE}{found.version}/{name}"


def answer(request: Request) -> Response:
    """A file, compressed for those who can read that; 304 where the asker has it."""
    found = tree()
    version, name = _taken_apart(request.path_params["path"])
    file = _file_in(found, name)
    kept = f'W/"{file.digest}"'
    headers = {
        "Cache-Control": _FOR_GOOD if version == found.version else _ASK_EACH_TIME,
        "ETag": kept,
        "Vary": "Accept-Encoding",
    }
    if kept in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    if file.compressed is not None and "gzip" in request.headers.get("accept-encoding", ""):
        return Response(file.compressed, headers=headers | {"Content-Encoding": "gzip"}, media_type=file.kind)
    return Response(file.content, headers=headers, media_type=file.kind)


def worker(_request: Request) -> Response:
    """The service worker, with the version of all files before it, so that another version is another worker. It stands
    at the root: from there it may answer for every page."""
    found = tree()
    text = f'const VERSION = "{found.version}";\n{_file_in(found, "worker.js").content.decode()}'
    return Response(text, headers={"Cache-Control": _ASK_EACH_TIME}, media_type="text/javascript")


def _taken_apart(path: str) -> tuple[str, str]:
    versioned = _VERSIONED.fullmatch(path)
    return (versioned[1], versioned[2]) if versioned else ("", path)


def _file_in(found: StaticTree, name: str) -> StaticFile:
    if name not in found.files:
        raise NotFound("There is no such file.")
    return found.files[name]


def _read(path: Path) -> StaticFile:
    content = path.read_bytes()
    kind = _TYPES.get(path.suffix) or mimetypes.guess_type(path.name)[0] or "application/octet-stream"
    smaller = gzip.compress(content, 9, mtime=0) if len(content) >= _SMALLEST_COMPRESSED else content
    digest = hashlib.sha256(content).hexdigest()
    return StaticFile(content, kind, digest, smaller if len(smaller) < len(content) else None)
