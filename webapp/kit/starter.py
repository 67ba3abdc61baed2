"""The kit a newcomer finds: plain items of the trade, so that a frame can be logged before a studio is described.

The figures are common practice for such items; the page asks to put one's own in their place.
"""

from __future__ import annotations

from typing import Any, Final

from webapp.kit.forms import KIT_FORMS
from webapp.kit.inventory import changing_kit
from webapp.records import kit as kit_records
from webapp.records.engine import Records
from webapp.records.tables import KIT_TABLES, Origin, new_id

_STARTER: Final[dict[str, list[dict[str, Any]]]] = {
    "cameras": [
        {"name": "Camera 36 × 24", "width_px": 6000, "height_px": 4000, "sync_mark": "1/200", "highest_iso": 25600},
        {
            "name": "Camera 23.5 × 15.6",
            "sensor_width_mm": 23.5,
            "sensor_height_mm": 15.6,
            "width_px": 6000,
            "height_px": 4000,
            "sync_mark": "1/160",
            "highest_iso": 12800,
        },
        {
            "name": "Camera 44 × 33",
            "sensor_width_mm": 43.8,
            "sensor_height_mm": 32.9,
            "width_px": 8272,
            "height_px": 6200,
            "sync_mark": "1/125",
            "highest_iso": 12800,
        },
    ],
    "lenses": [
        {"name": "100 mm macro", "widest_f_number": 2.8, "smallest_f_number": 32, "greatest_magnification": 1.0},
        {
            "name": "50 mm",
            "shortest_focal_mm": 50,
            "widest_f_number": 1.8,
            "smallest_f_number": 22,
            "greatest_magnification": 0.15,
        },
        {
            "name": "24–70 mm zoom",
            "shortest_focal_mm": 24,
            "longest_focal_mm": 70,
            "widest_f_number": 2.8,
            "smallest_f_number": 22,
            "greatest_magnification": 0.25,
        },
    ],
    "lights": [
        {
            "name": "monolight 400 J",
            "full_energy_j": 400,
            "range_stops": 6,
            "step_stops": 0.1,
            "marking": "joules",
            "recycle_s": 1.5,
            "t_half_s": 1 / 800,
            "kelvin": 5500,
        },
        {
            "name": "monolight 200 J",
            "full_energy_j": 200,
            "range_stops": 6,
            "step_stops": 0.1,
            "marking": "joules",
            "recycle_s": 1.0,
            "t_half_s": 1 / 1200,
            "kelvin": 5500,
        },
        {
            "name": "ring flash 400 J",
            "form": "ring",
            "full_energy_j": 400,
            "range_stops": 6,
            "step_stops": 0.1,
            "marking": "joules",
            "outer_diameter_mm": 130,
            "inner_diameter_mm": 90,
            "recycle_s": 2.0,
            "kelvin": 5500,
        },
        {
            "name": "small flash",
            "range_stops": 7,
            "step_stops": "1/3",
            "marking": "fraction",
            "recycle_s": 2.5,
            "t_half_s": 1 / 1000,
            "kelvin": 5600,
        },
        {
            "name": "LED panel",
            "kind": "continuous",
            "range_stops": 6,
            "step_stops": 0.1,
            "marking": "fraction",
            "kelvin": 5600,
        },
    ],
    "modifiers": [
        {"name": "standard reflector", "shape": "point", "width_mm": 180, "loss_stops": 0},
        {"name": "honeycomb grid", "shape": "point", "width_mm": 180, "loss_stops": 1.3, "cutoff_deg": 20},
        {"name": "snoot", "shape": "point", "width_mm": 60, "loss_stops": 1.7, "cutoff_deg": 15},
        {
            "name": "softbox 60 × 60 cm",
            "shape": "rectangle",
            "width_mm": 600,
            "height_mm": 600,
            "loss_stops": 1.7,
            "diffuses": True,
        },
        {
            "name": "strip softbox 30 × 120 cm",
            "shape": "rectangle",
            "width_mm": 300,
            "height_mm": 1200,
            "loss_stops": 2.0,
            "diffuses": True,
        },
        {"name": "octagon 90 cm", "shape": "disc", "width_mm": 900, "loss_stops": 1.8, "diffuses": True},
        {
            "name": "shoot-through umbrella 100 cm",
            "shape": "disc",
            "width_mm": 1000,
            "loss_stops": 1.5,
            "diffuses": True,
        },
    ],
    "filters": [
        {"name": "ND 0.3 sheet", "loss": "ND 0.3", "fits": "light"},
        {"name": "ND 0.6 sheet", "loss": "ND 0.6", "fits": "light"},
        {"name": "ND 0.9 sheet", "loss": "ND 0.9", "fits": "light"},
        {"name": "diffusing sheet", "kind": "diffusion", "loss": "1 stop", "fits": "light"},
        {"name": "screw-in ND 0.6", "loss": "ND 0.6", "fits": "lens"},
        {"name": "screw-in ND 0.9", "loss": "ND 0.9", "fits": "lens"},
        {"name": "polarising sheet", "kind": "polariser", "loss": "1.4 stops", "fits": "light"},
        {"name": "lens polariser, crossed", "kind": "polariser", "loss": "1.5 stops", "fits": "lens"},
        {"name": "quarter orange gel", "kind": "gel", "loss": "0.3 stops", "fits": "light", "shift_mired": 64},
        {"name": "half orange gel", "kind": "gel", "loss": "0.5 stops", "fits": "light", "shift_mired": 109},
        {"name": "full orange gel", "kind": "gel", "loss": "0.7 stops", "fits": "light", "shift_mired": 159},
    ],
}


def lay_out_starter_kit(records: Records) -> bool:
    """Fill an empty kit; the answer is whether it was empty."""
    with changing_kit(records) as db:
        if not kit_records.kit_is_empty(db):
            return False
        for kind, items in _STARTER.items():
            for item in items:
                values = KIT_FORMS[kind].model_validate(item).row_values()
                db.add(KIT_TABLES[kind](id=new_id(), origin=Origin.STARTER, **values))
    return True
