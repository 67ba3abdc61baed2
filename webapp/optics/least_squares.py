"""Least squares under the bound that nothing is negative: light only ever adds, and a curve only ever rises."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from numpy.typing import NDArray

_ROUNDING: Final = 1e-10
_BLACK: Final = 1e-9


def non_negative(columns: NDArray[Any], values: NDArray[Any]) -> NDArray[Any]:
    """The gains g ≥ 0 with the least |columns · g − values|².

    By the active set of Lawson and Hanson (Solving Least Squares Problems, 1974, chapter 23), begun with every source in
    it, as most give light: those driven below nothing are put out, and the one that would help most is let in again.
    """
    import numpy as np

    # All of one length, so that a faint source counts as a bright one does.
    lengths = np.linalg.norm(columns, axis=0)
    lengths[lengths == 0.0] = 1.0
    columns = columns / lengths
    gains = np.zeros(columns.shape[1])
    lit = np.ones(columns.shape[1], dtype=bool)
    least = _ROUNDING * max(1.0, float(np.abs(columns.T @ values).max(initial=0.0)))
    for _ in range(3 * columns.shape[1]):
        while True:
            trial = np.zeros_like(gains)
            trial[lit] = np.linalg.lstsq(columns[:, lit], values, rcond=None)[0]
            below = lit & (trial <= 0.0)
            if not below.any():
                break
            # As far towards the trial as nothing falls below 0; what reaches it is put out.
            step = (gains[below] / (gains[below] - trial[below] + _BLACK)).min()
            gains = gains + step * (trial - gains)
            lit &= ~(below & (gains <= _ROUNDING))
            gains[~lit] = 0.0
        gains = trial
        helps = np.where(lit, -math.inf, columns.T @ (values - columns @ gains))
        if helps.max() <= least:
            break
        lit[int(helps.argmax())] = True
    found: NDArray[Any] = gains / lengths
    return found
