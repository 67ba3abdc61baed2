"""No camera file is lost or misfiled: what a watched folder held is a frame, or a line of the in-tray."""

from __future__ import annotations

import errno
import os
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
from sqlmodel import col, select

from tests.conftest import Studio
from tests.http.running import wait_until
from tests.made_pictures import counts_of, jpeg_bytes, mosaic, rational, scene, write_dng
from webapp.errors import Conflict, NotReadYet, PictureRefused
from webapp.kit import inventory
from webapp.pictures.isolation import IsolatedPictures
from webapp.pictures.store import PictureStore
from webapp.pictures.watch import Signature, signature_of
from webapp.records import kit as kit_records
from webapp.records.tables import Arrival, ArrivalState, Camera
from webapp.settings import Settings
from webapp.shoots import again, frames, in_tray, sessions, set_up_now, strike
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.ingest import Intake
from webapp.shoots.log_frame import FrameWords, log_frame
from webapp.shoots.reasons import Reason
from webapp.shoots.set_up_reasons import Reason as SetUpReason

BODY = ("Invented Works", "Bench Camera 1")


@dataclass
class Folder:
    """A watched folder with a server over it, which can be stopped and started."""

    studio: Studio
    data: Path
    path: Path
    intake: Intake = field(init=False)

    def start(self) -> None:
        """Start the server: it takes stock of the folder."""
        settings = Settings(data=self.data, watch=self.path)
        self.intake = Intake(settings, self.studio.records, PictureStore(settings.pictures))
        self.look()

    def restart(self) -> None:
        self.intake.close()
        self.start()

    def look(self) -> dict[str, Signature]:
        """Take stock; the answer is what is done with, by name."""
        found = {path: signature for path in self.path.iterdir() if (signature := signature_of(path)) is not None}
        return {path.name: signature for path, signature in self.intake.take_stock(self.path, found).items()}

    def shoot(
        self, name: str, second: int, *, body: tuple[str, str] = BODY, f_number: int = 8, shade: int = 90
    ) -> Path:
        """A JPEG that was exposed at that second."""
        content = jpeg_bytes(
            np.full((40, 60, 3), shade, dtype=np.uint8),
            exif={0x10F: body[0], 0x110: body[1]},
            settings={
                0x829A: rational("1/125"),
                0x829D: rational(f_number),
                0x8827: 100,
                0x9003: f"2026:11:24 10:{second // 60:02d}:{second % 60:02d}",
                0x9291: "25",
            },
        )
        path = self.path / name
        path.write_bytes(content + bytes(f"{name} {second}", "ascii"))
        return path

    def raw(self, name: str, second: int) -> Path:
        taken_at = f"2026:11:24 10:{second // 60:02d}:{second % 60:02d}"
        return write_dng(
            self.path / name, counts_of(mosaic(scene(24, 32)), noise=0.001, seed=second), taken_at=taken_at
        )

    @property
    def frames(self) -> list[LoggedFrame]:
        return list(frames.in_order(self.studio.records, self.studio.shot_id))

    @property
    def names(self) -> list[list[str]]:
        """The files of each frame, in the order of their numbers."""
        return [sorted(each.name for each in frame.pictures) for frame in self.frames]

    @property
    def tray(self) -> dict[str, str]:
        """The reason of each file in the in-tray."""
        return {
            each.path: line.why[0].reason for line in in_tray.lines(self.studio.records) for each in line.arrivals
        }

    def arrivals(self) -> dict[str, str]:
        """The newest state of each file that was ever seen."""
        with self.studio.records.reading() as db:
            return {each.path: each.state for each in db.exec(select(Arrival).order_by(col(Arrival.id)))}

    def line_of(self, name: str) -> list[str]:
        return next(
            [each.id for each in line.arrivals]
            for line in in_tray.lines(self.studio.records)
            if name in [each.path for each in line.arrivals]
        )

    @property
    def f_number(self) -> str:
        mark = set_up_now.state(self.studio.records, self.studio.shot_id).set_up.f_number
        return mark.text if mark else ""


