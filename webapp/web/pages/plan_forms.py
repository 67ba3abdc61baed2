"""What the forms and drags of the plan's page say, as changes of the standing set-up."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from webapp.ledger import placing
from webapp.ledger.set_up import SetUp
from webapp.plan.positions import snapped
from webapp.quantities.lengths import Lengths
from webapp.shoots.set_up_now import Change

_PLACE_NAMES: Final = ("distance", "bearing", "height", "x", "y", "z", "known", "aim_x", "aim_y", "aim_z")
_NO_LENGTHS: Final = ("bearing", "known")


def changes_of(set_up: SetUp, field: str, said: Mapping[str, str]) -> list[Change]:
    """The fields that a form writes, each with the version under which the page read it. A place that is dragged is
    snapped to what a tape would read. Raises ValueError for a drag that cannot be read."""
    if "there" in said:
        return [Change(f"{field}.there", said["there"], version=_version(said, "version_there"))]
    stand_mm, lengths = _lengths_that_stand(set_up, field), Lengths(inches=said.get("unit") == "in")

    def typed(name: str) -> str:
        """What a page shows is rounder than what is kept: a length that still reads so is left as it stands."""
        if name in stand_mm and said[name].strip() == lengths.text(stand_mm[name]):
            return f"{stand_mm[name]:.4f} mm"
        return lengths.typed(said[name])

    value: dict[str, Any] = {
        name: said[name] if name in _NO_LENGTHS else typed(name) for name in _PLACE_NAMES if name in said
    }
    if "drag" in said:
        before = placing.position_of(set_up, field)
        at = snapped(placing.read_place(value, before))
        value = {"x": f"{at.x_mm} mm", "y": f"{at.y_mm} mm", "z": f"{at.z_mm} mm"}
    changes = [Change(f"{field}.position", value, version=_version(said, "version"))]
    if field.startswith("things."):
        sizes = {name.removeprefix("size_"): typed(name) for name in said if name.startswith("size_")}
        if sizes:
            changes.append(Change(f"{field}.size", sizes, version=_version(said, "version_size")))
        if said.get("turned"):
            changes.append(Change(f"{field}.turned", said["turned"], version=_version(said, "version_turned")))
    return changes


def _lengths_that_stand(set_up: SetUp, field: str) -> dict[str, float]:
    """The lengths that the form of a light or a thing was drawn with, by the names that it sends them under."""
    stand_mm: dict[str, float] = {}
    if (position := placing.position_of(set_up, field)) is not None:
        at, aim = position.at, position.aim
        stand_mm |= {"distance": at.distance_mm, "height": at.z_mm}
        stand_mm |= {"aim_x": aim.x_mm, "aim_y": aim.y_mm, "aim_z": aim.z_mm}
    if (thing := placing.thing_of(set_up, field.removeprefix("things."))) is not None:
        stand_mm |= {"size_width": thing.width_mm, "size_height": thing.height_mm, "size_depth": thing.depth_mm}
    return stand_mm


def _version(said: Mapping[str, str], name: str) -> int | None:
    text = said.get(name, "")
    return int(text) if text.isdecimal() and len(text) < 10 else None


def with_unit(text: str, unit: str) -> str:
    """A bare number is in the unit of the page.

    >>> with_unit("−12,5", "in"), with_unit("30 cm", "in"), with_unit("30", "cm")
    ('-12.5 in', '30 cm', '30')
    """
    return Lengths(inches=unit == "in").typed(text)
