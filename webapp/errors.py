"""The error tree. Every error says what was wrong, where, and what to do.

StopledgerError
├── InvalidValue        a field holds something it cannot hold                    422
│   └── SeveralInvalid  more than one field at once                              422
├── NotFound            no such thing, or nothing that this reader may see       404
├── NotAllowed          who asks may not do that                                 403
├── Conflict            the thing has changed, or is in use, since it was read   409
│   ├── StaleValue      somebody changed this field first; carries both values   409
│   ├── StaleRecord     somebody changed this record first; carries both values  409
│   ├── KeyReused       a save key came back with another body                   409
│   └── InUse           other records refer to it                                409
├── PictureRefused      a file that cannot be taken in as a picture              422
│   ├── NotReadYet      nor can it be told that it never will be                 422
│   │   └── NotKept     the store could not write it                             503
│   └── TooLarge        more bytes or pixels than are taken                      413
├── NotTraced           shadows that could not be worked out, or not yet          503
├── DiskTrouble         the disk refuses, or what lies on it is damaged          503
├── BackupRefused       a backup that cannot be made, or not be restored         exit 1
└── CannotStart         settings or data directory do not allow a start          exit 2
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


class StopledgerError(Exception):
    """The root: `str(error)` is a sentence that may be shown to the photographer."""


class InvalidValue(StopledgerError):
    """`where` is the path of the field, outermost name first; `nearest` what the kit can do nearest to what was asked,
    as it is typed, or ""."""

    def __init__(self, where: str | tuple[str, ...], message: str, nearest: str = "") -> None:
        super().__init__(message)
        self.where = (where,) if isinstance(where, str) else where
        self.nearest = nearest

    @property
    def problems(self) -> list[InvalidValue]:
        """Each field that cannot be kept."""
        return [self]


class SeveralInvalid(InvalidValue):
    """All the fields of one form that cannot be kept, so that one answer names them all."""

    def __init__(self, problems: list[InvalidValue]) -> None:
        super().__init__(problems[0].where, " ".join(str(problem) for problem in problems))
        self._problems = problems

    @property
    def problems(self) -> list[InvalidValue]:
        return self._problems


class NotFound(StopledgerError):
    pass


class NotAllowed(StopledgerError):
    pass


class Conflict(StopledgerError):
    pass


@dataclass(frozen=True, slots=True)
class Changed:
    """Who changed a value: the browser of somebody by name, "" for the owner's, None where that is not known; the file of
    a frame; or another page of whoever asks. `at` is the time, as the clock on the wall shows it."""

    by: str | None = None
    is_own: bool = False
    frame: int | None = None
    file: str = ""
    at: str = ""

    def __str__(self) -> str:
        if self.file:
            return f"The file of frame {self.frame}, {self.file},"
        if self.is_own:
            return "Another page of yours"
        return "Somebody" if self.by is None else self.by or "The owner"


class StaleValue(Conflict):
    """The field at the path `where` was changed by somebody else. `field` is its name in the sentence, `stands` what
    stands now, `offered` what was sent, `changed` who changed it."""

    def __init__(
        self, where: tuple[str, ...], field: str, stands: str, offered: str, changed: Changed = Changed()
    ) -> None:
        at = f" at {changed.at}" if changed.at else ""
        super().__init__(
            f"{changed} changed {field} to {stands}{at}, after this page was drawn; "
            f"{offered} was not written in. Send it again if it is meant."
        )
        self.where = where
        self.stands = stands
        self.offered = offered


class StaleRecord(Conflict):
    """A whole record was changed by somebody else. `revision` is the one that stands, `differing` has what stands and
    what was sent, by field."""

    def __init__(self, revision: int, differing: Mapping[str, tuple[Any, Any]]) -> None:
        super().__init__(
            "Somebody changed this since you read it, and nothing was saved. Look at what stands now; "
            "save yours after all if it is meant."
        )
        self.revision = revision
        self.differing = differing


class KeyReused(Conflict):
    pass


class InUse(Conflict):
    pass


class PictureRefused(StopledgerError):
    pass


class NotReadYet(PictureRefused):
    """The trouble was not the file's own, as far as can be told: a process that ended, a full disk. To be tried again."""


class NotKept(NotReadYet):
    """Its cause is what the disk refused."""


class TooLarge(PictureRefused):
    pass


class PartMissing(PictureRefused):
    """An optional part of the program that is not installed would read it."""


class NotTraced(StopledgerError):
    """`goes_on` where they are still being worked out; then `waits` says whether for a picture that is read first."""

    def __init__(self, message: str, *, goes_on: bool = False, waits: bool = False) -> None:
        super().__init__(message)
        self.goes_on = goes_on
        self.waits = waits


class DiskTrouble(StopledgerError):
    """`cause` is what the system calls it, for the log; `place_is_gone` where there is nothing to be used any more."""

    def __init__(self, message: str, cause: str, *, place_is_gone: bool = False) -> None:
        super().__init__(message)
        self.cause = cause
        self.place_is_gone = place_is_gone


class BackupRefused(StopledgerError):
    pass


class CannotStart(StopledgerError):
    pass
