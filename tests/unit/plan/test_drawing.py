"""The drawing: to scale, on paper to a standard one, legible with many lights, and nothing in it that a name could break."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.optics.sources import Disc, Ring
from webapp.plan.drawing import draw
from webapp.plan.lettering import Box, box_around
from webapp.plan.positions import Place, Position, Thing, place_at
from webapp.plan.scales import ARCHITECTS, IN_THE_HAND, METRIC, ON_PAPER, ON_SCREEN, Room
from webapp.plan.staging import Plan, PlanLight
from webapp.quantities.lengths import Lengths
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

    assert told == ["A B: 74.2 cm", "A B: 30 cm"], "along the floor in the plan, upright in the elevation"


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


def overhead() -> Plan:
    """A camera and a ring on its lens straight above a small thing, and three lights close around it."""
    things = (
        Thing("subject", "subject", Position(Place()), 80.0, 20.0, 60.0),
        Thing("background", "background", Position(Place(0.0, 0.0, -60.0)), 400.0, 400.0),
        Thing("camera", "camera", Position(Place(0.0, 0.0, 460.0)), 0.0, 0.0),
    )
    ring = PlanLight("A", "ring A", "key", True, Ring(140.0, 80.0), Position(Place(0.0, 0.0, 420.0)))
    close = (light("B", place_at(300.0, -90.0, 250.0)), light("C", place_at(300.0, 90.0, 250.0)))
    gelled = replace(light("D", place_at(250.0, 180.0, 240.0)), gels=("half CTO",))
    return Plan((ring, *close, gelled), things)


def boxes(svg: str, kind: str) -> list[Box]:
    """The rings or the lines of words of a drawing, as boxes."""
    if kind == "ring":
        found = re.findall(r'class="ring" x="([\d.-]+)" y="([\d.-]+)" width="([\d.]+)" height="([\d.]+)"', svg)
        sides = [tuple(map(float, each)) for each in found]
        return [Box(x + w / 2.0, y + h / 2.0, w / 2.0, h / 2.0) for x, y, w, h in sides]
    subject = re.findall(r'<g><polygon points="([^"]+)" stroke-width="2"/></g>', svg)
    return [
        box_around([(float(x), float(y)) for x, _, y in (p.partition(",") for p in each.split())]) for each in subject
    ]


@pytest.mark.parametrize("room", [ON_SCREEN, IN_THE_HAND, ON_PAPER])
def test_under_a_camera_overhead_no_letter_stands_on_the_subject_or_on_another(room: Room) -> None:
    svg = draw(overhead(), "overhead", captions(), room=room)

    rings, subjects = boxes(svg, "ring"), boxes(svg, "subject")
    assert len(subjects) == 2
    assert len(rings) >= 7, "each light by itself in the plan; in the elevation only the pair shares a ring"
    assert not any(one.overlaps(other) for at, one in enumerate(rings) for other in [*subjects, *rings[:at]])


def test_the_elevation_and_the_arrow_are_named_by_where_the_camera_is() -> None:
    def words(camera: Place) -> str:
        return draw(Plan(things=(Thing("camera", "camera", Position(camera), 0.0, 0.0),)), "a set", captions())

    assert "elevation, seen from the right, camera overhead<" in words(Place(0.0, 0.0, 500.0))
    assert "N, top of the picture<" in words(Place(0.0, 0.0, 500.0))
    assert "elevation, seen from the right of the camera<" in words(Place(0.0, -500.0, 0.0))
    assert "elevation, seen from behind the camera<" in words(Place(500.0, 0.0, 0.0))
    assert "lens axis" not in words(Place(500.0, 0.0, 0.0))


def test_a_light_over_the_table_hangs_from_a_boom_and_one_beside_it_has_its_foot_below() -> None:
    table = Thing("table", "table", Position(Place(0.0, 0.0, -100.0)), 1200.0, 0.0, 800.0)
    over, beside = light("A", place_at(800.0, 30.0, 780.0)), light("B", place_at(1500.0, 90.0, 300.0))

    assert draw(Plan((over,), (table,)), "over", captions()).count('class="boom"') == 2
    alone = draw(Plan((beside,), (table,)), "beside", captions())
    assert 'class="boom"' not in alone
    assert alone.count('class="foot"') == 2


def test_a_gel_is_a_line_before_the_face_and_is_named() -> None:
    svg = draw(overhead(), "overhead", captions())

    assert svg.count('class="gel"') == 2
    assert "half CTO<" in svg


def test_the_camera_has_its_distance_along_the_floor_and_its_height() -> None:
    camera = Thing("camera", "camera", Position(place_at(1000.0, 0.0, 600.0)), 0.0, 0.0)

    assert lengths(draw(Plan(things=(camera,)), "a camera", captions())) == ["camera: 80 cm", "camera: 60 cm"]


@given(st.floats(300.0, 9000.0), st.booleans())
def test_on_paper_the_scale_is_the_largest_standard_one_that_fits(distance_mm: float, inches: bool) -> None:
    plan = Plan((light("A", place_at(distance_mm, 90.0)), light("B", place_at(distance_mm, -90.0))))
    svg = draw(plan, "a set", captions(Lengths(inches=inches)), room=ON_PAPER)

    scale = float(re.search(r'data-scale="([\d.]+)"', svg).group(1))  # type: ignore[union-attr]
    stated = re.search(r">scale ([\d.]+) : ([\d.]+)", svg)
    assert stated is not None
    times = float(stated.group(2)) / float(stated.group(1))
    assert abs(times * scale * 0.25 - 1.0) < 0.001
    assert times in (ARCHITECTS if inches else METRIC)
    assert 'width="180.00mm"' in svg
