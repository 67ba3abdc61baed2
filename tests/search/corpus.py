"""The invented recipes as documents, published into a house of their own."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from webapp.optics import sources
from webapp.optics.scales import Quantity, read_value
from webapp.recipes.document import FilterPart, HeadPart, LightPart, Recipe, Setting, SettingsPart
from webapp.recipes.publish import publish
from webapp.recipes.terms import lay_out_vocabulary
from webapp.records.engine import Records

HERE = Path(__file__).parent
_FULL_J = 1600.0


def told_recipes() -> list[dict[str, Any]]:
    files = (HERE / "recipes.json", HERE / "recipes_more.json")
    return [each for file in files for each in json.loads(file.read_text())["recipes"]]


def questions(half: str) -> list[dict[str, Any]]:
    files = (HERE / "questions.json", HERE / "questions_blind.json")
    every = [each for file in files for each in json.loads(file.read_text())["questions"]]
    return [each for each in every if each["half"] == half]


def publish_all(records: Records) -> dict[str, str]:
    """Publish every recipe; the answer has the corpus key of each recipe by its id."""
    lay_out_vocabulary(records)
    return {publish(records, recipe_from(told)).recipe_id: told["key"] for told in told_recipes()}


def recipe_from(told: Mapping[str, Any]) -> Recipe:
    mark = read_value(Quantity.F_NUMBER, told["f_number"])
    cards = [each for each in told["lights"] if not _is_light(each)]
    lights = [each for each in told["lights"] if _is_light(each)]
    missing = [f"distance of {'ABCDEF'[i]}" for i, each in enumerate(lights) if each["distance_cm"] is None]
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
            lens_filters=tuple(FilterPart(name=each, kind="filter") for each in told["filters"]),
        ),
        lights=tuple(_light("ABCDEF"[i], each) for i, each in enumerate(lights)),
        steps=(*told["steps"], *(f"{each['modifier']}, {each['role']}, {each['direction']}" for each in cards)),
        not_measured=tuple(missing),
    )


def _is_light(told: Mapping[str, Any]) -> bool:
    return told["energy_j"] is not None or told["kind"] != "monolight"


def _light(letter: str, told: Mapping[str, Any]) -> LightPart:
    size = re.search(r"(\d+)(?:x(\d+))?$", told["modifier"] or "")
    width = float(size.group(1)) * 10 if size else None
    distance = None if told["distance_cm"] is None else told["distance_cm"] * 10
    return LightPart(
        letter=letter,
        role=told["role"] or "",
        head=HeadPart(
            name=f"{told['kind']} {letter}",
            kind="continuous" if told["kind"] == "continuous" else "flash",
            form="ring" if told["kind"] == "ring" else "head",
            full_energy_j=_FULL_J,
            lowest_power_stops=-10,
            step_stops=0.1,
        ),
        modifier=told["modifier"],
        width_mm=width,
        energy_j=told["energy_j"],
        distance_mm=distance,
        direction=told["direction"],
        angular_size_deg=sources.angular_size_deg(width, distance) if width and distance else None,
    )
