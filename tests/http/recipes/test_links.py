"""Links: what they show, to whom, until when; and that nothing private goes out on them."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from starlette.testclient import TestClient

from tests.http.recipes.conftest import MARK, Shoot, link, published
from webapp.records import recipes as recipe_records
from webapp.records.tables import Link


def records_of(client: TestClient):  # type: ignore[no-untyped-def]
    return client.app.state.house.records  # type: ignore[attr-defined]


@pytest.mark.parametrize("reader", ["student", "client"])
def test_no_private_marker_is_in_any_byte_of_a_link(shoot: Shoot, reader: str) -> None:
    address = link(shoot, published(shoot), reader=reader, figures="true")

    page = shoot.client.get(address)
    served = [page] + [shoot.client.get(each) for each in set(re.findall(r'(?:src|href)="(/[^"]+)"', page.text))]

    assert any(each.headers["content-type"] == "image/jpeg" for each in served)
    assert all(each.status_code == 200 for each in served)
    for each in served:
        assert MARK.encode() not in each.content
        assert MARK not in str(each.headers)


def test_the_markers_are_there_to_be_found(shoot: Shoot) -> None:
    original = re.findall(r"/pictures/\w+", shoot.client.get(shoot.frame).text)[0]

    assert MARK.encode() in shoot.client.get(f"{original}/original").content
    assert MARK in shoot.client.get(shoot.session).text


def test_a_client_reads_picture_and_look_and_no_figures_unless_wanted(shoot: Shoot) -> None:
    recipe = published(shoot)

    plain = shoot.client.get(link(shoot, recipe, reader="client", words="Expect a soft dial")).text
    with_figures = shoot.client.get(link(shoot, recipe, reader="client", figures="true")).text

    assert "Expect a soft dial" in plain
    assert "f/8" not in plain
    assert "prove black" not in plain
    assert "f/8" in with_figures


def test_expired_withdrawn_and_guessed_links_look_the_same(shoot: Shoot) -> None:
    recipe = published(shoot)
    expired, withdrawn = link(shoot, recipe, days="1"), link(shoot, recipe)
    with records_of(shoot.client).writing() as db:
        row = db.get(Link, expired.rsplit("/", 1)[1])
        row.expires_at = dt.datetime.now(dt.UTC) - dt.timedelta(seconds=1)
        db.add(row)
    assert shoot.client.get(withdrawn).status_code == 200
    shoot.client.post(f"/links/{withdrawn.rsplit('/', 1)[1]}/withdraw")

    answers = [shoot.client.get(each) for each in (expired, withdrawn, "/shared/" + "A" * 43)]

    assert [each.status_code for each in answers] == [404, 404, 404]
    bodies = {
        re.sub(r'"[^"]*(shared/|page|X-Page)[^"]*"|[0-9a-f-]{36}|/shared/[\w-]+', "", each.text) for each in answers
    }
    assert len(bodies) == 1
    assert shoot.client.get(f"{withdrawn}/pictures/0").status_code == 404


def test_an_address_shows_its_version_and_not_the_next(shoot: Shoot) -> None:
    recipe = published(shoot)
    address = link(shoot, recipe)

    shoot.client.post(f"{recipe}/rewrite", data={"title": "Dial, again"})

    assert "<h1>Enamel dial</h1>" in shoot.client.get(address).text


def test_views_are_counted_and_addresses_are_long(shoot: Shoot) -> None:
    recipe = published(shoot)
    address = link(shoot, recipe)
    for _ in range(3):
        shoot.client.get(address)

    with records_of(shoot.client).reading() as db:
        assert recipe_records.link_with(db, address.rsplit("/", 1)[1]).views == 3
    assert len(address.rsplit("/", 1)[1]) >= 43


def test_the_code_is_a_picture_and_the_preview_hands_out_nothing(shoot: Shoot) -> None:
    recipe = published(shoot)
    address = link(shoot, recipe)

    code = shoot.client.get(f"/links/{address.rsplit('/', 1)[1]}/code.svg")
    preview = shoot.client.get(f"{recipe}/versions/1/as/client")

    assert code.headers["content-type"] == "image/svg+xml"
    assert "As a client sees it" in preview.text
    assert "f/8" not in preview.text


def test_a_shared_page_carries_no_script_and_is_small(shoot: Shoot) -> None:
    page = shoot.client.get(link(shoot, published(shoot)))

    assert "<script" not in page.text
    assert len(page.content) < 100_000
