"""How the backups stand, and what the check of the records found."""

from __future__ import annotations

import datetime as dt
import shlex
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Final

from webapp.backups.reasons import Reason
from webapp.backups.state import State
from webapp.web.words.listing import joined, names

if TYPE_CHECKING:
    from webapp.web.words.say import Say

WORDS: Final[Mapping[str, Say]] = {
    Reason.DATABASE_DAMAGED: lambda told, _: (
        f"The database is damaged ({told['damage']}). “stopledger restore” brings back the newest sound backup."
    ),
    Reason.REFERENCES_BROKEN: lambda told, _: (
        f"In the table {told.about}, {_many(told.number('rows'), 'reference')} to something that is not there."
    ),
    Reason.OTHER_REVISION: lambda told, _: (
        f"The database is of step {told['revision'] or 'none'}, and this version works with {told['newest']}. "
        "If it is the older one, start Stopledger once to bring it along."
    ),
    Reason.PICTURE_MISSING: lambda told, _: f"The picture {told['name'] or 'of a recipe'} is missing ({told.about}).",
    Reason.PICTURE_CHANGED: lambda told, _: (
        f"The picture {told['name'] or 'that no frame has'} is not what it was when it was kept ({told.about})."
    ),
    Reason.LEDGER_DIFFERS: lambda told, _: (
        f"“{told.about}”: the balances of {_frames(names(told, 'frames'))} come out otherwise when worked out anew."
    ),
    Reason.EVIDENCE_DIFFERS: lambda told, _: (
        f"“{told.about}”: what the pictures of {_frames(names(told, 'frames'))} say comes out otherwise when worked out "
        "anew."
    ),
    Reason.SEARCH_DIFFERS: lambda *_: "The index of the recipe search does not fit the recipes.",
    Reason.PREVIEWS_MISSING: lambda told, _: (
        f"{_many(told.number('count'), 'preview')} to be made again, which the next start does by itself."
    ),
    Reason.PICTURES_UNNAMED: lambda told, _: (
        f"{_many(told.number('count'), 'picture')} in the store that no frame and no recipe has."
    ),
}
REPAIRS: Final[Mapping[str, str]] = {
    Reason.PICTURE_MISSING: "Bring the picture back from the backup?",
    Reason.PICTURE_CHANGED: "Put the changed file aside, and bring the picture back from the backup?",
    Reason.LEDGER_DIFFERS: "Work all balances out anew?",
    Reason.EVIDENCE_DIFFERS: "Work out anew what the pictures say?",
    Reason.SEARCH_DIFFERS: "Write the index of the search anew?",
    Reason.PREVIEWS_MISSING: "Make the previews now?",
    Reason.PICTURES_UNNAMED: "Put these pictures aside, into the directory put-aside?",
}
"""What is asked before something is put right."""


def standing_words(state: State, data: Path, now: dt.datetime, overdue_after: dt.timedelta) -> tuple[str, ...]:
    """When the last sound backup was, where it lies, and what is to be done, where something is."""
    if state.made_at is None:
        return (f"Never backed up. {_what_to_do(data)}",)
    said = [f"Backed up {when(state.made_at, now)}, {_many(state.pictures, 'picture')}, to {state.place}."]
    if now - state.made_at > overdue_after:
        said.append(f"That is {_many((now - state.made_at).days, 'day')} ago. {_what_to_do(data)}")
    if state.on_same_disk:
        said.append(
            "It lies on the same disk as the records, and would be lost with it; keep one on another disk, too."
        )
    return tuple(said)


def failed_words(state: State, now: dt.datetime) -> str:
    """Why the last attempt came to nothing."""
    return f"The backup {when(state.tried_at or now, now)} failed. {state.failed}"


def room_words(free_bytes: int) -> str:
    """The room that is left on the disk, where it is little."""
    return f"{size(free_bytes)} left on the disk of the data directory. When it is full, no frame is saved."


def size(count: int) -> str:
    """
    >>> size(1_940_000_000), size(412_000_000), size(3)
    ('1.9 GB', '412 MB', '0 MB')
    """
    return f"{count / 1e9:.1f} GB" if count >= 1e9 else f"{count / 1e6:.0f} MB"


def when(at: dt.datetime, now: dt.datetime) -> str:
    """A moment as a person near it says it, in the time of the machine."""
    at, now = at.astimezone(), now.astimezone()
    days = (now.date() - at.date()).days
    day = {0: "today", 1: "yesterday"}.get(days, f"on {at.day} {at:%B %Y}")
    return f"{day} {at:%H:%M}" if days in (0, 1) else f"{day}, {at:%H:%M}"


def restore_words(directory: Path, data: Path) -> str:
    """The command that brings a backup back beside a data directory."""
    beside = data.with_name(f"{data.name}-restored")
    return f"stopledger restore {shlex.quote(str(directory))} --data {shlex.quote(str(beside))}"


def _what_to_do(data: Path) -> str:
    return (
        f"Run “stopledger backup TO --data {shlex.quote(str(data))}”, or start Stopledger with --backup-to TO to have it "
        "done every day; TO is a directory on another disk."
    )


def _frames(numbers: tuple[str, ...]) -> str:
    return f"frame {numbers[0]}" if len(numbers) == 1 else f"frames {joined(numbers)}"


def _many(count: float, noun: str) -> str:
    return f"{count:.0f} {noun}{'' if count == 1 else 's'}"
