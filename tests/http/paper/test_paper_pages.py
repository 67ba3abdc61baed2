"""The printed pages over HTTP, and the ways to them."""

from __future__ import annotations

import io
import re
import time

import pytest
from PIL import Image
from starlette.testclient import TestClient

from tests.http.pages.walk import begin, log, set_field
from webapp.web.paper import contact_sheet


def first_frame(client: TestClient, shot: str) -> str:
    return str(re.findall(r'href="(/frames/[^"]+)" aria-label="Frame', client.get(shot).text)[-1])


def publish(client: TestClient, shot: str, **said: str) -> str:
    form = {
        "title": "Enamel dial",
        "why": "soft from above",
        "step-90-words": "prove black",
        "step-91-words": "key first",
    }
    answer = client.post(f"{first_frame(client, shot)}/recipe", data=form | said)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def hand_out(client: TestClient, recipe: str, reader: str = "student") -> str:
    """Hand out a link; the answer is its token."""
    before = set(re.findall(r"shared/([\w-]{43})", client.get(recipe).text))
    client.post(f"{recipe}/links", data={"number": "1", "reader": reader})
    return str((set(re.findall(r"shared/([\w-]{43})", client.get(recipe).text)) - before).pop())


@pytest.fixture
def shot(client: TestClient) -> str:
    made = begin(client)
    log(client, made)
    return made


def test_a_sheet_has_settings_lights_steps_and_cautions(client: TestClient, shot: str) -> None:
    page = client.get(f"{publish(client, shot)}/sheet").text

    assert "<h1>Enamel dial</h1>" in page
    assert "Version 1" in page
    assert "<li>key first</li>" in page
    assert "Flash units hold dangerous charge" in page


def test_a_version_keeps_its_sheet(client: TestClient, shot: str) -> None:
    recipe = publish(client, shot)
    client.post(f"{recipe}/rewrite", data={"title": "Dial, again"})

    assert "<h1>Enamel dial</h1>" in client.get(f"{recipe}/versions/1/sheet").text
    assert "<h1>Dial, again</h1>" in client.get(f"{recipe}/sheet").text


def test_the_code_is_that_of_a_students_link_unless_another_is_chosen(client: TestClient, shot: str) -> None:
    recipe = publish(client, shot)
    assert "paper-code" not in client.get(f"{recipe}/sheet").text
    for_client = hand_out(client, recipe, "client")
    assert "paper-code" not in client.get(f"{recipe}/sheet").text
    for_student = hand_out(client, recipe)

    assert f"shared/{for_student}</p>" in client.get(f"{recipe}/sheet").text
    assert f"shared/{for_client}</p>" in client.get(f"{recipe}/sheet?link={for_client}").text
    assert "paper-code" not in client.get(f"{recipe}/sheet?link=none").text


def test_a_withdrawn_link_is_not_printed(client: TestClient, shot: str) -> None:
    recipe = publish(client, shot)
    token = hand_out(client, recipe)
    client.post(f"/links/{token}/withdraw")

    assert token not in client.get(f"{recipe}/sheet").text
    assert client.get(f"{recipe}/sheet?link={token}").status_code == 422


def test_a_code_of_another_version_is_refused(client: TestClient, shot: str) -> None:
    recipe = publish(client, shot)
    token = hand_out(client, recipe)
    client.post(f"{recipe}/rewrite", data={"title": "Dial, again"})

    assert client.get(f"{recipe}/versions/2/sheet?link={token}").status_code == 422


@pytest.mark.parametrize("wrong", ["paper=a3", "paper="])
def test_a_paper_that_is_none_is_refused(client: TestClient, shot: str, wrong: str) -> None:
    assert client.get(f"{publish(client, shot)}/sheet?{wrong}").status_code == 422


def test_a_contact_sheet_shows_every_frame_in_order(client: TestClient, shot: str) -> None:
    set_field(client, shot, "f_number", "16")
    log(client, shot)

    page = client.get(f"{shot}/contact-sheet").text

    assert [int(each) for each in re.findall(r"<h2>(\d+) ", page)] == [1, 2]
    assert "f/16" in page
    assert "reference" in page


def test_a_contact_sheet_shows_those_that_were_chosen(client: TestClient, shot: str) -> None:
    kept, hero = log(client, shot), log(client, shot)
    client.post(f"{kept}/verdict", data={"verdict": "stands"})
    client.post(f"{hero}/verdict", data={"verdict": "hero"})

    def numbers(asked: str) -> list[str]:
        return re.findall(r"<h2>(\d+) ", client.get(f"{shot}/contact-sheet?{asked}").text)

    assert numbers("which=all") == ["1", "2", "3"]
    assert numbers("which=kept") == ["2", "3"]
    assert numbers("which=hero") == ["3"]


