"""A recipe handed over as one file: what is in it, for whom, and that it asks for nothing else."""

from __future__ import annotations

import base64
import hashlib
import html
import re

from tests.http.recipes.conftest import Shoot, link, published

DATA = re.compile(r"data:([\w/]+);base64,([A-Za-z0-9+/=]+)")


def file_of(shoot: Shoot, recipe: str, query: str = "reader=student") -> str:
    answer = shoot.client.get(f"{recipe}/versions/1/file?{query}")
    assert answer.status_code == 200, answer.text
    return answer.text


def test_the_file_is_a_download_with_the_title_as_its_name(shoot: Shoot) -> None:
    answer = shoot.client.get(f"{published(shoot)}/versions/1/file?reader=student")

    assert answer.headers["content-disposition"] == 'attachment; filename="enamel-dial.html"'
    assert answer.headers["content-type"].startswith("text/html")


def test_the_file_names_no_address_and_has_no_script(shoot: Shoot) -> None:
    page = DATA.sub("", file_of(shoot, published(shoot)))

    assert not re.search(r"(?:src|href|action|srcset)=\"(?!\"|#)", page)
    assert not re.search(r"<script|javascript:|@import|url\((?!\"\"\))|\son\w+=", page)
    # Names of XML vocabularies are no addresses that anything is fetched from.
    assert set(re.findall(r"https?://[\w./]+", page)) <= {
        "http://www.w3.org/1998/Math/MathML",
        "http://www.w3.org/2000/svg",
    }


def test_its_own_policy_lets_in_its_own_style_and_pictures_and_nothing_else(shoot: Shoot) -> None:
    page = file_of(shoot, published(shoot))
    style = re.findall(r"<style>(.*?)</style>", page, re.S)[0]
    policy = html.unescape(re.findall(r'http-equiv="Content-Security-Policy" content="([^"]+)"', page)[0])

    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    assert policy.split("; ") == [
        "default-src 'none'",
        f"style-src 'sha256-{digest}'",
        "img-src data:",
        "font-src data:",
        "base-uri 'none'",
        "form-action 'none'",
    ]


def test_a_student_gets_what_a_link_shows_and_the_sheet(shoot: Shoot) -> None:
    recipe = published(shoot)
    linked, page = shoot.client.get(link(shoot, recipe)).text, file_of(shoot, recipe)
    shown = re.findall(r"<(?:dd|li|h2|td)[^>]*>([^<]+)<", linked.partition("On your own kit")[0])

    assert len(shown) > 8
    assert [each for each in shown if each not in page] == []
    assert '<article class="paper on-a4' in page
    assert "on-letter" in file_of(shoot, recipe, "reader=student&paper=letter").partition("</style>")[2]


def test_a_client_gets_no_figures_and_no_sheet_unless_figures_are_wanted(shoot: Shoot) -> None:
    recipe = published(shoot)

    plain, with_figures = (
        file_of(shoot, recipe, f"reader=client&words=Expect+a+soft+dial{each}").partition("</style>")[2]
        for each in ("", "&figures=true")
    )

    assert "Expect a soft dial" in plain
    assert "f/8" not in plain
    assert "f/8" in with_figures
    assert "paper on-" not in plain + with_figures


def test_kit_goes_by_its_figures_unless_its_names_are_ticked_on_page_and_sheet(shoot: Shoot) -> None:
    shoot.client.post(f"{shoot.shot}/frames", data={"purpose": "test"})
    recipe = published(shoot)

    plain, named = file_of(shoot, recipe), file_of(shoot, recipe, "reader=student&kit_names=true")

    assert plain.count("monolight 400 J") == 0
    assert plain.count("flash head, 400 J") >= 2
    assert named.count("monolight 400 J") >= 2


def test_a_reader_that_is_none_is_refused(shoot: Shoot) -> None:
    answer = shoot.client.get(f"{published(shoot)}/versions/1/file?reader=stranger")

    assert answer.status_code == 422
    assert "student, client" in answer.text


def test_over_the_interface_it_is_the_same_file(shoot: Shoot) -> None:
    recipe = published(shoot)

    answer = shoot.client.get(f"/api/v1{recipe}/versions/1/page.html?reader=student")

    assert answer.text == file_of(shoot, recipe)
    assert answer.headers["content-disposition"].endswith("enamel-dial.html")


def test_the_recipe_page_offers_it(shoot: Shoot) -> None:
    assert "Download the page" in shoot.client.get(published(shoot)).text
