"""Arrays of numbers: numpy, imported with the first array that is made.

The server at rest, and whatever needs a single number at a time, do without it: it is a tenth of their memory, and of
the time that starting takes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
else:

    class _Numpy:
        def __getattr__(self, name: str) -> Any:
            import numpy

            found = getattr(numpy, name)
            setattr(self, name, found)
            return found

    np = _Numpy()

__all__ = ["Counts", "Flags", "Floats", "np"]

Floats: TypeAlias = "NDArray[np.float64]"
Flags: TypeAlias = "NDArray[np.bool_]"
Counts: TypeAlias = "NDArray[np.int64]"
