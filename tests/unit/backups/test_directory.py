"""The directory of backups: made whole, shared pictures, the old let go."""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path

import pytest

from tests.unit.backups.house import AT, kept_house
from webapp.backups.directory import BackupDirectory
from webapp.backups.manifest import NAME
from webapp.errors import BackupRefused
from webapp.pictures.store import stored_in
from webapp.records.engine import Records
from webapp.settings import Settings

DAY = dt.timedelta(days=1)


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return kept_house(tmp_path / "data")


@pytest.fixture
def directory(tmp_path: Path) -> BackupDirectory:
    return BackupDirectory(tmp_path / "second-disk")


def test_a_backup_has_database_pictures_and_a_manifest_of_their_hashes(
    settings: Settings, directory: BackupDirectory
) -> None:
    made = directory.add(settings, AT)

    assert made.directory == directory.root / "backups" / "2026-11-29T14-02-00Z"
    assert made.manifest.pictures.keys() == stored_in(settings.pictures).keys()
    assert made.manifest.counts == {"sessions": 1, "shots": 1, "frames": 2, "pictures": 2, "recipes": 0}
    assert made.is_sound
    assert directory.newest_sound() == made


def test_on_one_disk_a_picture_is_the_same_file_and_elsewhere_a_copy(
    settings: Settings, directory: BackupDirectory, monkeypatch: pytest.MonkeyPatch
) -> None:
    directory.add(settings, AT)
    linked = next(iter(stored_in(directory.root / "pictures").values()))

    monkeypatch.setattr("webapp.disk.on_one_disk", lambda *_: False)
    other = BackupDirectory(directory.root.with_name("other"))
    other.add(settings, AT)
    copied = stored_in(other.root / "pictures")[linked.digest]

    assert linked.path.samefile(stored_in(settings.pictures)[linked.digest].path)
    assert not copied.path.samefile(linked.path)
    assert copied.is_sound


def test_a_file_system_without_links_is_given_copies(
    settings: Settings, directory: BackupDirectory, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*_: object) -> None:
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)

    assert directory.add(settings, AT).is_sound


def test_pictures_are_taken_once_for_all_backups(settings: Settings, directory: BackupDirectory) -> None:
    directory.add(settings, AT)
    before = {digest: each.path.stat().st_ino for digest, each in stored_in(directory.root / "pictures").items()}

    directory.add(settings, AT + DAY)

    assert {d: each.path.stat().st_ino for d, each in stored_in(directory.root / "pictures").items()} == before


def test_two_backups_of_one_second_are_two(settings: Settings, directory: BackupDirectory) -> None:
    assert directory.add(settings, AT).directory != directory.add(settings, AT).directory


def test_what_was_left_unfinished_is_swept_by_the_next(settings: Settings, directory: BackupDirectory) -> None:
    first = directory.add(settings, AT)
    half = directory.root / "backups" / "2026-11-29T15-00-00Z"
    half.mkdir()
    (half / "stopledger.sqlite3").write_bytes(b"half of it")
    (directory.root / "pictures" / "incoming" / "half").write_bytes(b"half")

    assert [each.directory for each in directory.backups()] == [first.directory]
    directory.add(settings, AT + DAY)

    assert not half.exists()
    assert list((directory.root / "pictures" / "incoming").iterdir()) == []


