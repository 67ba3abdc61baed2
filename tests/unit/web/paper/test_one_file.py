"""The page in one file, of recipes that say more than fits."""

from __future__ import annotations

import datetime as dt
import html
import io
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.unit.web.paper.rich import rich_recipe
from webapp.errors import InvalidValue
from webapp.recipes.document import PicturePart, Recipe, WorkingPart
from webapp.recipes.share.links import STUDENT, Opened
from webapp.web.paper.one_file import MOST_BYTES, one_file


def services(asked_px: list[int]) -> Any:
    """A house whose every picture is noise, the worst that there is to be packed."""

    def small(_path: Path, longest_px: int) -> bytes:
        asked_px.append(longest_px)
        out = io.BytesIO()
        noise = np.random.default_rng(1).integers(0, 256, (longest_px // 3, longest_px, 3), np.uint8)
        Image.fromarray(noise).save(out, "JPEG", quality=90)
        return out.getvalue()

    return SimpleNamespace(intake=SimpleNamespace(small=small), store=SimpleNamespace(path_of=Path))


def working(words: str) -> WorkingPart:
    said = {"result": "level", "value": 1.0, "unit": "stops", "formula": "a = b", "latex": "a = b", "given": ()}
    return WorkingPart(**said, assumptions=(words[:600],) * 20, source="definition")


def file_of(recipe: Recipe, asked_px: list[int] | None = None) -> str:
    opened = Opened(
        recipe,
        STUDENT,
        figures=True,
        kit_names=True,
        expect="",
        keep="",
        named=(),
        expires_at=None,
        with_bundle=False,
        published_at=dt.datetime(2026, 11, 24, tzinfo=dt.UTC),
        identity="01a22726-b176-71d9-bdf0-7db6286a5fc9",
    )
    made = one_file(services([] if asked_px is None else asked_px), opened, version=1)
    return html.unescape(made.content.decode())


def test_a_rich_recipe_is_whole() -> None:
    made = rich_recipe(comparisons=(PicturePart(digest="cd" * 32, words="without the card"),))

    page = file_of(made)

    assert "without the card" in page
    assert "Left out" not in page
    texts = [*(each.words for each in made.steps), *made.cautions]
    assert [each for each in texts if each not in page] == []


def test_pictures_are_made_smaller_until_the_file_can_be_sent_by_mail() -> None:
    asked_px: list[int] = []
    made = rich_recipe(comparisons=tuple(PicturePart(digest=f"{n}d" * 32) for n in range(3)))

    page = file_of(made, asked_px)

    assert len(page.encode()) <= MOST_BYTES
    assert page.count("data:image/jpeg") == 5
    assert min(asked_px) < max(asked_px) == 1600


def test_where_words_fill_the_file_comparisons_and_workings_stay_out_and_the_file_says_so() -> None:
    made = rich_recipe(
        comparisons=(PicturePart(digest="cd" * 32, words="without the card"),) * 3,
        workings=(working("what stands under it, at length; " * 20),) * 100,
        steps=tuple(f"Step {number}: {'the rim light from behind ' * 20}" for number in range(200)),
    )

    page = file_of(made)

    assert len(page.encode()) <= MOST_BYTES
    assert "Step 199" in page
    assert "without the card" not in page
    assert "what stands under it" not in page
    assert "Left out, so that the file can be sent by mail: comparison pictures and workings." in page


def test_words_that_are_too_many_by_themselves_are_refused() -> None:
    made = rich_recipe(
        changes=("字" * 600,) * 500, steps=("字" * 600,) * 200, why="字" * 8000, cautions=("字" * 600,) * 40
    )

    with pytest.raises(InvalidValue, match="more than one file of 2 MB can hold"):
        file_of(made)
