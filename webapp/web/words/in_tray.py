"""Why a camera file is no frame, and how many there are."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.shoots.reasons import Reason

if TYPE_CHECKING:
    from webapp.web.words.say import Say


def count_words(files: int) -> str:
    """How many files lie in the in-tray; "" where none does."""
    return (
        "" if not files else f"{files} file{'s' if files != 1 else ''} wait{'s' if files == 1 else ''} in the in-tray"
    )


WORDS: Final[Mapping[str, Say]] = {
    Reason.FOUND_AT_FIRST_LOOK: lambda *_: "It was in the folder before it was watched for the first time.",
    Reason.CAME_TOGETHER: lambda told, _: f"It came with {told['files']} files at once, as from a card.",
    Reason.NO_ACTIVE_SHOT: lambda *_: "No shot was active when it came.",
    Reason.OTHER_CAMERA: lambda told, _: f"It is from {told['file']}; {told['kit']} is the camera in the set-up.",
    Reason.CANNOT_BE_READ: lambda told, _: f"{told['says']}",
    Reason.NOT_READ_YET: lambda told, _: f"{told['says']} It is tried again at the next start, or file it now.",
    Reason.FILE_IS_GONE: lambda *_: "It was gone from the folder before it was whole.",
    Reason.LINK_LEADS_OUT: lambda *_: "It is a link that leads out of the watched folder.",
    Reason.LOGGED_ALREADY: lambda *_: "The same file is in the log already.",
}
