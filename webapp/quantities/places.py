"""Places on the set as they are told: by distance, bearing and height, or by x, y and z from the subject's middle."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from webapp.quantities.angles import read_bearing
from webapp.quantities.lengths import Lengths
from webapp.quantities.reading import is_unknown, quoted

Known = Literal["taped", "planned", "carried over", "estimated", "unknown"]
KNOWN: Final[tuple[Known, ...]] = ("taped", "planned", "carried over", "estimated", "unknown")
"""How well a place is known: measured by tape on this set, put there as an idea (by a drag, a key, a suggestion, a number),
taken over from another set, judged by eye, or not at all."""
_CALLED_BEFORE: Final[dict[str, Known]] = {"measured": "taped"}
"""What pages, requests and recipes of older versions call it."""
_AXES: Final = {"x": "a length for x", "y": "a length for y", "z": "a length for z"}
_POLAR: Final = {"distance": "a distance", "height": "a height"}
_AIMS: Final = {"aim_x": "a length for the aim", "aim_y": "a length for the aim", "aim_z": "a length for the aim"}
_SIDES: Final = ("width", "height", "depth")
_LARGEST_MM: Final = 20_000.0


@dataclass(frozen=True, slots=True)
class ToldPlace:
    """What was told of a place, in millimetres and degrees; what is None stays as it stands. Told by one of its axes,
    it is told by axes."""

    distance_mm: float | None = None
    bearing_deg: float | None = None
    height_mm: float | None = None
    x_mm: float | None = None
    y_mm: float | None = None
    z_mm: float | None = None
    aim_x_mm: float | None = None
    aim_y_mm: float | None = None
    aim_z_mm: float | None = None
    known: Known | None = None

    @property
    def says_where(self) -> bool:
        """Whether anything of the place itself was told, beside its aim and how well it is known."""
        told = (self.distance_mm, self.bearing_deg, self.height_mm, self.x_mm, self.y_mm, self.z_mm)
        return any(each is not None for each in told)


@dataclass(frozen=True, slots=True)
class ToldSize:
    """What was told of the size of a thing, in millimetres; what is None stays as it stands."""

    width_mm: float | None = None
    height_mm: float | None = None
    depth_mm: float | None = None

    def __post_init__(self) -> None:
        for name in _SIDES:
            side = getattr(self, f"{name}_mm")
            if side is not None and not 0.0 <= side <= _LARGEST_MM:
                raise ValueError(f"A {name} lies between nothing and 20 m.")


def read_known(text: str) -> Known:
    """How well a place is known, also by the name that older versions had for it. Raises ValueError for no such way.

    >>> read_known("measured"), read_known("carried over")
    ('taped', 'carried over')
    """
    known = _CALLED_BEFORE.get(text) or next((each for each in KNOWN if each == text), None)
    if known is None:
        raise ValueError(f"A position is {', '.join(KNOWN[:-1])} or {KNOWN[-1]}.")
    return known


def read_place(said: Mapping[str, str], lengths: Lengths) -> ToldPlace:
    """A place from the blanks of a form: "distance", "bearing" and "height", or "x", "y" and "z", each with "known"
    (empty: not said) and "aim_x", "aim_y" and "aim_z"; an axis that is named has to be told. Raises ValueError for what cannot be read."""
    by_axes = any(name in said for name in _AXES)
    named = {name: what for name, what in _AXES.items() if name in said}
    if not by_axes:
        named |= {name: what for name, what in _POLAR.items() if said.get(name)}
    named |= {name: what for name, what in _AIMS.items() if said.get(name)}
    told = {f"{name}_mm": lengths.read_offset(said[name], what) for name, what in named.items()}
    bearing = read_bearing(said["bearing"]) if said.get("bearing") and not by_axes else None
    known = said.get("known")
    return ToldPlace(**told, bearing_deg=bearing, known=read_known(known) if known else None)


def read_place_text(text: str, lengths: Lengths) -> ToldPlace | None:
    """A place in one line: "80 cm; 45° left; 40 cm above; taped", level with the subject where nothing else is said; None
    for unknown. Raises ValueError for what is none."""
    if is_unknown(text):
        return None
    parts = [part for part in map(str.strip, text.split(";")) if part]
    known = parts.pop() if parts and parts[-1] in (*KNOWN, *_CALLED_BEFORE) else ""
    if not 2 <= len(parts) <= 3:
        counted = f"one part, {quoted(parts[0])}" if len(parts) == 1 else f"{len(parts)} parts"
        raise ValueError(
            f"{quoted(text)} has {counted if parts else 'no part'}: write a position with semicolons, as 80 cm; 45° left; "
            "40 cm above. A comma is a decimal sign."
        )
    height = parts[2] if len(parts) > 2 else "0"
    return read_place({"distance": parts[0], "bearing": parts[1], "height": height, "known": known}, lengths)


def read_size(said: Mapping[str, str], lengths: Lengths) -> ToldSize:
    """A size from the blanks of a form: "width", "height" and "depth". Raises ValueError for what cannot be read."""
    sides = {name: said[name] for name in _SIDES if said.get(name)}
    return ToldSize(**{f"{name}_mm": lengths.read_offset(text, f"a {name}") for name, text in sides.items()})


def read_size_text(text: str, lengths: Lengths) -> ToldSize:
    """A size in one line: "30 cm × 40 cm", with a third for the depth. Raises ValueError for what is none."""
    return read_size(dict(zip(_SIDES, re.split(r"\s*[x×]\s*", text.strip()), strict=False)), lengths)
