"""A demo whose making is broken off is taken up at the next start, and what is on record is never touched."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlmodel import select

from webapp.demo import fill
from webapp.pictures.store import PictureStore
from webapp.records.engine import DATABASE_NAME, Records
from webapp.records.tables import Frame, RecipeVersion
from webapp.settings import Settings
from webapp.shoots.ingest import Intake

pytestmark = pytest.mark.xdist_group("demo")


class Killed(BaseException):
    """Stands for the end of the process."""


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(data=tmp_path)


def killed_at(monkeypatch: pytest.MonkeyPatch, name: str, call: int) -> None:
    """Let the process end at the given call of a function of the filling."""
    whole, calls = getattr(fill, name), 0

    def until_then(*arguments: object, **named: object) -> object:
        nonlocal calls
        calls += 1
        if calls == call:
            raise Killed
        return whole(*arguments, **named)

    monkeypatch.setattr(fill, name, until_then)


def count(records: Records, table: type) -> int:
    with records.reading() as db:
        return len(db.exec(select(table)).all())


def test_log_that_was_broken_off_is_begun_again(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    store = PictureStore(settings.pictures)
    with monkeypatch.context() as patched:
        killed_at(patched, "kept_file", 4)
        with pytest.raises(Killed):
            fill.begin(settings, store)
    assert not (settings.data / DATABASE_NAME).exists()
    assert fill.can_begin(settings)

    fill.begin(settings, store)

    records = Records(settings.data)
    assert count(records, Frame) == 33
    assert not (settings.data / fill.UNFINISHED).exists()
    records.close()


def test_recipes_are_each_published_once_over_a_restart(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    fill.begin(settings, PictureStore(settings.pictures))

    def serve_once() -> int:
        """As a run of the server: what waits is read, then published."""
        records = Records(settings.data)
        intake = Intake(settings, records, PictureStore(settings.pictures))
        try:
            intake.catch_up()
            fill.finish(settings, records, intake)
        finally:
            intake.close()
            published = count(records, RecipeVersion)
            records.close()
        return published

    with monkeypatch.context() as patched:
        killed_at(patched, "publish_recipe", 3)
        with pytest.raises(Killed):
            serve_once()
    assert settings.demo_to_publish.exists()

    assert serve_once() == 4
    assert not settings.demo_to_publish.exists()


def test_directory_with_something_in_it_is_left_alone(settings: Settings) -> None:
    (settings.data / "notes.txt").write_text("mine")

    assert not fill.can_begin(settings)


def test_directory_with_records_is_left_alone_whatever_else_is_there(settings: Settings) -> None:
    Records(settings.data).engine.connect().close()
    (settings.data / fill.UNFINISHED).mkdir()

    assert not fill.can_begin(settings)
