"""From a 24-megapixel JPEG put into the watched folder to its row pushed to an open page, and to its preview.

Aim: the row in under 1 s on two cores. Printed, never asserted. Run with: pytest tests/bench --benchmark-enable
"""

from __future__ import annotations

import itertools
import queue
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import numpy as np
import pytest
from PIL import Image
from pytest_benchmark.fixture import BenchmarkFixture

from tests.faults.served import served

SIZE = (6000, 4000)


def write_picture(path: Path, seed: int) -> None:
    """A JPEG of 24 megapixels, another for every seed."""
    light = np.random.default_rng(seed).normal(128, 12, (SIZE[1] // 8, SIZE[0] // 8, 3)).clip(0, 255).astype(np.uint8)
    exif = Image.Exif()
    exif.get_ifd(0x8769).update({0x829D: 8.0, 0x829A: 1 / 125, 0x8827: 100})
    Image.fromarray(light).resize(SIZE, Image.Resampling.BICUBIC).save(path, quality=92, exif=exif)


@pytest.fixture
def news_of_a_shoot(tmp_path: Path) -> Iterator[tuple[Path, queue.Queue[str]]]:
    watch = tmp_path / "tethered"
    watch.mkdir()
    heard: queue.Queue[str] = queue.Queue()
    with (
        served(tmp_path / "data", "--watch", str(watch)) as server,
        httpx.Client(base_url=server.url, timeout=60) as client,
    ):
        session = client.post("/sessions", data={"name": "bench"}).headers["location"]
        client.post(f"{session}/shots", data={"title": "bench"})

        def listen() -> None:
            try:
                with client.stream("GET", f"{session}/news?page=bench") as stream:
                    for line in stream.iter_lines():
                        heard.put(line)
            except httpx.HTTPError:
                heard.put("the line is cut")

        threading.Thread(target=listen, daemon=True).start()
        heard.get(timeout=10)
        yield watch, heard
        server.process.kill()


def _wait_for(heard: queue.Queue[str], word: str) -> None:
    while word not in heard.get(timeout=20):
        pass


@pytest.mark.benchmark(group="file in the folder to row on the page, 24 megapixels")
@pytest.mark.parametrize("until", ["<tr id=", "/thumbnail"], ids=["row", "row and preview"])
def test_file_to_page(
    benchmark: BenchmarkFixture, news_of_a_shoot: tuple[Path, queue.Queue[str]], tmp_path: Path, until: str
) -> None:
    watch, heard = news_of_a_shoot
    numbers = itertools.count()

    def ready() -> tuple[tuple[Path], dict[str, object]]:
        # What is left of the round before (its preview) is waited out.
        time.sleep(0.8)
        while not heard.empty():
            heard.get()
        number = next(numbers)
        made = tmp_path / f"frame_{number:04}.jpg"
        write_picture(made, number)
        return (made,), {}

    def put_in(made: Path) -> None:
        made.rename(watch / made.name)
        _wait_for(heard, until)

    benchmark.pedantic(put_in, setup=ready, rounds=6, warmup_rounds=1)
