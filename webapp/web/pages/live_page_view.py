"""The live page as a template may print it: every word and figure of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from webapp.doors import Doors
from webapp.quantities.lengths import CENTIMETRES
from webapp.recipes.share.live_page import LiveFrame, LiveLight, LiveReading, LiveSession, LiveShot
from webapp.records.tables import LivePage, now
from webapp.shoots.series import SERIES_PURPOSE
from webapp.web.pages.figures import Balance, signed, tone
from webapp.web.pages.frame_view import ChangesSince, since_heading
from webapp.web.pages.link_view import LinkLine, live_page_lines, reach_words, until_words
from webapp.web.words.frames import VERDICTS
from webapp.web.words.live_page import change_words, kit_words
from webapp.web.words.plain_kit import piece_words
from webapp.web.words.say import say

HOURS_AT_FIRST = "8"


@dataclass(frozen=True, slots=True)
class LightLine:
    letter: str
    name: str
    words: str
    power: str
    balance: str
    tone: str


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """What was predicted and what is read at one patch."""

    words: str
    unexplained: str
    tone: str


@dataclass(frozen=True, slots=True)
class FrameLine:
    """One frame. `key` is its place on the page, `into` that of the frames that it belongs to."""

    key: str
    into: str
    number: int
    about: str
    because: str
    taken_back: bool
    settings: str
    lights: tuple[LightLine, ...]
    balances: tuple[Balance, ...]
    since: ChangesSince
    ambient: str
    readings: tuple[ReadingLine, ...]
    picture: str
    picture_alt: str
    picture_px: tuple[int, int]


@dataclass(frozen=True, slots=True)
class FrameRun:
    """A frame, or the frames of a stack as one line, newest first; `words` stand for a stack, "" for a frame."""

    frames: tuple[FrameLine, ...]
    words: str = ""

    @property
    def number(self) -> int:
        return self.frames[0].number


@dataclass(frozen=True, slots=True)
class ShotSheet:
    """One shot with its frames, the newest first, each stack as one of `runs`."""

    number: int
    title: str
    subject: str
    runs: tuple[FrameRun, ...]
    older: str

    @property
    def frames(self) -> tuple[FrameLine, ...]:
        return tuple(frame for run in self.runs for frame in run.frames)


@dataclass(frozen=True, slots=True)
class LiveView:
    title: str
    shots: tuple[ShotSheet, ...]
    until: str


@dataclass(frozen=True, slots=True)
class LivePagesView:
    """The live pages of a session as the house sees them, and the form for another one."""

    session_id: str
    lines: tuple[LinkLine, ...]
    base: str
    reach: str
    values: Mapping[str, str]
    problems: Mapping[str, str]


def live_pages_view(
    session_id: str,
    pages: Sequence[LivePage],
    doors: Doors,
    asked: str,
    said: Mapping[str, str] | None = None,
    problems: Mapping[str, str] | None = None,
) -> LivePagesView:
    """`asked` is the address that the server was asked by, `said` what was typed and could not be kept."""
    base = doors.address_for_readers(asked)
    values = {"title": "", "hours": HOURS_AT_FIRST, "because": "", "kit_names": ""} | dict(said or {})
    return LivePagesView(session_id, live_page_lines(pages), base, reach_words(doors, base), values, problems or {})


def live_view(session: LiveSession, here: str, *, turns: bool = True) -> LiveView:
    """The page; `here` is its address, and `turns` whether it turns to older frames."""
    until = f"This page can be read {until_words(session.expires_at, now())}."
    return LiveView(session.title, tuple(shot_sheet(shot, here, turns=turns) for shot in session.shots), until)


def shot_sheet(shot: LiveShot, here: str, *, turns: bool = True) -> ShotSheet:
    """A shot's sheet."""
    older = f"{here}/shots/{shot.number}?before={shot.older_than}" if shot.older_than and turns else ""
    return ShotSheet(
        shot.number, shot.title, shot.subject, tuple(_run(each, here) for each in _runs(shot.frames)), older
    )


