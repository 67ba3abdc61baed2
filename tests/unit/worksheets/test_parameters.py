"""Names that say their unit, and what every worksheet owes its reader."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from webapp.web.typed import parameters_from
from webapp.web.words.citations import CITATIONS
from webapp.worksheets import WORKSHEETS
from webapp.worksheets.parameters import unit_of, words_of


@pytest.mark.parametrize(
    ("name", "words", "unit"),
    [
        ("from_sensor_width_mm", "from sensor width", "mm"),
        ("pixel_pitch_um", "pixel pitch", "µm"),
        ("speed_m_s", "speed", "m/s"),
        ("luminance_cd_m2", "luminance", "cd/m²"),
        ("to_kelvin", "to", "K"),
        ("kelvin", "kelvin", "K"),
        ("full_energy_j", "full energy", "J"),
        ("t_half_s", "t0.5", "s"),
        ("from_f_number", "from f-number", ""),
        ("pops", "pops", ""),
    ],
)
def test_a_name_says_its_words_and_its_unit(name: str, words: str, unit: str) -> None:
    assert (words_of(name), unit_of(name)) == (words, unit)


@pytest.mark.parametrize("name", WORKSHEETS)
def test_the_examples_of_a_worksheet_can_be_worked(name: str) -> None:
    sheet = WORKSHEETS[name]

    answered = sheet.answer(parameters_from(sheet, sheet.examples()))

    assert answered.working
    assert all(CITATIONS[step.source] for step in answered.working)
    assert set(answered.results) <= {given.name for given in sheet.gives}
    assert sheet.blame in {each.name for each in sheet.parameters}


def test_worksheets_import_nothing_above_the_physics() -> None:
    package = Path(__file__).resolve().parents[3] / "webapp" / "worksheets"

    imported = {
        found
        for module in package.glob("*.py")
        for found in re.findall(r"^(?:from|import) (webapp\.\w+)", module.read_text(encoding="utf-8"), re.MULTILINE)
    }

    assert imported == {"webapp.errors", "webapp.facts", "webapp.optics", "webapp.quantities", "webapp.worksheets"}
