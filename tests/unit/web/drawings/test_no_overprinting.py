"""No words of a drawing stand on others or beyond the paper, over many values of every worksheet, in both units."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import pytest

from webapp.errors import InvalidValue
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.web.drawings import DRAWN, drawings_of
from webapp.web.drawings.drawing import Drawing, box_of, overlap
from webapp.web.typed import parameters_from
from webapp.worksheets import WORKSHEETS
from webapp.worksheets.parameters import read_alone

# Each number is taken so many times as large, alone.
FACTORS = (0.1, 0.5, 0.9, 1.7, 10.0)
MARKS = {
    "f_number": ("f/2.8", "f/32"),
    "shutter": ("1/1000", "8 s"),
    "iso": ("50", "12800"),
    "sync": ("1/60", "1/500"),
}


def questions(name: str) -> Iterator[dict[str, str]]:
    """The examples of a worksheet, and those with one value changed."""
    sheet = WORKSHEETS[name]
    examples = {each: text for each, text in sheet.examples().items() if text}
    yield examples
    for parameter in sheet.parameters:
        if parameter.name not in examples:
            continue
        if parameter.kind == "number":
            value = read_alone(parameter.name, examples[parameter.name])
            yield from (examples | {parameter.name: f"{value * factor:.6g}"} for factor in FACTORS)
            yield examples | {parameter.name: f"{-value:.6g}"}
        if parameter.kind == "choice":
            yield from (examples | {parameter.name: each} for each in parameter.choices)
        if parameter.kind == "mark":
            found = next(each for ending, each in MARKS.items() if parameter.name.endswith(ending))
            yield from (examples | {parameter.name: each} for each in found)
        if parameter.kind == "list":
            yield from (
                examples | {parameter.name: "; ".join([examples[parameter.name].split(";")[0]] * n)}
                for n in (1, 2, 6, 12)
            )


def drawn(name: str, lengths: Lengths) -> Iterator[tuple[dict[str, str], Drawing]]:
    sheet = WORKSHEETS[name]
    for asked in questions(name):
        try:
            parameters = parameters_from(sheet, asked)
            filled_in = sheet.answer(parameters)
        except InvalidValue:
            continue
        yield from ((asked, each) for each in drawings_of(name, parameters, filled_in, lengths))


@pytest.mark.parametrize("name", WORKSHEETS)
def test_every_worksheet_has_a_drawing(name: str) -> None:
    sheet = WORKSHEETS[name]
    parameters = parameters_from(sheet, sheet.examples())

    assert drawings_of(name, parameters, sheet.answer(parameters))
    assert set(DRAWN) == set(WORKSHEETS)


@pytest.mark.parametrize("lengths", [CENTIMETRES, Lengths(inches=True)], ids=["cm", "in"])
@pytest.mark.parametrize("name", WORKSHEETS)
def test_no_words_overprint_others_or_leave_the_paper(name: str, lengths: Lengths) -> None:
    for asked, drawing in drawn(name, lengths):
        over = [(one.words, other.words) for one, other in combinations(drawing.texts, 2) if overlap(one, other)]
        assert over == [], (drawing.key, asked)
        for text in drawing.texts:
            left, top, right, bottom = box_of(text)
            inside = left >= 0 and top >= 0 and right <= drawing.width and bottom <= drawing.height
            assert inside, (drawing.key, text.words, asked)
