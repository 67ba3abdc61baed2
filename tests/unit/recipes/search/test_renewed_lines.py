"""What the search reads of recipes is written anew after an upgrade, as a new recipe would be."""

from __future__ import annotations

from pathlib import Path

from tests.search.corpus import publish_all
from webapp.recipes.publish import renew_lines
from webapp.records.engine import Records
from webapp.records.upgrade import upgrade

_TABLES = ("recipe_lines", "recipe_lights")


def _rows(records: Records) -> list[list[tuple[object, ...]]]:
    with records.engine.connect() as db:
        lines = db.exec_driver_sql("SELECT * FROM recipe_lines ORDER BY key").all()
        lights = db.exec_driver_sql(
            "SELECT line, letter, role, kind, energy_j, power_stops, distance_mm, size_mm FROM recipe_lights "
            "ORDER BY line, letter"
        ).all()
    return [[tuple(row) for row in lines], [tuple(row) for row in lights]]


def test_lines_that_an_older_version_wrote_become_those_of_this_one(tmp_path: Path) -> None:
    records = Records(tmp_path)
    upgrade(records)
    publish_all(records, ("recipes_full.json",))
    fresh = _rows(records)
    with records.engine.begin() as db:
        db.exec_driver_sql("DELETE FROM recipe_lights")
        db.exec_driver_sql(
            "UPDATE recipe_lines SET marks = '', vector = '{}', iso = NULL, focal_mm = NULL, open_count = 0"
        )

    with records.writing() as session:
        renew_lines(session)

    assert _rows(records) == fresh
    records.close()


def test_the_lights_of_a_recipe_go_with_its_line(tmp_path: Path) -> None:
    records = Records(tmp_path)
    upgrade(records)
    publish_all(records, ("recipes_full.json",))

    with records.engine.begin() as db:
        db.exec_driver_sql("DELETE FROM recipe_lines")

    assert _rows(records) == [[], []]
    records.close()
