"""The drawing: to scale, legible with many lights, and nothing in it that a name could break."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

from webapp.optics.sources import Disc
from webapp.plan.drawing import draw
from webapp.plan.positions import Place, Position, place_at
from webapp.plan.staging import Plan, PlanLight
from webapp.web.words.drawing import captions


def light(letter: str, at: Place) -> PlanLight:
    return PlanLight(letter, f"light {letter}", "key", True, Disc(300.0), Position(at))


def test_a_length_on_the_paper_is_the_length_on_the_set() -> None:
    svg = draw(Plan((light("A", place_at(800.0, 90.0)),)), "one light", captions())
    scale = float(re.search(r'data-scale="([\d.]+)"', svg).group(1))  # type: ignore[union-attr]

    dimension = re.search(r'<path d="M([\d.]+) [\d.]+L([\d.]+) [\d.]+" stroke-width="0.7"', svg)

    assert dimension is not None
    assert abs((float(dimension.group(2)) - float(dimension.group(1))) / scale - 800.0) < 1.0


def lengths(svg: str) -> list[str]:
    return re.findall(r'class="size"[^>]*>([^<]+)<', svg)


def test_lights_in_one_place_share_their_length() -> None:
    here = place_at(800.0, 90.0, 300.0)

    told = lengths(draw(Plan((light("A", here), light("B", here))), "two in one place", captions()))

    assert told == ["A B: 80 cm", "A B: 30 cm"]


def test_heights_of_lights_beside_each_other_are_drawn_side_by_side_and_say_whose_they_are() -> None:
    pair = (light("A", place_at(900.0, -45.0, 400.0)), light("B", place_at(900.0, 45.0, 250.0)))

    svg = draw(Plan(pair), "a pair", captions())

    upright = re.findall(r'<path d="M([\d.]+) [\d.]+L\1 [\d.]+" stroke-width="0.7"', svg)
    assert {"A: 40 cm", "B: 25 cm"} <= set(lengths(svg))
    assert len(upright) == 2
    assert abs(float(upright[0]) - float(upright[1])) >= 13.0


def test_a_length_that_runs_alone_needs_no_letter() -> None:
    pair = (light("A", place_at(800.0, -60.0)), light("B", place_at(700.0, 60.0)))

    assert lengths(draw(Plan(pair), "a pair", captions())) == ["80 cm", "70 cm"]


def test_a_hundred_lights_fold_their_letters_and_are_all_told() -> None:
    lights = tuple(light(f"L{n}", place_at(1000.0 + n, 3.6 * n - 180.0)) for n in range(100))

    svg = draw(Plan(lights), "a hundred lights", captions())

    rings = re.findall(r'letter-in-ring"[^>]*>([^<]+)<', svg)
    assert len(rings) < 120
    assert not lengths(svg)
    assert svg.count("disc 30 cm") == 100


def test_a_name_with_marks_of_xml_is_only_a_name() -> None:
    svg = draw(Plan((light("A", Place(0.0, 0.0, 0.0)),)), '<b>"tea" & cup</b>', captions(), movable=True)

    assert ET.fromstring(svg)[0].text == '<b>"tea" & cup</b>'
