"""Close-up and depth of field by rays traced through a lens with separate pupils.

The lens is two thin lenses with a stop between them: a telephoto, a retrofocus and a symmetrical one. Nothing
here knows of magnification at the pupils or of the formulas: rays are drawn from the subject through both edges
of the stop to the sensor. The sensor stands where the subject comes to focus; what the rays leave on it is the
blur, and the limits of the depth are where that is the circle of confusion.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest
from scipy.optimize import brentq

from webapp.optics import depth, macro

TRACED = "pupil-edge rays through two lenses and a stop, root found by SciPy"


@dataclass(frozen=True)
class TwoLenses:
    """Focal lengths of front and rear lens, the distances to the stop between them, and its radius; in mm."""

    front_mm: float
    rear_mm: float
    to_stop_mm: float
    from_stop_mm: float
    stop_radius_mm: float

    def turned(self) -> TwoLenses:
        return TwoLenses(self.rear_mm, self.front_mm, self.from_stop_mm, self.to_stop_mm, self.stop_radius_mm)

    def through(self, height: float, slope: float) -> tuple[float, float, float]:
        """A ray that meets the front lens: its height in the stop, then height and slope behind the rear lens."""
        slope -= height / self.front_mm
        in_stop = height + slope * self.to_stop_mm
        behind = in_stop + slope * self.from_stop_mm
        return in_stop, behind, slope - behind / self.rear_mm

    def to_stop_edge(self, subject_mm: float, edge: float) -> tuple[float, float]:
        """Height and slope, behind the lens, of the ray from a point on the axis to an edge of the stop."""
        in_stop, height, slope = self.through(subject_mm, 1.0)
        scale = edge * self.stop_radius_mm / in_stop
        return height * scale, slope * scale

    @property
    def focal_length_mm(self) -> float:
        return -1.0 / self.through(1.0, 0.0)[2]

    @property
    def front_principal_plane_mm(self) -> float:
        """Behind the front lens. A ray parallel to the axis behind the lens is turned there."""
        _, height, slope = self.turned().through(1.0, 0.0)
        return -(-height / slope - self.focal_length_mm)

    @property
    def entrance_pupil_radius_mm(self) -> float:
        """The height at which a ray parallel to the axis, meeting the edge of the stop, comes in."""
        return self.stop_radius_mm / self.through(1.0, 0.0)[0]

    @property
    def pupil_magnification(self) -> float:
        return self.turned().entrance_pupil_radius_mm / self.entrance_pupil_radius_mm

    @property
    def f_number(self) -> float:
        return self.focal_length_mm / (2 * self.entrance_pupil_radius_mm)

    def image_mm(self, subject_mm: float) -> float:
        """Where a point on the axis comes to focus, behind the rear lens."""
        height, slope = self.to_stop_edge(subject_mm, 1.0)
        return -height / slope

    def magnification(self, subject_mm: float) -> float:
        """Size of the image of a small subject, by a ray from its top through the middle of the front lens."""
        _, height, slope = self.through(0.0, 1.0)
        return abs(height + slope * self.image_mm(subject_mm)) / subject_mm

    def working_f_number(self, subject_mm: float) -> float:
        """From the cone of light that falls on the sensor."""
        _, slope = self.to_stop_edge(subject_mm, 1.0)
        return 1.0 / (2.0 * abs(slope))

    def blur_mm(self, focus_mm: float, subject_mm: float) -> float:
        sensor_mm = self.image_mm(focus_mm)
        hits = [
            sum(part * by for part, by in zip(self.to_stop_edge(subject_mm, edge), (1, sensor_mm), strict=True))
            for edge in (-1.0, 1.0)
        ]
        return abs(hits[1] - hits[0])


LENSES = {
    "telephoto": TwoLenses(60, -80, 25, 10, 6),
    "retrofocus": TwoLenses(-120, 45, 20, 12, 7),
    "symmetrical": TwoLenses(100, 100, 12, 12, 8),
}
lenses = pytest.mark.parametrize("lens", LENSES.values(), ids=list(LENSES))


def test_the_three_lenses_have_different_pupils() -> None:
    assert LENSES["telephoto"].pupil_magnification < 0.8
    assert LENSES["retrofocus"].pupil_magnification > 1.25
    assert LENSES["symmetrical"].pupil_magnification == pytest.approx(1)


@lenses
def test_the_effective_f_number_of_traced_cones(lens: TwoLenses, checked: Callable[..., None]) -> None:
    for subject_mm in (140.0, 200.0, 400.0, 5000.0):
        m = lens.magnification(subject_mm)

        got = macro.effective_f_number(lens.f_number, m, lens.pupil_magnification)

        checked("close-up", TRACED, "effective f-number", lens.working_f_number(subject_mm), got, 1e-9, "relative")


@lenses
def test_the_effective_f_number_of_a_reversed_lens(lens: TwoLenses, checked: Callable[..., None]) -> None:
    for subject_mm in (140.0, 200.0, 400.0):
        m = lens.turned().magnification(subject_mm)

        got = macro.effective_f_number(lens.f_number, m, lens.pupil_magnification, reversed_lens=True)

        traced = lens.turned().working_f_number(subject_mm)
        checked("close-up", TRACED, "effective f-number, reversed", traced, got, 1e-9, "relative")


@lenses
def test_the_magnification_of_traced_rays(lens: TwoLenses, checked: Callable[..., None]) -> None:
    for subject_mm in (140.0, 200.0, 400.0, 5000.0):
        from_principal_plane = subject_mm + lens.front_principal_plane_mm

        got = macro.magnification_at(lens.focal_length_mm, from_principal_plane)

        checked("close-up", TRACED, "magnification", lens.magnification(subject_mm), got, 1e-9, "relative")


@lenses
@pytest.mark.parametrize("circle_mm", [0.005, 0.03, 0.1])
def test_the_depth_of_field_of_traced_rays(lens: TwoLenses, circle_mm: float, checked: Callable[..., None]) -> None:
    plane_mm = lens.front_principal_plane_mm
    for focus_mm in (150.0, 250.0, 1000.0):
        ends = [
            float(brentq(lambda x, u=focus_mm: lens.blur_mm(u, x) - circle_mm, *bracket, xtol=1e-11)) + plane_mm
            for bracket in ((0.5 * focus_mm, focus_mm), (focus_mm, 50 * focus_mm))
        ]
        givens = (lens.focal_length_mm, lens.f_number, circle_mm, focus_mm + plane_mm, lens.pupil_magnification)

        near, far, total = (
            formula(*givens) for formula in (depth.near_limit_mm, depth.far_limit_mm, depth.depth_of_field_mm)
        )

        checked("depth of field", TRACED, "near limit", ends[0], near, 1e-9, "relative")
        checked("depth of field", TRACED, "far limit", ends[1], far, 1e-9, "relative")
        checked("depth of field", TRACED, "depth", ends[1] - ends[0], total, 1e-7, "relative")


@lenses
def test_from_the_hyperfocal_distance_the_farthest_point_is_just_sharp(
    lens: TwoLenses, checked: Callable[..., None]
) -> None:
    hyperfocal = depth.hyperfocal_mm(lens.focal_length_mm, lens.f_number, 0.03)

    blur_at_infinity = lens.blur_mm(hyperfocal - lens.front_principal_plane_mm, 1e12)

    checked(
        "depth of field",
        TRACED,
        "blur of infinity at the hyperfocal distance",
        0.03,
        blur_at_infinity,
        1e-7,
        "relative",
    )


def test_the_printed_hyperfocal_distance(
    checked: Callable[..., None], table: Callable[[str], list[dict[str, str]]]
) -> None:
    for row in table("hyperfocal.csv"):
        givens = (float(row[name]) for name in ("focal_length_mm", "f_number", "circle_of_confusion_mm"))

        got = depth.hyperfocal_mm(*givens)

        source = "“Precision Depth of Field”, mapleprimes.com"
        checked("depth of field", source, "hyperfocal distance", float(row["hyperfocal_mm"]), got, 5e-5, "mm")
