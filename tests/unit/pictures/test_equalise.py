"""Exposure equalised in linear light."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from tests.made_pictures import colour, jpeg_bytes, scene, srgb_codes
from webapp.pictures.equalise import lifted_codes, lifted_jpeg


@pytest.mark.parametrize(("code", "stops", "lifted"), [(64, 2.0739, 128), (100, 2.1802, 200), (5, 1.0, 10)])
def test_a_code_goes_where_its_light_goes(code: int, stops: float, lifted: int) -> None:
    # The distances in stops between codes of IEC 61966-2-1, worked out by hand.
    assert lifted_codes(stops)[code] == lifted


@given(st.floats(-6, 6))
def test_lifting_keeps_the_order_and_clips_at_white(stops: float) -> None:
    codes = lifted_codes(stops).astype(int)

    assert (np.diff(codes) >= 0).all()
    assert codes[0] == 0


def test_a_picture_a_stop_darker_is_brought_up_to_the_other(tmp_path: Path) -> None:
    bright, dark = srgb_codes(scene()), srgb_codes(scene() / 2)
    (tmp_path / "dark.jpg").write_bytes(jpeg_bytes(dark))

    lifted = np.asarray(Image.open(io.BytesIO(lifted_jpeg(tmp_path / "dark.jpg", 1.0))))

    light = colour.models.eotf_sRGB(lifted / 255).mean() / colour.models.eotf_sRGB(bright / 255).mean()
    assert np.log2(light) == pytest.approx(0.0, abs=0.02)


def test_more_than_ten_stops_are_refused() -> None:
    with pytest.raises(ValueError, match="at most 10"):
        lifted_codes(11)
