"""`python -m tests.demo_bake`: render every frame of the demo shoots and write it into webapp/demo/pictures."""

from __future__ import annotations

import datetime as dt
import functools
import tempfile
from fractions import Fraction
from pathlib import Path

from tests.demo_bake.camera import CameraSettings, expose, write_jpeg
from tests.demo_bake.exposures import TAKEN, OnTheSet, Taken
from tests.demo_bake.scenes import Scene
from tests.demo_bake.surfaces import Plane
from webapp.demo.fill import PICTURES, log_shoots
from webapp.demo.shoot import Shoot
from webapp.ledger.set_up import SetUp
from webapp.optics.scales import Marked
from webapp.pictures.store import PictureStore
from webapp.records.engine import Records
from webapp.records.upgrade import upgrade


def main() -> None:
    """The camera's settings are those that the log of the shoots leaves set, so the shoots are logged."""
    rendered = functools.lru_cache(maxsize=2)(lambda render: render())

    def take(shoot: Shoot, number: int, set_up: SetUp, taken_at: dt.datetime) -> Path:
        taken = TAKEN[shoot.file_stem]
        really = taken.frames[number - 1]
        path = PICTURES / f"{shoot.file_stem}-{number:04d}.jpg"
        write_jpeg(path, exposed(really, rendered(really.render), number), _settings(taken, set_up, taken_at))
        print(f"{path.name}  {path.stat().st_size / 1000:.0f} kB", flush=True)
        return path

    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="stopledger-bake-") as folder:
        records = Records(Path(folder))
        upgrade(records)
        log_shoots(records, PictureStore(Path(folder) / "pictures"), take)
        records.close()


def exposed(really: OnTheSet, scene: Scene, seed: int) -> Plane:
    """What a frame shows, as a share of saturation; its number is the seed of its noise."""
    return expose(
        scene if really.laid_in is None else really.laid_in(scene),
        really.light_stops,
        really.ambient_stops,
        seed=seed,
        glare=really.glare,
        mired_shifts=really.mired_shifts,
        blur=really.blur,
    )


def _settings(taken: Taken, set_up: SetUp, taken_at: dt.datetime) -> CameraSettings:
    assert set_up.focal_length_mm is not None
    return CameraSettings(
        f_number=float(_mark(set_up.f_number)),
        exposure_time_s=Fraction(_mark(set_up.shutter)),
        iso=int(_mark(set_up.iso)),
        focal_length_mm=set_up.focal_length_mm,
        taken_at=taken_at,
        body=taken.body,
        lens=taken.lens,
    )


def _mark(marked: Marked | None) -> str:
    assert marked is not None
    return marked.text


if __name__ == "__main__":
    main()
