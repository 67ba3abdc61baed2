"""From the start of the process to the first page, over records that are there and as the demo's first start, and the
memory of the server at rest and after walks over every kind of page.

Aims: 2 s and 5 s; 120 MB at rest and 200 MB after five walks. Printed, never asserted. Run with:
pytest tests/bench/test_start_bench.py --benchmark-enable -s
"""

from __future__ import annotations

import json
import os
import re
import shutil
import time
from collections import defaultdict
from html import unescape
from itertools import count
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import httpx
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from tests.faults.served import served

WALKS = 5
OF_EACH_KIND = 2
FILLED_WITHIN_S = 300
IDS = re.compile(r"[0-9a-f]{8}-[0-9a-f-]{27}|[0-9a-f]{64}|\b\d+\b")
LINKS = re.compile(r'(?:href|src|hx-get)="([^"#]+)')


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo with its readings and recipes."""
    data = tmp_path_factory.mktemp("filled") / "data"
    with served(data, "--demo"):
        for _ in range(FILLED_WITHIN_S):
            if not (data / "demo-to-publish.json").exists():
                return data
            time.sleep(1)
    raise AssertionError("the demo was not finished")


def resident_mb(process_id: int) -> float:
    pages = int(Path(f"/proc/{process_id}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def processor_s(process_id: int) -> float:
    """Of the process itself, user and system: what a loaded machine does not stretch."""
    fields = Path(f"/proc/{process_id}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def first_page(data: Path, *arguments: str) -> float:
    """Start, ask for the front page, stop; the processor time that it took."""
    with served(data, *arguments) as server:
        httpx.get(server.url, timeout=120).raise_for_status()
        return processor_s(server.process.pid)


def test_start_to_the_first_page(benchmark: BenchmarkFixture, filled: Path) -> None:
    took = benchmark.pedantic(first_page, args=(filled,), rounds=5)

    print(f"\nstart to first page: {took:.2f} s of processor, load {os.getloadavg()[0]:.1f}")


def test_first_start_of_the_demo(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    numbers = count()

    took = benchmark.pedantic(lambda: first_page(tmp_path / str(next(numbers)), "--demo"), rounds=3)

    print(f"\ndemo's first start to first page: {took:.2f} s of processor, load {os.getloadavg()[0]:.1f}")


def pages_of(client: httpx.Client) -> list[str]:
    """Addresses of every kind of page that links lead to, so many of each kind, and those of the JSON interface whose
    ids are known from them."""
    seen, waiting, kinds = {"/"}, ["/"], defaultdict(list)
    while waiting:
        address = waiting.pop(0)
        kind = IDS.sub("{}", urlsplit(address).path)
        if len(kinds[kind]) >= OF_EACH_KIND or kind.endswith(".pdf"):
            continue
        kinds[kind].append(address)
        answer = client.get(address)
        if not answer.headers.get("content-type", "").startswith("text/html"):
            continue
        for link in LINKS.findall(answer.text):
            found = urljoin(address, unescape(link))
            if found.startswith("/") and not found.endswith("/events") and found not in seen:
                seen.add(found)
                waiting.append(found)
    addresses = [each for several in kinds.values() for each in several]
    ids = {
        kind: found for each in addresses for kind, found in re.findall(r"/(\w+)s/([0-9a-f]{8}-[0-9a-f-]{27})", each)
    }
    described = json.loads(client.get("/api/v1/openapi.json").text)["paths"]
    for path, item in described.items():
        wanted = [name.removesuffix("_id") for name in re.findall(r"{(\w+)}", path)]
        if "get" in item and not path.endswith("/events") and all(name in ids for name in wanted):
            addresses.append(re.sub(r"{(\w+)}", lambda name: ids[name[1].removesuffix("_id")], path))
    return addresses


@pytest.fixture
def copy(filled: Path, tmp_path: Path) -> Path:
    shutil.copytree(filled, tmp_path / "data")
    return tmp_path / "data"


def test_memory_at_rest_and_after_walks(benchmark: BenchmarkFixture, copy: Path) -> None:
    with served(copy) as server:
        httpx.get(server.url, timeout=120).raise_for_status()
        time.sleep(10)
        at_rest = resident_mb(server.process.pid)
        client = httpx.Client(base_url=server.url, timeout=120)
        addresses = pages_of(client)
        after_one = resident_mb(server.process.pid)

        def walk() -> None:
            for address in addresses:
                client.get(address)

        benchmark.pedantic(walk, rounds=WALKS)
        print(
            f"\nmemory: {at_rest:.0f} MB at rest, {after_one:.0f} after finding {len(addresses)} addresses, "
            f"{resident_mb(server.process.pid):.0f} after {WALKS} walks over them, load {os.getloadavg()[0]:.1f}"
        )
        client.close()
