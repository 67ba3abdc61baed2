"""The set-up sheet: one page whatever the recipe says, and nothing cut without a word."""

from __future__ import annotations

import io
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from tests.pdfs import PAPER_MM, bars_mm, fonts_of, needs_pdf, page_count, page_size_mm
from tests.unit.recipes.made import light, recipe
from tests.unit.web.paper.rich import RESULT, placed, rich_recipe
from webapp.exports.pdf import laid_out
from webapp.recipes.document import Recipe
from webapp.web.paper.giving_way import LAST, STEPS, Step
from webapp.web.paper.making import code_svg, on_one_page, sheet_document
from webapp.web.paper.set_up_sheet import MOST_LETTERS, SetUpSheet, set_up_sheet
from webapp.web.paper.sizes import PAPERS, Paper

ADDRESS = "http://127.0.0.1:8000/shared/" + "A" * 43
PICTURE = f"/recipes/pictures/{RESULT}"


def jpeg() -> bytes:
    out = io.BytesIO()
    Image.effect_noise((300, 200), 60).save(out, "JPEG")
    return out.getvalue()


def sheet_of(made: Recipe, paper: Paper, step: Step = STEPS[0], *, with_code: bool = True) -> SetUpSheet:
    code = {"code": code_svg(ADDRESS), "address": ADDRESS} if with_code else {}
    return set_up_sheet(made, step, version=3, paper=paper, picture=PICTURE if made.result else "", **code)


def printed(made: Recipe, paper: Paper) -> tuple[bytes, list[Step]]:
    """The sheet as PDF, and the steps at which it was tried."""
    tried: list[Step] = []

    def at(step: Step) -> SetUpSheet:
        tried.append(step)
        return sheet_of(made, paper, step)

    return on_one_page(at, {PICTURE: jpeg}).pdf(), tried


def overfull(letters: str = "mrTWsw") -> Recipe:
    """As much as a document can hold."""
    model, role, title, subject, step, caution = letters
    names = [f"L{n}" for n in range(40)]
    return rich_recipe(
        lights=tuple(
            placed(name, 500.0 + 40 * n, 9.0 * n, 100.0, modifier=model * 190, role=role * 150)
            for n, name in enumerate(names)
        ),
        title=title * 200,
        subject=subject * 600,
        steps=tuple(f"{step}tep " * 110 for _ in range(200)),
        cautions=tuple(caution * 600 for _ in range(40)),
        ratios=tuple("ratio " * 90 for _ in range(40)),
        not_measured=tuple(f"power of {name}" for name in names),
    )


POOR = recipe(light(distance_mm=None, direction=None, angular_size_deg=None), steps=(), tolerances=())


@needs_pdf
@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)
@pytest.mark.parametrize("made", [rich_recipe(), overfull(), POOR], ids=["rich", "overfull", "poor"])
def test_the_sheet_is_one_page_of_its_paper(made: Recipe, paper: Paper) -> None:
    content, _ = printed(made, paper)

    assert page_count(content) == 1
    assert page_size_mm(content) == pytest.approx(PAPER_MM[paper.name], abs=0.1)


@needs_pdf
@pytest.mark.parametrize("letters", ["ＷＷＷＷＷＷ", "漢漢漢漢漢漢", "iiiiii"])
def test_the_last_step_is_one_page_in_any_letters(letters: str) -> None:
    sheet = sheet_of(overfull(letters), PAPERS["letter"], STEPS[LAST])

    assert laid_out(sheet_document(sheet), {PICTURE: jpeg}).pages == 1


