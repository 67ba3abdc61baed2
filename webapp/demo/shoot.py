"""A shoot of the demo, frame by frame: what was written down, and what was really on the set.

The two are told apart, since a log can be wrong: what was written goes through the project's own use-cases into the
standing set-up, what was real goes into the made picture.
"""

from __future__ import annotations

import datetime as dt
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Executor, Future
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from webapp.demo.camera import SHARP, Blur, Body, CameraSettings, expose, write_jpeg
from webapp.demo.still_life import Scene
from webapp.demo.surfaces import Plane, Rect
from webapp.ledger import fields
from webapp.ledger.set_up import SetUp
from webapp.optics.scales import Marked
from webapp.quantities.lengths import CENTIMETRES
from webapp.records.engine import Records
from webapp.shoots import readings, sessions, set_up_now
from webapp.shoots.ambient_check import AMBIENT_CHECK, begin_ambient_check
from webapp.shoots.ingest import Intake
from webapp.shoots.log_frame import FrameWords, log_frame

Told = Mapping[str, Any]
"""Fields of the standing set-up and what they are set to, in the order in which they are set."""


@dataclass(frozen=True, slots=True)
class OnTheSet:
    """The light that was really there, as `camera.expose` takes it. `render` gives the scene, and is called once
    for all the frames that name it; `laid_in` puts something into the scene for this frame."""

    render: Callable[[], Scene]
    ambient_stops: float
    light_stops: Mapping[str, float] = field(default_factory=dict)
    glare: tuple[str, ...] | None = None
    mired_shifts: Mapping[str, float] = field(default_factory=dict)
    blur: Blur = SHARP
    laid_in: Callable[[Scene], Scene] | None = None


@dataclass(frozen=True, slots=True)
class DemoFrame:
    """One frame: its time of day, what was changed for it, and what was said of it.

    `afterwards` is what was done at the desk once the frame was logged, given its id.
    """

    at: str
    really: OnTheSet
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
    stay. `patches` has place and wanted level in stops by name. `body` and `lens` are what the camera writes into its
    files."""

    session: Told
    shot: Told
    lights: Mapping[str, tuple[str, str]]
    opening: Told
    patches: Mapping[str, tuple[Rect, float]]
    frames: tuple[DemoFrame, ...]
    body: Body
    lens: str
    file_stem: str


@dataclass(frozen=True, slots=True)
class Exposed:
    """A logged frame and when its shutter fired."""

    frame_id: str
    taken_at: dt.datetime


def expose_soon(shoot: Shoot, workers: Executor) -> deque[Future[Plane]]:
    """The pictures of a shoot, to be made in turn; a worker that needs a scene waits for it, so a scene is always
    handed out before the frames that show it."""
    scenes: dict[Callable[[], Scene], Future[Scene]] = {}
    pictures: deque[Future[Plane]] = deque()
    for seed, frame in enumerate(shoot.frames, start=1):
        render = frame.really.render
        if render not in scenes:
            scenes[render] = workers.submit(render)
        pictures.append(workers.submit(_expose, scenes[render], frame.really, seed))
    return pictures


def _expose(scene: Future[Scene], really: OnTheSet, seed: int) -> Plane:
    there = scene.result()
    return expose(
        there if really.laid_in is None else really.laid_in(there),
        really.light_stops,
        really.ambient_stops,
        seed=seed,
        glare=really.glare,
        mired_shifts=really.mired_shifts,
        blur=really.blur,
    )


def log_shoot(
    records: Records, intake: Intake, shoot: Shoot, pictures: deque[Future[Plane]], folder: Path
) -> Iterator[Exposed]:
    """Begin the session and the shot, and log its frames in order. `pictures` is used up, as each is large;
    `folder` takes the camera's files."""
    session_id = sessions.begin_session(records, dict(shoot.session))
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
        path = folder / f"{shoot.file_stem}-{number:04d}.jpg"
        write_jpeg(path, pictures.popleft().result(), _camera_settings(shoot, set_up, taken_at))
        words = FrameWords(purpose=frame.purpose, because=frame.because, notes=frame.notes, verdict=frame.verdict)
        logged = log_frame(records, shot_id, words, picture=intake.read(path.name, path))
        intake.preview_soon(logged)
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
        changes = [set_up_now.Change(name, reader.sent(name, value)) for name, value in told.items()]
    return set_up_now.change(records, shot_id, changes).set_up


def _moment(shoot: Shoot, frame: DemoFrame, number: int) -> dt.datetime:
    time = dt.time.fromisoformat(frame.at).replace(microsecond=number * 37_000 % 1_000_000)
    return dt.datetime.combine(shoot.session["day"], time, ZoneInfo(shoot.session["zone"]))


def _camera_settings(shoot: Shoot, set_up: SetUp, taken_at: dt.datetime) -> CameraSettings:
    assert set_up.focal_length_mm is not None
    return CameraSettings(
        f_number=float(_mark(set_up.f_number)),
        exposure_time_s=Fraction(_mark(set_up.shutter)),
        iso=int(_mark(set_up.iso)),
        focal_length_mm=set_up.focal_length_mm,
        taken_at=taken_at,
        body=shoot.body,
        lens=shoot.lens,
    )


def _mark(marked: Marked | None) -> str:
    assert marked is not None
    return marked.text