def test_a_backup_that_fails_leaves_the_earlier_ones_and_nothing_of_itself(
    settings: Settings, directory: BackupDirectory, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = directory.add(settings, AT)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("webapp.backups.manifest.write_whole", full)
    with pytest.raises(BackupRefused, match="full, so nothing can be saved there"):
        directory.add(settings, AT + DAY)

    assert list((directory.root / "backups").iterdir()) == [first.directory]
    assert first.is_sound


def test_the_old_are_let_go_with_the_pictures_that_only_they_had(
    settings: Settings, directory: BackupDirectory
) -> None:
    first = directory.add(settings, AT)
    [gone, *_] = sorted(first.manifest.pictures)
    records = Records(settings.data)
    with records.writing() as db:
        db.connection().exec_driver_sql("DELETE FROM readings")
        db.connection().exec_driver_sql("DELETE FROM picture_light")
        db.connection().exec_driver_sql("DELETE FROM pictures WHERE digest = ?", (gone,))
    records.close()
    stored_in(settings.pictures)[gone].path.unlink()

    second = directory.add(settings, AT + dt.timedelta(hours=1))

    assert [each.directory for each in directory.backups()] == [second.directory]
    assert gone not in stored_in(directory.root / "pictures")


def test_no_picture_goes_while_a_manifest_cannot_be_read(settings: Settings, directory: BackupDirectory) -> None:
    first = directory.add(settings, AT)
    (first.directory / NAME).write_text("{")
    unnamed = directory.root / "pictures" / "ab" / ("c" * 62 + ".jpg")
    unnamed.parent.mkdir(exist_ok=True)
    unnamed.write_bytes(b"of the backup that cannot be read")

    directory.add(settings, AT + DAY)

    assert unnamed.exists()
    assert first.directory.exists()


def test_the_newest_sound_backup_stays_though_later_ones_of_its_day_are_not(
    settings: Settings, directory: BackupDirectory
) -> None:
    sound = directory.add(settings, AT)
    records = Records(settings.data)
    with records.writing() as db:
        db.connection().exec_driver_sql("UPDATE pictures SET digest = ? WHERE name = 'IMG_1.jpg'", ("f" * 64,))
    records.close()

    for hour in range(1, 4):
        made = directory.add(settings, AT + dt.timedelta(hours=hour))

    assert made.manifest.missing == ("f" * 64,)
    assert [each.directory for each in directory.backups()] == [made.directory, sound.directory]
    assert directory.newest_sound() == sound


def test_a_picture_that_the_shelf_has_is_no_loss(settings: Settings, directory: BackupDirectory) -> None:
    directory.add(settings, AT)
    next(iter(stored_in(settings.pictures).values())).path.unlink()

    assert directory.add(settings, AT + DAY).is_sound


def test_a_picture_whose_content_has_changed_is_not_taken(settings: Settings, directory: BackupDirectory) -> None:
    changed = next(iter(stored_in(settings.pictures).values()))
    changed.path.write_bytes(b"something else")

    made = directory.add(settings, AT)

    assert made.manifest.changed == (changed.digest,)
    assert changed.digest not in stored_in(directory.root / "pictures")
    assert not made.is_sound


def test_a_damaged_database_is_not_backed_up(settings: Settings, directory: BackupDirectory) -> None:
    sound = directory.add(settings, AT)
    database = settings.data / "stopledger.sqlite3"
    content = bytearray(database.read_bytes())
    content[4096 * 4 : 4096 * 40] = b"\xff" * (4096 * 36)
    database.write_bytes(content)

    with pytest.raises(BackupRefused, match="is damaged"):
        directory.add(settings, AT + DAY)

    assert directory.newest_sound() == sound


def test_a_place_inside_the_data_directory_is_refused(settings: Settings) -> None:
    with pytest.raises(BackupRefused, match="would be lost with it"):
        BackupDirectory(settings.data / "backups").add(settings, AT)


def test_where_there_are_no_records_nothing_is_made(directory: BackupDirectory, tmp_path: Path) -> None:
    with pytest.raises(BackupRefused, match="no records"):
        directory.add(Settings(data=tmp_path / "none"), AT)

    assert not directory.root.exists()


def test_too_little_room_is_said_before_anything_is_copied(
    settings: Settings, directory: BackupDirectory, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("webapp.disk.free_bytes", lambda _: 1000)

    with pytest.raises(BackupRefused, match=r"needs 0\.0 GB"):
        directory.add(settings, AT)

    assert directory.backups() == []


def test_one_backup_is_made_at_a_time(settings: Settings, directory: BackupDirectory) -> None:
    fcntl = pytest.importorskip("fcntl")
    directory.add(settings, AT)
    with (directory.root / "being-written.lock").open("w") as held:
        fcntl.flock(held, fcntl.LOCK_EX)

        with pytest.raises(BackupRefused, match="Another backup"):
            directory.add(settings, AT + DAY)


def test_a_server_that_stops_gives_it_up(settings: Settings, directory: BackupDirectory) -> None:
    with pytest.raises(BackupRefused, match="was stopped"):
        directory.add(settings, AT, lambda: True)

    assert directory.backups() == []
