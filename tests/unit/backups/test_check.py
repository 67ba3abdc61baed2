"""The check of a data directory, and the repair of what can be put right."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.unit.backups.house import AT, kept_house
from webapp.backups.check import can_repair, check, repair
from webapp.backups.reasons import Reason
from webapp.backups.state import back_up
from webapp.errors import Conflict
from webapp.pictures.store import PictureStore, stored_in
from webapp.records.engine import Records
from webapp.records.shots import every_shot, newest_frame
from webapp.settings import Settings


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return kept_house(tmp_path / "data")


def found_in(settings: Settings) -> list[str]:
    return [each.reason for each in check(settings).findings]


def put_right(settings: Settings) -> None:
    for each in check(settings).findings:
        assert can_repair(settings, each)
        repair(settings, each)


def do(settings: Settings, statement: str, *values: object) -> None:
    with closing(sqlite3.connect(settings.data / "stopledger.sqlite3")) as db, db:
        db.execute(statement, values)


def test_a_house_that_was_only_used_is_sound_and_nothing_is_written_to_it(settings: Settings) -> None:
    before = {path: path.stat().st_mtime_ns for path in settings.data.rglob("*") if path.is_file()}

    assert check(settings).findings == ()
    assert {path: path.stat().st_mtime_ns for path in settings.data.rglob("*") if path.is_file()} == before


def test_it_is_checked_while_the_server_runs(settings: Settings) -> None:
    records = Records(settings.data)
    with records.writing() as db:
        shot = every_shot(db)[0]
        shot.title = "not committed yet"
        db.add(shot)
        db.flush()

        assert check(settings).is_sound
    records.close()


def test_a_damaged_page_is_found(settings: Settings) -> None:
    database = settings.data / "stopledger.sqlite3"
    content = bytearray(database.read_bytes())
    content[4096 * 4 : 4096 * 40] = b"\xff" * (4096 * 36)
    database.write_bytes(content)

    assert found_in(settings) == [Reason.DATABASE_DAMAGED]


def test_what_is_no_database_is_found(settings: Settings) -> None:
    (settings.data / "stopledger.sqlite3").write_bytes(b"a letter, and not a database " * 100)

    assert found_in(settings) == [Reason.DATABASE_DAMAGED]


def test_a_row_that_refers_to_nothing_is_found(settings: Settings) -> None:
    do(settings, "UPDATE shots SET session_id = 'gone'")

    assert found_in(settings) == [Reason.REFERENCES_BROKEN]


def test_a_database_of_another_version_is_found(settings: Settings) -> None:
    do(settings, "UPDATE alembic_version SET version_num = '9999'")

    assert found_in(settings) == [Reason.OTHER_REVISION]


def test_a_ledger_that_comes_out_otherwise_is_found_and_worked_out_anew(settings: Settings) -> None:
    records = Records(settings.data)
    with records.writing() as db:
        frame = newest_frame(db, every_shot(db)[0].id)
        assert frame is not None
        ledger = bytes(db.connection().exec_driver_sql("SELECT ledger FROM frames WHERE number = 1").scalar_one())
        db.connection().exec_driver_sql("UPDATE frames SET ledger = ? WHERE number = 2", (ledger,))
    records.close()

    assert found_in(settings) == [Reason.LEDGER_DIFFERS]
    put_right(settings)
    assert found_in(settings) == []


def test_evidence_that_comes_out_otherwise_is_found_and_worked_out_anew(settings: Settings) -> None:
    do(settings, "UPDATE frames SET evidence = NULL WHERE number = 2")

    assert found_in(settings) == [Reason.EVIDENCE_DIFFERS]
    put_right(settings)
    assert found_in(settings) == []


def test_a_search_that_does_not_fit_the_recipes_is_found_and_written_anew(settings: Settings) -> None:
    do(settings, "INSERT INTO recipe_words(rowid, title) VALUES (77, 'a recipe that is none')")

    assert found_in(settings) == [Reason.SEARCH_DIFFERS]
    put_right(settings)
    assert found_in(settings) == []


def test_lost_previews_are_found_and_made_again(settings: Settings) -> None:
    for path in settings.previews.iterdir():
        path.unlink()

    found = check(settings)

    assert [each.reason for each in found.findings] == [Reason.PREVIEWS_MISSING]
    assert found.is_sound
    put_right(settings)
    assert found_in(settings) == []


def test_a_picture_that_nothing_names_is_put_aside_and_not_deleted(settings: Settings) -> None:
    kept = PictureStore(settings.pictures).keep([b"a picture of no frame"], ending=".jpg")

    assert found_in(settings) == [Reason.PICTURES_UNNAMED]
    assert check(settings).is_sound
    put_right(settings)
    assert found_in(settings) == []
    assert (settings.data / "put-aside" / f"{kept.digest}.jpg").read_bytes() == b"a picture of no frame"


@pytest.mark.parametrize(("content", "reason"), [(None, Reason.PICTURE_MISSING), (b"x", Reason.PICTURE_CHANGED)])
def test_a_lost_picture_is_named_and_brought_back_from_the_backup(
    settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, content: bytes | None, reason: Reason
) -> None:
    (tmp_path / "second-disk").mkdir()
    # Another disk: a second name of the same file would change with it.
    monkeypatch.setattr("webapp.disk.on_one_disk", lambda *_: False)
    lost = next(iter(stored_in(settings.pictures).values()))
    without = check(settings)
    back_up(settings, tmp_path / "second-disk", AT)
    lost.path.unlink()
    if content is not None:
        lost.path.write_bytes(content)

    [found] = check(settings).findings

    assert without.findings == ()
    assert (found.reason, found.about) == (reason, lost.digest)
    assert str(found["name"]).startswith("IMG_")
    put_right(settings)
    assert found_in(settings) == []


def test_without_a_backup_a_lost_picture_cannot_be_put_right(settings: Settings) -> None:
    next(iter(stored_in(settings.pictures).values())).path.unlink()

    [found] = check(settings).findings

    assert not can_repair(settings, found)


def test_nothing_is_repaired_under_a_running_server(settings: Settings) -> None:
    do(settings, "UPDATE frames SET evidence = NULL WHERE number = 2")
    [found] = check(settings).findings
    records = Records(settings.data)
    with records.reading() as db:
        every_shot(db)

    with pytest.raises(Conflict, match="is running"):
        repair(settings, found)
    records.close()


def test_a_directory_without_records_is_said(tmp_path: Path) -> None:
    with pytest.raises(Conflict, match="no records"):
        check(Settings(data=tmp_path))
