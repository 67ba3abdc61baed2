"""Non-negative least squares against a general-purpose library."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import nnls

from webapp.optics.least_squares import non_negative


@given(
    st.integers(1, 9).flatmap(
        lambda count: st.tuples(
            st.lists(
                st.lists(st.integers(0, 1_000_000).map(lambda light: light / 1e6), min_size=count, max_size=count),
                min_size=count,
                max_size=36,
            ),
            st.just(count),
        )
    ),
    st.data(),
)
def test_no_gains_leave_less_than_those_of_a_general_purpose_library(
    drawn: tuple[list[list[float]], int], data: st.DataObject
) -> None:
    columns = np.array(drawn[0])
    values = np.array(data.draw(st.lists(st.floats(-1.0, 4.0), min_size=len(columns), max_size=len(columns))))

    gains = non_negative(columns, values)

    _, least = nnls(columns, values, maxiter=1000)
    assert (gains >= 0.0).all()
    assert np.linalg.norm(columns @ gains - values) == pytest.approx(least, abs=1e-7)
