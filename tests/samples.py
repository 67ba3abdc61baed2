"""Pictures that nobody here made: camera files that ride in the source archives of image libraries.

They are fetched by the name of the package when a test asks for them, through the package installer, and unpacked
into the project's ignored cache; the licence of the package covers them. Where the registry cannot be reached a test
is skipped, saying so; where CI is set it fails.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from dataclasses import dataclass
from pathlib import Path

import pytest

_CACHE = Path(__file__).resolve().parent.parent / ".cache" / "samples"
_ENDINGS = (".jpg", ".jpeg", ".mpo", ".tif", ".tiff", ".png", ".webp")
_FETCH_WITHIN_S = 300


@dataclass(frozen=True)
class SamplePackage:
    """A package whose source archive holds pictures."""

    name: str
    version: str
    licence: str
    folder: str


PIEXIF = SamplePackage("piexif", "1.1.3", "MIT", "tests/images")
PILLOW = SamplePackage("pillow", "13.0.0", "MIT-CMU", "Tests/images")


def sample(package: SamplePackage, name: str) -> Path:
    """A picture of a package, fetched on first use."""
    pictures = _CACHE / f"{package.name}-{package.version}"
    if not pictures.is_dir():
        _fetch(package, pictures)
    return pictures / name


def _fetch(package: SamplePackage, pictures: Path) -> None:
    _CACHE.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=_CACHE) as name:
        work = Path(name)
        wanted = f"{package.name}=={package.version}"
        command = [
            sys.executable,
            "-m",
            "pip",
            "download",
            "--quiet",
            "--no-deps",
            "--no-binary",
            package.name,
        ]
        command += ["--timeout", "20", "--retries", "1", "--dest", name, wanted]
        try:
            ended = subprocess.run(command, capture_output=True, text=True, timeout=_FETCH_WITHIN_S, check=False)
            said = ended.stderr.strip()
        except subprocess.TimeoutExpired:
            said = f"nothing came within {_FETCH_WITHIN_S} s"
        archives = [path for path in work.iterdir() if path.name.endswith((".tar.gz", ".zip"))]
        if not archives:
            _do_without(f"the source archive of {wanted} could not be fetched: {said.splitlines()[-1:]}")
        unpacked = work / "unpacked"
        _unpack(archives[0], f"{package.folder}/", unpacked)
        # Another test process may have been faster; its files are the same.
        if not pictures.is_dir():
            try:
                unpacked.rename(pictures)
            except OSError:
                if not pictures.is_dir():
                    raise


def _unpack(archive: Path, folder: str, to: Path) -> None:
    to.mkdir()

    def place_of(member: str) -> Path | None:
        _, _, inside = member.partition("/")
        name = inside.removeprefix(folder)
        is_picture = inside.startswith(folder) and "/" not in name and name.lower().endswith(_ENDINGS)
        return to / name if is_picture else None

    if archive.suffix == ".zip":
        with zipfile.ZipFile(archive) as opened:
            for entry in opened.namelist():
                if (place := place_of(entry)) is not None:
                    place.write_bytes(opened.read(entry))
        return
    with tarfile.open(archive) as opened_tar:
        for member in opened_tar:
            place = place_of(member.name)
            content = opened_tar.extractfile(member) if place is not None and member.isfile() else None
            if place is not None and content is not None:
                with place.open("wb") as file:
                    shutil.copyfileobj(content, file)


def _do_without(reason: str) -> None:
    if os.environ.get("CI"):
        pytest.fail(f"Sample pictures are needed where CI is set: {reason}")
    pytest.skip(f"Sample pictures are missing: {reason}")
