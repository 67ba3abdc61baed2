"""Files over the interface: sheets, ledgers and sidecars, of their media types and under their names."""

from __future__ import annotations

import csv
import io
import xml.etree.ElementTree as ET
import zipfile
from typing import Any

import pytest
from PIL import Image

from tests.http.api.conftest import Desk
from tests.pdfs import needs_pdf, page_count, page_size_mm


def jpeg() -> bytes:
    out = io.BytesIO()
    Image.effect_noise((120, 80), 40).save(out, "JPEG")
    return out.getvalue()


def log_with_picture(desk: Desk, name: str = "BN_0001.jpg") -> str:
    answer = desk.client.post(f"/api/v1/shots/{desk.shot_id}/frames", files={"picture": (name, jpeg(), "image/jpeg")})
    assert answer.status_code == 201, answer.text
    return str(answer.json()["id"])


def recipe(desk: Desk) -> str:
    """Publish a frame; the answer is the recipe's id."""
    frame = desk.log()["id"]
    form = {
        "title": "Enamel dial",
        "why": "soft from above",
        "step-90-words": "prove black",
        "step-91-words": "key first",
    }
    answer = desk.client.post(f"/frames/{frame}/recipe", data=form)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"].rsplit("/", 1)[1])


def hand_out(desk: Desk, recipe_id: str) -> str:
    """Hand out a link to the first version; the answer is its token."""
    desk.client.post(f"/recipes/{recipe_id}/links", data={"number": "1", "reader": "student"})
    page = desk.client.get(f"/recipes/{recipe_id}/sheet").text
    return page.split("shared/", 1)[1].split("<", 1)[0]


def get(desk: Desk, path: str, status: int = 200) -> Any:
    answer = desk.client.get(f"/api/v1{path}")
    assert answer.status_code == status, answer.text
    return answer


@needs_pdf
@pytest.mark.parametrize(("paper", "size"), [("a4", (210.0, 297.0)), ("letter", (215.9, 279.4))])
def test_a_set_up_sheet_is_one_page_of_the_paper_asked_for(desk: Desk, paper: str, size: tuple[float, float]) -> None:
    answer = get(desk, f"/recipes/{recipe(desk)}/sheet.pdf?paper={paper}")

    assert answer.headers["content-type"] == "application/pdf"
    assert page_count(answer.content) == 1
    assert page_size_mm(answer.content) == pytest.approx(size, abs=0.1)


@needs_pdf
def test_a_version_has_its_own_sheet(desk: Desk) -> None:
    made = recipe(desk)
    desk.client.post(f"/recipes/{made}/rewrite", data={"title": "Dial, again"})

    assert (
        'filename="set-up-sheet-1.pdf"'
        in get(desk, f"/recipes/{made}/versions/1/sheet.pdf").headers["content-disposition"]
    )
    assert 'filename="set-up-sheet-2.pdf"' in get(desk, f"/recipes/{made}/sheet.pdf").headers["content-disposition"]
    get(desk, f"/recipes/{made}/versions/3/sheet.pdf", 404)


def test_a_link_that_does_not_stand_is_refused(desk: Desk) -> None:
    made = recipe(desk)
    token = hand_out(desk, made)
    desk.client.post(f"/links/{token}/withdraw")

    answer = get(desk, f"/recipes/{made}/sheet.pdf?link={token}", 422)

    assert answer.json()["detail"][0]["msg"].startswith("There is no such link")


def test_without_the_extra_it_says_what_to_do(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    made = recipe(desk)
    # None in the place of a module makes its import fail as if it were not there.
    monkeypatch.setitem(__import__("sys").modules, "weasyprint", None)

    told = get(desk, f"/recipes/{made}/sheet.pdf", 404).json()["detail"][0]["msg"]

    assert told == (
        "This server makes no PDF: print the sheet from the browser (to a printer or into a file), or install the extra "
        "with pip install 'stopledger[pdf]' and, on Debian, libpango-1.0-0, libpangoft2-1.0-0 and libharfbuzz-subset0."
    )


@needs_pdf
def test_a_contact_sheet_begins_where_it_is_asked_to(desk: Desk) -> None:
    for _ in range(3):
        desk.log()

    answer = get(desk, f"/shots/{desk.shot_id}/contact-sheet.pdf?from_frame=2&paper=letter")

    assert answer.headers["content-type"] == "application/pdf"
    assert page_count(answer.content) == 1


def test_a_ledger_is_text_with_a_head(desk: Desk) -> None:
    desk.log(because="=1+1")

    for path in (f"/shots/{desk.shot_id}/ledger.csv", f"/sessions/{desk.session_id}/ledger.csv"):
        answer = get(desk, path)
        rows = list(csv.DictReader(io.StringIO(answer.text, newline="")))
        assert answer.headers["content-type"] == "text/csv; charset=utf-8"
        assert "filename*=UTF-8''ledger.csv" in answer.headers["content-disposition"]
        assert rows[0]["because"] == "'=1+1"


def test_a_sidecar_goes_under_the_name_of_its_picture(desk: Desk) -> None:
    answer = get(desk, f"/frames/{log_with_picture(desk, 'Grüße 1.jpg')}/sidecar.xmp")

    assert answer.headers["content-type"] == "application/rdf+xml"
    assert "filename*=UTF-8''Gr%C3%BC%C3%9Fe%201.xmp" in answer.headers["content-disposition"]
    assert ET.fromstring(answer.content.decode()) is not None


def test_the_sidecars_of_a_shot_are_a_zip(desk: Desk) -> None:
    log_with_picture(desk)

    answer = get(desk, f"/shots/{desk.shot_id}/sidecars.zip")

    assert answer.headers["content-type"] == "application/zip"
    assert zipfile.ZipFile(io.BytesIO(answer.content)).namelist() == ["BN_0001.xmp"]


@pytest.mark.parametrize(
    "path",
    [
        *("/recipes/none/sheet.pdf", "/shots/none/contact-sheet.pdf", "/shots/none/ledger.csv"),
        *("/sessions/none/ledger.csv", "/frames/none/sidecar.xmp", "/shots/none/sidecars.zip"),
    ],
)
def test_what_is_not_there_is_not_found(desk: Desk, path: str) -> None:
    assert get(desk, path, 404).json()["detail"][0]["msg"]


def test_a_frame_without_a_picture_says_that_it_has_none(desk: Desk) -> None:
    frame = desk.log()["id"]

    assert "no picture file" in get(desk, f"/frames/{frame}/sidecar.xmp", 404).text