@needs_pdf
def test_a_sheet_that_is_not_laid_out_would_be_more_than_a_page() -> None:
    made = rich_recipe(steps=("i" * 600,) * ((MOST_LETTERS - 2000) // 600), result=None, things=())

    sheet = sheet_of(made, PAPERS["a4"], STEPS[3], with_code=False)

    assert sheet.letters < MOST_LETTERS
    assert laid_out(sheet_document(sheet), {}).pages > 1


@needs_pdf
def test_a_sheet_with_room_is_laid_out_once() -> None:
    _, tried = printed(POOR, PAPERS["a4"])

    assert set(tried) == {STEPS[0]}


@needs_pdf
def test_the_typeface_of_the_sheet_is_the_one_that_comes_along() -> None:
    content, _ = printed(rich_recipe(), PAPERS["a4"])

    assert fonts_of(content) == {"Sheet-Sans", "Sheet-Sans-Bold"}


lines = st.text("abc mnowW,.é×漢", max_size=300)


@needs_pdf
@settings(max_examples=5, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(lines, max_size=40).map(tuple),
    st.lists(lines, max_size=12).map(tuple),
    st.integers(1, 14),
    st.sampled_from(list(PAPERS.values())),
    st.booleans(),
)
def test_what_is_laid_out_never_asks_for_more_than_the_page(
    steps: tuple[str, ...], cautions: tuple[str, ...], count: int, paper: Paper, has_plan: bool
) -> None:
    lights = tuple((placed(f"L{n}", 700.0, 20.0 * n, 90.0) if has_plan else light(f"L{n}")) for n in range(count))
    content, _ = printed(rich_recipe(steps=steps, cautions=cautions, lights=lights), paper)

    assert page_count(content) == 1


@given(
    st.lists(lines, max_size=40).map(tuple),
    st.lists(lines, max_size=12).map(tuple),
    st.integers(1, 14),
    st.sampled_from(STEPS),
)
def test_whatever_is_left_out_is_counted(
    steps: tuple[str, ...], cautions: tuple[str, ...], count: int, step: Step
) -> None:
    made = rich_recipe(steps=steps, cautions=cautions, lights=tuple(light(f"L{n}") for n in range(count)))

    sheet = sheet_of(made, PAPERS["a4"], step, with_code=False)

    assert len(sheet.rows) + sheet.more_lights == count
    assert len(sheet.steps.texts) + sheet.steps.left_out == len(steps)
    assert len(sheet.cautions.texts) + sheet.cautions.left_out == len(cautions)


def test_what_was_shortened_is_named_and_stands_in_the_recipe() -> None:
    sheet = sheet_of(overfull(), PAPERS["letter"], STEPS[LAST])

    assert "Left out here: the plan and the picture." in sheet.foot
    assert sheet.more_lights > 0
    assert (
        "Shortened here, and whole in the recipe: lights, steps, cautions, tolerances and ratios, notes."
        in sheet.foot
    )
    document = sheet_document(sheet)
    assert f"and {sheet.more_lights} more lights in the recipe" in document
    assert f"and {sheet.steps.left_out} more in the recipe" in document


def test_a_recipe_with_room_is_whole_and_says_nothing_of_shortening() -> None:
    made = rich_recipe(steps=("prove black", "rim first"), cautions=("lamps off over gels",))

    sheet = sheet_of(made, PAPERS["a4"])

    assert sheet.steps.texts == ("prove black", "rim first")
    assert sheet.cautions.texts == made.cautions
    assert not any("Shortened" in each for each in sheet.foot)


def test_the_drawing_gives_way_before_a_word_is_cut() -> None:
    sheets = [sheet_of(rich_recipe(), PAPERS["a4"], step) for step in STEPS[:4]]

    assert _height(sheets[0].drawing) >= _height(sheets[1].drawing) >= _height(sheets[2].drawing) > 0
    assert all(sheet.steps.is_whole and sheet.cautions.is_whole and sheet.facts.is_whole for sheet in sheets)


@needs_pdf
def test_a_scale_rule_fits_on_the_drawing_of_the_pdf() -> None:
    """The bar of the drawing, measured in the PDF, against the scale that the drawing states."""
    made = rich_recipe()
    stated = re.search(r">scale 1 : (\d+)", sheet_of(made, PAPERS["a4"]).drawing)
    bar_cm = re.search(r'font-size="11">(\d+) cm</text></svg>', sheet_of(made, PAPERS["a4"]).drawing)
    assert stated is not None
    assert bar_cm is not None

    pdf = laid_out(sheet_document(sheet_of(made, PAPERS["a4"])), {PICTURE: jpeg}).pdf()

    (bar,) = bars_mm(pdf)
    assert bar * float(stated[1]) == pytest.approx(10.0 * float(bar_cm[1]), rel=0.005)


def _height(drawing: str) -> int:
    return int(drawing.split('viewBox="0 0 ', 1)[1].split('"', 1)[0].split()[1])


def test_a_light_stands_where_its_place_says_and_how_well_it_is_known() -> None:
    taped = placed("A", 800.0, -45.0, 400.0)
    assert taped.position is not None
    # "measured" is what older recipes call taped.
    known = {"unknown": "not known", "measured": "taped", "planned": "planned", "carried over": "carried over"}
    lights = tuple(
        taped.model_copy(update={"position": taped.position.model_copy(update={"known": each})}) for each in known
    )

    rows = sheet_of(rich_recipe(lights=(taped, *lights)), PAPERS["a4"]).rows

    where = "80 cm from the subject, 45° left, 40 cm above"
    assert [row[2] for row in rows] == [f"{where} ({each})" for each in ("taped", *known.values())]


def test_without_a_link_there_is_no_code_and_not_a_word_of_one() -> None:
    document = sheet_document(sheet_of(rich_recipe(), PAPERS["a4"], with_code=False))

    assert "paper-code" not in document
    assert "code leads" not in document


def test_words_are_words_and_never_markup() -> None:
    made = rich_recipe(steps=("f/8 < f/11 & more",))

    assert "f/8 &lt; f/11 &amp; more" in sheet_document(sheet_of(made, PAPERS["a4"]))
