"""The names of a set-up's fields, by their paths: "f_number", "lights.A.power", "things.flag-1.position"."""

from __future__ import annotations

from typing import Final

from webapp.ledger.set_up import SetUp

CAMERA_FIELDS: Final = (
    "camera",
    "lens",
    "f_number",
    "shutter",
    "iso",
    "focal_length",
    "magnification",
    "subject_distance",
    "lens_filters",
    "pops",
)
LIGHT_FIELDS: Final = (
    "role",
    "head",
    "modifier",
    "filters",
    "lit",
    "modelling_lamp",
    "power",
    "distance",
    "position",
    "intended",
)
THING_FIELDS: Final = ("position", "size", "turned")
"""What can be said of a thing, beside that it is there."""


def moves_with(field: str) -> tuple[str, ...]:
    """The fields that a change of this one moves as well: the distance of a light and its position are one place, and
    a thing that comes or goes takes all that is said of it along."""
    of, _, name = field.rpartition(".")
    if field.startswith("lights."):
        return {"distance": (f"{of}.position",), "position": (f"{of}.distance",)}.get(name, ())
    if field.startswith("things.") and name == "there":
        return tuple(f"{of}.{each}" for each in THING_FIELDS)
    return ()


def fields_of(set_up: SetUp) -> list[str]:
    """The path of every field of camera, lights and things that can be set."""
    of_lights = [f"lights.{light.letter}.{name}" for light in set_up.lights for name in LIGHT_FIELDS]
    of_things = [f"things.{thing.id}.{name}" for thing in set_up.things for name in THING_FIELDS]
    return [*CAMERA_FIELDS, *of_lights, *of_things]
