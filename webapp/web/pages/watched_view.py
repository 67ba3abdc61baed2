"""The watched folder as a template may print it: a line everywhere, and the form where another is chosen."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.shoots.watching import Watched
from webapp.web.words.in_tray import watched_note, watched_words


@dataclass(frozen=True, slots=True)
class WatchedView:
    """`typed` is what stands in the form, and `problem` why it could not be kept; with `can_choose` there is one."""

    words: str
    note: str
    can_choose: bool
    is_watching: bool
    typed: str
    earlier: tuple[str, ...]
    problem: str = ""


def watched_view(watched: Watched, *, is_owner: bool, typed: str | None = None, problem: str = "") -> WatchedView:
    """What is told of the folder, and to the owner of the machine the form."""
    here = str(watched.folder or "")
    return WatchedView(
        words=watched_words(watched),
        note=watched_note(watched, is_owner=is_owner),
        can_choose=is_owner and not watched.is_fixed,
        is_watching=watched.folder is not None,
        typed=here if typed is None else typed,
        earlier=tuple(each for each in watched.earlier if each != here),
        problem=problem,
    )
