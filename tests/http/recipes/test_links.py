"""Links: what they show, to whom, until when; and that nothing private goes out on them."""

from __future__ import annotations

import datetime as dt
import re

from starlette.testclient import TestClient

from tests.http.recipes.conftest import Shoot, link, published
from webapp.records import recipes as recipe_records
from webapp.records.tables import Link


def records_of(client: TestClient):  # type: ignore[no-untyped-def]
    return client.app.state.services.records  # type: ignore[attr-defined]


def test_a_client_reads_picture_and_look_and_no_figures_unless_wanted(shoot: Shoot) -> None:
    recipe = published(shoot)

    plain = shoot.client.get(link(shoot, recipe, reader="client", words="Expect a soft dial")).text
    with_figures = shoot.client.get(link(shoot, recipe, reader="client", figures="true")).text

    assert "Expect a soft dial" in plain
    assert "f/8" not in plain
    assert "prove black" not in plain
    assert "f/8" in with_figures


def test_without_figures_no_line_of_the_record_that_has_one_goes_to_a_client(shoot: Shoot) -> None:
    """Every digit that a reader sees is one of the agreed words, or of the day on which the address ends."""
    said = {"subject": "dial, 4 cm", "looks": "soft, 1:4 ratio", "why": "f/8 and be there", "background": "grey 18 %"}
    recipe = published(shoot, **said)

    without, with_figures = (
        shoot.client.get(
            link(shoot, recipe, reader="client", days="until withdrawn", words="Two prints", figures=each)
        )
        for each in ("", "true")
    )
    shown = [re.sub(r"<[^>]+>", " ", each.text.partition("<body")[2]) for each in (without, with_figures)]

    assert not re.search(r"\d", shown[0])
    assert all(each in shown[0] for each in ("Enamel dial", "Two prints", "soft"))
    assert all(each in shown[1] for each in ("dial, 4 cm", "f/8", "1:4 ratio"))
    assert not re.search(r"alt=\"[^\"]*\d", without.text)


def test_a_client_reads_what_was_agreed_what_to_keep_and_how_it_is_delivered(shoot: Shoot) -> None:
    shoot.client.post(f"{shoot.shot}/standing", data={"field": "magnification", "value": "0.2"})
    shoot.client.post(f"{shoot.shot}/frames", data={"purpose": "test"})
    newest = re.findall(r'href="(/frames/[^"]+)" aria-label="Frame', shoot.client.get(shoot.shot).text)[0]
    recipe = published(Shoot(shoot.client, shoot.session, shoot.shot, newest))

    page = shoot.client.get(
        link(shoot, recipe, reader="client", figures="true", words="Two prints.\nBy Friday.", keep="The grey card")
    ).text

    assert re.search(r"<h2>Agreed</h2><p[^>]*>Two prints.\nBy Friday.</p>", page)
    assert re.search(r"<h2>To be kept for the next time</h2><p[^>]*>The grey card</p>", page)
    assert re.search(r"<h2>Delivery</h2>.*<dt>field</dt><dd>18 × 12 cm</dd>", page, re.S)
    for technical in ("<h2>Lights</h2>", "<h2>Steps</h2>", "Workings", "On your own kit", "/worksheets"):
        assert technical not in page


def test_a_client_downloads_the_picture_without_its_metadata(shoot: Shoot) -> None:
    address = link(shoot, published(shoot), reader="client")

    assert f'href="{address}/picture.jpg" download' in shoot.client.get(address).text
    answer = shoot.client.get(f"{address}/picture.jpg")

    assert answer.headers["content-disposition"] == 'attachment; filename="picture.jpg"'
    assert answer.headers["cache-control"] == "private, no-store"
    assert answer.content.startswith(b"\xff\xd8")
    assert b"XLEAKX" not in answer.content
    shoot.client.post(f"/links/{address.rsplit('/', 1)[1]}/withdraw")
    assert shoot.client.get(f"{address}/picture.jpg").status_code == 404


def test_a_sheet_tells_kit_as_the_link_on_it_does_unless_it_is_told_otherwise(shoot: Shoot) -> None:
    shoot.client.post(f"{shoot.shot}/frames", data={"purpose": "test"})
    recipe = published(shoot)
    without_code = shoot.client.get(f"{recipe}/sheet").text
    plain = link(shoot, recipe).rsplit("/", 1)[1]
    named = link(shoot, recipe, kit_names="true").rsplit("/", 1)[1]

    def sheet(**asked: str) -> str:
        return shoot.client.get(f"{recipe}/sheet", params=asked).text.partition("<article")[2]

    assert "monolight 400 J" in without_code
    assert "monolight 400 J" not in sheet(link=plain)
    assert "flash head, 400 J" in sheet(link=plain)
    assert "monolight 400 J" in sheet(link=named)
    assert "monolight 400 J" not in sheet(link=named, kit="figures")
    assert "monolight 400 J" in sheet(link=plain, kit="names")
    assert "monolight 400 J" not in sheet(link="none", kit="figures")


