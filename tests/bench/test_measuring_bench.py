"""From a file's arrival to its reading and preview, beside the bare decoder's work on the same file: a decode at reduced
size, which is enough for a preview, and one of all pixels, which patches are read from.

Aim: at most 1.5 times the reduced decode's time, no more than that of all pixels, and at most 300 MB for 100 megapixels. Timings and peak memory are
printed, never asserted. Run with: pytest tests/bench --benchmark-enable
"""

from __future__ import annotations

import shutil
import threading
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import rawpy
from PIL import Image
from pytest_benchmark.fixture import BenchmarkFixture

from tests.made_pictures import WHITE, write_dng
from webapp.kit.starter import lay_out_starter_kit
from webapp.pictures.isolation import IsolatedPictures
from webapp.pictures.store import PictureStore
from webapp.records.engine import Records
from webapp.records.upgrade import upgrade
from webapp.settings import Settings
from webapp.shoots import sessions
from webapp.shoots.ingest import PREVIEW_LONGEST_PX, Intake

SIZES = {"24 MP": (6000, 4000), "100 MP": (11648, 8736)}
FILES = [("jpeg", "24 MP"), ("jpeg", "100 MP"), ("raw", "24 MP")]
ROUNDS = {"rounds": 5, "warmup_rounds": 1, "iterations": 1}


@dataclass(frozen=True)
class Made:
    path: Path
    kind: str
    name: str


@pytest.fixture(scope="module", params=FILES, ids=lambda each: f"{each[0]} {each[1]}")
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Made:
    """A picture with detail everywhere, so that its decoding is no easier than a camera's."""
    kind, size = request.param
    width, height = SIZES[size]
    rng = np.random.default_rng(1)
    tile = rng.normal(0, 8, (512, 512)).astype(np.float32)
    slope = np.linspace(40, 200, width, dtype=np.float32)
    rows = np.tile(tile, (height // 512 + 1, width // 512 + 1))[:height, :width]
    rows += slope
    path = tmp_path_factory.mktemp("bench") / f"picture.{'dng' if kind == 'raw' else 'jpg'}"
    if kind == "raw":
        write_dng(path, np.clip(rows / 255 * WHITE, 0, WHITE).astype(np.uint16))
    else:
        codes = np.clip(rows, 0, 255).astype(np.uint8)
        Image.merge("RGB", [Image.fromarray(codes)] * 3).save(path, quality=92)
    return Made(path, kind, size)


def _bare_decode(made: Made) -> None:
    """What the decoder itself takes for a picture that is large enough for the preview."""
    if made.kind == "raw":
        with rawpy.imread(str(made.path)) as raw:
            raw.postprocess(half_size=True)
        return
    # Past its own limit the library warns.
    with warnings.catch_warnings(action="ignore"), Image.open(made.path) as image:
        image.draft("RGB", (PREVIEW_LONGEST_PX, PREVIEW_LONGEST_PX))
        image.load()


def _bare_decode_of_all(made: Made) -> None:
    if made.kind == "raw":
        with rawpy.imread(str(made.path)) as raw:
            raw.raw_image_visible.max()
        return
    with warnings.catch_warnings(action="ignore"), Image.open(made.path) as image:
        image.load()


def _peak_mb(pid: int | None) -> float:
    status = Path(f"/proc/{pid}/status").read_text()
    return next(int(line.split()[1]) / 1000 for line in status.splitlines() if line.startswith("VmHWM"))


def test_the_bare_decoder(benchmark: BenchmarkFixture, made: Made) -> None:
    benchmark.group = f"{made.kind} {made.name}"

    benchmark.pedantic(_bare_decode, args=(made,), **ROUNDS)


def test_the_bare_decoder_at_all_pixels(benchmark: BenchmarkFixture, made: Made) -> None:
    benchmark.group = f"{made.kind} {made.name}"

    benchmark.pedantic(_bare_decode_of_all, args=(made,), **ROUNDS)


def test_the_whole_picture_in_linear_light(benchmark: BenchmarkFixture, made: Made) -> None:
    """As the re-mix has it."""
    benchmark.group = f"{made.kind} {made.name}"
    with IsolatedPictures() as pictures:
        pictures.warm()
        benchmark.pedantic(pictures.linear_picture, args=(made.path,), **ROUNDS)
        benchmark.extra_info["peak_mb"] = round(_peak_mb(pictures.worker_id))


def test_reading_and_preview(benchmark: BenchmarkFixture, made: Made) -> None:
    benchmark.group = f"{made.kind} {made.name}"
    with IsolatedPictures() as pictures:
        pictures.warm()
        benchmark.pedantic(pictures.examine, args=(made.path,), kwargs={"longest_px": PREVIEW_LONGEST_PX}, **ROUNDS)
        benchmark.extra_info["peak_mb"] = round(_peak_mb(pictures.worker_id))


def test_reading_preview_and_light(benchmark: BenchmarkFixture, made: Made) -> None:
    """With the map of the whole picture's light; aim: under 1 s beside the bare decode at 24 megapixels."""
    benchmark.group = f"{made.kind} {made.name}"
    with IsolatedPictures() as pictures:
        pictures.warm()
        asked = {"longest_px": PREVIEW_LONGEST_PX, "light": True}
        benchmark.pedantic(pictures.examine, args=(made.path,), kwargs=asked, **ROUNDS)
        benchmark.extra_info["peak_mb"] = round(_peak_mb(pictures.worker_id))


@pytest.fixture
def intake(tmp_path: Path) -> Iterator[Intake]:
    records = Records(tmp_path)
    upgrade(records)
    lay_out_starter_kit(records)
    session_id = sessions.begin_session(records, {"name": "bench"})
    sessions.begin_shot(records, session_id, {"title": "bench"})
    store = PictureStore(tmp_path / "pictures", most_bytes=1 << 30)
    made = Intake(Settings(data=tmp_path), records, store)
    made.warm()
    yield made
    made.close()
    records.close()


def test_from_arrival_to_the_kept_reading(
    benchmark: BenchmarkFixture, made: Made, intake: Intake, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    benchmark.group = f"{made.kind} {made.name}"
    read = threading.Event()
    examine = intake._examine

    def examined(picture_id: str) -> None:
        examine(picture_id)
        read.set()

    monkeypatch.setattr(intake, "_examine", examined)
    count = iter(range(1000))

    def another() -> tuple[tuple[Path], dict[str, object]]:
        # The same bytes twice would be the same frame.
        number = next(count)
        path = tmp_path / f"shot-{number}{made.path.suffix}"
        shutil.copy(made.path, path)
        with path.open("ab") as file:
            file.write(number.to_bytes(4, "big"))
        read.clear()
        return (path,), {}

    def arrive(path: Path) -> None:
        intake.arrived(path)
        assert read.wait(60)

    benchmark.pedantic(arrive, setup=another, rounds=5, warmup_rounds=1)