def test_a_client_gets_numbers_and_pictures_and_none_that_was_rejected(client: TestClient, shot: str) -> None:
    frame = log(client, shot)
    client.post(f"{frame}/note", data={"because": "too hot at the rim"})
    client.post(f"{log(client, shot)}/verdict", data={"verdict": "fails"})

    page = client.get(f"{shot}/contact-sheet?reader=client").text

    sheet = page.split('id="sheet"')[1]
    assert re.findall(r"<h2>(\d+) ", sheet) == ["1", "2"]
    assert "too hot" not in sheet
    assert "f/8" not in sheet
    assert "balance" not in sheet


def test_a_series_is_one_entry(client: TestClient, shot: str) -> None:
    for _ in range(3):
        client.post(f"{shot}/frames", data={"purpose": "stack"})

    page = client.get(f"{shot}/contact-sheet").text

    assert re.findall(r"<h2>([\d–]+) ", page) == ["1", "2–4"]
    assert "stack of 3" in page


def test_a_long_shot_goes_on_on_the_next_sheet(
    client: TestClient, shot: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(contact_sheet, "MOST_FRAMES", 2)
    for _ in range(3):
        log(client, shot)

    page = client.get(f"{shot}/contact-sheet").text
    following = client.get(f"{shot}/contact-sheet?from_frame=3").text

    assert "The next sheet goes on from frame 3." in page
    assert [int(each) for each in re.findall(r"<h2>(\d+) ", following)] == [3, 4]
    assert "goes on" not in following


def test_a_shot_without_frames_says_so(client: TestClient) -> None:
    assert "No frame yet." in client.get(f"{begin(client)}/contact-sheet").text


def test_pictures_on_it_are_small(client: TestClient, shot: str) -> None:
    out = io.BytesIO()
    Image.effect_noise((1200, 800), 60).save(out, "JPEG")
    client.post(
        f"{shot}/frames", data={"purpose": "test"}, files={"picture": ("a.jpg", out.getvalue(), "image/jpeg")}
    )
    found: list[str] = []
    deadline = time.monotonic() + 60
    while not found and time.monotonic() < deadline:
        found = re.findall(r'src="(/pictures/\w+/small)"', client.get(f"{shot}/contact-sheet").text)

    small = Image.open(io.BytesIO(client.get(found[0]).content))

    assert max(small.size) == 480


def test_the_ways_to_the_files_stand_on_the_pages(client: TestClient, shot: str) -> None:
    shot_id = shot.rsplit("/", 1)[1]
    session = re.findall(r'href="(/sessions/[^"]+)"', client.get(shot).text)[0]
    recipe = publish(client, shot)

    for page, way in (
        (shot, f"{shot}/contact-sheet"),
        (shot, f"/api/v1/shots/{shot_id}/ledger.csv"),
        (shot, f"/api/v1/shots/{shot_id}/sidecars.zip"),
        (session, f"/api/v1{session}/ledger.csv"),
        (recipe, f"{recipe}/versions/1/sheet"),
    ):
        assert f'href="{way}"' in client.get(page).text
        assert client.get(way).status_code == 200


def test_without_the_extra_the_page_says_how_to_have_a_pdf(
    client: TestClient, shot: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("webapp.exports.pdf.is_there", lambda: False)

    page = client.get(f"{shot}/contact-sheet").text

    assert "For a PDF print into a file, or install the extra" in page
    assert "contact-sheet.pdf" not in page


def test_a_sheet_is_in_the_readers_units(client: TestClient, shot: str) -> None:
    for field, value in (("magnification", "0.2"), ("subject_distance", "60 cm"), ("lights.A.distance", "90 cm")):
        set_field(client, shot, field, value)
    log(client, shot)
    frame = re.findall(r'href="(/frames/[^"]+)" aria-label="Frame', client.get(shot).text)[0]
    recipe = client.post(f"{frame}/recipe", data={"title": "Enamel dial"}).headers["location"]

    def sheet() -> str:
        page = client.get(f"{recipe}/sheet?step=0").text
        return page[page.index('<article class="paper') : page.index("</article>")]

    in_cm = sheet()
    client.post("/lengths", data={"unit": "in"})
    in_inches = sheet()

    assert "90 cm from the subject" in in_cm
    assert "35.4 in from the subject" in in_inches
    assert re.findall(r"\d cm\b", in_inches) == []
