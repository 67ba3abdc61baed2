"""A disk of its own, so small that it can be filled. To mount one takes a right that not everybody has."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


@contextmanager
def small_disk(at: Path, megabytes: int) -> Iterator[Path]:
    """Skips the test where none can be mounted."""
    at.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", f"size={megabytes}m", "tmpfs", str(at)]
    if shutil.which("mount") is None or subprocess.run(command, capture_output=True, check=False).returncode != 0:
        pytest.skip("no right to mount a disk")
    try:
        yield at
    finally:
        subprocess.run(["umount", "-l", str(at)], check=True)


def make_read_only(disk: Path) -> None:
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)


def fill(disk: Path) -> Path:
    """To its last byte; the answer is the file that does it."""
    filler = disk / "filler"
    with filler.open("wb", buffering=0) as file:
        try:
            while True:
                file.write(bytes(4096))
        except OSError:
            pass
    return filler
