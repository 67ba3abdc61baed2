"""Recipes that fill a sheet."""

from __future__ import annotations

from typing import Any

from tests.unit.recipes.made import light, recipe
from webapp.plan.positions import Position, place_at
from webapp.recipes.document import (
    AmbientPart,
    FilterPart,
    LightPart,
    PicturePart,
    PlacePart,
    PositionPart,
    Recipe,
    ThingPart,
    Tolerance,
)

RESULT = "ab" * 32


def placed(letter: str, distance_mm: float, bearing: float, up_mm: float, **over: Any) -> LightPart:
    position = PositionPart.of(Position(place_at(distance_mm, bearing, up_mm), known="taped"))
    return light(letter, position=position, distance_mm=distance_mm, **over)


def rich_recipe(**over: Any) -> Recipe:
    """Four lights, twelve steps, six cautions, a plan and a picture."""
    gel = FilterPart(name="half orange gel", kind="gel", loss_stops=0.5)
    strip = {"shape": "rectangle", "width_mm": 300.0, "height_mm": 1200.0, "modifier": "strip box with its grid"}
    lights = over.pop("lights", None) or (
        placed("A", 800.0, -45.0, 400.0, incident_av=8.0, from_key_stops=0.0, modifier="octagonal box"),
        placed("B", 1000.0, 50.0, 300.0, role="fill", incident_av=6.0, from_key_stops=-2.0, filters=(gel,), **strip),
        placed("C", 900.0, 150.0, 500.0, role="rim", direction="back", modifier="snoot"),
        light("D", role="background", distance_mm=1400.0, direction=None, power_stops=None, power_mark="unknown"),
    )
    said: dict[str, Any] = {
        "steps": tuple(
            f"Put light {n} up on its boom, level it with the table's edge, tape it to the subject and read it alone."
            for n in range(1, 13)
        ),
        "cautions": tuple(
            f"{n}: a modelling lamp scorches gels, polarising sheet and cloth; lamp and glass burn skin. Let it cool."
            for n in range(1, 7)
        ),
        "ratios": ("key to fill: 4.0:1, 2.0 stops under, as metered",),
        "tolerances": (
            Tolerance(what="each light's level", within=0.1, unit="stops"),
            Tolerance(what="distances", within=10, unit="mm"),
            Tolerance(what="angles", within=1, unit="°"),
        ),
        "ambient": AmbientPart(margin_stops=7.4, at_least=True, patch="card"),
        "not_measured": ("power of D", "direction of D"),
        "result": PicturePart(digest=RESULT),
        "things": (
            ThingPart(
                id="background",
                kind="background",
                position=PositionPart(at=PlacePart(y_mm=700.0, z_mm=200.0)),
                width_mm=1200.0,
                height_mm=900.0,
            ),
        ),
    }
    return recipe(*lights, **(said | over))
