"""A recipe made in one line, with every part filled."""

from __future__ import annotations

import datetime as dt
from typing import Any

from webapp.optics.scales import Quantity
from webapp.quantities.marks import read_mark
from webapp.recipes.document import (
    CameraPart,
    HeadPart,
    LensPart,
    LightPart,
    PostStep,
    Recipe,
    Setting,
    SettingsPart,
    Tolerance,
)


def setting(quantity: Quantity, text: str) -> Setting:
    mark = read_mark(quantity, text)
    return Setting(text=mark.text, stops=mark.stops, dial=mark.dial.value if mark.dial else None)


def head(full_j: float | None = 500.0, lowest: float = -6.0, **over: Any) -> HeadPart:
    said = {"name": "head", "kind": "flash", "form": "head", "step_stops": 0.1, "marking": "joules"}
    return HeadPart(full_energy_j=full_j, lowest_power_stops=lowest, **(said | over))


def light(letter: str = "A", **over: Any) -> LightPart:
    said: dict[str, Any] = {"role": "key", "head": head(), "power_stops": -2.0, "power_mark": "125 J"}
    said |= {
        "energy_j": 125.0,
        "distance_mm": 900.0,
        "shape": "disc",
        "width_mm": 600.0,
        "direction": "side",
        "angular_size_deg": 36.87,
    }
    return LightPart(letter=letter, **(said | over))


def recipe(*lights: LightPart, **over: Any) -> Recipe:
    said: dict[str, Any] = {
        "title": "Scent bottle in dark field",
        "subject": "hand-blown bottle, 18 cm",
        "subject_types": ("bottle",),
        "surfaces": ("transparent",),
        "looks": ("dark-field", "rim"),
        "why": "the edges bend the light",
        "made_on": dt.date(2025, 2, 2),
        "camera": CameraPart(
            name="44 × 33",
            sensor_width_mm=33,
            sensor_height_mm=44,
            width_px=8700,
            height_px=11600,
            sync_mark="1/125",
            sync_tv=7,
            lowest_iso=64,
            highest_iso=25600,
        ),
        "lens": LensPart(
            name="120 macro", shortest_focal_mm=120, longest_focal_mm=120, widest_f_number=4, smallest_f_number=45
        ),
        "settings": SettingsPart(
            f_number=setting(Quantity.F_NUMBER, "11"),
            shutter=setting(Quantity.SHUTTER, "1/125"),
            iso=setting(Quantity.ISO, "100"),
            focal_length_mm=120,
            magnification=33 / 180,
            subject_distance_mm=775,
        ),
        "lights": lights or (light(),),
        "steps": ("prove black", "rim first"),
        "tolerances": (Tolerance(what="distances", within=10, unit="mm"),),
        "post": (PostStep(kind="crop", left=0.02, top=0.02, right=0.98, bottom=0.98, reason="the card"),),
    }
    return Recipe(**(said | over))
