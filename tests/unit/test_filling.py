"""The demo while it is put into a house: it is taken out under way, or what follows its log fails."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from tests.conftest import Studio
from webapp.demo import fill
from webapp.filling import Filling
from webapp.records.tables import Origin, Session
from webapp.settings import Settings

FRAMES = {stem: ["gone"] * 20 for stem in ("bottle", "bottle-again", "tile", "cock")}


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(data=tmp_path)


def _logged(studio: Studio, settings: Settings) -> Session:
    """The demo as it stands once it is logged, as far as these tests look at it."""
    settings.demo_to_publish.write_text(json.dumps(FRAMES))
    session = Session(name="of the demo", day=dt.date(2025, 2, 2), origin=Origin.DEMO)
    with studio.records.writing() as db:
        db.add(session)
    return session


def test_a_demo_that_is_removed_while_its_pictures_are_read_is_no_failure(studio: Studio, settings: Settings) -> None:
    session = _logged(studio, settings)

    def removed_meanwhile() -> None:
        settings.demo_to_publish.unlink()
        with studio.records.writing() as db:
            db.delete(session)

    intake: Any = SimpleNamespace(finish=removed_meanwhile, store=None, preview_path=None)

    fill.finish(settings, studio.records, intake)

    assert not settings.demo_to_publish.exists()


def test_recipes_that_could_not_be_published_are_said_and_not_waited_for(studio: Studio, settings: Settings) -> None:
    filling = Filling(settings, studio.records)

    def broken(_logged_one: object) -> None:
        _logged(studio, settings)
        raise RuntimeError("broken")

    filling.work = broken
    filling.begin()
    filling.close()

    assert (filling.now().step, filling.now().goes_on) == ("unpublished", False)
