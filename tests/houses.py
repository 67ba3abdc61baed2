"""Data directories of houses that are new: made once in a process, and copied for each test. What a first start does is
tested where it is the subject (tests/migrations, tests/faults/test_wheel.py)."""

from __future__ import annotations

import functools
import shutil
import tempfile
from pathlib import Path

from webapp.kit.starter import lay_out_starter_kit
from webapp.recipes.terms import lay_out_vocabulary
from webapp.records.engine import Records
from webapp.records.upgrade import upgrade
from webapp.settings import Settings


@functools.cache
def _kept() -> tempfile.TemporaryDirectory[str]:
    """Goes with the process."""
    return tempfile.TemporaryDirectory(prefix="houses-")


@functools.cache
def _made(*, kit: bool, vocabulary: bool) -> Path:
    """A database of this version, with what was asked for laid out in it."""
    data = Path(_kept().name) / f"kit-{kit}-vocabulary-{vocabulary}"
    data.mkdir()
    records = Records(data)
    upgrade(records)
    if kit:
        lay_out_starter_kit(records)
    if vocabulary:
        lay_out_vocabulary(records)
    # The last connection takes the journal into the database, so that the one file is all there is.
    records.close()
    return records.path


@functools.cache
def _with_demo() -> Path:
    """A data directory with the demo in it, every file read and the recipes published."""
    # Most tests want none of it.
    from webapp.demo import fill
    from webapp.pictures.store import PictureStore
    from webapp.shoots.ingest import Intake

    settings = Settings(data=Path(_kept().name) / "demo")
    store = PictureStore(settings.pictures)
    fill.begin(settings, store)
    records = Records(settings.data)
    intake = Intake(settings, records, store)
    intake.catch_up()
    fill.finish(settings, records, intake)
    # It waits for what is still to be read.
    intake.close()
    records.close()
    return settings.data


def demo_house(data: Path) -> Path:
    """A data directory as a start with the demo leaves it. Tests that ask for it are of the group “demo”, so that it is
    filled by one worker."""
    shutil.copytree(_with_demo(), data)
    return data


def new_records(data: Path, *, kit: bool = False) -> Records:
    """Records of a data directory, as they are after their first migration."""
    shutil.copy(_made(kit=kit, vocabulary=False), data)
    return Records(data)


def new_house(data: Path) -> Path:
    """A data directory as a first start leaves it: with the starter kit and the vocabulary. One that is there already
    stays as it is."""
    if not data.exists():
        data.mkdir(parents=True)
        shutil.copy(_made(kit=True, vocabulary=True), data)
    return data
