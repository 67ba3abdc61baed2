"""What light can be told of: a side of a small cube in the middle of the subject, a face of the subject's own, a dome or a
flat meter there."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from webapp.optics.arrays import Floats, np

Kind = Literal["side", "own", "dome", "flat"]
TO_LENS: Final = "lens"
DOME: Final = "dome"
FLAT: Final = "flat"
SIDES: Final = (TO_LENS, "left", "right", "top", "back", "far", "near", DOME, FLAT)
"""The names of all that are no face of the subject's own; far and near are sides of a subject that the lens looks down on."""
_OWN: Final = "own:"


@dataclass(frozen=True, slots=True)
class Surface:
    """A side of the cube, a face of the subject's own, or a meter. `normal` is where it faces; a flat meter that is
    turned to each light has none of its own."""

    name: str
    kind: Kind
    normal: tuple[float, float, float] | None

    @property
    def facing(self) -> Floats:
        """Its normal as an array; it has one."""
        assert self.normal is not None
        return np.array(self.normal)

    @property
    def key(self) -> str:
        """What it is chosen by: its name, which a face of the subject's own may share with a side.

        >>> Surface("left", "own", None).key, Surface("left", "side", None).key
        ('own:left', 'left')
        """
        return own_key(self.name) if self.kind == "own" else self.name


def own_key(name: str) -> str:
    """What a face of the subject's own is chosen by."""
    return _OWN + name


def side(name: str, normal: Floats) -> Surface:
    """A side of the cube."""
    x, y, z = normal.tolist()
    return Surface(name, "side", (x, y, z))


def direction(bearing_deg: float, elevation_deg: float) -> tuple[float, float, float]:
    """The unit direction from the middle of the subject at a bearing and a height angle, both in degrees.

    >>> [round(each, 3) for each in direction(90.0, 0.0)]
    [1.0, -0.0, 0.0]
    """
    bearing, elevation = math.radians(bearing_deg), math.radians(elevation_deg)
    floor = math.cos(elevation)
    return floor * math.sin(bearing), -floor * math.cos(bearing), math.sin(elevation)