def test_another_house_takes_the_recipe_in_only_where_that_is_ticked(shoot: Shoot) -> None:
    recipe = published(shoot)
    unticked, ticked = link(shoot, recipe), link(shoot, recipe, with_bundle="true")
    client = shoot.client.post(f"{recipe}/links", data={"number": "1", "reader": "client", "with_bundle": "true"})

    assert shoot.client.get(f"{unticked}/bundle").status_code == 404
    assert "In your own Stopledger" not in shoot.client.get(unticked).text
    assert shoot.client.get(f"{ticked}/bundle").headers["content-type"] == "application/zip"
    assert "In your own Stopledger" in shoot.client.get(ticked).text
    assert client.status_code == 422
    assert "from a student’s link" in client.text
    shoot.client.post(f"/links/{ticked.rsplit('/', 1)[1]}/withdraw")
    assert shoot.client.get(f"{ticked}/bundle").status_code == 404


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


def test_every_kind_of_link_is_seen_before_it_is_handed_out(shoot: Shoot) -> None:
    shoot.client.post(f"{shoot.shot}/frames", data={"purpose": "test"})
    seen = f"{published(shoot)}/versions/1/as"

    plain, named = (shoot.client.get(f"{seen}/student{each}").text for each in ("", "?kit_names=true"))
    client, with_figures = (shoot.client.get(f"{seen}/client{each}").text for each in ("", "?figures=true"))

    assert "flash head, 400 J" in plain
    assert "monolight 400 J" not in plain
    assert "monolight 400 J" in named
    assert "f/8" not in client
    assert "f/8" in with_figures
    assert shoot.client.get(f"{seen}/stranger").status_code == 422


def test_a_link_lets_the_names_of_kit_out_where_that_is_ticked(shoot: Shoot) -> None:
    recipe = published(shoot)

    assert "monolight 400 J" not in shoot.client.get(link(shoot, recipe)).text
    assert "monolight 400 J" in shoot.client.get(link(shoot, recipe, kit_names="true")).text
    assert "kit names as written" in shoot.client.get(recipe).text


def test_a_reader_is_told_until_when_in_words(shoot: Shoot) -> None:
    recipe = published(shoot)
    ends = dt.datetime.now(dt.UTC) + dt.timedelta(days=6)

    told = shoot.client.get(link(shoot, recipe, days="6")).text
    usual = shoot.client.get(link(shoot, recipe)).text
    without_end = shoot.client.get(link(shoot, recipe, days="until withdrawn")).text

    assert re.search(rf"This page can be read until {ends.day} {ends:%B %Y}, \d\d:\d\d UTC: 5 more days", told)
    assert "29 more days" in usual
    assert "This page can be read until it is withdrawn." in without_end
    assert '<option value="30" selected>30 days</option>' in shoot.client.get(recipe).text


def test_whoever_makes_a_link_is_told_from_where_it_can_be_opened(shoot: Shoot) -> None:
    assert "Only this computer can open links" in shoot.client.get(published(shoot)).text


def test_a_shared_page_carries_no_script_and_stays_below_100_kilobytes(shoot: Shoot) -> None:
    said = {"why": "soft from above, " * 300}
    said |= {f"step-{n}-words": f"Step {n}: {'the rim light comes from behind ' * 8}" for n in range(60)}
    for number in range(40):
        said |= {f"post-{number}-kind": "rotation", f"post-{number}-rotation_deg": "0.8"}

    page = shoot.client.get(link(shoot, published(shoot, **said)))

    assert "Step 59" in page.text
    assert "<script" not in page.text
    assert len(page.content) < 100_000


def test_a_patch_goes_by_its_name_where_the_reader_is_told_that_word_anyhow(shoot: Shoot) -> None:
    for name in ("label", "Aunt Ida"):
        place = {"name": name, "x": "20", "y": "20", "width": "30", "height": "30"}
        assert shoot.client.post(f"{shoot.frame}/patches", data=place).status_code == 303
    recipe = published(shoot, subject="bottle, paper label")

    page = shoot.client.get(link(shoot, recipe, reader="student")).text

    assert "paper label" in page
    assert re.search(r"<text[^>]*>label</text>", page)
    assert "patch 2" in page
    assert "patch 1" not in page
    assert "Aunt Ida" not in page
