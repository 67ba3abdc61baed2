"""The kit of the three sets, with its incident readings. Names, losses and readings are invented.

Two readings need a word. The monolights read f/64 at 1 m and full power facing the lamp; the one that is kept was
taken where the tile hangs, flat disc towards the camera and one light at a time, and so has lost half a stop to the
45 degrees: f/54. Light adds, so the pair lies a stop above either. Light C shines on a panel and never on the
bottle: no meter at the subject can read it, so it has no reading, and the distance that is logged for it is the one
that moves, from its reflector to the panel.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from webapp.kit import inventory
from webapp.records.engine import Records
from webapp.records.tables import Origin

BODY_FULL_FRAME: Final = "studio body 36 × 24"
BODY_LARGE: Final = "studio body 44 × 33"
MACRO_WITH_TUBE: Final = "100 mm macro + 20 mm tube"
MACRO_90: Final = "90 mm macro"
MACRO_100: Final = "100 mm macro, no tube"
MACRO_120: Final = "120 mm macro"
RING: Final = "ring R1"
MONOLIGHT_A: Final = "monolight A"
MONOLIGHT_B: Final = "monolight B"
MONOLIGHT_C: Final = "monolight C"
STRIP_HEAD: Final = "strip head D"
REFLECTOR: Final = "standard reflector 18 cm"
STRIP: Final = "strip 30 × 120 cm"
PANEL: Final = "white panel 120 × 90 cm"
ND_SHEET: Final = "ring ND 0.6"
POLARISING_SHEET: Final = "linear polarising sheet"
LENS_POLARISER: Final = "screw-in polariser"
GEL: Final = "quarter orange gel +42"

# what is said of the lens polariser before and after the pair was tried
LENS_POLARISER_GUESSED: Final[dict[str, Any]] = {
    "name": LENS_POLARISER,
    "kind": "polariser",
    "fits": "lens",
    "loss": "1.2 stops",
    "notes": "Loss taken from its leaflet; the crossed pair is not tried yet.",
}
LENS_POLARISER_LEARNED: Final[dict[str, Any]] = LENS_POLARISER_GUESSED | {
    "loss": "1.5 stops",
    "notes": "At 90° to the polarising sheets: the pair takes 2.9, the sheet 1.4 of it.",
}

_MONOLIGHT: Final[dict[str, Any]] = {
    "full_energy_j": 400,
    "range_stops": 7,
    "step_stops": 0.1,
    "marking": "joules",
    "recycle_s": 1.4,
    "t_half_s": "1/900",
    "kelvin": 5600,
    "notes": "In the standard reflector f/64 at 1 m and full, facing the lamp. On the copy set, at 45°, half a stop "
    "less: f/54 with the flat disc towards the camera, this light alone. The pair is one stop more.",
}
_ITEMS: Final[Mapping[str, tuple[dict[str, Any], ...]]] = {
    "cameras": (
        {
            "name": BODY_FULL_FRAME,
            "width_px": 7200,
            "height_px": 4800,
            "sync_mark": "1/200",
            "highest_iso": 25600,
        },
        {
            "name": BODY_LARGE,
            "sensor_width_mm": 44,
            "sensor_height_mm": 33,
            "width_px": 8800,
            "height_px": 6600,
            "sync_mark": "1/160",
            "highest_iso": 12800,
        },
    ),
    "lenses": (
        {
            "name": MACRO_WITH_TUBE,
            "shortest_focal_mm": 100,
            "widest_f_number": 2.8,
            "smallest_f_number": 32,
            "greatest_magnification": 1.2,
        },
        {
            "name": MACRO_100,
            "shortest_focal_mm": 100,
            "widest_f_number": 2.8,
            "smallest_f_number": 32,
            "greatest_magnification": 1.0,
        },
        {
            "name": MACRO_120,
            "shortest_focal_mm": 120,
            "widest_f_number": 4,
            "smallest_f_number": 45,
            "greatest_magnification": 0.5,
        },
        {
            "name": MACRO_90,
            "shortest_focal_mm": 90,
            "widest_f_number": 2.8,
            "smallest_f_number": 32,
            "greatest_magnification": 1.0,
        },
    ),
    "lights": (
        {
            "name": RING,
            "form": "ring",
            "full_energy_j": 400,
            "range_stops": 6,
            "step_stops": 0.1,
            "marking": "joules",
            "outer_diameter_mm": 120,
            "inner_diameter_mm": 100,
            "recycle_s": 2.0,
            "kelvin": 5600,
            "notes": "Mean radius 55 mm. On the lens its front is 120 mm from a subject at 1.2; nearer than about "
            "78 mm the centre falls dark.",
        },
        {"name": MONOLIGHT_A, **_MONOLIGHT},
        {"name": MONOLIGHT_B, **_MONOLIGHT},
        {
            "name": MONOLIGHT_C,
            "full_energy_j": 500,
            "range_stops": 6,
            "step_stops": 0.1,
            "marking": "joules",
            "recycle_s": 1.6,
            "kelvin": 5600,
            "notes": "Behind a panel its distance is logged from the reflector to the cloth.",
        },
        {
            "name": STRIP_HEAD,
            "full_energy_j": 200,
            "range_stops": 6,
            "step_stops": 0.1,
            "marking": "joules",
            "recycle_s": 1.0,
            "kelvin": 5600,
        },
    ),
    "modifiers": (
        {"name": REFLECTOR, "shape": "point", "width_mm": 180, "loss_stops": 0},
        {
            "name": STRIP,
            "shape": "rectangle",
            "width_mm": 300,
            "height_mm": 1200,
            "loss_stops": 2.0,
            "diffuses": True,
        },
        {
            "name": PANEL,
            "shape": "rectangle",
            "width_mm": 1200,
            "height_mm": 900,
            "diffuses": True,
            "notes": "Stands free and is lit from behind; its loss is not measured.",
        },
    ),
    "filters": (
        {
            "name": ND_SHEET,
            "density": 0.6,
            "fits": "light",
            "notes": "0.6 is a density: 2.0 stops a sheet.",
        },
        {"name": POLARISING_SHEET, "kind": "polariser", "loss": "1.4 stops", "fits": "light"},
        LENS_POLARISER_GUESSED,
        {
            "name": GEL,
            "kind": "gel",
            "loss": "0.3 stops",
            "fits": "light",
            "shift_mired": 42,
            "notes": "Its maker's quarter: 5600 to 4530 K. Other makers' quarter is +64.",
        },
    ),
}
# light, modifier, f-number at ISO 100, power, distance
_READINGS: Final = (
    (RING, None, "45", "400 J", 1000),
    (MONOLIGHT_A, REFLECTOR, "54", "400 J", 1000),
    (MONOLIGHT_B, REFLECTOR, "54", "400 J", 1000),
    (STRIP_HEAD, STRIP, "11+0.8", "12.5 J", 800),
)


def keep_set_kit(records: Records) -> dict[str, str]:
    """Keep the items and their readings; the answer is each item's id by its name."""
    ids = {
        item["name"]: inventory.keep(records, kind, item, origin=Origin.DEMO)
        for kind, items in _ITEMS.items()
        for item in items
    }
    for light, modifier, f_number, power, distance_mm in _READINGS:
        reading = {
            "modifier_id": ids[modifier] if modifier else None,
            "f_number": f_number,
            "power": power,
            "distance_mm": distance_mm,
        }
        inventory.add_meter_reading(records, ids[light], reading)
    return ids
