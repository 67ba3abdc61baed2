"""The live page: a class follows the frames of one session as they are logged, at an address of its own.

What goes out is made here from a list of allowed fields, one by one, as for a link to a recipe. Notes never go out;
the reasons of frames do where the photographer let them, and kit goes by its figures unless its names are let out.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from webapp.errors import InvalidValue, NotFound
from webapp.facts import Fact, fact
from webapp.ledger.entries import Cause, Entry
from webapp.ledger.evidence import PatchEvidence
from webapp.ledger.exposures import AMBIENT
from webapp.ledger.set_up import Light, Piece, SetUp
from webapp.recipes.changed import about, changed
from webapp.recipes.plain_kit import told
from webapp.recipes.reasons import Reason
from webapp.recipes.share.links import new_token
from webapp.records import links as link_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import LivePage, Shot, now
from webapp.shoots import frames as ledger_frames
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.log_frame import REJECTED
from webapp.shoots.readings import picture_size

FRAMES_SHOWN = 40
LONGEST_HOURS = 8784
_LONGEST_TITLE = 120


@dataclass(frozen=True, slots=True)
class LiveLight:
    """A lit light of a frame. `stops` is its balance against the reference frame, `off_by` how far that is from what
    is meant; both None where unknown."""

    letter: str
    role: str
    kit: tuple[Fact, ...]
    power: str
    distance_mm: float | None
    stops: float | None
    off_by: float | None


@dataclass(frozen=True, slots=True)
class LiveChange:
    """One cause of change since the frame before, by its two settings; of kit whose names stay in the house `fitted` is
    what is there now. `stops` None is unknown."""

    fact: Fact
    fitted: tuple[Fact, ...]
    stops: float | None


@dataclass(frozen=True, slots=True)
class LiveReading:
    """One patch, by its place among those of the shot: what was predicted against the reference frame, what was
    measured, and what is left over; and the level about mid-tone. In stops, None unknown."""

    place: int
    predicted_stops: float | None
    measured_stops: float | None
    unexplained_stops: float | None
    level_stops: float | None
    is_told: bool
    estimated: bool
    by_eye: bool


@dataclass(frozen=True, slots=True)
class LiveFrame:
    """A frame as a class reads it. `since` is the number of the frame that its changes count from, None where there is
    none to compare with; `picture` is the place of its picture among its files, None where there is none, `picture_px` its width and
    height, 0 where its file does not say."""

    shot_number: int
    number: int
    purpose: str
    is_reference: bool
    taken_back: bool
    verdict: str
    because: str
    f_number: str
    shutter: str
    iso: str
    magnification: float | None
    lens_filters: tuple[Fact, ...]
    lights: tuple[LiveLight, ...]
    since: int | None
    changes: tuple[LiveChange, ...]
    switched: tuple[Fact, ...]
    ambient_stops: float | None
    readings: tuple[LiveReading, ...]
    picture: int | None
    picture_px: tuple[int, int]


@dataclass(frozen=True, slots=True)
class LiveShot:
    """A shot with its newest frames; `older_than` is the number before which there are more."""

    number: int
    title: str
    subject: str
    frames: tuple[LiveFrame, ...]
    older_than: int | None


@dataclass(frozen=True, slots=True)
class LiveSession:
    """Everything that the address serves, the newest shot first."""

    title: str
    shots: tuple[LiveShot, ...]
    expires_at: dt.datetime | None


@dataclass(frozen=True, slots=True)
class LetOut:
    """What the photographer lets out beside the figures."""

    because: bool = False
    kit_names: bool = False
    rejected: bool = True

    @classmethod
    def by(cls, page: LivePage) -> LetOut:
        return cls(page.because, page.kit_names, page.rejected)

    def shows(self, frame: LoggedFrame) -> bool:
        """Whether a frame goes out at all: to a client beside the photographer none goes that was rejected."""
        return self.rejected or not (frame.row.taken_back or frame.row.verdict == REJECTED)


def open_up(records: Records, session_id: str, *, title: str, hours: int | None, let_out: LetOut) -> str:
    """Make an address at which the session is followed; the answer is its token. `hours` None: until it is
    withdrawn. Raises InvalidValue."""
    title = title.strip()
    if not 1 <= len(title) <= _LONGEST_TITLE:
        raise InvalidValue("title", f"What the class reads at the head of the page: 1 to {_LONGEST_TITLE} letters.")
    if hours is not None and not 1 <= hours <= LONGEST_HOURS:
        raise InvalidValue("hours", f"A live page lasts 1 to {LONGEST_HOURS} hours, or until it is withdrawn.")
    page = LivePage(
        token=new_token(),
        session_id=session_id,
        title=title,
        because=let_out.because,
        kit_names=let_out.kit_names,
        rejected=let_out.rejected,
        expires_at=None if hours is None else now() + dt.timedelta(hours=hours),
    )
    with records.writing() as db:
        shot_records.session_of(db, session_id)
        db.add(page)
    return page.token


def withdraw(records: Records, token: str) -> str:
    """End an address at once; the answer is the session that it showed."""
    with records.writing() as db:
        page = link_records.live_page_with(db, token)
        page.withdrawn_at = now()
        db.add(page)
        return page.session_id


def still_open(records: Records, token: str) -> LivePage:
    """The address as it was made. Raises NotFound where it shows nothing (any more)."""
    with records.reading() as db:
        return link_records.live_page_with(db, token)


def opened(records: Records, token: str) -> LiveSession:
    """What an address shows. Raises NotFound where it shows nothing (any more)."""
    page = still_open(records, token)
    return as_followed(records, page.session_id, page.title, LetOut.by(page), page.expires_at)


def as_followed(
    records: Records, session_id: str, title: str, let_out: LetOut, expires_at: dt.datetime | None = None
) -> LiveSession:
    """A session as a class would follow it."""
    with records.reading() as db:
        shot_records.session_of(db, session_id)
        shots = shot_records.shots_in(db, session_id)
    newest_first = tuple(_live_shot(records, shot, let_out) for shot in reversed(shots))
    return LiveSession(title, newest_first, expires_at)


def shot_followed(records: Records, shot_id: str, let_out: LetOut) -> LiveShot:
    """One shot with its newest frames."""
    with records.reading() as db:
        shot = shot_records.shot_of(db, shot_id)
    return _live_shot(records, shot, let_out)


def older_frames(records: Records, token: str, shot_number: int, before: int) -> tuple[LivePage, LiveShot]:
    """The frames of a shot before a number, with the page that lets them out."""
    with records.reading() as db:
        page = link_records.live_page_with(db, token)
        shot = _shot_numbered(shot_records.shots_in(db, page.session_id), shot_number)
    return page, _live_shot(records, shot, LetOut.by(page), before)


def frame_followed(records: Records, frame_id: str, let_out: LetOut) -> LiveFrame:
    """One frame."""
    frame = ledger_frames.one(records, frame_id)
    with records.reading() as db:
        number = shot_records.shot_of(db, frame.row.shot_id).number
    return live_frame(frame, number, let_out)


def picture_digest(
    records: Records, session_id: str, shot_number: int, frame_number: int, place: int, let_out: LetOut
) -> str:
    """The original of a frame's picture, by its place among the frame's files. Raises NotFound, also for a frame that
    does not go out."""
    with records.reading() as db:
        shot = _shot_numbered(shot_records.shots_in(db, session_id), shot_number)
    found = ledger_frames.page_of(records, shot.id, limit=1, before_number=frame_number + 1)
    if not found or found[0].row.number != frame_number or not let_out.shows(found[0]):
        raise NotFound("There is nothing at this address.")
    if not 0 <= place < len(found[0].pictures):
        raise NotFound("There is nothing at this address.")
    return found[0].pictures[place].digest


def _shot_numbered(shots: Iterable[Shot], number: int) -> Shot:
    found = next((shot for shot in shots if shot.number == number), None)
    if found is None:
        raise NotFound("There is nothing at this address.")
    return found


def _live_shot(records: Records, shot: Shot, let_out: LetOut, before: int | None = None) -> LiveShot:
    frames = ledger_frames.page_of(records, shot.id, limit=FRAMES_SHOWN + 1, before_number=before)
    page = frames[:FRAMES_SHOWN]
    shown = tuple(live_frame(frame, shot.number, let_out) for frame in page if let_out.shows(frame))
    older = page[-1].row.number if len(frames) > FRAMES_SHOWN else None
    return LiveShot(shot.number, shot.title, shot.subject, shown, older)


def live_frame(frame: LoggedFrame, shot_number: int, let_out: LetOut) -> LiveFrame:
    """What a class reads of a frame. Pure."""
    row, set_up, ledger = frame.row, frame.set_up, frame.ledger
    return LiveFrame(
        shot_number=shot_number,
        number=row.number,
        purpose=row.purpose,
        is_reference=frame.is_reference,
        taken_back=row.taken_back,
        verdict=row.verdict,
        because=row.because if let_out.because else "",
        f_number=set_up.f_number.text if set_up.f_number else "",
        shutter=set_up.shutter.text if set_up.shutter else "",
        iso=set_up.iso.text if set_up.iso else "",
        magnification=set_up.magnification,
        lens_filters=_kit(set_up.lens_filters, let_out),
        lights=tuple(_open_light(frame, light, let_out) for light in set_up.lights if light.lit),
        since=ledger.previous_number if ledger.since_previous else None,
        changes=_changes(ledger.since_previous.entries if ledger.since_previous else (), set_up, let_out),
        switched=ledger.switched,
        ambient_stops=ledger.ambient.stops,
        readings=tuple(_open_reading(place, each) for place, each in enumerate(frame.evidence.patches, 1)),
        picture=next((place for place, each in enumerate(frame.pictures) if each.preview), None),
        picture_px=next((picture_size(each) for each in frame.pictures if each.preview), (0, 0)),
    )


def _open_light(frame: LoggedFrame, light: Light, let_out: LetOut) -> LiveLight:
    line = frame.ledger.of(light.letter)
    return LiveLight(
        letter=light.letter,
        role=light.role,
        kit=_kit(light.pieces, let_out),
        power=light.power_mark(),
        distance_mm=light.distance_mm,
        stops=line.stops if line else None,
        off_by=line.off_by if line else None,
    )


def _kit(pieces: Iterable[Piece], let_out: LetOut) -> tuple[Fact, ...]:
    if let_out.kit_names:
        return tuple(fact(Reason.AS_WRITTEN, text=each.name) for each in pieces)
    return tuple(map(told, pieces))


def _changes(entries: Iterable[Entry], set_up: SetUp, let_out: LetOut) -> tuple[LiveChange, ...]:
    """A line a cause: one that acts on every light alike is told once, by what it does to the lights."""
    told: dict[tuple[Fact, tuple[Fact, ...]], float | None] = {}
    for entry in sorted(entries, key=lambda each: each.acts_on == AMBIENT):
        told.setdefault(_change(entry, set_up, let_out), entry.stops)
    return tuple(LiveChange(changed, fitted, stops) for (changed, fitted), stops in told.items())


def _change(entry: Entry, set_up: SetUp, let_out: LetOut) -> tuple[Fact, tuple[Fact, ...]]:
    """The two settings; of kit whose names stay in the house only what is fitted now."""
    light = set_up.light(entry.acts_on)
    if let_out.kit_names or entry.cause not in (Cause.MODIFIER, Cause.FILTERS, Cause.LENS_FILTERS):
        return changed(entry), ()
    fitted: Iterable[Piece] = ()
    if entry.cause is Cause.LENS_FILTERS:
        fitted = set_up.lens_filters
    elif light is not None:
        fitted = light.filters if entry.cause is Cause.FILTERS else filter(None, (light.modifier,))
    return fact(Reason.FITTED, about(entry), cause=entry.cause.value), _kit(fitted, let_out)


def _open_reading(place: int, seen: PatchEvidence) -> LiveReading:
    return LiveReading(
        place=place,
        predicted_stops=seen.predicted_stops,
        measured_stops=seen.measured_stops,
        unexplained_stops=seen.unexplained_stops,
        level_stops=seen.read_stops,
        is_told=seen.is_told,
        estimated=seen.estimated,
        by_eye=seen.by_eye,
    )
