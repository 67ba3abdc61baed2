"""A patch as its form on the page has it, and as the use-case takes it."""

from __future__ import annotations

from collections.abc import Mapping

from webapp.quantities.angles import bearing_text, read_bearing
from webapp.quantities.numbers import read_number
from webapp.quantities.reading import UNKNOWN, plain
from webapp.records.tables import Patch
from webapp.web.pages.figures import signed

_FACES = ("bearing_deg", "elevation_deg")
"""The fields of where a patch's face of the subject points."""


def patch_texts(patch: Patch) -> dict[str, str]:
    """A patch as the page's form has it; `percents` is the way back."""
    sides = {name: f"{100 * getattr(patch, name):.1f}".removesuffix(".0") for name in ("x", "y", "width", "height")}
    faces = {} if patch.bearing_deg is None else {"bearing_deg": bearing_text(patch.bearing_deg)}
    if patch.elevation_deg is not None:
        faces["elevation_deg"] = f"{patch.elevation_deg:g}"
    return {"name": patch.name, "wanted_stops": signed(patch.wanted_stops), **faces, **sides}


def percents(said: Mapping[str, str]) -> dict[str, str | float | None]:
    """A patch as the page's form has it, sides in per cent, a bearing in words and true minus signs, as the use-case
    takes it: a number where it is one, what was typed where it is none. A face that is unknown has no direction."""
    values: dict[str, str | float | None] = {}
    for name, typed in said.items():
        if name == "name":
            values[name] = typed
            continue
        if name in _FACES and plain(typed) == UNKNOWN:
            values |= dict.fromkeys(_FACES)
            continue
        try:
            if name in _FACES:
                values[name] = read_bearing(typed) if name == "bearing_deg" else read_number(typed, unit="°")
                continue
            values[name] = read_number(typed, unit="%") / (1.0 if name == "wanted_stops" else 100.0)
        except ValueError:
            values[name] = typed
    return values
