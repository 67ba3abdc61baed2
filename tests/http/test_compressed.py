"""What goes over the wire: texts compressed; pictures and camera files as they are; news at once."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.http.pages.walk import begin, log
from tests.http.recipes.conftest import Shoot
from tests.http.recipes.conftest import shoot as shoot
from tests.http.running import Listener, running

ZIPPED = {"Accept-Encoding": "gzip"}
PLAIN = {"Accept-Encoding": "identity"}


@pytest.mark.parametrize(
    "address", ["/", "/kit", "/api/v1/openapi.json", "/static/stopledger.css", "/static/desk.js"]
)
def test_a_text_is_compressed_for_those_who_can_read_that(client: TestClient, address: str) -> None:
    zipped, plain = client.get(address, headers=ZIPPED), client.get(address, headers=PLAIN)

    assert zipped.headers["content-encoding"] == "gzip"
    assert "content-encoding" not in plain.headers
    assert int(zipped.headers["content-length"]) < int(plain.headers["content-length"]) / 2
    assert all("Accept-Encoding" in answer.headers["vary"] for answer in (zipped, plain))
    assert zipped.headers["content-type"] == plain.headers["content-type"]


def test_a_few_words_are_not(client: TestClient) -> None:
    answer = client.get("/", headers=ZIPPED | {"Host": "rebound.example"})

    assert answer.status_code == 403
    assert "content-encoding" not in answer.headers


def _digest(shoot: Shoot) -> str:
    return shoot.client.get(shoot.frame).text.split("/pictures/")[1].split("/")[0]


@pytest.mark.parametrize("part", ["preview", "original", "small"])
def test_a_picture_goes_as_it_is(shoot: Shoot, part: str) -> None:
    digest = _digest(shoot)

    answer = shoot.client.get(f"/pictures/{digest}/{part}", headers=ZIPPED)

    assert answer.status_code == 200
    assert "content-encoding" not in answer.headers
    if part == "original":
        assert hashlib.sha256(answer.content).hexdigest() == digest


def test_a_part_of_a_picture_goes_as_it_is(shoot: Shoot) -> None:
    address = f"/pictures/{_digest(shoot)}/original"
    whole = shoot.client.get(address).content

    answer = shoot.client.get(address, headers=ZIPPED | {"Range": "bytes=1000-3999"})

    assert answer.status_code == 206
    assert answer.content == whole[1000:4000]


def test_a_ledger_comes_the_same_either_way(client: TestClient) -> None:
    shot = begin(client)
    for _ in range(3):
        log(client, shot)

    address = f"/api/v1{shot}/ledger.csv"
    zipped, plain = client.get(address, headers=ZIPPED), client.get(address, headers=PLAIN)

    assert zipped.headers["content-encoding"] == "gzip"
    assert zipped.text == plain.text


def test_news_is_not_compressed_and_comes_as_it_happens(tmp_path: Path) -> None:
    with running(tmp_path / "data") as (client, _):
        session = client.post("/sessions", data={"name": "bench day"}).headers["location"]
        shot = client.post(f"{session}/shots", data={"title": "enamel dial"}).headers["location"]
        listener = Listener(client, f"{session}/news?page=another", ZIPPED)

        listener.wait_for("listening")
        client.post(f"{shot}/standing", data={"field": "f_number", "value": "5.6"})

        assert "5.6" in listener.wait_for("5.6")
        assert "content-encoding" not in listener.headers
        assert listener.headers["content-type"].startswith("text/event-stream")
