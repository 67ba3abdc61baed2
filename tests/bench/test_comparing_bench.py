"""Looking at two frames of 100 megapixels from a phone, cutting one into tiles, and a mix of three lights.

Aims: first sight under 1 s before there are tiles; the first view under 500 kB and 300 ms of server time once the tiles are there; the tiles at most 1.3 times the
streaming library alone, in under 300 MB; a mix at preview size under 60 ms. Printed, never asserted.
Run with: pytest tests/bench/test_comparing_bench.py --benchmark-enable -s
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from pytest_benchmark.fixture import BenchmarkFixture
from starlette.testclient import TestClient

from webapp.app import create_app
from webapp.pictures.isolation import IsolatedPictures
from webapp.pictures.mixing import added, clipped, jpeg_of
from webapp.settings import Settings

SIZE = (12_000, 8_400)
# A phone 390 pixels wide at a density of 2 shows each picture some 780 pixels wide.
SHOWN_PX = 780
_LIBRARY_ALONE = """
import sys, time, pyvips
pyvips.cache_set_max(0)
begun = time.perf_counter()
image = pyvips.Image.jpegload(sys.argv[1], access="sequential")
image.dzsave(sys.argv[2], layout="dz", depth="onetile", tile_size=512, overlap=0, suffix=".jpg", Q=80, keep="none")
print(time.perf_counter() - begun)
"""


def _write(path: Path, seed: int) -> None:
    codes = np.random.default_rng(seed).normal(128, 30, (SIZE[1] // 8, SIZE[0] // 8, 3)).clip(0, 255).astype(np.uint8)
    exif = Image.Exif()
    exif.get_ifd(0x8769).update({0x829D: 8.0, 0x829A: 1 / 125, 0x8827: 100, 0x9003: f"2026:11:24 10:0{seed}:00"})
    Image.fromarray(codes).resize(SIZE, Image.Resampling.BICUBIC).save(path, quality=92, exif=exif)


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("large") / "large.jpg"
    _write(path, 1)
    return path


@pytest.mark.benchmark(group="tiles of a JPEG of 100 megapixels")
def test_tiles_by_the_worker(benchmark: BenchmarkFixture, large: Path, tmp_path: Path) -> None:
    with IsolatedPictures(time_limit_s=120) as pictures:
        benchmark.pedantic(pictures.make_pyramid, (large, tmp_path / "tiles"), rounds=5, warmup_rounds=1)
        status = Path(f"/proc/{pictures.worker_id}/status")
        if status.exists():
            peak = re.search(r"VmHWM:\s+(\d+) kB", status.read_text())
            print(f"\nmemory of the worker at its most: {int(peak.group(1)) / 1000 if peak else 0:.0f} MB")


@pytest.mark.benchmark(group="tiles of a JPEG of 100 megapixels")
def test_tiles_by_the_streaming_library_alone(benchmark: BenchmarkFixture, large: Path, tmp_path: Path) -> None:
    def cut() -> float:
        shutil.rmtree(tmp_path / "alone_files", ignore_errors=True)
        program = [sys.executable, "-c", _LIBRARY_ALONE, str(large), str(tmp_path / "alone")]
        return float(subprocess.run(program, check=True, capture_output=True, text=True).stdout)

    taken = [cut() for _ in range(5)]
    benchmark.extra_info["seconds without the start of a process"] = min(taken)
    print(
        f"\nthe library alone, without starting: {min(taken):.2f} s at best, {sorted(taken)[2]:.2f} s in the middle"
    )
    benchmark.pedantic(cut, rounds=1)


@pytest.fixture(scope="module")
def two_frames(large: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, str]]:
    folder = tmp_path_factory.mktemp("two")
    _write(folder / "other.jpg", 2)
    with TestClient(create_app(Settings(data=folder / "data")), follow_redirects=True) as client:
        session = client.post("/sessions", data={"name": "bench"}).url.path
        shot = client.post(f"{session}/shots", data={"title": "bench"}).url.path
        for path in (large, folder / "other.jpg"):
            with path.open("rb") as file:
                client.post(f"{shot}/frames", data={"purpose": "test"}, files={"picture": (path.name, file)})
        ids = re.findall(r'href="/frames/([^"]+)" aria-label="Frame', client.get(shot).text)
        address = f"/frames/{ids[1]}/compare/{ids[0]}"
        services: Any = client.app.state.services  # type: ignore[attr-defined]
        services.intake._workers.submit(lambda: None).result()
        yield client, address


@pytest.mark.benchmark(group="two frames of 100 megapixels before they have tiles")
def test_first_sight(benchmark: BenchmarkFixture, two_frames: tuple[TestClient, str]) -> None:
    """The page and both previews; the first page begins the tiles, which are made meanwhile."""
    client, address = two_frames

    def seen() -> None:
        page = client.get(address)
        table = re.search(r"data-light-table='([^']+)'", page.text)
        assert table is not None
        for side in json.loads(table.group(1))["sides"]:
            assert client.get(side["preview"]).status_code == 200

    benchmark.pedantic(seen, rounds=5)


def _first_view(client: TestClient, address: str) -> tuple[int, int]:
    """What a phone asks for: the page with its files, the two pyramids, and the tiles of the levels that are shown."""
    page = client.get(address)
    sent, asked = len(page.content), 1
    files = set(re.findall(r'(?:href|src)="(/static/[^"]+)"', page.text))
    tiles = {
        f"/pictures/{digest}/tiles/0/0_0"
        for digest in re.findall(r'href="/pictures/([0-9a-f]+)/tiles/0/0_0"', page.text)
    }
    table = re.search(r"data-light-table='([^']+)'", page.text)
    assert table is not None
    for side in json.loads(table.group(1))["sides"]:
        told = client.get(f"/pictures/{side['digest']}/pyramid")
        sent, asked = sent + len(told.content), asked + 1
        levels, tile = told.json()["levels"], told.json()["tile"]
        level = next(at for at, (width, _) in enumerate(levels) if width >= 0.7 * SHOWN_PX)
        for at in {0, level}:
            across, down = (-(-length // tile) for length in levels[at])
            tiles |= {f"/pictures/{side['digest']}/tiles/{at}/{x}_{y}" for x in range(across) for y in range(down)}
    for path in files | tiles:
        answer = client.get(path)
        assert answer.status_code == 200, path
        sent, asked = sent + len(answer.content), asked + 1
    return sent, asked


@pytest.mark.benchmark(group="first view of two frames of 100 megapixels on a phone")
def test_first_view(benchmark: BenchmarkFixture, two_frames: tuple[TestClient, str]) -> None:
    client, address = two_frames
    client.app.state.services.light_table.wait()  # type: ignore[attr-defined]

    sent, asked = benchmark.pedantic(_first_view, (client, address), rounds=15, warmup_rounds=2)

    print(f"\n{sent / 1000:.0f} kB in {asked} answers")


@pytest.mark.benchmark(group="first view of two frames of 100 megapixels on a phone")
def test_the_page_alone(benchmark: BenchmarkFixture, two_frames: tuple[TestClient, str]) -> None:
    client, address = two_frames

    benchmark(client.get, address)


@pytest.mark.benchmark(group="a mix of three lights, 1024 x 683")
def test_mixture(benchmark: BenchmarkFixture) -> None:
    draw = np.random.default_rng(1)
    pictures = [draw.uniform(0, 0.5, (683, 1024, 3)).astype(np.float32) for _ in range(3)]

    def mixed() -> bytes:
        total = added(pictures, [1.0, 0.5, 1.4])
        return jpeg_of(total, clipped(total))

    started = time.perf_counter()
    mixed()
    print(f"\nthe very first: {time.perf_counter() - started:.3f} s")
    benchmark(mixed)
