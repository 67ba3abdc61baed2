"""The recipe as a form, there and back."""

from __future__ import annotations

import pytest

from tests.unit.recipes.made import light, recipe
from webapp.errors import SeveralInvalid
from webapp.recipes.document import PostStep
from webapp.web.recipe_form import FormPart, edited, form_of, parts_of


def test_a_form_sent_back_unchanged_changes_nothing() -> None:
    before = recipe(light("A"), light("B", role="fill"))

    assert edited(before, form_of(before)) == before


def row(group: str, number: int, **fields: str) -> dict[str, str]:
    return {f"{group}-{number}-{name}": value for name, value in fields.items()}


def test_what_is_done_after_the_camera_is_kept_field_by_field() -> None:
    after = edited(
        recipe(),
        row("post", 0, kind="rotation", rotation_deg="−0.2", reason="the tile leans")
        | row("post", 1, kind="crop", left="5", top="0", right="95", bottom="100 %", reason="square")
        | row("post", 2, kind="spotting", words="dust")
        | row("post", 3, kind="white balance", kelvin="5200 K", words="the grey card")
        | row("post", 4, kind="delivered size", width_px="3000", height_px="2000", words="TIFF, Adobe RGB")
        | row("post", 5, kind="profile", words="house profile 3")
        | row("post", 6, kind="other", words="", reason=""),
    )

    assert after.post == (
        PostStep(kind="rotation", rotation_deg=-0.2, reason="the tile leans"),
        PostStep(kind="crop", left=0.05, top=0.0, right=0.95, bottom=1.0, reason="square"),
        PostStep(kind="spotting", words="dust"),
        PostStep(kind="white balance", kelvin=5200.0, words="the grey card"),
        PostStep(kind="delivered size", width_px=3000, height_px=2000, words="TIFF, Adobe RGB"),
        PostStep(kind="profile", words="house profile 3"),
    )


def test_steps_are_rewritten_moved_added_and_left_out_row_by_row() -> None:
    before = recipe(steps=("prove black", "rim first", "label last"))
    said = form_of(before) | {"step-0-words": "", "step-2-place": "0.5", "step-1-check": "the rim is even"}

    after = edited(before, said | row("step", 3, about="other", whose="", words="dust it", place="9"))

    assert [(each.words, each.check) for each in after.steps] == [
        ("label last", ""),
        ("rim first", "the rim is even"),
        ("dust it", ""),
    ]


def test_a_step_in_the_programs_words_stays_drafted_until_it_is_rewritten() -> None:
    drafted = recipe(steps=({"about": "light", "whose": "A", "words": "Key A", "check": "f/8", "drafted": True},))
    kept = edited(drafted, form_of(drafted))
    written = edited(drafted, form_of(drafted) | {"step-0-check": "f/11"})

    assert [each.steps[0].drafted for each in (kept, written)] == [True, False]


def test_history_is_left_out_frame_by_frame_and_says_what_it_taught() -> None:
    changes = (
        {"first_frame": 3, "last_frame": 3, "words": "f/8 to f/11"},
        {"words": "from before there were frames"},
    )
    before = recipe(changes=changes)
    said = form_of(before) | {"change-n1-learned": "patience"}
    del said["change-3-kept"]

    (left,) = edited(before, said).changes

    assert (left.words, left.learned) == ("from before there were frames", "patience")


def test_every_field_that_cannot_be_kept_is_named() -> None:
    with pytest.raises(SeveralInvalid) as refused:
        edited(
            recipe(),
            {"title": "", "direction_A": "the moon"}
            | row("post", 0, kind="crop", left="9", top="9", right="1", bottom="1")
            | row("post", 1, kind="rotation", rotation_deg="upside down")
            | row("tolerance", 0, what="distances", within="soon", unit="mm")
            | row("step", 4, words="<script>")
            | row("step", 5, words="", check="it is there"),
        )

    assert {problem.where[0] for problem in refused.value.problems} == {
        "direction_A",
        "post-0-left",
        "post-1-rotation_deg",
        "step-5-words",
        "tolerance-0-within",
        "title",
        "step-4-words",
    }


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", "a <img src=x>", "bell \x07"])
def test_markup_and_control_characters_are_no_text(text: str) -> None:
    with pytest.raises(SeveralInvalid):
        edited(recipe(), {"why": text})


def test_a_smaller_than_sign_before_a_figure_is_text() -> None:
    assert edited(recipe(), {"why": "depth < 3 mm, <5"}).why == "depth < 3 mm, <5"


def test_a_tolerance_that_is_no_text_is_refused_at_its_field() -> None:
    with pytest.raises(SeveralInvalid) as refused:
        edited(recipe(), row("tolerance", 0, what="<b>distances", within="10", unit="mm"))

    assert refused.value.where[0] == "tolerance-0-what"


def test_a_part_counts_its_filled_rows_and_opens_where_something_in_it_was_refused() -> None:
    said = form_of(recipe(steps=("prove black", "rim first"))) | row("step", 2, about="other", words="", place="3")

    parts = parts_of(
        said | row("post", 0, kind="rotation", rotation_deg="x"), ["post-0-rotation_deg", "changes:0:words"]
    )

    assert parts["step"] == FormPart(2, refused=False)
    assert parts["post"] == FormPart(1, refused=True)
    assert {name for name, part in parts.items() if part.refused} == {"post", "change"}
    assert not any(each.refused for each in parts_of(said, ["title"]).values())
