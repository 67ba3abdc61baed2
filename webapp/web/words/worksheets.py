"""What a worksheet is called and is for, and what its parameters and results are called and mean.

A name often says enough (`subject_distance_mm` is the subject distance, in mm): only what it does not say stands in the
modules that are gathered here.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from webapp.web.words import worksheets_of_colour, worksheets_of_exposure, worksheets_of_the_set
from webapp.web.words.worksheet_names import SheetWords

SHEETS: Final[Mapping[str, SheetWords]] = {
    each.name: each
    for each in (*worksheets_of_exposure.SHEETS, *worksheets_of_the_set.SHEETS, *worksheets_of_colour.SHEETS)
}
