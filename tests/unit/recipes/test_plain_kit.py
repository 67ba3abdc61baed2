"""Kit in plain words: what stands for its names, and where."""

from __future__ import annotations

import re
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from tests.unit.ledger.builders import LENS, set_up, standing_light
from tests.unit.recipes.made import head, light, recipe
from webapp.ledger.set_up import EmittingFigures, FilterFigures, HeadFigures, ModifierFigures
from webapp.recipes.document import AmbientPart
from webapp.recipes.plain_kit import by_name, pieces_of, told
from webapp.recipes.share.links import CLIENT, STUDENT
from webapp.web.words.plain_kit import Renaming, plain_words
from webapp.web.words.shared import shared_recipe

SERIAL = "old head no. 48213"
FLASH = HeadFigures("", "", "flash", "head", None, -6.0, 0.1)


def marked_recipe(**over: object):  # type: ignore[no-untyped-def]
    key = light("A", head=head(name=SERIAL), modifier="borrowed from Ysolde", modifier_loss_stops=1.7)
    return recipe(
        key, steps=(f"Key A: {SERIAL} with borrowed from Ysolde at 90 cm.", "Overhead, prove black."), **over
    )


def test_a_student_reads_figures_where_the_house_has_names() -> None:
    shared = shared_recipe(marked_recipe(), STUDENT, figures=True)

    assert shared.lights[0].kit == "flash head, 500 J; disc 60 cm"
    assert [each.words for each in shared.steps] == [
        "Key A: flash head, 500 J with disc 60 cm at 90 cm.",
        "Overhead, prove black.",
    ]
    assert "48213" not in repr(shared)
    assert "Ysolde" not in repr(shared)


def test_names_go_out_where_they_are_let_out() -> None:
    shared = shared_recipe(marked_recipe(), STUDENT, figures=True, kit_names=True)

    assert shared.lights[0].kit == f"{SERIAL}, borrowed from Ysolde, 60 cm"
    assert SERIAL in shared.steps[0].words


def test_a_patch_goes_by_no_name_outside_of_the_house() -> None:
    made = recipe(ambient=AmbientPart(margin_stops=5.2, patch="Ysolde's ring"))

    assert shared_recipe(made, STUDENT, figures=True).ambient == (
        "The room's light lies 5.2 stops below the wanted level, as measured."
    )
    assert "at Ysolde's ring" in shared_recipe(made, STUDENT, figures=True, kit_names=True).ambient


def test_a_name_that_only_a_sentence_knows_is_told_by_what_the_house_knows_of_it() -> None:
    changed = recipe(light(), changes=("Frame 3: A modifier snoot of 1987 to none (+1.7).",))
    named = [("snoot of 1987", told(ModifierFigures("", "", None, EmittingFigures("point", 60.0))))]

    (told_of,) = shared_recipe(changed, STUDENT, figures=True, named=named).changes
    assert told_of.words == "Frame 3: A modifier modifier 6 cm to none (+1.7)."


def test_a_client_has_neither_names_nor_lights() -> None:
    shared = shared_recipe(marked_recipe(), CLIENT, figures=True)

    assert not shared.lights
    assert "48213" not in repr(shared)


def test_the_longer_name_goes_first_and_a_part_of_a_word_stays() -> None:
    plain = Renaming.of([("beam", told(FLASH)), ("beam two", told(replace(FLASH, form="ring")))])

    assert plain("beam two, beam, sunbeam, beams") == "ring flash, flash head, sunbeam, beams"


def test_a_name_that_says_no_more_than_the_figures_stays() -> None:
    fifty = replace(LENS, shortest_focal_mm=50.0, longest_focal_mm=50.0)
    disc = ModifierFigures("", "", None, EmittingFigures("disc", 600.0))

    assert Renaming.of([("50 mm", told(fifty)), ("A", told(disc))])("A at 50 mm") == "A at 50 mm"


def test_a_sentence_that_was_cut_within_a_name_loses_its_end() -> None:
    cut = ("x" * 20 + ", ") * 27 + "old head no. 482"
    said = Renaming.of([(SERIAL, told(FLASH))])(cut.ljust(600, "x"))

    assert "482" not in said
    assert said.endswith(", …")


def test_every_piece_of_a_set_up_is_named() -> None:
    soft = ModifierFigures("m", "the good box", 1.7, EmittingFigures("rectangle", 600, 400))
    gel = FilterFigures("f", "gel from the theatre", "gel", None)
    made = set_up(
        "8", standing_light(modifier=soft, filters=(gel,)), lens_filters=(FilterFigures("n", "ND", "neutral", 2.0),)
    )

    assert {name: plain_words(figures) for name, figures in by_name(made.pieces)} == {
        "36 × 24": "camera 36 × 24 mm",
        "100 mm macro": "100 mm lens",
        "ND": "neutral filter, takes 2.0 stops",
        "monolight 400 J": "flash head, 400 J",
        "the good box": "rectangle 60 × 40 cm",
        "gel from the theatre": "gel",
    }


names = (
    st.text(alphabet="abcxyz 0123456789№-", min_size=3, max_size=20).map(str.strip).filter(lambda text: len(text) > 2)
)


@given(names, st.lists(st.sampled_from(["at 90 cm", "with", "frame 3", "stops"]), max_size=4))
def test_no_name_of_a_document_is_left_in_its_sentences(name: str, others: list[str]) -> None:
    made = recipe(light(head=head(name=name)), steps=(" ".join([*others, f"«{name}»", *others]),))
    plain = Renaming.of(by_name(pieces_of(made)))

    assert f"«{name}»" not in plain(made.steps[0].words) or name in "flash head, 500 J"


pieces = st.text(alphabet="ab -(", min_size=3, max_size=6)


@given(st.sets(pieces, max_size=6), st.text(alphabet="ab -(", max_size=12))
def test_exactly_what_belongs_to_a_name_is_renamed(names: set[str], text: str) -> None:
    """Against looking for every name at every place: by words and signs, so that none is found within a word."""
    renamed = Renaming(dict.fromkeys(names, "§"))(text)

    tokens = re.findall(r"\w+|\W", text)
    wanted = [re.findall(r"\w+|\W", name) for name in names]
    named = {
        place
        for name in wanted
        for at in range(len(tokens))
        if tokens[at : at + len(name)] == name
        for place in range(at, at + len(name))
    }
    left = "".join("§" if place in named else token for place, token in enumerate(tokens))
    assert re.sub("§+", "§", renamed) == re.sub("§+", "§", left)
