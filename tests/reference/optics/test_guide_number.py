"""Guide numbers as printed."""

from __future__ import annotations

from collections.abc import Callable

from webapp.optics import flash


def test_the_printed_guide_numbers(
    checked: Callable[..., None], table: Callable[[str], list[dict[str, str]]]
) -> None:
    for row in table("guide_number.csv"):
        number_m = float(row["guide_number_m"])

        if row["quantity"] == "feet":
            got = flash.guide_number_ft(number_m)
        else:
            got = flash.flash_f_number(number_m, 1000 * float(row["distance_m"]))

        source = "“Guide number”, encyclopaedia and dictionary"
        what = f"{row['quantity'].replace('_', '-')} of a guide number"
        checked("flash", source, what, float(row["printed"]), got, float(row["half_digit"]), "as printed")
