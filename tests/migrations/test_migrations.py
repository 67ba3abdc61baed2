"""Migrations: from nothing to the models, down and up again, with a copy put aside, and never from a newer version."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlmodel import SQLModel

from tests.conftest import Studio
from webapp.errors import CannotStart
from webapp.paths import MIGRATIONS
from webapp.quantities.places import Known, ToldPlace
from webapp.records import shots as shot_records
from webapp.records import tables
from webapp.records.engine import Records
from webapp.records.upgrade import newest_revision, upgrade
from webapp.shoots import frames, set_up_now
from webapp.shoots.log_frame import FrameWords, log_frame
from webapp.shoots.set_up_now import Change


@pytest.fixture
def empty(tmp_path: Path) -> Records:
    return Records(tmp_path)


def _config(connection: object) -> Config:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.attributes["connection"] = connection
    return config


def not_full_text(name: str | None, kind: str, _parents: object) -> bool:
    """The full-text index and its shadow tables are made by a migration and are no models."""
    return kind != "table" or not (name or "").startswith(
        ("recipe_words", "recipe_vocabulary", "frame_words", "frame_vocabulary")
    )


def test_an_empty_database_upgraded_to_the_head_equals_the_models(empty: Records) -> None:
    upgrade(empty)

    with empty.engine.connect() as connection:
        context = MigrationContext.configure(
            connection, opts={"render_as_batch": True, "include_name": not_full_text}
        )
        assert compare_metadata(context, SQLModel.metadata) == []
    empty.close()


def test_newest_revision_is_told_by_the_names_of_the_files() -> None:
    script = ScriptDirectory.from_config(_config(None))

    assert newest_revision() == script.get_current_head()


def test_each_step_goes_down_and_up_again(empty: Records) -> None:
    upgrade(empty)
    script = ScriptDirectory.from_config(_config(None))

    for revision in script.walk_revisions():
        with empty.writing() as db:
            command.downgrade(_config(db.connection()), revision.down_revision or "base")
        with empty.writing() as db:
            command.upgrade(_config(db.connection()), revision.revision)
    with empty.writing() as db:
        command.upgrade(_config(db.connection()), "head")

    with empty.engine.connect() as connection:
        assert MigrationContext.configure(connection).get_current_revision() == script.get_current_head()
    empty.close()


def test_a_place_that_was_measured_is_taped_and_a_plan_goes_back_as_estimated(studio: Studio) -> None:
    def places() -> list[str]:
        with studio.records.reading() as db:
            standing = shot_records.standing_of(db, studio.shot_id)
            frame = shot_records.frames_that_count(db, studio.shot_id, limit=1)[0]
            revised = shot_records.revisions_of(db, frame.id)[0].document.set_up
            moved = standing.moves[0].lights[0].now
            found = [standing.set_up.lights[0], frame.set_up.lights[0], revised.lights[0], moved]
            return [each.position.known for each in found if each is not None and each.position is not None]

    def at(distance_mm: float, known: Known | None = None) -> list[Change]:
        return [Change("lights.A.position", ToldPlace(distance_mm=distance_mm, bearing_deg=0.0, known=known))]

    set_up_now.change(studio.records, studio.shot_id, at(800.0, "taped"))
    frame_id = log_frame(studio.records, studio.shot_id, FrameWords()).frame_id
    frames.edit(studio.records, frame_id, words={"notes": "a note"})
    set_up_now.change(studio.records, studio.shot_id, at(900.0))
    assert places() == ["planned", "taped", "taped", "taped"]

    for step in ("0110", "head"):
        with studio.records.writing() as db:
            (command.downgrade if step == "0110" else command.upgrade)(_config(db.connection()), step)

    assert places() == ["estimated", "taped", "taped", "taped"]


def test_saved_mixes_and_live_pages_keep_their_rows_under_the_names_of_now(studio: Studio) -> None:
    with studio.records.writing() as db:
        db.add(tables.SavedMix(id="m", shot_id=studio.shot_id, name="darker", levels={"A": -1.0}, frames={"A": "f"}))
        db.add(tables.LivePage(token="t", session_id=studio.session_id, title="Table A", views=3))
    with studio.records.writing() as db:
        command.downgrade(_config(db.connection()), "0114")
    with studio.records.engine.connect() as connection:
        kept = connection.exec_driver_sql("SELECT name, weights, kept_for FROM mixtures").all()
        opened = connection.exec_driver_sql("SELECT title, views FROM open_pages").all()
    with studio.records.writing() as db:
        command.upgrade(_config(db.connection()), "head")

    assert [tuple(row) for row in kept] == [("darker", '{"A":-1.0}', "reshoot")]
    assert [tuple(row) for row in opened] == [("Table A", 3)]
    with studio.records.reading() as db:
        mix, page = db.get_one(tables.SavedMix, "m"), db.get_one(tables.LivePage, "t")
    assert (mix.levels, mix.saved_for, page.title, page.views) == ({"A": -1.0}, "reshoot", "Table A", 3)


def test_a_shot_of_before_leaves_what_its_figures_are_for_to_what_was_measured(studio: Studio) -> None:
    with studio.records.writing() as db:
        command.downgrade(_config(db.connection()), "0115")
    with studio.records.writing() as db:
        command.upgrade(_config(db.connection()), "head")

    with studio.records.reading() as db:
        shot = shot_records.shot_of(db, studio.shot_id)
        assert shot.figures_for == ""


def test_who_changed_a_field_before_that_was_kept_is_unknown(studio: Studio) -> None:
    frame_id = log_frame(studio.records, studio.shot_id, FrameWords(), not_written={"iso": "ISO 200"}).frame_id
    for step in ("0116", "head"):
        with studio.records.writing() as db:
            (command.upgrade if step == "head" else command.downgrade)(_config(db.connection()), step)

    with studio.records.reading() as db:
        assert shot_records.standing_of(db, studio.shot_id).changes == {}
        assert shot_records.frame_of(db, frame_id).not_written == {}


def test_nothing_is_copied_where_there_is_nothing_to_migrate(empty: Records, tmp_path: Path) -> None:
    assert upgrade(empty) is None
    assert upgrade(empty) is None
    assert not list(tmp_path.glob("*before-upgrade*"))
    empty.close()


def test_a_copy_is_put_aside_before_an_older_database_is_upgraded(
    empty: Records, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    upgrade(empty)
    with empty.writing() as db:
        db.add(
            tables.Camera(
                name="kept",
                sensor_width_mm=36,
                sensor_height_mm=24,
                width_px=6000,
                height_px=4000,
                lowest_iso=100,
                highest_iso=800,
            )
        )
    empty.close()
    newer = tmp_path / "migrations"
    _with_one_more_step(newer)
    monkeypatch.setattr("webapp.records.upgrade.MIGRATIONS", newer)

    records = Records(tmp_path)
    copy = upgrade(records)
    records.close()

    assert copy is not None
    with sqlite3.connect(copy) as aside:
        assert aside.execute("select name from cameras").fetchall() == [("kept",)]
        assert not aside.execute("select 1 from sqlite_master where name = 'one_more'").fetchall()
    aside.close()


def test_a_database_of_a_newer_version_is_left_alone_with_a_sentence(empty: Records) -> None:
    upgrade(empty)
    with empty.engine.begin() as connection:
        connection.exec_driver_sql("update alembic_version set version_num = '9999'")

    with pytest.raises(CannotStart, match="newer version of Stopledger"):
        upgrade(empty)
    empty.close()


def test_a_database_too_old_to_be_brought_along_is_said_to_be_so(empty: Records) -> None:
    upgrade(empty)
    with empty.engine.begin() as connection:
        connection.exec_driver_sql("update alembic_version set version_num = '0007'")

    with pytest.raises(CannotStart, match="too old to be brought along"):
        upgrade(empty)
    empty.close()


def test_wal_full_and_foreign_keys_are_on(empty: Records) -> None:
    with empty.engine.connect() as connection:
        pragmas = [
            connection.exec_driver_sql(f"pragma {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys")
        ]
    assert pragmas == ["wal", 2, 1]
    empty.close()


def _with_one_more_step(folder: Path) -> None:
    import shutil

    shutil.copytree(MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    head = ScriptDirectory.from_config(_config(None)).get_current_head()
    (folder / "versions" / "9000_one_more.py").write_text(
        f'"""one more"""\nfrom alembic import op\nimport sqlalchemy as sa\nrevision = "9000"\ndown_revision = {head!r}\n'
        "branch_labels = None\ndepends_on = None\n\n"
        'def upgrade():\n    op.create_table("one_more", sa.Column("id", sa.Integer))\n\n'
        'def downgrade():\n    op.drop_table("one_more")\n'
    )
