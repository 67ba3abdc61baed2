"""The restore, rehearsed: what comes back is what was there, or nothing does."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from tests.unit.backups.house import AT, kept_house
from webapp.backups.check import check
from webapp.backups.directory import Backup, BackupDirectory
from webapp.backups.reasons import Reason
from webapp.backups.restore import restore
from webapp.errors import BackupRefused
from webapp.pictures.store import stored_in
from webapp.settings import Settings


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return kept_house(tmp_path / "data")


@pytest.fixture
def backup(settings: Settings, tmp_path: Path) -> Backup:
    return BackupDirectory(tmp_path / "second-disk").add(settings, AT)


def test_what_comes_back_is_sound_and_whole(settings: Settings, backup: Backup, tmp_path: Path) -> None:
    to = Settings(data=tmp_path / "new" / "place")

    restore(tmp_path / "second-disk", to.data)

    found = check(to)
    assert found.is_sound
    assert (found.frames, found.pictures) == (2, 2)
    # Previews are made again, by the next start.
    assert [each.reason for each in found.findings] == [Reason.PREVIEWS_MISSING]
    assert stored_in(to.pictures).keys() == stored_in(settings.pictures).keys()


def test_a_restored_picture_is_a_file_of_its_own(backup: Backup, tmp_path: Path) -> None:
    to = Settings(data=tmp_path / "new")

    restore(backup.directory, to.data)

    for digest, picture in stored_in(to.pictures).items():
        assert not picture.path.samefile(stored_in(backup.pictures)[digest].path)


def test_an_older_one_is_named_by_its_own_directory(settings: Settings, backup: Backup, tmp_path: Path) -> None:
    BackupDirectory(tmp_path / "second-disk").add(settings, AT + dt.timedelta(days=1))

    assert restore(tmp_path / "second-disk", tmp_path / "newest").backup.manifest.made_at == AT + dt.timedelta(days=1)
    assert restore(backup.directory, tmp_path / "older").backup.manifest.made_at == AT


def test_an_empty_directory_is_taken_and_no_other(backup: Backup, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "a letter").write_text("Dear")

    restore(backup.directory, tmp_path / "empty")
    with pytest.raises(BackupRefused, match="is not empty"):
        restore(backup.directory, tmp_path / "full")

    assert [path.name for path in (tmp_path / "full").iterdir()] == ["a letter"]


def test_a_changed_picture_brings_nothing_back_unless_it_is_left_out(backup: Backup, tmp_path: Path) -> None:
    changed = next(iter(stored_in(backup.pictures).values()))
    changed.path.unlink()
    changed.path.write_bytes(bytes(changed.size_bytes))

    with pytest.raises(BackupRefused, match="1 of 2 pictures"):
        restore(backup.directory, tmp_path / "new")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["data", "second-disk"]

    restored = restore(backup.directory, tmp_path / "new", incomplete=True)
    assert restored.left_out == (changed.digest,)


def test_a_changed_database_brings_nothing_back(backup: Backup, tmp_path: Path) -> None:
    with backup.database.open("r+b") as file:
        file.seek(5000)
        file.write(b"x")

    with pytest.raises(BackupRefused, match="has changed"):
        restore(backup.directory, tmp_path / "new")

    assert not (tmp_path / "new").exists()


def test_what_a_kill_left_of_a_restore_is_cleared_by_the_next(backup: Backup, tmp_path: Path) -> None:
    half = tmp_path / ".new.being-restored" / "pictures"
    half.mkdir(parents=True)
    (half / "half").write_bytes(b"half")

    restore(backup.directory, tmp_path / "new")

    assert sorted(path.name for path in tmp_path.iterdir()) == ["data", "new", "second-disk"]
    assert not (tmp_path / "new" / "pictures" / "half").exists()


def test_without_a_finished_backup_there_is_nothing_to_restore(tmp_path: Path) -> None:
    (tmp_path / "second-disk" / "backups" / "2026-11-29T14-02-00Z").mkdir(parents=True)

    with pytest.raises(BackupRefused, match="no finished backup"):
        restore(tmp_path / "second-disk", tmp_path / "new")


def test_too_little_room_is_said_before_anything_is_copied(
    backup: Backup, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("webapp.disk.free_bytes", lambda _: 1000)

    with pytest.raises(BackupRefused, match="the disk has"):
        restore(backup.directory, tmp_path / "new")

    assert not (tmp_path / "new").exists()
