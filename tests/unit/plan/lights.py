"""Lights and a background for a plan, made by hand."""

from __future__ import annotations

from webapp.optics.sources import Point, Source
from webapp.plan.positions import ORIGIN, Place, Position, Thing
from webapp.plan.staging import PlanLight, Reading


def light(letter: str = "A", at: Place = ORIGIN, source: Source | None = None, **over: object) -> PlanLight:
    values: dict[str, object] = {
        "name": letter,
        "role": "key",
        "lit": True,
        "source": source or Point(),
        "position": Position(at),
        "reading": Reading(12.0, 1000.0),
        "power_stops": 0.0,
        "filter_stops": 0.0,
    }
    return PlanLight(letter=letter, **(values | over))  # type: ignore[arg-type]


def background(distance_mm: float) -> Thing:
    return Thing("background", "background", Position(Place(0.0, distance_mm, 0.0)), 2000.0, 2000.0)
