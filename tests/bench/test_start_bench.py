"""From the start of the process to the first page, over records that are there and as the demo's first start.

Aims: 2 s and 5 s. Printed, never asserted. Run with: pytest tests/bench/test_start_bench.py --benchmark-enable -s
"""

from __future__ import annotations

import os
from itertools import count
from pathlib import Path

import httpx
from pytest_benchmark.fixture import BenchmarkFixture

from tests.faults.served import served


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