def unwatched(studio: Studio, tmp_path: Path) -> Folder:
    """A folder that no server has looked into yet."""
    path = tmp_path / "tethered"
    path.mkdir()
    return Folder(studio, tmp_path / "house", path)


@pytest.fixture
def folder(studio: Studio, tmp_path: Path) -> Iterator[Folder]:
    made = unwatched(studio, tmp_path)
    made.start()
    yield made
    made.intake.close()


def test_what_came_while_the_server_was_off_is_logged_in_the_order_of_exposure(folder: Folder) -> None:
    for second in (3, 1, 2):
        folder.shoot(f"shot_{second}.jpg", second)

    folder.restart()

    assert folder.names == [["shot_1.jpg"], ["shot_2.jpg"], ["shot_3.jpg"]]
    assert folder.tray == {}
    assert set(folder.arrivals().values()) == {"taken"}
    folder.restart()
    assert len(folder.frames) == 3


def test_what_lay_in_the_folder_before_the_first_look_waits_and_is_asked_about(
    studio: Studio, tmp_path: Path
) -> None:
    folder = unwatched(studio, tmp_path)
    folder.shoot("old.jpg", 1)

    folder.start()

    assert folder.frames == []
    assert folder.tray == {"old.jpg": Reason.FOUND_AT_FIRST_LOOK}
    assert set(folder.look()) == {"old.jpg"}
    folder.restart()
    assert folder.tray == {"old.jpg": Reason.FOUND_AT_FIRST_LOOK}
    folder.intake.close()


def test_a_whole_card_waits_and_can_be_filed_at_once_in_the_order_of_exposure(folder: Folder) -> None:
    for second in range(in_tray.MOST_AT_ONCE + 1):
        folder.shoot(f"card_{second:02d}.jpg", 60 - second, f_number=11)

    folder.restart()

    assert folder.frames == []
    assert len(folder.tray) == in_tray.MOST_AT_ONCE + 1
    assert set(folder.tray.values()) == {Reason.CAME_TOGETHER}
    ids = [each.id for line in in_tray.lines(folder.studio.records) for each in line.arrivals]
    folder.intake.file(ids[:5], folder.studio.shot_id)
    assert folder.names == [[f"card_{number:02d}.jpg"] for number in (4, 3, 2, 1, 0)]
    # What is filed by a press belongs to what was.
    assert folder.f_number == "8"
    assert {frame.set_up.f_number.text for frame in folder.frames if frame.set_up.f_number} == {"11"}


def test_every_exposure_of_a_day_without_the_server_is_one_frame_or_one_line(folder: Folder) -> None:
    other = ("Other Works", "Second Body")
    for second in range(8):
        folder.shoot(f"a_{second}.jpg", second, body=BODY)
        if second % 2:
            folder.raw(f"a_{second}.dng", second)
    folder.shoot("b_1.jpg", 3, body=other, f_number=22)
    (folder.path / "b_2.jpg").write_bytes(b"no picture")
    made = list(folder.path.iterdir())
    random.Random(7).shuffle(made)
    for place, path in enumerate(made):
        os.utime(path, ns=(place, place))

    folder.restart()

    assert [name.partition(".")[0] for names in folder.names for name in names[:1]] == [f"a_{n}" for n in range(8)]
    assert [len(names) for names in folder.names] == [1, 2] * 4
    assert folder.tray == {"b_1.jpg": Reason.OTHER_CAMERA}
    assert folder.arrivals()["b_2.jpg"] == ArrivalState.BEING_WRITTEN
    folder.intake.arrived(folder.path / "b_2.jpg")
    assert folder.tray == {"b_1.jpg": Reason.OTHER_CAMERA, "b_2.jpg": Reason.CANNOT_BE_READ}
    assert folder.f_number == "8"


