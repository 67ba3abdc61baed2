"""What holds for every shadow and every reflection."""

from __future__ import annotations

import math

from hypothesis import assume, given
from hypothesis import strategies as st

from webapp.optics.shadows import (
    ball_highlight_mm,
    ball_highlight_paraxial_mm,
    displacement_mm,
    family_of_angles,
    penumbra_mm,
    umbra_length_mm,
    umbra_mm,
)

anything = st.floats(1e-12, 1e12)
lengths = st.floats(0.1, 1e5)


@given(anything, anything, anything, anything)
def test_shadows_stay_ordered_at_every_extreme(source: float, distance: float, gap: float, occluder: float) -> None:
    assert 0.0 < penumbra_mm(source, distance, gap) < math.inf
    assert 0.0 <= umbra_mm(source, distance, gap, occluder) < math.inf
    assert umbra_length_mm(source, distance, occluder) > 0.0
    assert displacement_mm(source, distance, gap) == penumbra_mm(source, distance, gap)


@given(lengths, lengths, lengths, lengths, st.floats(1.0, 10.0))
def test_a_source_further_away_hardens_the_shadow(
    source: float, distance: float, gap: float, occluder: float, times: float
) -> None:
    assert penumbra_mm(source, distance * times, gap) <= penumbra_mm(source, distance, gap) * (1 + 1e-12)


@given(lengths, lengths, lengths, lengths)
def test_an_umbra_is_left_exactly_within_its_length(
    source: float, distance: float, gap: float, occluder: float
) -> None:
    length_mm = umbra_length_mm(source, distance, occluder)
    assume(not math.isclose(gap, length_mm, rel_tol=1e-6))

    assert (umbra_mm(source, distance, gap, occluder) > 0.0) == (gap < length_mm)


@given(lengths, lengths, lengths)
def test_the_family_of_angles_is_wider_than_the_subject(subject: float, camera: float, light: float) -> None:
    assert family_of_angles(subject, camera, light).width_mm > subject * (1 - 1e-12)


@given(
    st.floats(1.0, 500.0),
    st.floats(1.0, 10.0),
    st.floats(1.0, 10.0),
    st.floats(0.0, 40.0),
    st.floats(0.0, 40.0),
)
def test_more_tilt_looks_further_away_from_the_camera(
    subject: float, camera_in_subjects: float, light_in_subjects: float, one: float, other: float
) -> None:
    less, more = sorted((one, other))
    camera_mm, light_mm = 10.0 * subject * camera_in_subjects, subject * light_in_subjects

    centre_with_less = family_of_angles(subject, camera_mm, light_mm, less).centre_mm

    assert centre_with_less <= family_of_angles(subject, camera_mm, light_mm, more).centre_mm


@given(lengths, st.floats(0.01, 100.0), st.floats(1.01, 1000.0))
def test_the_exact_highlight_is_never_larger_than_the_paraxial_one(
    radius: float, width_in_radii: float, distance_in_radii: float
) -> None:
    exact = ball_highlight_mm(radius, radius * width_in_radii, radius * distance_in_radii)

    assert exact > 0.0
    assert exact <= ball_highlight_paraxial_mm(radius, radius * width_in_radii, radius * distance_in_radii) * (
        1 + 1e-9
    )
