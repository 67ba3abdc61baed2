"""A database with frames and pictures in it, brought from its first version to the newest."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import text

from tests.unit.recipes.made import light, recipe
from webapp.paths import MIGRATIONS
from webapp.recipes.document import recipe_json
from webapp.recipes.search.kit_owned import Needs, needs_of
from webapp.records import recipe_search
from webapp.records.engine import Records
from webapp.records.recipe_search import Wanted
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


RECIPES_AT_0010 = """
insert into recipes(id, created_at) values ('r', '2025-02-02 10:00:00');
insert into recipe_versions(id, recipe_id, number, document, differs, published_at) values ('v1', 'r', 1, '{}', '[]', '2025-02-02 10:00:00');
insert into recipe_versions(id, recipe_id, number, document, differs, published_at) values ('v2', 'r', 2, :document, '[]', '2025-02-03 10:00:00');
insert into recipe_lines(key, recipe_id, title, subject, terms, kit, words, made_on, f_number, magnification, light_count, measured, picture, vector) values (7, 'r', 'Émail dial', '', 'soft', '', 'proof of black', '2025-02-02', 11.3137, 0.5, 2, 60, '', '{}');
insert into recipe_facets values (7, 'look', 'soft');
insert into recipe_facets values (7, 'subject type', 'coin/medal');
"""


def test_a_published_recipe_is_found_by_its_words_facets_and_needs_after_the_way_up_and_down(tmp_path: Path) -> None:
    one = recipe(
        light(modifier="softbox", width_mm=600.0, height_mm=600.0, shape="rectangle"),
        light("B", modifier="strip", width_mm=300.0, height_mm=1200.0, shape="rectangle"),
    )
    records = Records(tmp_path)
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with records.writing() as db:
        config.attributes["connection"] = db.connection()
        command.upgrade(config, "0010")
        for statement in filter(None, map(str.strip, RECIPES_AT_0010.split(";\n"))):
            db.connection().execute(text(statement), {"document": recipe_json(one)})

    for _ in range(2):
        with records.writing() as db:
            config.attributes["connection"] = db.connection()
            command.upgrade(config, "0011")
        with records.reading() as db:
            needs = Needs(*db.connection().exec_driver_sql(f"select {', '.join(NEEDS)} from recipe_lines").one())
            marks = set(db.connection().exec_driver_sql("select marks from recipe_lines").scalar_one().split())
            by_mark = Wanted("", (("subject type", "coin/medal"),))
            found, _ = recipe_search.find_ranked(db, Wanted('"email"', by_mark.facets), 5, 10)
            identity = db.connection().exec_driver_sql("select identity from recipes").scalar()
            assert recipe_search.has_word(db, "ema")
            words = [word for _, word in recipe_search.words_after(db, 0)]
            assert words == ["black", "dial", "email", "of", "proof", "soft"]
        assert needs == needs_of(one)
        assert {recipe_search.read_mark(each) for each in marks} == {
            ("look", "soft"),
            ("subject type", "coin/medal"),
            ("aperture", "about f/11"),
            ("magnification", "1:2 to 1:1"),
            ("year", "2025"),
            ("measured", "half and more"),
        }
        assert (found, identity) == ([7], "r")
        with records.writing() as db:
            config.attributes["connection"] = db.connection()
            command.downgrade(config, "0010")
        with records.reading() as db:
            facets = db.connection().exec_driver_sql("select facet, value from recipe_facets order by facet").all()
        assert facets == [("look", "soft"), ("subject type", "coin/medal")]
    records.close()


NEEDS = [each.name for each in dataclasses.fields(Needs)]