def test_without_an_active_shot_a_file_waits_and_one_press_files_it(folder: Folder) -> None:
    records, shot_id = folder.studio.records, folder.studio.shot_id
    strike.strike(records, shot_id, [])
    folder.intake.arrived(folder.shoot("late.jpg", 1))
    assert folder.tray == {"late.jpg": Reason.NO_ACTIVE_SHOT}
    with pytest.raises(Conflict, match="is closed"):
        folder.intake.file(folder.line_of("late.jpg"), shot_id)

    other = sessions.begin_shot(records, folder.studio.session_id, {"title": "the box"})
    (done,) = folder.intake.file(folder.line_of("late.jpg"), other)

    assert frames.one(records, done.frame_id).row.shot_id == other
    assert folder.tray == {}
    assert folder.arrivals() == {"late.jpg": "taken"}


def test_a_dismissed_file_stays_dismissed_and_is_not_filed_later(folder: Folder) -> None:
    strike.strike(folder.studio.records, folder.studio.shot_id, [])
    folder.intake.arrived(folder.shoot("late.jpg", 1))
    ids = folder.line_of("late.jpg")

    in_tray.dismiss(folder.studio.records, ids)

    assert folder.tray == {}
    strike.reopen(folder.studio.records, folder.studio.shot_id)
    folder.restart()
    assert folder.frames == []
    with pytest.raises(Conflict, match="not in the in-tray any more: it is dismissed"):
        folder.intake.file(ids, folder.studio.shot_id)


def test_a_raw_file_and_the_jpeg_beside_it_are_one_line_and_one_frame(studio: Studio, tmp_path: Path) -> None:
    folder = unwatched(studio, tmp_path)
    folder.shoot("a_1.jpg", 1)
    folder.raw("a_1.dng", 1)
    folder.start()

    (line,) = in_tray.lines(studio.records)
    folder.intake.file([each.id for each in line.arrivals], studio.shot_id)

    assert folder.names == [["a_1.dng", "a_1.jpg"]]
    folder.intake.close()


def test_a_file_of_a_full_disk_waits_and_is_tried_again(folder: Folder, monkeypatch: pytest.MonkeyPatch) -> None:
    path = folder.shoot("full.jpg", 1)

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as disk:
        disk.setattr(os, "fsync", full)
        folder.intake.arrived(path)

    assert folder.tray == {"full.jpg": Reason.NOT_READ_YET}
    assert folder.frames == []
    folder.restart()
    assert folder.names == [["full.jpg"]]
    assert folder.tray == {}


