"""The invented recipes as documents, published into a house of their own."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from webapp.optics import sources
from webapp.optics.scales import Quantity, read_value
from webapp.recipes.document import (
    CameraPart,
    FilterPart,
    HeadPart,
    LightPart,
    PlacePart,
    PositionPart,
    Recipe,
    Setting,
    SettingsPart,
)
from webapp.recipes.publish import publish
from webapp.recipes.terms import lay_out_vocabulary
from webapp.records.engine import Records

HERE = Path(__file__).parent
_FULL_J = 1600.0


FIRST = ("recipes.json", "recipes_more.json")
"""Those that the first questions were written with."""
EVERY = (*FIRST, "recipes_full.json")


def told_recipes(names: Sequence[str] = EVERY) -> list[dict[str, Any]]:
    files = (HERE / name for name in names)
    return [each for file in files for each in json.loads(file.read_text())["recipes"]]


def questions(half: str) -> list[dict[str, Any]]:
    files = (HERE / name for name in ("questions.json", "questions_blind.json", "questions_stated.json"))
    every = [each for file in files for each in json.loads(file.read_text())["questions"]]
    return [each for each in every if each["half"] == half]


def publish_all(records: Records, names: Sequence[str] = EVERY) -> dict[str, str]:
    """Publish the recipes; the answer has the corpus key of each recipe by its id."""
    lay_out_vocabulary(records)
    return {publish(records, recipe_from(told)).recipe_id: told["key"] for told in told_recipes(names)}


def recipe_from(told: Mapping[str, Any]) -> Recipe:
    mark = read_value(Quantity.F_NUMBER, told["f_number"])
    cards = [each for each in told["lights"] if not _is_light(each)]
    lights = [each for each in told["lights"] if _is_light(each)]
    missing = [f"distance of {'ABCDEF'[i]}" for i, each in enumerate(lights) if each["distance_cm"] is None]
    missing += [f"power of {'ABCDEF'[i]}" for i, each in enumerate(lights) if each["energy_j"] is None]
    above, below = told.get("shutter", (None, None))
    iso = told.get("iso")
    return Recipe(
        title=told["title"],
        subject=told["subject"],
        subject_types=tuple(told["subject_types"]),
        surfaces=tuple(told["surfaces"]),
        looks=tuple(told["look"]),
        tags=tuple(told["tags"]),
        background=told["background"] or "",
        why=told["why"],
        made_on=dt.date.fromisoformat(told["date"]),
        settings=SettingsPart(
            f_number=Setting(text=mark.text, stops=mark.stops),
            magnification=told["magnification"],
            stack_frames=told["stack_frames"],
            shutter=_setting(Quantity.SHUTTER, above / below) if above else None,
            iso=_setting(Quantity.ISO, iso) if iso else None,
            focal_length_mm=told.get("focal_mm"),
            subject_distance_mm=_mm(told.get("camera_distance_cm")),
            pops=told.get("pops", 1),
            lens_filters=_filters(told["filters"]),
        ),
        camera=_camera(told["camera"]) if "camera" in told else None,
        lights=tuple(_light("ABCDEF"[i], each) for i, each in enumerate(lights)),
        steps=(*told["steps"], *(f"{each['modifier']}, {each['role']}, {each['direction']}" for each in cards)),
        not_measured=tuple(missing),
    )


def _setting(quantity: Quantity, value: float) -> Setting:
    mark = read_value(quantity, value)
    return Setting(text=mark.text, stops=mark.stops)


def _mm(centimetres: float | None) -> float | None:
    return None if centimetres is None else 10.0 * centimetres


def _filters(told: Sequence[str | Mapping[str, Any]]) -> tuple[FilterPart, ...]:
    """A filter is told by its name, or as it stands in a document."""
    return tuple(
        FilterPart(name=each, kind="filter") if isinstance(each, str) else FilterPart.model_validate(each)
        for each in told
    )


def _camera(told: Mapping[str, Any]) -> CameraPart:
    (width_mm, height_mm), (width_px, height_px) = told["sensor_mm"], told["pixels"]
    return CameraPart(
        name="camera",
        sensor_width_mm=width_mm,
        sensor_height_mm=height_mm,
        width_px=width_px,
        height_px=height_px,
        lowest_iso=50,
        highest_iso=25600,
    )


def _is_light(told: Mapping[str, Any]) -> bool:
    return told["energy_j"] is not None or told["kind"] != "monolight"


def _light(letter: str, told: Mapping[str, Any]) -> LightPart:
    size = re.search(r"(\d+)(?:x(\d+))?$", told["modifier"] or "")
    width = float(size.group(1)) * 10 if size else None
    at = told.get("position")
    distance = None if told["distance_cm"] is None else told["distance_cm"] * 10
    return LightPart(
        letter=letter,
        role=told["role"] or "",
        head=HeadPart(
            name=f"{told['kind']} {letter}",
            kind="continuous" if told["kind"] == "continuous" else "flash",
            form="ring" if told["kind"] == "ring" else "head",
            full_energy_j=_FULL_J,
            lowest_power_stops=told.get("floor", -10),
            step_stops=0.1,
        ),
        modifier=told["modifier"],
        width_mm=width,
        energy_j=told["energy_j"],
        distance_mm=distance,
        direction=told["direction"],
        filters=_filters(told.get("filters", ())),
        modifier_diffuses=told.get("diffuses", False),
        power_stops=told.get("power_stops"),
        from_key_stops=told.get("from_key_stops"),
        position=PositionPart(at=PlacePart(x_mm=at[0], y_mm=at[1], z_mm=at[2]), known="taped") if at else None,
        angular_size_deg=sources.angular_size_deg(width, distance) if width and distance else None,
    )
