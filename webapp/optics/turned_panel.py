"""The light of a flat panel that is turned any way, on faces that look any way: what feathering, a pair of lights on a
copy, and a light over a sweep come to.

Lengths in millimetres, in any right-handed axes. The sum over the panel's edges is exact for an even, Lambertian panel
that lies wholly in front of the face it lights: E = (L/2) Σ β (u · n), with β the angle that an edge spans at the lit
place and u the unit normal of the plane through that edge and the place.

Source: lambert-cosine (the sum over the edges of a polygon is Lambert's; from memory, checked against integration).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from webapp.optics import domain
from webapp.optics.arrays import Floats, np
from webapp.optics.assumptions import Assumption
from webapp.optics.illuminance import SMALL_PATCH
from webapp.optics.working import Relation, Symbol

PANEL_ON_FACE: Final = Relation(
    result="light on the face, per intensity of the panel",
    unit="1/mm²",
    formula="e = Σ β (u · n) / (2 w h), over the four edges of the panel at d",
    latex=r"e = \frac{1}{2 w h} \sum \beta \, (\vec{u} \cdot \vec{n})",
    symbols=(
        Symbol("w", "width of the panel", "mm"),
        Symbol("h", "height of the panel", "mm"),
        Symbol("d", "distance from the panel to the place", "mm"),
    ),
    source="lambert-cosine",
    assumptions=(Assumption.PANEL_GLOWS_EVENLY,),
)


@dataclass(frozen=True, slots=True)
class TurnedPanel:
    """A panel by its middle, the way that it faces, and its sides. Its height runs as near to `up` as it can.

    Raises ValueError for sides out of their domain, and for a panel that faces along `up`.
    """

    centre: tuple[float, float, float]
    faces: tuple[float, float, float]
    width_mm: float
    height_mm: float
    up: tuple[float, float, float] = (0.0, 0.0, 1.0)

    def __post_init__(self) -> None:
        domain.positive("width of the light", self.width_mm, "mm")
        domain.positive("height of the light", self.height_mm, "mm")
        if np.linalg.norm(np.cross(self.faces, self.up)) < 1e-9 * np.linalg.norm(self.faces):
            raise ValueError("The panel faces along its own upright; name another direction for its height.")

    @property
    def axis(self) -> Floats:
        axis: Floats = np.asarray(self.faces) / np.linalg.norm(self.faces)
        return axis

    @property
    def corners(self) -> Floats:
        """The four corners, round the panel."""
        across = np.cross(self.axis, self.up)
        across = across / np.linalg.norm(across)
        up = np.cross(across, self.axis)
        half = [(-1, -1), (1, -1), (1, 1), (-1, 1)]
        return np.asarray(
            [
                np.asarray(self.centre) + x * self.width_mm / 2.0 * across + y * self.height_mm / 2.0 * up
                for x, y in half
            ]
        )


def light_on_faces(panel: TurnedPanel, places: Floats, normals: Floats) -> Floats:
    """The light at each place on a face with its normal, E/I in 1/mm², with I = L · A of the panel.

    `places` and `normals` are rows of three; a normal has the length 1. It tends to cos θ cos θ' / d² far away. A place
    behind the panel gets none. Raises ValueError where part of the panel lies behind the face that it lights: the sum
    would count that part as darkness. Source: lambert-cosine.
    """
    places, normals = np.atleast_2d(places), np.atleast_2d(normals)
    away = places - np.asarray(panel.centre)
    in_front = away @ panel.axis
    to_corners = panel.corners[np.newaxis, :, :] - places[:, np.newaxis, :]
    lit = in_front > 0.0
    if np.any((np.einsum("pci,pi->pc", to_corners, normals) < -1e-9)[lit]):
        raise ValueError(
            "Part of the light stands behind the face that it lights; move it forward, make it smaller or turn it less."
        )
    distance_squared = np.einsum("pi,pi->p", away, away)
    cosines = in_front * -np.einsum("pi,pi->p", away, normals)
    as_patch = cosines / distance_squared**2
    following = np.roll(to_corners, -1, axis=1)
    crossed = np.cross(to_corners, following)
    sines = np.linalg.norm(crossed, axis=2)
    angles = np.arctan2(sines, np.einsum("pci,pci->pc", to_corners, following))
    towards = np.einsum("pci,pi->pc", crossed, normals) / np.maximum(sines, 1e-300)
    exact = np.abs(np.sum(angles * towards, axis=1)) / (2.0 * panel.width_mm * panel.height_mm)
    size = math.hypot(panel.width_mm, panel.height_mm)
    value = np.where(size**2 < SMALL_PATCH**2 * distance_squared, as_patch, exact)
    return np.where(lit, np.maximum(value, 0.0), 0.0)


_COARSE: Final = 5


def least_over(spread: Callable[[int], float], first: int, last: int) -> int:
    """The whole angle of least spread from `first` to `last`: every fifth degree first, then each about the best of
    them. Spreads of light have one valley, or are flat in it."""
    coarse = min(range(first, last + 1, _COARSE), key=spread)
    return min(range(max(first, coarse - _COARSE), min(last, coarse + _COARSE) + 1), key=spread)


def together(panels: Sequence[TurnedPanel], places: Floats, normals: Floats) -> Floats:
    """The light of several equal panels, added as light. Raises ValueError as `light_on_faces`."""
    light: Floats = np.sum([light_on_faces(each, places, normals) for each in panels], axis=0)
    return light
