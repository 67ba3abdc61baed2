"""Why a camera file is no frame, and how many there are."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.shoots.reasons import Reason
from webapp.shoots.watching import Watched

if TYPE_CHECKING:
    from webapp.web.words.say import Say


def count_words(files: int) -> str:
    """How many files lie in the in-tray; "" where none does."""
    return (
        "" if not files else f"{files} file{'s' if files != 1 else ''} wait{'s' if files == 1 else ''} in the in-tray"
    )


def arriving_words(size_bytes: int) -> str:
    """What is said of a file that has not come whole.

    >>> arriving_words(3_140_000)
    'It is still arriving: 3.1 MB so far. It becomes a frame once it is whole.'
    """
    size = f"{size_bytes / 1e6:.1f} MB" if size_bytes >= 1e6 else f"{size_bytes / 1e3:.0f} kB"
    return f"It is still arriving: {size} so far. It becomes a frame once it is whole."


def watched_words(watched: Watched) -> str:
    """The folder that is watched, in a line: "Watching /home/me/tethered, 3 files today"."""
    if watched.folder is None:
        return "No folder is watched"
    if not watched.is_there:
        return f"Watching {watched.folder}, which is not there now"
    return f"Watching {watched.folder}, {watched.taken_today} file{'s' * (watched.taken_today != 1)} today"


def watched_note(watched: Watched, *, is_owner: bool) -> str:
    """What else is to be known of it: who may choose another, and what comes of its files."""
    if watched.is_fixed:
        return "The server was started with this folder (--watch); another is chosen where it is started."
    if not is_owner:
        return "The owner chooses it."
    return (
        "Each new camera file in it becomes a frame of the active shot. What lies in it already is asked about first."
    )


def question_words(reason: str, files: int) -> str:
    """What is asked about at once: "57 files came together, as from a card."."""
    if reason == Reason.CAME_TOGETHER:
        return f"{files} files came together, as from a card."
    return f"{files} files were in the folder before it was watched for the first time."


WORDS: Final[Mapping[str, Say]] = {
    Reason.FOUND_AT_FIRST_LOOK: lambda *_: "It was in the folder before it was watched for the first time.",
    Reason.CAME_TOGETHER: lambda told, _: f"It came with {told['files']} files at once, as from a card.",
    Reason.NO_ACTIVE_SHOT: lambda *_: "No shot was active when it came.",
    Reason.OTHER_CAMERA: lambda told, _: f"It is from {told['file']}; {told['kit']} is the camera in the set-up.",
    Reason.CANNOT_BE_READ: lambda told, _: f"{told['says']}",
    Reason.STOPPED_ARRIVING: lambda told, _: (
        f"{told['says']} It stopped growing before it was whole; if the rest still comes, it becomes a frame by itself."
    ),
    Reason.PART_MISSING: lambda told, _: f"{told['says']} It is tried again at the next start.",
    Reason.NOT_READ_YET: lambda told, _: f"{told['says']} It is tried again by itself, or file it now.",
    Reason.FILE_IS_GONE: lambda *_: "It was gone from the folder before it was whole.",
    Reason.LINK_LEADS_OUT: lambda *_: "It is a link that leads out of the watched folder.",
    Reason.LOGGED_ALREADY: lambda *_: "The same file is in the log already.",
}
