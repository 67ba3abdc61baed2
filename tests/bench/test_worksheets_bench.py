"""A worksheet over HTTP beside an empty endpoint of the same program, in the same run, over one open connection.

Aim: at most twice the time of the empty endpoint. Timings are printed, never asserted. Run with:
pytest tests/bench --benchmark-enable
"""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
import uvicorn
from pytest_benchmark.fixture import BenchmarkFixture

from webapp.app import create_app
from webapp.settings import Settings

ROUNDS = {"rounds": 300, "warmup_rounds": 30}
QUESTIONS = {
    "close-up": {"f_number": "f/11", "magnification": "1"},
    "depth-of-field": {
        "focal_length_mm": "50",
        "f_number": "8",
        "circle_of_confusion_mm": "0.03",
        "subject_distance_mm": "3000",
    },
    "source-illuminance": {
        "shape": "disc",
        "diameter_mm": "600",
        "distance_mm": "1200",
        "to_distance_mm": "600",
    },
    "mixed-light": {"levels_stops": "10;9;8"},
    "colour-mix": {"kelvin": "3200;5600", "shares": "1;1"},
}


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx.Client]:
    """The program on a port of this machine, with an endpoint that answers nothing."""
    data: Path = tmp_path_factory.mktemp("bench") / "data"
    app = create_app(Settings(data=data))

    @app.get("/api/v1/nothing")
    async def nothing() -> dict[str, str]:
        return {}

    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        port = listening.getsockname()[1]
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=2))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        while not server.started:
            time.sleep(0.01)
        with httpx.Client(base_url=f"http://127.0.0.1:{port}") as client:
            yield client
        server.should_exit = True
        thread.join()


def test_an_empty_endpoint(benchmark: BenchmarkFixture, client: httpx.Client) -> None:
    answer = benchmark.pedantic(client.get, args=("/api/v1/nothing",), **ROUNDS)

    assert answer.status_code == 200


@pytest.mark.parametrize("name", QUESTIONS)
def test_a_worksheet(benchmark: BenchmarkFixture, client: httpx.Client, name: str) -> None:
    ask = {"params": QUESTIONS[name]}

    answer = benchmark.pedantic(client.get, args=(f"/api/v1/worksheets/{name}",), kwargs=ask, **ROUNDS)

    assert answer.json()["working"]
