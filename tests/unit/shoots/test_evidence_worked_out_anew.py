"""Whatever is done to a shot, and in whatever order: the evidence that is stored is the one that comes out when it is
worked out anew."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from tests import typed
from tests.houses import new_records
from tests.made_pictures import counts_of, write_dng
from webapp.backups.check import check
from webapp.errors import StopledgerError
from webapp.pictures.store import PictureStore
from webapp.quantities.by_eye import BLACK, Seen
from webapp.records.engine import Records
from webapp.settings import Settings
from webapp.shoots import ambient_check, frames, readings, sessions, set_up_now
from webapp.shoots.ingest import Intake
from webapp.shoots.log_frame import FrameWords, log_frame
from webapp.shoots.set_up_now import Change


@dataclass
class Shot:
    """A shot of two lights. What is asked of a frame or a patch that there is not, or is refused, changes nothing."""

    records: Records
    shot_id: str
    frame_ids: list[str] = field(default_factory=list)

    def do(self, work: Callable[..., Any], *said: Any, **more: Any) -> None:
        try:
            work(self.records, *said, **more)
        except StopledgerError:
            return

    def see(self, frame_id: str, level: float) -> None:
        for name in readings.names_to_read(self.records, frame_id) or ("",):
            self.do(readings.keep_by_eye, frame_id, Seen(name, level))

    def shoot(self, lit: str, power: str, level: float) -> None:
        said = {f"lights.{letter}.lit": "on" if letter in lit else "off" for letter in "AB"}
        typed.change(self.records, self.shot_id, {**said, "lights.A.power": power})
        self.frame_ids.append(log_frame(self.records, self.shot_id, FrameWords()).frame_id)
        self.see(self.frame_ids[-1], level)

    def check(self, level: float) -> None:
        ambient_check.begin_ambient_check(self.records, self.shot_id)
        logged = log_frame(self.records, self.shot_id, FrameWords(purpose=ambient_check.AMBIENT_CHECK))
        self.frame_ids.append(logged.frame_id)
        self.see(logged.frame_id, level)

    def draw(self, wanted: float) -> None:
        name = f"patch {len(readings.patches_of(self.records, self.shot_id))} {wanted}"
        place = {"x": 0.1, "y": 0.3, "width": 0.3, "height": 0.4, "wanted_stops": wanted}
        self.do(readings.draw_patch, self.shot_id, {"name": name, **place})

    def retire(self, which: int) -> None:
        drawn = readings.patches_of(self.records, self.shot_id)
        if drawn:
            self.do(readings.retire_patch, drawn[which % len(drawn)].id)

    def to_frame(self, which: int, work: Callable[..., Any], **more: Any) -> None:
        if self.frame_ids:
            self.do(work, self.frame_ids[which % len(self.frame_ids)], **more)

    def see_again(self, which: int, level: float) -> None:
        if self.frame_ids:
            self.see(self.frame_ids[which % len(self.frame_ids)], level)


def bring_back(records: Records, frame_id: str) -> None:
    frames.take_back(records, frame_id, taken_back=False)


def correct(records: Records, frame_id: str) -> None:
    frames.edit(records, frame_id, changes=[Change("lights.A.power", -2.0)])


LEVELS = st.sampled_from((-2.0, -1.0, 0.0, 0.5, 1.0))
WHICH = st.integers(0, 9)
STEPS = st.one_of(
    st.tuples(st.just(Shot.shoot), st.sampled_from(("A", "B", "AB")), st.sampled_from(("25 J", "50 J")), LEVELS),
    st.tuples(st.just(Shot.check), st.one_of(LEVELS, st.just(BLACK))),
    st.tuples(st.just(Shot.see_again), WHICH, LEVELS),
    st.tuples(st.just(Shot.draw), LEVELS),
    st.tuples(st.just(Shot.retire), WHICH),
    st.tuples(
        st.just(Shot.to_frame), WHICH, st.sampled_from((frames.make_reference, frames.take_back, bring_back, correct))
    ),
)


# Without shrinking: every example is a house of its own.
@settings(max_examples=20, phases=(Phase.explicit, Phase.generate))
@given(st.lists(STEPS, min_size=3, max_size=12))
def test_what_is_stored_is_what_comes_out_when_it_is_worked_out_anew(steps: list[tuple[Any, ...]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        records = new_records(Path(folder), kit=True)
        session_id = sessions.begin_session(records, {"name": "bench day"})
        shot = Shot(records, sessions.begin_shot(records, session_id, {"title": "dial"}))
        head_id = set_up_now.state(records, shot.shot_id).set_up.lights[0].head.id
        set_up_now.add_light(records, shot.shot_id, head_id, "fill")
        for work, *said in steps:
            work(shot, *said)
        records.close()

        assert check(Settings(data=Path(folder))).findings == ()


@dataclass
class PicturedShot(Shot):
    """The same with a file to each frame, which is measured when it comes to that."""

    folder: Path = Path()
    intake: Intake | None = None

    def expose(self, lit: str, power: str, level: float, window: float | None) -> None:
        said = {f"lights.{letter}.lit": "on" if letter in lit else "off" for letter in "AB"}
        typed.change(self.records, self.shot_id, {**said, "lights.A.power": power})
        self.log("test", level, window, (1, 125))

    def look(self, level: float, window: float | None) -> None:
        ambient_check.begin_ambient_check(self.records, self.shot_id)
        self.log(ambient_check.AMBIENT_CHECK, level, window, (1, 1))

    def log(self, purpose: str, level: float, window: float | None, shutter: tuple[int, int]) -> None:
        """Log a frame whose file lies so many stops about mid-tone, with a window mirrored in it at another level."""
        assert self.intake is not None
        light = np.full((64, 96), 0.18 * 2.0**level)
        if window is not None:
            light[8:16, 8:20] = 0.18 * 2.0**window
        taken = len(self.frame_ids)
        counts = counts_of(light, noise=0.0005, seed=taken)
        at = f"2026:11:24 10:00:{taken:02d}"
        path = write_dng(self.folder / f"{taken:04d}.dng", counts, exposure_time=shutter, taken_at=at)
        picture = self.intake.read(path.name, path)
        logged = log_frame(self.records, self.shot_id, FrameWords(purpose=purpose), picture=picture)
        self.frame_ids.append(logged.frame_id)

    def measure(self) -> None:
        assert self.intake is not None
        self.intake.catch_up()
        self.intake.finish()


WINDOWS = st.sampled_from((None, None, 1.0, 2.0, 4.0))
PICTURED_STEPS = st.one_of(
    st.tuples(
        st.just(PicturedShot.expose),
        st.sampled_from(("A", "B", "AB")),
        st.sampled_from(("25 J", "50 J")),
        LEVELS,
        WINDOWS,
    ),
    st.tuples(st.just(PicturedShot.look), LEVELS, WINDOWS),
    st.tuples(st.just(PicturedShot.measure)),
    st.tuples(st.just(Shot.draw), LEVELS),
    st.tuples(st.just(Shot.retire), WHICH),
    st.tuples(
        st.just(Shot.to_frame), WHICH, st.sampled_from((frames.make_reference, frames.take_back, bring_back, correct))
    ),
)


@settings(max_examples=8, phases=(Phase.explicit, Phase.generate))
@given(st.lists(PICTURED_STEPS, min_size=4, max_size=12))
def test_what_is_stored_of_measured_pictures_is_what_comes_out_anew(steps: list[tuple[Any, ...]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "house"
        data.mkdir()
        records = new_records(data, kit=True)
        session_id = sessions.begin_session(records, {"name": "bench day"})
        made = Settings(data=data)
        intake = Intake(made, records, PictureStore(made.pictures, most_bytes=1 << 28))
        shot_id = sessions.begin_shot(records, session_id, {"title": "dial"})
        shot = PicturedShot(records, shot_id, folder=Path(folder), intake=intake)
        head_id = set_up_now.state(records, shot_id).set_up.lights[0].head.id
        set_up_now.add_light(records, shot_id, head_id, "fill")
        for work, *said in steps:
            work(shot, *said)
        shot.measure()
        intake.close()
        records.close()

        assert check(made).findings == ()
