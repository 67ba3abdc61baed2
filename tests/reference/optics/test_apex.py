"""CIPA DC-008, Annex C (from memory): the APEX values of the marks."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from webapp.optics import exposure
from webapp.optics.scales import Dial, Quantity
from webapp.quantities.marks import read_mark

APEX_OF = {
    Quantity.F_NUMBER: exposure.aperture_value,
    Quantity.SHUTTER: exposure.time_value,
    Quantity.ISO: exposure.speed_value,
}


@pytest.mark.parametrize("quantity", list(Quantity))
def test_the_marks_stand_where_the_annex_puts_them(
    quantity: Quantity, checked: Callable[..., None], table: Callable[[str], list[dict[str, str]]]
) -> None:
    for row in table("apex_marks.csv"):
        if row["quantity"] == quantity:
            got = APEX_OF[quantity](read_mark(quantity, row["mark"], Dial.FULL).exact)

            what = f"APEX value of the {quantity.replace('_', ' ')} marks"
            checked("exposure", "CIPA DC-008, Annex C (from memory)", what, float(row["apex"]), got, 1e-9, "stop")
