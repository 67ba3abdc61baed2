"""A database with frames and pictures in it, brought from its first version to the newest."""

from __future__ import annotations

from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config

from webapp.paths import MIGRATIONS
from webapp.records.engine import Records
from webapp.records.upgrade import upgrade

FILLED_AT_0001 = """
insert into sessions values ('s', 'bench day', '2026-11-24', 'UTC', '', '', '', '', '2026-11-24 10:00:00');
insert into shots values ('h', 's', 1, 'enamel dial', '', '', '', '', 1, null, 1, null, '2026-11-24 10:00:00');
insert into frames values ('f', 'h', 1, 'test', '', '', '', '{"kept": 1}', '{}', '{}', '{"kept": 2}', 'A', 0, 1, '2026-11-24 10:01:00');
update shots set reference_frame_id = 'f';
insert into pictures values ('p', 'f', 'd1', 'a.jpg', 'jpeg', 10, '{}', '', 'd1', '', '2026-11-24 10:01:01');
insert into frame_revisions values ('r', 'f', 1, '{}', 'changed iso', '2026-11-24 10:02:00');
"""


@pytest.fixture
def filled(tmp_path: Path) -> Records:
    records = Records(tmp_path)
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with records.writing() as db:
        config.attributes["connection"] = db.connection()
        command.upgrade(config, "0001")
        for statement in filter(None, map(str.strip, FILLED_AT_0001.split(";\n"))):
            db.connection().exec_driver_sql(statement)
    return records


def test_frames_pictures_and_references_come_through(filled: Records) -> None:
    upgrade(filled)

    with filled.engine.connect() as connection:
        frame = connection.exec_driver_sql("select set_up, ledger, evidence from frames").one()
        reference = connection.exec_driver_sql("select reference_frame_id from shots").scalar()
        pictures = connection.exec_driver_sql("select frame_id, preview from pictures").all()
        assert connection.exec_driver_sql("pragma foreign_key_check").all() == []
    assert frame == ('{"kept": 1}', '{"kept": 2}', "{}")
    assert (reference, pictures) == ("f", [("f", "d1")])
    filled.close()


def test_the_way_back_to_the_first_version_keeps_the_frames(filled: Records) -> None:
    upgrade(filled)
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))

    with filled.writing() as db:
        config.attributes["connection"] = db.connection()
        command.downgrade(config, "0001")

    with filled.engine.connect() as connection:
        assert connection.exec_driver_sql("select set_up from frames").scalar() == '{"kept": 1}'
        assert connection.exec_driver_sql("select count(*) from frame_revisions").scalar() == 1
    filled.close()
