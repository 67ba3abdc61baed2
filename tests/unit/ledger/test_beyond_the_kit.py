"""What the kit cannot do is refused with the nearest that it can, and that is taken."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.ledger.builders import CAMERA, HEAD, LENS, set_up, standing_light
from webapp.errors import InvalidValue
from webapp.ledger.field_values import Reader, text_of
from webapp.ledger.fields import KitShelf
from webapp.ledger.set_up import SetUp
from webapp.optics.scales import Dial

NO_SHELF = cast("KitShelf", None)


def nearest(asked: SetUp, path: str, typed: str) -> str:
    """What a refusal names, once it was set."""
    with pytest.raises(InvalidValue) as refusal:
        Reader(asked, NO_SHELF).typed(path, typed)
    reader = Reader(asked, NO_SHELF)
    reader.typed(path, refusal.value.nearest)
    assert text_of(reader.set_up, path) == refusal.value.nearest
    return refusal.value.nearest


# Engraved widest and smallest apertures, some of which are marks of no half-stop or full-stop dial.
@given(
    st.sampled_from(list(Dial)), st.sampled_from([1.2, 1.4, 1.8, 3.5, 4, 6.3]), st.sampled_from([16, 22, 29, 32, 40])
)
def test_an_f_number_beyond_the_lens_has_the_end_of_the_lens_nearest(
    dial: Dial, widest: float, smallest: float
) -> None:
    lens = replace(LENS, widest_f_number=widest, smallest_f_number=smallest, f_number_dial=dial)
    asked = replace(set_up("8"), lens=lens)

    assert nearest(asked, "f_number", "0.5") == f"{widest:g}"
    assert nearest(asked, "f_number", "128") == f"{smallest:g}"


@given(st.sampled_from(list(Dial)), st.sampled_from([50, 64, 100, 200]), st.sampled_from([6400, 102_400, 1_638_400]))
def test_an_iso_beyond_the_camera_has_the_end_of_the_camera_nearest(dial: Dial, lowest: int, highest: int) -> None:
    camera = replace(CAMERA, lowest_iso=lowest, highest_iso=highest, iso_dial=dial)
    asked = replace(set_up("8"), camera=camera)

    assert nearest(asked, "iso", "6") == str(lowest)
    assert nearest(asked, "iso", "3276800") == str(highest)


@given(st.floats(-10, -1), st.sampled_from([0.1, 1 / 3, 0.5, 1.0]), st.sampled_from(["-20", "+20"]))
def test_a_power_beyond_the_head_has_the_end_of_its_dial_nearest(lowest: float, step: float, change: str) -> None:
    head = replace(HEAD, lowest_power_stops=lowest, step_stops=step)
    asked = set_up("8", standing_light("A", lowest / 2, head=head))

    assert nearest(asked, "lights.A.power", change) == head.dial.mark(lowest if change == "-20" else 0.0)
