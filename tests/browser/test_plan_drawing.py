"""The drawing's letters as a browser sets them: none printed over another, with two lights, eight and a hundred."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.conftest import Desk
from webapp.optics.sources import Disc
from webapp.plan.drawing import draw
from webapp.plan.positions import Place, Position, Thing, place_at
from webapp.plan.scales import IN_THE_HAND, ON_SCREEN, Room
from webapp.plan.staging import Plan, PlanLight
from webapp.web.words.drawing import captions

THINGS = (
    Thing("subject", "subject", Position(Place()), 80.0, 160.0, 80.0),
    Thing("table", "table", Position(Place(0.0, 0.0, -80.0)), 800.0, 0.0, 500.0),
    Thing("background", "background", Position(Place(0.0, 500.0, 0.0)), 1000.0, 800.0),
    Thing("flag-1", "flag", Position(Place(-250.0, -250.0, 50.0)), 250.0, 300.0),
    Thing("reflector-1", "reflector", Position(Place(300.0, -100.0, 0.0)), 300.0, 400.0),
)
# The corners of every text's own box, turned as it is drawn, a hair inside it.
CORNERS = """() => [...document.querySelectorAll("svg text")].map((text) => {
  const box = text.getBBox(), matrix = text.getCTM(), in_ = 0.6;
  const at = (x, y) => { const p = new DOMPoint(x, y).matrixTransform(matrix); return [p.x, p.y]; };
  const [l, r, t, b] = [box.x + in_, box.x + box.width - in_, box.y + 0.18 * box.height, box.y + 0.82 * box.height];
  return { words: text.textContent, corners: [at(l, t), at(r, t), at(r, b), at(l, b)] };
})"""

Corners = list[list[float]]


def light(letter: str, place: Place) -> PlanLight:
    return PlanLight(letter, f"light {letter}", "key", True, Disc(300.0), Position(place))


def pair() -> tuple[PlanLight, ...]:
    return light("A", place_at(900.0, -45.0, 400.0)), light("B", place_at(900.0, 45.0, 400.0))


def nearly_one_place() -> tuple[PlanLight, ...]:
    return (
        light("A", place_at(900.0, -45.0, 400.0)),
        light("B", place_at(905.0, -44.0, 400.0)),
        light("C", place_at(600.0, -45.0, 200.0)),
    )


def eight() -> tuple[PlanLight, ...]:
    return tuple(
        light("ABCDEFGH"[at], place_at(700.0 + 60.0 * (at % 3), -60.0 + 17.0 * at, 120.0 + 50.0 * at))
        for at in range(8)
    )


def hundred() -> tuple[PlanLight, ...]:
    return tuple(
        light(f"L{at}", place_at(600.0 + 9.0 * at, 37.0 * at % 360.0 - 180.0, 13.0 * at % 500.0)) for at in range(100)
    )


def overlap(one: Corners, other: Corners) -> bool:
    """Whether two rectangles, each given by its corners, have paper in common: no side of either parts them."""
    for shape in (one, other):
        for (x1, y1), (x2, y2) in zip(shape, shape[1:] + shape[:1], strict=True):
            across = [[(y1 - y2) * x + (x2 - x1) * y for x, y in each] for each in (one, other)]
            if max(across[0]) <= min(across[1]) or max(across[1]) <= min(across[0]):
                return False
    return True


@pytest.mark.parametrize("lights", [pair, nearly_one_place, eight, hundred])
@pytest.mark.parametrize(("room", "earlier"), [(ON_SCREEN, False), (ON_SCREEN, True), (IN_THE_HAND, False)])
def test_no_letters_are_printed_over_others(
    desk: Desk, lights: Callable[[], tuple[PlanLight, ...]], room: Room, earlier: bool
) -> None:
    plan = Plan(lights(), THINGS, field_mm=(240.0, 160.0))
    moved = tuple(light(each.letter, place_at(1100.0, 5.0 * at, 90.0)) for at, each in enumerate(plan.lights))
    title = "a crowded set with a title that is longer than there is room for, standing set-up"
    drawn = draw(plan, title, captions(), before=Plan(moved) if earlier else None, room=room)

    desk.page.set_content(f'<body style="font-family: system-ui, sans-serif">{drawn}</body>')
    found: list[dict[str, Any]] = desk.page.evaluate(CORNERS)

    clashes = [
        (one["words"], other["words"])
        for at, one in enumerate(found)
        for other in found[:at]
        if overlap(one["corners"], other["corners"])
    ]
    assert len(found) > 4
    assert clashes == []
