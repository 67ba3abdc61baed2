"""The three scenes, rendered once, the filled demo, and a general colour library as another road to the same
figures."""

from __future__ import annotations

import importlib
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from types import ModuleType

import pytest
from sqlmodel import select

from tests.demo_bake.scenes import Scene, render_scene
from tests.houses import demo_house
from webapp.pictures.store import PictureStore
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import Session, Shot
from webapp.settings import Settings
from webapp.shoots import frames
from webapp.shoots.frames import LoggedFrame


@pytest.fixture(scope="session")
def cock() -> Scene:
    return render_scene("balance-cock", (600, 400))


@pytest.fixture(scope="session")
def tile() -> Scene:
    return render_scene("tile")


@pytest.fixture(scope="session")
def bottle() -> Scene:
    return render_scene("bottle")


@pytest.fixture(scope="session")
def colour_library() -> ModuleType:
    """On import it warns of drawing packages that no test here needs."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return importlib.import_module("colour")


@dataclass(frozen=True)
class Demo:
    """A filled data directory; shots are named by the stem of their camera's files."""

    records: Records
    store: PictureStore
    sessions: dict[str, Session]
    shots: dict[str, Shot]

    def frame(self, shot: str, number: int) -> LoggedFrame:
        return self.frames(shot)[number - 1]

    def frames(self, shot: str) -> list[LoggedFrame]:
        return frames.page_of(self.records, self.shots[shot].id, limit=40)[::-1]


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Demo]:
    settings = Settings(data=demo_house(tmp_path_factory.mktemp("demo") / "data"))
    store, records = PictureStore(settings.pictures), Records(settings.data)
    with records.reading() as db:
        shots = db.exec(select(Shot).order_by(Shot.id)).all()
        names = dict(zip(("bottle", "again", "tile", "cock"), shots, strict=True))
        sessions = {name: shot_records.session_of(db, shot.session_id) for name, shot in names.items()}
    yield Demo(records, store, sessions, names)
    records.close()
