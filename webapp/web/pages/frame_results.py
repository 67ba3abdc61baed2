"""The frames that answer a question, as a template may print them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from webapp.quantities.lengths import Lengths
from webapp.recipes.search.among_frames import Between, FoundFrame
from webapp.web.words.entries import entry_words
from webapp.web.words.figures import stops_words


@dataclass(frozen=True, slots=True)
class FrameLineView:
    """A frame on one line."""

    address: str
    name: str
    shot: str
    shot_address: str
    day: str
    figures: str
    because: str


@dataclass(frozen=True, slots=True)
class BetweenView:
    """What changed from one frame to another, cause by cause, and where the two are seen together."""

    shot: str
    first: int
    second: int
    entries: tuple[str, ...]
    address: str


def frame_lines(found: Iterable[FoundFrame]) -> tuple[FrameLineView, ...]:
    """The frames found, a line each."""
    return tuple(
        FrameLineView(
            address=f"/frames/{each.frame.id}",
            name=f"frame {each.frame.number}",
            shot=each.shot.title,
            shot_address=f"/shots/{each.shot.id}",
            day=each.session.day.isoformat(),
            figures=_figures(each),
            because=each.frame.because,
        )
        for each in found
    )


def _figures(found: FoundFrame) -> str:
    frame, line = found.frame, found.line
    marks = (frame.set_up.f_number, frame.set_up.shutter, frame.set_up.iso)
    f_number, shutter, iso = (mark.text if mark else None for mark in marks)
    parts = [
        frame.purpose,
        "rejected" if frame.verdict == "fails" else frame.verdict,
        "excluded" if frame.taken_back else "",
        f"f/{f_number}" if f_number else "",
        f"{shutter} s" if shutter else "",
        f"ISO {iso}" if iso else "",
        f"{', '.join(frame.lit)} lit" if frame.lit else "no light lit",
        "" if line.unexplained_stops is None else f"{line.unexplained_stops:.1f} stops unexplained",
    ]
    return " · ".join(part for part in parts if part)


def between_views(found: Iterable[Between], lengths: Lengths) -> tuple[BetweenView, ...]:
    """What changed, for a template."""
    return tuple(
        BetweenView(
            shot=each.shot.title,
            first=each.first.number,
            second=each.second.number,
            entries=tuple(
                f"{entry_words(entry, lengths)}: {stops_words(entry.stops) if entry.stops is not None else 'unknown'}"
                for entry in each.changed.entries
            ),
            address=f"/frames/{each.first.id}/compare/{each.second.id}",
        )
        for each in found
    )
