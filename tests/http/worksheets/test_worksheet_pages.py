"""The pages: filled in from the start, answering as one types, and without scripts."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from html.parser import HTMLParser

import pytest
from starlette.testclient import TestClient

from webapp.quantities.lengths import CENTIMETRES
from webapp.web.words.worksheet_figures import figure
from webapp.worksheets import WORKSHEETS

HTMX = {"HX-Request": "true"}
SVG = "{http://www.w3.org/2000/svg}"


class _Reader(HTMLParser):
    """The names of a form's fields, every attribute that a strict policy forbids, and what a label belongs to."""

    def __init__(self) -> None:
        super().__init__()
        self.names: list[str] = []
        self.forbidden: list[str] = []
        self.ids: list[str] = []
        self.labels: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        self.forbidden += [name for name in said if name == "style" or name.startswith("on")]
        self.forbidden += [tag] if tag == "style" or (tag == "script" and "src" not in said) else []
        self.ids += [str(said["id"])] if "id" in said else []
        self.labels += [str(said["for"])] if "for" in said else []
        if tag in ("input", "select"):
            self.names.append(str(said.get("name")))


def _read(text: str) -> _Reader:
    reader = _Reader()
    reader.feed(text)
    return reader


@pytest.mark.parametrize("name", WORKSHEETS)
def test_a_page_is_filled_in_and_shows_the_figures_of_the_interface(client: TestClient, name: str) -> None:
    sheet = WORKSHEETS[name]

    page = client.get(f"/worksheets/{name}")
    results = client.get(f"/api/v1/worksheets/{name}", params=sheet.examples()).json()["results"]

    assert page.status_code == 200
    for given in sheet.gives:
        value = results.get(given.name)
        if isinstance(value, (int, float)):
            assert f">{figure(given.name, value, CENTIMETRES, loss=given.loss)[0]}" in page.text, given.name


@pytest.mark.parametrize("name", WORKSHEETS)
def test_the_partial_is_the_element_of_the_page(client: TestClient, name: str) -> None:
    query = WORKSHEETS[name].examples()

    page = client.get(f"/worksheets/{name}", params=query)
    partial = client.get(f"/worksheets/{name}", params=query, headers=HTMX)

    element = partial.text[: partial.text.index('<p class="problem"')].strip()
    assert element.startswith('<div id="worksheet-result">')
    assert element in page.text
    assert partial.headers["Vary"] == "HX-Request, Accept-Encoding"


@pytest.mark.parametrize("name", WORKSHEETS)
def test_a_page_works_without_scripts_and_under_the_strict_policy(client: TestClient, name: str) -> None:
    page = client.get(f"/worksheets/{name}")

    reader = _read(page.text)
    assert f'<form method="get" action="/worksheets/{name}"' in page.text
    assert {each.name for each in WORKSHEETS[name].parameters} <= set(reader.names)
    assert not reader.forbidden
    assert len(reader.ids) == len(set(reader.ids))
    assert set(reader.labels) <= set(reader.ids)
    assert "style-src 'self'" in page.headers["Content-Security-Policy"]


def test_what_was_typed_is_kept_and_the_problem_stands_beside_it(client: TestClient) -> None:
    page = client.get("/worksheets/close-up", params={"f_number": "f/8", "magnification": "<large>"})

    assert page.status_code == 422
    assert 'value="f/8"' in page.text
    assert 'value="&lt;large&gt;"' in page.text
    beside = re.search(r'id="problem-magnification"[^>]*>([^<]+)<', page.text)
    assert beside is not None
    assert "is no magnification" in beside.group(1)


def test_while_typing_problems_come_and_go_beside_their_fields(client: TestClient) -> None:
    wrong = client.get("/worksheets/close-up", params={"f_number": "8", "magnification": "-1"}, headers=HTMX)
    right = client.get("/worksheets/close-up", params={"f_number": "8", "magnification": "1"}, headers=HTMX)

    assert wrong.status_code == 422
    assert re.search(r'id="problem-magnification" hx-swap-oob="true"[^>]*>The magnification must', wrong.text)
    assert re.search(r'id="problem-magnification" hx-swap-oob="true"[^>]*></p>', right.text)
    assert "No figures" in wrong.text


def test_an_unknown_parameter_is_told_on_the_page(client: TestClient) -> None:
    page = client.get("/worksheets/close-up", params={"f_number": 8, "magnification": 1, "zoom": 2})

    assert page.status_code == 422
    assert "“zoom” is no parameter" in page.text


def test_infinity_is_told_in_words(client: TestClient) -> None:
    query = {
        "focal_length_mm": 50,
        "f_number": 8,
        "circle_of_confusion_mm": 0.03,
        "subject_distance_mm": 20_000,
    }

    assert client.get("/worksheets/depth-of-field", params=query).text.count("to infinity") >= 2


def test_stops_are_signed_with_a_true_minus(client: TestClient) -> None:
    assert ">−4.00" in client.get("/worksheets/exposure-difference").text


def test_a_format_is_compared_at_the_same_f_number_too(client: TestClient) -> None:
    assert "change of total light at the same mark" in client.get("/worksheets/format-equivalence").text


def test_the_index_leads_to_every_worksheet(client: TestClient) -> None:
    index = client.get("/worksheets").text

    assert all(f'href="/worksheets/{name}"' in index for name in WORKSHEETS)


@pytest.mark.parametrize(
    "name",
    ["depth-of-field", "sharpest-aperture", "source-illuminance", "shadow", "mixed-light", "focus-stack",
     "lighting-ratio", "flash-duration", "exposure-difference", "ambient-share", "close-up", "format-equivalence"],
)  # fmt: skip
def test_a_drawing_is_told_to_those_who_do_not_see_it(client: TestClient, name: str) -> None:
    page = client.get(f"/worksheets/{name}").text

    drawings = [
        ET.fromstring(text.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"', 1))
        for text in re.findall(r"<svg.*?</svg>", page, re.DOTALL)
    ]
    assert drawings
    for drawing in drawings:
        title, description = drawing.find(f"{SVG}title"), drawing.find(f"{SVG}desc")
        assert title is not None
        assert description is not None
        assert title.text
        assert len(description.text or "") > 20
        width, height = map(float, drawing.attrib["viewBox"].split()[2:])
        for circle in drawing.iter(f"{SVG}circle"):
            assert 0 <= float(circle.attrib["cx"]) <= width
            assert 0 <= float(circle.attrib["cy"]) <= height


def test_the_light_of_a_source_is_drawn_over_distance_and_over_the_subject(client: TestClient) -> None:
    page = client.get("/worksheets/source-illuminance").text

    assert "Light against distance, beside inverse square" in page
    assert "Evenness over the subject" in page
