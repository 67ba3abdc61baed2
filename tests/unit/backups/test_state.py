"""How the backups stand, and when the next is due."""

from __future__ import annotations

import datetime as dt
import time
from pathlib import Path

import pytest

from tests.unit.backups.house import AT, kept_house
from webapp.backups.directory import BackupDirectory
from webapp.backups.schedule import Schedule, due_at
from webapp.backups.state import State, back_up, state_of
from webapp.errors import BackupRefused
from webapp.pictures.store import stored_in
from webapp.settings import Settings

DAY = dt.timedelta(days=1)


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return kept_house(tmp_path / "data")


@pytest.fixture
def place(tmp_path: Path) -> Path:
    place = tmp_path / "second-disk"
    place.mkdir()
    return place


def test_a_sound_backup_is_written_down(settings: Settings, place: Path) -> None:
    assert state_of(settings) == State()

    back_up(settings, place, AT)

    assert state_of(settings) == State(str(place), AT, 2, on_same_disk=True, tried_at=AT)


def test_one_that_fails_is_written_down_beside_the_last_sound_one(settings: Settings, place: Path) -> None:
    back_up(settings, place, AT)
    place.rename(place.with_name("elsewhere"))

    with pytest.raises(BackupRefused, match="connect its disk or share"):
        back_up(settings, place, AT + DAY)

    state = state_of(settings)
    assert (state.made_at, state.tried_at) == (AT, AT + DAY)
    assert "connect its disk or share" in state.failed


def test_a_share_that_is_not_mounted_is_not_taken_for_an_empty_one(settings: Settings, place: Path) -> None:
    back_up(settings, place, AT)
    place.rename(place.with_name("elsewhere"))
    place.mkdir()

    with pytest.raises(BackupRefused, match="may not be connected"):
        back_up(settings, place, AT + DAY)

    assert list(place.iterdir()) == []


def test_one_that_lacks_a_picture_is_made_and_is_no_sound_one(settings: Settings, place: Path) -> None:
    next(iter(stored_in(settings.pictures).values())).path.unlink()

    with pytest.raises(BackupRefused, match="is not whole: 1 of the pictures"):
        back_up(settings, place, AT)

    assert len(BackupDirectory(place).backups()) == 1
    assert state_of(settings).made_at is None


def test_a_state_that_cannot_be_read_is_none(settings: Settings) -> None:
    (settings.data / "backups.json").write_text("[")

    assert state_of(settings) == State()


@pytest.mark.parametrize(
    ("state", "due"),
    [
        (State(), None),
        (State(place="/second-disk", made_at=AT, tried_at=AT), AT + DAY),
        (State(place="/another", made_at=AT, tried_at=AT), None),
        (State(place="/second-disk", made_at=AT, tried_at=AT + DAY, failed="full"), AT + DAY + dt.timedelta(hours=1)),
    ],
)
def test_when_the_next_is_due(state: State, due: dt.datetime | None) -> None:
    assert due_at(state, Path("/second-disk"), DAY) == due


def test_the_schedule_makes_the_first_at_once_and_ends_when_it_is_closed(
    settings: Settings, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("webapp.backups.schedule._AFTER_START_S", 0.0)
    schedule = Schedule(settings, place)

    schedule.start()
    deadline = time.monotonic() + 60
    while not BackupDirectory(place).backups() and time.monotonic() < deadline:
        time.sleep(0.01)
    schedule.close()

    assert state_of(settings).made_at is not None