def _runs(frames: Sequence[LiveFrame]) -> list[list[LiveFrame]]:
    """The frames of a shot, newest first, with those of a stack together; the newest stands by itself, large."""
    runs: list[list[LiveFrame]] = []
    for place, frame in enumerate(frames):
        if place > 1 and _continues(frame, runs[-1][-1]):
            runs[-1].append(frame)
        else:
            runs.append([frame])
    return runs


def _continues(earlier: LiveFrame, later: LiveFrame) -> bool:
    """Whether a frame and the one after it are of one stack: both made for it, and nothing was changed between them."""
    is_stack = earlier.purpose == later.purpose == SERIES_PURPOSE and not (earlier.taken_back or later.taken_back)
    return is_stack and later.since == earlier.number and not (later.changes or later.switched)


def _run(frames: Sequence[LiveFrame], here: str) -> FrameRun:
    lines = tuple(frame_line(each, here) for each in frames)
    if len(lines) < 2:
        return FrameRun(lines)
    return FrameRun(lines, f"Frames {lines[-1].number} to {lines[0].number} · stack of {len(lines)}")


def frame_line(frame: LiveFrame, here: str) -> FrameLine:
    """A frame as it stands on the page, and as it is sent to those who follow it."""
    words = (
        "reference" if frame.is_reference else "",
        frame.purpose,
        VERDICTS.get(frame.verdict, "").lower(),
        "excluded" if frame.taken_back else "",
    )
    changes = (
        *((change_words(each), signed(each.stops)) for each in frame.changes),
        *((say(each), "") for each in frame.switched),
    )
    picture = f"{here}/pictures/{frame.shot_number}/{frame.number}/{frame.picture}"
    return FrameLine(
        key=f"frame-{frame.shot_number}-{frame.number}",
        into=f"frames-{frame.shot_number}",
        number=frame.number,
        about=" · ".join(filter(None, words)),
        because=frame.because,
        taken_back=frame.taken_back,
        settings=_settings(frame),
        lights=tuple(map(_light_line, frame.lights)),
        balances=tuple(_balances(frame)),
        since=ChangesSince(since_heading(frame.since, changed=bool(changes)), changes),
        ambient="" if frame.ambient_stops is None else signed(frame.ambient_stops),
        readings=tuple(_reading_line(each, alone=len(frame.readings) == 1) for each in frame.readings),
        picture="" if frame.picture is None else picture,
        picture_alt=f"picture of frame {frame.number}",
        picture_px=frame.picture_px,
    )


def _balances(frame: LiveFrame) -> Iterator[Balance]:
    for light in frame.lights:
        yield Balance(light.letter, signed(light.stops), tone(light.off_by))
    if frame.ambient_stops is not None:
        yield Balance("ambient", signed(frame.ambient_stops), "plain")


def _settings(frame: LiveFrame) -> str:
    parts = [
        f"f/{frame.f_number}" if frame.f_number else "f-number unknown",
        f"{frame.shutter} s" if frame.shutter else "shutter unknown",
        f"ISO {frame.iso}" if frame.iso else "ISO unknown",
    ]
    if frame.magnification:
        parts.append(f"{frame.magnification:.3g}×")
    parts.extend(map(piece_words, frame.lens_filters))
    return " · ".join(parts)


def _light_line(light: LiveLight) -> LightLine:
    where = "distance unknown" if light.distance_mm is None else f"at {CENTIMETRES.text(light.distance_mm)}"
    words = f"{where}; {kit_words(light.kit)}"
    return LightLine(light.letter, light.role or "light", words, light.power, signed(light.stops), tone(light.off_by))


def _reading_line(seen: LiveReading, *, alone: bool) -> ReadingLine:
    where = "Read" if alone else f"Patch {seen.place}: read"
    about = " (by eye)" if seen.by_eye else " (an estimate: rendered file)" if seen.estimated else ""
    if seen.predicted_stops is not None and seen.measured_stops is not None:
        words = f"{where} {signed(seen.measured_stops)}, predicted {signed(seen.predicted_stops)}{about}"
        off = "even" if not seen.is_told else "over" if (seen.unexplained_stops or 0.0) > 0.0 else "under"
        return ReadingLine(words, signed(seen.unexplained_stops), off)
    level = "black" if seen.level_stops is None else f"{signed(seen.level_stops)} about mid-tone"
    return ReadingLine(f"{where} {level}{about}", "", "unknown")