def test_a_file_that_was_filed_to_another_shot_while_the_disk_was_full_comes_into_that_shot(
    folder: Folder, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    records, other = folder.studio.records, folder.studio.shot_id
    strike.strike(records, other, [])
    path = folder.shoot("late.jpg", 1, f_number=16)
    folder.intake.arrived(path)
    strike.reopen(records, other)
    active = sessions.begin_shot(records, folder.studio.session_id, {"title": "the box"})
    with monkeypatch.context() as disk:
        disk.setattr(os, "fsync", full)
        with pytest.raises(NotReadYet):
            folder.intake.file(folder.line_of("late.jpg"), other)

    folder.intake.arrived(path)

    assert folder.names == [["late.jpg"]]
    assert list(frames.in_order(records, active)) == []
    assert folder.f_number == "8"


def test_a_server_that_was_killed_in_the_middle_of_a_file_goes_on_with_it(folder: Folder) -> None:
    path = folder.shoot("begun.jpg", 1)
    folder.intake.seen(path, signature_of(path) or (0, 0))
    for second in range(2, in_tray.MOST_AT_ONCE + 3):
        folder.shoot(f"card_{second}.jpg", second)

    folder.restart()

    # The card that was copied meanwhile is asked about; what had come before is not.
    assert folder.names == [["begun.jpg"]]
    assert len(folder.tray) == in_tray.MOST_AT_ONCE + 1


def test_a_file_that_is_gone_before_it_was_read_is_told(folder: Folder) -> None:
    path = folder.shoot("brief.jpg", 1)
    folder.intake.seen(path, signature_of(path) or (0, 0))
    path.unlink()

    folder.restart()

    assert folder.tray == {"brief.jpg": Reason.FILE_IS_GONE}


def test_a_file_that_was_renamed_before_it_was_read_is_one_frame(folder: Folder) -> None:
    path = folder.shoot("tmp_name.jpg", 1)
    folder.intake.seen(path, signature_of(path) or (0, 0))
    path.rename(folder.path / "name.jpg")

    folder.restart()

    assert folder.names == [["name.jpg"]]
    assert folder.tray == {}


def test_a_link_out_of_the_folder_is_not_followed(folder: Folder, tmp_path: Path) -> None:
    outside = folder.shoot("outside.jpg", 1).rename(tmp_path / "outside.jpg")
    (folder.path / "link.jpg").symlink_to(outside)

    folder.restart()

    assert folder.frames == []
    assert folder.tray == {"link.jpg": Reason.LINK_LEADS_OUT}
    with pytest.raises(PictureRefused, match="leads out of the watched folder"):
        folder.intake.file(folder.line_of("link.jpg"), folder.studio.shot_id)


def test_a_link_out_of_the_folder_is_not_read_on_any_way(
    folder: Folder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    link = folder.path / "link.jpg"
    link.symlink_to(folder.shoot("outside.jpg", 1).rename(tmp_path / "outside.jpg"))
    read: list[Path] = []
    monkeypatch.setattr(IsolatedPictures, "read_facts", lambda _, path: read.append(path))

    folder.intake.seen(link, signature_of(link) or (0, 0))
    folder.intake.arrived(link)
    with pytest.raises(PictureRefused):
        folder.intake.file(folder.line_of("link.jpg"), folder.studio.shot_id)

    assert read == []
    assert folder.tray == {"link.jpg": Reason.CANNOT_BE_READ}


def test_the_same_file_under_another_name_is_no_second_frame(folder: Folder) -> None:
    first = folder.shoot("first.jpg", 1)
    folder.intake.arrived(first)
    (folder.path / "copy.jpg").write_bytes(first.read_bytes())

    folder.intake.arrived(folder.path / "copy.jpg")

    assert folder.names == [["first.jpg"]]
    assert folder.arrivals() == {"first.jpg": "taken", "copy.jpg": "taken"}


@pytest.mark.parametrize("share", [0.3, 0.7, 0.95])
def test_a_file_that_does_not_decode_yet_is_being_written(folder: Folder, share: float) -> None:
    whole = folder.shoot("slow.jpg", 1).read_bytes()
    path = folder.path / "slow.jpg"
    path.write_bytes(whole[: int(len(whole) * share * 0.9)])

    assert not folder.intake.is_whole(path)

    assert folder.arrivals() == {"slow.jpg": ArrivalState.BEING_WRITTEN}
    assert "slow.jpg" not in folder.look()
    path.write_bytes(whole)
    assert folder.intake.is_whole(path)
    folder.intake.arrived(path)
    assert folder.names == [["slow.jpg"]]
    assert folder.arrivals() == {"slow.jpg": "taken"}


def test_a_file_that_grows_after_it_was_taken_replaces_its_own_picture(folder: Folder) -> None:
    path = folder.shoot("grows.jpg", 1)
    folder.intake.arrived(path)
    folder.intake.finish()
    (frame,) = folder.frames
    assert frame.pictures[0].preview

    path.write_bytes(path.read_bytes() + b"more of it")
    folder.intake.arrived(path)
    folder.intake.finish()

    (frame,) = folder.frames
    (picture,) = frame.pictures
    assert picture.size_bytes == path.stat().st_size
    assert picture.preview == picture.digest


def test_a_file_that_is_only_touched_after_it_was_taken_is_the_same_at_once(folder: Folder) -> None:
    path = folder.shoot("a_1.jpg", 1)
    folder.intake.arrived(path)
    folder.intake.arrived(folder.shoot("a_2.jpg", 600))

    os.utime(path, ns=(1, 1))
    folder.intake.seen(path, signature_of(path) or (0, 0))
    folder.intake.arrived(path)

    assert folder.names == [["a_1.jpg"], ["a_2.jpg"]]
    assert set(folder.arrivals().values()) == {"taken"}
    # Nobody needs to be told of it.
    state = set_up_now.state(folder.studio.records, folder.studio.shot_id)
    assert SetUpReason.FILE_LOGGED_ALREADY not in [each.reason for each in state.says]


def test_a_file_shot_over_under_the_same_name_is_another_frame(folder: Folder) -> None:
    folder.intake.arrived(folder.shoot("capture.jpg", 1))
    folder.intake.arrived(folder.shoot("capture.jpg", 2, shade=140))

    assert folder.names == [["capture.jpg"], ["capture.jpg"]]


# --- order --------------------------------------------------------------------------------------------------------


def test_a_file_that_comes_late_does_not_become_now(folder: Folder) -> None:
    folder.intake.arrived(folder.shoot("a_1.jpg", 1, f_number=8))
    late = folder.shoot("a_2.jpg", 2, f_number=16)
    folder.intake.arrived(folder.shoot("a_3.jpg", 3, f_number=11))

    folder.intake.arrived(late)

    assert folder.f_number == "11"
    came_late = folder.frames[-1]
    assert came_late.row.exposed_before == 2
    assert came_late.set_up.f_number is not None
    assert came_late.set_up.f_number.text == "16"
    # Against the frame that was exposed before it, two stops down; and what comes next is against the newest.
    state = set_up_now.state(folder.studio.records, folder.studio.shot_id)
    assert state.previous is not None
    assert state.previous.number == 2
    assert [each.reason for each in state.says] == [SetUpReason.FILE_CAME_LATE]
    folder.intake.arrived(folder.shoot("a_4.jpg", 4, f_number=11))
    on_show = frames.on_show(folder.studio.records, folder.studio.shot_id)
    assert on_show.newest is not None
    assert on_show.newest.row.number == 4


def test_a_late_file_does_not_fill_the_frame_that_was_logged_by_hand(folder: Folder) -> None:
    folder.intake.arrived(folder.shoot("a_5.jpg", 5))
    by_hand = log_frame(folder.studio.records, folder.studio.shot_id, FrameWords.model_validate({}))

    folder.intake.arrived(folder.shoot("a_4.jpg", 4))

    assert frames.one(folder.studio.records, by_hand.frame_id).pictures == ()
    assert len(folder.frames) == 3


def test_a_clock_that_was_set_back_binds_no_file_to_an_older_frame(folder: Folder) -> None:
    folder.intake.arrived(folder.shoot("a_1.jpg", 600, f_number=8))
    folder.intake.arrived(folder.shoot("a_2.jpg", 10, f_number=11))

    assert folder.names == [["a_1.jpg"], ["a_2.jpg"]]
    # The camera counts its files on: this one is the newest, and the set-up follows it.
    assert folder.f_number == "11"
    assert [frame.row.exposed_before for frame in folder.frames] == [None, None]


def test_two_files_of_one_kind_are_two_exposures_though_clock_and_name_are_the_same(folder: Folder) -> None:
    folder.intake.arrived(folder.shoot("a_1.jpg", 1))
    again = folder.shoot("a_1.JPG", 1, shade=30)

    folder.intake.arrived(again)

    assert len(folder.frames) == 2


def test_a_raw_file_that_comes_when_another_shot_is_active_is_filed_with_its_jpeg(folder: Folder) -> None:
    folder.intake.arrived(folder.shoot("a_1.jpg", 1))
    sessions.begin_shot(folder.studio.records, folder.studio.session_id, {"title": "the next one"})

    folder.intake.arrived(folder.raw("a_1.dng", 1))

    assert folder.names == [["a_1.dng", "a_1.jpg"]]


# --- cameras ------------------------------------------------------------------------------------------------------


def test_the_first_file_binds_the_camera_in_use_and_says_so(folder: Folder) -> None:
    folder.intake.arrived(folder.shoot("a_1.jpg", 1))

    state = set_up_now.state(folder.studio.records, folder.studio.shot_id)
    with folder.studio.records.reading() as db:
        assert db.get_one(Camera, state.set_up.camera.id).in_files == "Invented Works Bench Camera 1"
    assert [each.reason for each in state.says] == [SetUpReason.CAMERA_BOUND]


def test_a_file_of_another_camera_waits_and_moves_no_dial(folder: Folder) -> None:
    folder.intake.arrived(folder.shoot("a_1.jpg", 1))

    folder.intake.arrived(folder.shoot("b_1.jpg", 2, body=("Other Works", "Second Body"), f_number=22))

    assert folder.tray == {"b_1.jpg": Reason.OTHER_CAMERA}
    assert folder.f_number == "8"
    folder.intake.file(folder.line_of("b_1.jpg"), folder.studio.shot_id)
    assert folder.f_number == "8"
    assert folder.names == [["a_1.jpg"], ["b_1.jpg"]]


def test_a_file_of_a_camera_that_is_bound_to_another_piece_of_kit_binds_none(folder: Folder) -> None:
    in_use = set_up_now.state(folder.studio.records, folder.studio.shot_id).set_up.camera.id
    with folder.studio.records.reading() as db:
        spare = next(each for each in kit_records.items_in(db, Camera) if each.id != in_use)
    said = inventory.said_of(spare) | {"in_files": "invented works bench camera 1"}
    inventory.keep(folder.studio.records, "cameras", said, spare.id)

    folder.intake.arrived(folder.shoot("a_1.jpg", 1))

    assert folder.tray == {"a_1.jpg": Reason.OTHER_CAMERA}
    with folder.studio.records.reading() as db:
        assert db.get_one(Camera, in_use).in_files == ""


# --- trouble that passes ------------------------------------------------------------------------------------------


def failing(times: int, real: Callable[..., object]) -> Callable[..., object]:
    """A reading that is refused for now so many times."""
    left = [times]

    def read(*arguments: object, **named: object) -> object:
        if left[0]:
            left[0] -= 1
            raise NotReadYet("The process ended.")
        return real(*arguments, **named)

    return read


def test_a_worker_that_was_killed_once_condemns_no_picture(folder: Folder, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(IsolatedPictures, "examine", failing(1, IsolatedPictures.examine))

    folder.intake.arrived(folder.shoot("a_1.jpg", 1))
    folder.intake.finish()

    (frame,) = folder.frames
    assert frame.pictures[0].preview
    assert frame.pictures[0].trouble == ""


def test_a_trouble_that_lasted_is_tried_again_at_the_next_start(
    folder: Folder, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as dying:
        dying.setattr(IsolatedPictures, "examine", failing(2, IsolatedPictures.examine))
        folder.intake.arrived(folder.shoot("a_1.jpg", 1))
        folder.intake.finish()
    assert folder.frames[0].pictures[0].trouble == "The process ended."

    folder.intake.try_again()
    folder.intake.finish()

    assert folder.frames[0].pictures[0].trouble == ""
    assert folder.frames[0].pictures[0].preview
    assert folder.frames[0].evidence.patches


def test_a_trouble_that_lasted_is_tried_again_by_itself(folder: Folder, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(again, "FIRST_PAUSE_S", 0.05)
    monkeypatch.setattr(IsolatedPictures, "examine", failing(4, IsolatedPictures.examine))

    folder.intake.arrived(folder.shoot("a_1.jpg", 1))

    wait_until(lambda: folder.frames[0].pictures[0].preview != "")
    assert folder.frames[0].pictures[0].trouble == ""


def test_a_preview_that_was_lost_is_made_again_at_the_next_start(folder: Folder) -> None:
    folder.intake.arrived(folder.shoot("a_1.jpg", 1))
    folder.intake.finish()
    lost = folder.intake.preview_path(folder.frames[0].pictures[0].digest)
    lost.unlink()

    folder.intake.try_again()
    folder.intake.finish()

    assert lost.is_file()
    assert folder.frames[0].pictures[0].preview
