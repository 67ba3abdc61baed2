"""The contact sheet of a shot: its frames, all or those that were chosen, a series as one entry. In the studio each has
its settings, balance, reading and note; for a client it has its number and its picture.

It goes over as many pages as it needs; a row of entries never breaks over two. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from webapp.quantities.lengths import CENTIMETRES
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.log_frame import HERO, KEPT, REJECTED
from webapp.shoots.series import Series, in_series
from webapp.web.pages.figures import signed
from webapp.web.pages.frame_view import frame_row, series_words
from webapp.web.paper.sizes import Paper, cut

ACROSS: Final = 4
MOST_FRAMES: Final = 240
"""On one sheet; it says where the next goes on."""
Which = Literal["all", "kept", "hero"]
"""Which frames: all, those that were kept and the heroes, or the heroes alone."""
Reader = Literal["studio", "client"]
_NAMED: Final = {"kept": "kept or hero", "hero": "hero"}
_KEPT: Final = (KEPT, HERO)
_MOST_LETTERS: Final = 110
"""Of a reason, so that a row stays together on a page."""


@dataclass(frozen=True, slots=True)
class ContactEntry:
    """One frame, or a series with the frames that it runs over. `picture` is the digest of its original, or empty."""

    number: str
    picture: str
    alt: str
    set_text: str
    balance: str
    read: str
    words: str
    reason: str
    taken_back: bool


@dataclass(frozen=True, slots=True)
class ContactSheet:
    """The sheet as the template prints it. `goes_on_from` is the first frame that is not on it any more, `nothing`
    what it says where it has none."""

    paper: Paper
    title: str
    under: tuple[str, ...]
    rows: tuple[tuple[ContactEntry, ...], ...]
    goes_on_from: int | None
    nothing: str


def is_chosen(frame: LoggedFrame, which: Which, reader: Reader) -> bool:
    """Whether a frame is on the sheet. A client sees none that was rejected or excluded."""
    verdict, out = frame.row.verdict, frame.row.taken_back
    if which == "hero":
        return verdict == HERO and not out
    if which == "kept":
        return verdict in _KEPT and not out
    return reader == "studio" or not (out or verdict == REJECTED)


def contact_sheet(
    title: str,
    under: Sequence[str],
    frames: Sequence[LoggedFrame],
    paper: Paper,
    reader: Reader = "studio",
    which: Which = "all",
) -> ContactSheet:
    """The frames of a shot that were chosen, oldest first: the first 240 of those given."""
    shown = list(frames[:MOST_FRAMES])
    told = _for_client if reader == "client" else _entry
    entries = [told(each) for each in reversed(in_series(shown[::-1]))]
    return ContactSheet(
        paper=paper,
        title=title,
        under=tuple(under),
        rows=tuple(tuple(entries[place : place + ACROSS]) for place in range(0, len(entries), ACROSS)),
        goes_on_from=frames[MOST_FRAMES].row.number if len(frames) > MOST_FRAMES else None,
        nothing="No frame yet." if which == "all" else f"No {_NAMED[which]} frame yet.",
    )


def _for_client(found: LoggedFrame | Series) -> ContactEntry:
    """The number and the picture, and nothing besides."""
    entry = _entry(found)
    return ContactEntry(entry.number, entry.picture, entry.alt, "", "", "", "", "", taken_back=False)


def _entry(found: LoggedFrame | Series) -> ContactEntry:
    newest = found.frames[0] if isinstance(found, Series) else found
    # An entry prints no length: any way of writing them does.
    row = frame_row(newest, CENTIMETRES)
    number, set_text = str(row.number), row.set_text
    if isinstance(found, Series):
        number, set_text = f"{found.first_number}–{found.last_number}", series_words(found)
    picture = next((each.digest for each in newest.pictures if each.preview), "")
    read = ""
    if row.figures.read:
        read = f"read {row.figures.read}"
        read += f", unexplained {row.figures.unexplained}" if row.figures.unexplained != signed(None) else ""
    said = (
        "reference" if row.is_reference else "",
        row.purpose,
        row.verdict_words,
        "excluded" if row.taken_back else "",
    )
    return ContactEntry(
        number=number,
        picture=picture,
        alt=f"picture of frame {row.number}",
        set_text=set_text,
        balance=", ".join(f"{letter} {figure}" for letter, figure, _ in row.balances),
        read=read,
        words=" · ".join(filter(None, said)),
        reason=cut(row.because, _MOST_LETTERS),
        taken_back=row.taken_back,
    )
