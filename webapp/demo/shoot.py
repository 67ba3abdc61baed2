"""A shoot of the demo, frame by frame, as it was written down.

What was written goes through the project's own use-cases into the set-up; what was really on the set is in the
picture that came of it, since a log can be wrong.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from webapp.ledger import field_values, fields
from webapp.ledger.grammars import Value
from webapp.ledger.set_up import SetUp
from webapp.pictures.metadata import read_facts
from webapp.pictures.store import PictureStore
from webapp.quantities.lengths import CENTIMETRES
from webapp.quantities.places import read_place, read_size
from webapp.records.engine import Records
from webapp.records.tables import Origin
from webapp.shoots import readings, sessions, set_up_now
from webapp.shoots.ambient_check import AMBIENT_CHECK, begin_ambient_check
from webapp.shoots.log_frame import FrameWords, IncomingPicture, log_frame

Rect = tuple[float, float, float, float]
"""Left, top, width and height in fractions of the picture."""

Told = Mapping[str, Any]
"""Fields of the set-up now and what they are set to, in the order in which they are set."""


@dataclass(frozen=True, slots=True)
class DemoFrame:
    """One frame: its time of day, what was changed for it, and what was said of it.

    `afterwards` is what was done at the desk once the frame was logged, given its id.
    """

    at: str
    because: str
    notes: str = ""
    purpose: str = "test"
    verdict: str = ""
    changes: Told = field(default_factory=dict)
    afterwards: Callable[[Records, str], object] | None = None

    @property
    def is_ambient_check(self) -> bool:
        return self.purpose == AMBIENT_CHECK


@dataclass(frozen=True, slots=True)
class Shoot:
    """A session with its one shot. `lights` has head and role by letter; without any, those of the shoot before
    stay. `patches` has place and wanted level in stops by name. The camera's files are called by the stem and the
    frame's number."""

    session: Told
    shot: Told
    lights: Mapping[str, tuple[str, str]]
    opening: Told
    patches: Mapping[str, tuple[Rect, float]]
    frames: tuple[DemoFrame, ...]
    file_stem: str


@dataclass(frozen=True, slots=True)
class Exposed:
    """A logged frame and when its shutter fired."""

    frame_id: str
    taken_at: dt.datetime


Camera = Callable[[Shoot, int, SetUp, dt.datetime], Path]
"""Gives the file of a frame: of a shoot, by number, with what was set and when the shutter fired."""


def log_shoot(records: Records, store: PictureStore, shoot: Shoot, camera: Camera) -> Iterator[Exposed]:
    """Begin the session and the shot, and log its frames in order. Previews and readings are left to be made."""
    session_id = sessions.begin_session(records, dict(shoot.session), origin=Origin.DEMO)
    shot_id = sessions.begin_shot(records, session_id, dict(shoot.shot))
    _stand_lights(records, shot_id, shoot.lights)
    _change(records, shot_id, shoot.opening)
    for name, ((x, y, width, height), wanted) in shoot.patches.items():
        said = {"name": name, "x": x, "y": y, "width": width, "height": height, "wanted_stops": wanted}
        readings.draw_patch(records, shot_id, said)
    for number, frame in enumerate(shoot.frames, start=1):
        if frame.is_ambient_check:
            begin_ambient_check(records, shot_id)
        set_up = _change(records, shot_id, frame.changes)
        taken_at = _moment(shoot, frame, number)
        path = camera(shoot, number, set_up, taken_at)
        words = FrameWords(purpose=frame.purpose, because=frame.because, notes=frame.notes, verdict=frame.verdict)
        incoming = IncomingPicture(path.name, read_facts(path), store.keep(path))
        logged = log_frame(records, shot_id, words, picture=incoming)
        if frame.afterwards is not None:
            frame.afterwards(records, logged.frame_id)
        yield Exposed(logged.frame_id, taken_at)


def _stand_lights(records: Records, shot_id: str, lights: Mapping[str, tuple[str, str]]) -> None:
    """Put the lights up under their letters. A new light takes the first free letter, so the letters before it are
    held until it stands."""
    if not lights:
        return
    stand = set_up_now.state(records, shot_id).set_up
    for light in stand.lights:
        stand = set_up_now.remove_light(records, shot_id, light.letter).set_up
    for letter, (head_id, role) in lights.items():
        while fields.next_letter(stand) != letter:
            stand = set_up_now.add_light(records, shot_id, head_id).set_up
        stand = set_up_now.add_light(records, shot_id, head_id, role).set_up
    for light in stand.lights:
        if light.letter not in lights:
            set_up_now.remove_light(records, shot_id, light.letter)


def _change(records: Records, shot_id: str, told: Told) -> SetUp:
    with set_up_now.reading(records, shot_id, CENTIMETRES) as reader:
        changes = [set_up_now.Change(name, _read(reader, name, value)) for name, value in told.items()]
    return set_up_now.change(records, shot_id, changes).set_up


def _read(reader: field_values.Reader, name: str, value: Any) -> Value:
    """A field as a shoot tells it; a place and a size are told by their parts."""
    if isinstance(value, Mapping):
        read = read_size if name.endswith(".size") else read_place
        return reader.take(name, read(value, reader.lengths))
    return reader.sent(name, value)


def _moment(shoot: Shoot, frame: DemoFrame, number: int) -> dt.datetime:
    time = dt.time.fromisoformat(frame.at).replace(microsecond=number * 37_000 % 1_000_000)
    return dt.datetime.combine(shoot.session["day"], time, ZoneInfo(shoot.session["zone"]))
