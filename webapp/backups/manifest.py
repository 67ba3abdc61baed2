"""What a backup holds, by hashes. It is written last: a directory without one is no backup."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from webapp.pictures.store import write_whole

NAME: Final = "manifest.json"
_FORMAT: Final = 1


@dataclass(frozen=True, slots=True)
class Manifest:
    """`revision` is that of the database's tables, `pictures` has the size in bytes of each by the SHA-256 of its content,
    which is also its name in the store of the backups. `missing` are those that the records name and that could not be
    had, `changed` those whose content is not what it was when they were kept: with either, the backup is not sound."""

    made_at: dt.datetime
    version: str
    revision: str
    database_sha256: str
    database_bytes: int
    counts: Mapping[str, int]
    pictures: Mapping[str, int]
    missing: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()

    def write(self, directory: Path) -> None:
        """Make a backup of a directory. Raises OSError."""
        said = {
            "format": _FORMAT,
            "made_at": self.made_at.isoformat(),
            "version": self.version,
            "revision": self.revision,
            "database": {"sha256": self.database_sha256, "bytes": self.database_bytes},
            "counts": dict(self.counts),
            "pictures": dict(self.pictures),
            "missing": list(self.missing),
            "changed": list(self.changed),
        }
        write_whole(directory / NAME, json.dumps(said, indent=1).encode())


def read_manifest(directory: Path) -> Manifest:
    """The manifest of a backup. Raises OSError where there is none, and ValueError where it cannot be read."""
    said = json.loads((directory / NAME).read_bytes())
    try:
        if said["format"] != _FORMAT:
            raise ValueError(f"a manifest of format {said['format']}")
        return Manifest(
            made_at=dt.datetime.fromisoformat(said["made_at"]),
            version=said["version"],
            revision=said["revision"],
            database_sha256=said["database"]["sha256"],
            database_bytes=said["database"]["bytes"],
            counts=said["counts"],
            pictures=said["pictures"],
            missing=tuple(said["missing"]),
            changed=tuple(said["changed"]),
        )
    except (KeyError, TypeError, AttributeError) as problem:
        raise ValueError(f"no manifest: {problem!r}") from problem
