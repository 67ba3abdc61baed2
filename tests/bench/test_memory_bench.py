"""The memory of the server and of its picture workers: at rest, after pictures from the watched folder, after many
requests, and after what is heaviest: PDFs, shadow cards, re-mixed lights, two pictures side by side.

Aims: at rest under 120 MB, under 250 MB after 10,000 requests and 200 pictures, and no more after another 10,000. What
is counted is the proportional share (PSS), in which what processes share is told once. Linux alone; printed, never
asserted. Run with: pytest tests/bench/test_memory_bench.py --benchmark-enable -n 0 -s
"""

from __future__ import annotations

import itertools
import os
import re
import sqlite3
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import httpx
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from tests.bench.test_file_to_row_bench import write_picture
from tests.bench.walks import pages_of
from tests.faults.served import Served, served

PICTURES = int(os.environ.get("BENCH_PICTURES", "200"))
REQUESTS = int(os.environ.get("BENCH_REQUESTS", "10000"))
WAITS_S = 300
AT_REST_S = 10
# Over what a picture worker waits for the next picture.
IDLE_S = 130
TAPS_EVERY, FRAMES_EVERY = 5, 20
# Each is drawn from pictures or from thousands of rays: some, not thousands.
HEAVY = re.compile(r"card\.png|/remix|everything\.zip|/compare/|/recipe$|/pictures/")
HEAVY_ONES, PDFS = 150, 5


def _megabytes(process_id: int) -> tuple[float, float]:
    """Resident memory of a process, and its proportional share."""
    told = dict(re.findall(r"^(\w+): +(\d+) kB", Path(f"/proc/{process_id}/smaps_rollup").read_text(), re.M))
    return int(told["Rss"]) * 1024 / 1e6, int(told["Pss"]) * 1024 / 1e6


def _children_of(process_id: int) -> list[int]:
    """The processes that any thread of a process started."""
    tasks = Path(f"/proc/{process_id}/task").iterdir()
    return sorted({int(child) for task in tasks for child in (task / "children").read_text().split()})


def _tell(stage: str, server: Served) -> None:
    resident, share = _megabytes(server.process.pid)
    workers = [_megabytes(each)[1] for each in _children_of(server.process.pid)]
    print(
        f"{stage:<52} server {resident:4.0f} MB resident, {share:4.0f} proportional; "
        f"workers {' + '.join(f'{each:.0f}' for each in workers) or 0}; together {share + sum(workers):4.0f}"
    )


def _pictures_come(watch: Path, source: Sequence[bytes], database: Path, count: int) -> None:
    """Pictures put into the watched folder one after the other, each waited for until its preview is made."""
    with sqlite3.connect(f"file:{database}?mode=ro", uri=True) as records:

        def seen() -> int:
            return int(records.execute("SELECT count(*) FROM pictures WHERE preview != ''").fetchone()[0])

        there = seen()
        for number in range(count):
            # What stands behind the end of a JPEG makes another file of it.
            (watch / f".{number:04}").write_bytes(source[number % len(source)] + number.to_bytes(4, "big"))
            (watch / f".{number:04}").rename(watch / f"frame_{number:04}.jpg")
            until = time.monotonic() + WAITS_S
            while seen() <= there + number and time.monotonic() < until:
                time.sleep(0.05)
        assert seen() == there + count


def _mixed(client: httpx.Client, addresses: Sequence[str], shot: str) -> Iterator[None]:
    """One request after the other: pages and partials in turn, and between them taps and frames."""
    for number, address in enumerate(itertools.cycle(addresses)):
        partial = {"HX-Request": "true"}
        if number % FRAMES_EVERY == 0:
            client.post(f"{shot}/frames", data={"purpose": "test"}, headers=partial).raise_for_status()
        elif number % TAPS_EVERY == 0:
            value = "11" if number % 2 else "16"
            client.post(f"{shot}/standing", data={"field": "f_number", "value": value}, headers=partial)
        else:
            client.get(address, headers=partial if number % 2 else {})
        yield


@pytest.mark.skipif(sys.platform != "linux", reason="read from /proc")
def test_memory(benchmark: BenchmarkFixture, copy: Path, tmp_path: Path) -> None:
    watch = tmp_path / "tethered"
    watch.mkdir()
    source = []
    for seed in range(4):
        write_picture(tmp_path / "made.jpg", seed)
        source.append((tmp_path / "made.jpg").read_bytes())

    def story() -> None:
        print()
        with (
            served(copy, "--watch", str(watch)) as server,
            httpx.Client(base_url=server.url, timeout=WAITS_S) as client,
        ):
            time.sleep(AT_REST_S)
            _tell("at rest", server)
            session = client.post("/sessions", data={"name": "bench"}).headers["location"]
            shot = client.post(f"{session}/shots", data={"title": "bench"}).headers["location"]
            _pictures_come(watch, source, copy / "stopledger.sqlite3", PICTURES)
            _tell(f"after {PICTURES} pictures", server)
            addresses = pages_of(client)
            _tell(f"after finding {len(addresses)} addresses", server)
            light = [each for each in addresses if not HEAVY.search(each) and not each.endswith(".pdf")]
            requests = _mixed(client, light, shot)

            def ask() -> None:
                for _ in itertools.islice(requests, REQUESTS):
                    pass
                _tell(f"after {REQUESTS} requests", server)

            ask()
            for each in itertools.islice(itertools.cycle(filter(HEAVY.search, addresses)), HEAVY_ONES):
                client.get(each)
            _tell(f"after {HEAVY_ONES} shadow cards, sums, pairs and archives", server)
            for each in itertools.islice(itertools.cycle(each for each in addresses if each.endswith(".pdf")), PDFS):
                client.get(each).raise_for_status()
            _tell(f"after {PDFS} PDFs", server)
            ask()
            time.sleep(IDLE_S)
            _tell(f"{IDLE_S} s later", server)

    benchmark.pedantic(story, rounds=1)
