"""What a meter would have read of a reader's light, for want of one: from one test frame, or from a guide number. Pure.

Each comes with the fact that says so: a guide number is of a room and a reflector that are not the reader's.
"""

from __future__ import annotations

import math
from typing import Final

from webapp.errors import InvalidValue
from webapp.facts import Fact, fact
from webapp.ledger.set_up import CameraFigures, IncidentReading, ModifierFigures
from webapp.optics import equivalence, macro
from webapp.optics.equivalence import Measure
from webapp.optics.scales import Marked
from webapp.recipes.adapt.choosing import as_held
from webapp.recipes.document import Recipe
from webapp.recipes.reasons import Reason

_A_METRE_MM: Final = 1000.0


def of_test_frame(
    letter: str, f_number: Marked, stops: float, close_up_stops: float, distance_mm: float
) -> tuple[IncidentReading, Fact]:
    """From a frame at full power and ISO 100 of a grey card where the subject stands: the effective f-number, moved by
    what the card reads (`stops` over mid-tone). `close_up_stops` is what the camera loses by standing so close. Source:
    definition."""
    av = f_number.stops + close_up_stops + stops
    return IncidentReading(av, f_number.text, 0.0, distance_mm), fact(
        Reason.FROM_TEST_FRAME, letter, mark=f_number.text, stops=stops
    )


def of_guide_number(
    letter: str, guide_number_m: float, modifier: ModifierFigures | None
) -> tuple[IncidentReading, Fact]:
    """From the guide number of the bare head at full and ISO 100, N = GN / d at a metre, less what the modifier takes.
    Raises InvalidValue where that is not known. Source: guide-number."""
    loss = 0.0 if modifier is None else modifier.loss_stops
    if loss is None:
        raise InvalidValue(
            "loss_stops",
            "A guide number is that of the bare head: say how many stops the modifier takes, or make a test frame.",
        )
    av = 2 * math.log2(guide_number_m) - loss
    return IncidentReading(av, "", 0.0, _A_METRE_MM), fact(
        Reason.FROM_GUIDE_NUMBER, letter, guide_number_m=guide_number_m
    )


def close_up_stops(recipe: Recipe, camera: CameraFigures, held: Measure) -> float:
    """What another camera loses where it stands for the picture, 2 log2(1 + m); 0 where the recipe does not say its
    magnification."""
    if recipe.camera is None or not recipe.settings.magnification:
        return 0.0
    sensor = (recipe.camera.sensor_width_mm, recipe.camera.sensor_height_mm)
    scale = equivalence.format_scale(sensor, as_held(sensor, camera), held)
    return macro.exposure_increase_stops(equivalence.equivalent_magnification(recipe.settings.magnification, scale))
