"""What the lens sees: where a place comes to lie in the picture, and whether anything stands before it.

The lens looks at the middle of the subject. A place in the picture is told in millimetres in the plane of the subject,
square to the lens: to the right of its middle, and above it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from webapp.optics.arrays import Flags, Floats, np
from webapp.plan.illumination import Face, facing, vector
from webapp.plan.solids import Rows, Solid, column, dot, meets
from webapp.plan.staging import Plan

Look: TypeAlias = Literal["lens", "above"]
LOOKS: Final[tuple[Look, ...]] = ("lens", "above")
"""From where a card is drawn."""
WIDTH_PX: Final = 320
_TALLEST_PX: Final = 320
_WITHOUT_FIELD: Final = 3.0
"""Where the field is unknown a card shows so many times the subject's larger side across."""
_FROM_ABOVE: Final = 4.5
_HIGH: Final = 20.0


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """A lens at `eye`; `face` is the plane that it looks at, square to it, and `field_mm` what of that plane is in the
    picture, None where this is unknown."""

    eye: Floats
    face: Face
    field_mm: tuple[float, float] | None

    def across_and_up(self, places: Rows) -> tuple[Rows, Rows]:
        """Where places lie in the picture; not a number for what is not before the lens."""
        ways = places - column(self.eye, places)
        away = -dot(ways, column(self.face.normal, ways))
        distance = float((self.eye - self.face.middle) @ self.face.normal)
        with np.errstate(divide="ignore", invalid="ignore"):
            scale = np.where(away > 0.0, distance / away, np.nan)
        return dot(ways, column(self.face.across, ways)) * scale, dot(ways, column(self.face.up, ways)) * scale

    def in_picture(self, places: Rows) -> Flags:
        across, up = self.across_and_up(places)
        if self.field_mm is None:
            return np.asarray(np.isfinite(across))
        width, height = self.field_mm
        return np.asarray((np.abs(across) <= width / 2.0) & (np.abs(up) <= height / 2.0))

    def faces(self, places: Rows, normals: Rows) -> Flags:
        """Whether the lens is on the side of a slope that its normal points to."""
        return np.asarray(dot(column(self.eye, places) - places, normals) > 0.0)

    def hidden_by(self, places: Rows, solids: Sequence[Solid]) -> dict[str, Flags]:
        """By what of the set each place is hidden from the lens. The camera hides nothing from its own lens."""
        ways = column(self.eye, places) - places
        found: dict[str, Flags] = {}
        for each in solids:
            if each.name != "camera":
                found[each.name] = found.get(each.name, False) | meets(each, places, ways)
        return found


def view_of(plan: Plan) -> View:
    """The view of the set's camera, assumed where none stands on it."""
    eye = vector(plan.camera)
    return View(eye, facing(np.zeros(3), eye / np.linalg.norm(eye)), plan.field_mm)


def card_view(plan: Plan, look: Look, width: int, height: int) -> View:
    """What a card of so many pixels shows: the picture, or the subject and what is around it from high above."""
    view = view_of(plan)
    side = max(plan.subject_mm)
    if look == "above":
        across = _FROM_ABOVE * side
        eye = np.array([0.0, 0.0, _HIGH * side])
        return View(eye, facing(np.zeros(3), np.array([0.0, 0.0, 1.0])), (across, across * height / width))
    if view.field_mm is not None:
        return view
    return View(view.eye, view.face, (_WITHOUT_FIELD * side, _WITHOUT_FIELD * side * height / width))


def card_size(plan: Plan, look: Look = "lens") -> tuple[int, int]:
    """Width and height of the card in pixels: the shape of the picture."""
    if look == "above" or plan.field_mm is None:
        return WIDTH_PX, WIDTH_PX * 3 // 4
    width_mm, height_mm = plan.field_mm
    height = round(WIDTH_PX * height_mm / width_mm)
    if height <= _TALLEST_PX:
        return WIDTH_PX, height
    return max(8, round(_TALLEST_PX * width_mm / height_mm)), _TALLEST_PX
