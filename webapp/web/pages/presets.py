"""Common kit for a reader to press rather than to type: what a key stands for is written into the fields of the form, where
it can be changed. A camera and a lens give the first answer, a head its dial.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlencode

from webapp.recipes.document import Recipe


def _format(width: str, height: str, width_px: str, height_px: str) -> dict[str, str]:
    return {"sensor_width_mm": width, "sensor_height_mm": height, "width_px": width_px, "height_px": height_px}


def _lens(shortest: str, longest: str, widest: str, smallest: str, closest: str) -> dict[str, str]:
    return {
        "shortest_focal_mm": shortest,
        "longest_focal_mm": longest,
        "widest_f_number": widest,
        "smallest_f_number": smallest,
        "greatest_magnification": closest,
    }


def _head(joules: str, stops: str, step: str, guide_number: str) -> dict[str, str]:
    return {"full_energy_j": joules, "range_stops": stops, "step_stops": step, "guide_number_m": guide_number}


# Formats as they are sold, and what is usual in lenses and heads of the kind; common practice. The guide number of a head
# is with the reflector that it comes with.
_FORMATS: Final[Mapping[str, Mapping[str, str]]] = {
    "36 × 24": _format("36", "24", "6000", "4000"),
    "23.5 × 15.6": _format("23.5", "15.6", "6000", "4000"),
    "22.3 × 14.9": _format("22.3", "14.9", "6000", "4000"),
    "17.3 × 13": _format("17.3", "13", "5184", "3888"),
    "44 × 33": _format("44", "33", "8256", "6192"),
}
_LENSES: Final[Mapping[str, Mapping[str, str]]] = {
    "18–55 mm": _lens("18", "55", "5.6", "22", "0.25"),
    "24–70 mm": _lens("24", "70", "2.8", "22", "0.25"),
    "35 mm": _lens("35", "35", "1.8", "22", "0.2"),
    "50 mm": _lens("50", "50", "1.8", "22", "0.15"),
    "85 mm": _lens("85", "85", "1.8", "22", "0.13"),
    "60 mm macro": _lens("60", "60", "2.8", "32", "1"),
    "100 mm macro": _lens("100", "100", "2.8", "32", "1"),
}
_HEADS: Final[Mapping[str, Mapping[str, str]]] = {
    "hot-shoe flash": _head("", "7", "1/3", "36"),
    "200 J head": _head("200", "5", "0.1", "45"),
    "400 J head": _head("400", "6", "0.1", "64"),
    "600 J battery head": _head("600", "8", "1/3", "76"),
}


@dataclass(frozen=True, slots=True)
class PresetKey:
    """A key, and the address at which the form has what it stands for."""

    words: str
    address: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class PresetRow:
    """The keys for one piece of kit."""

    words: str
    keys: tuple[PresetKey, ...]


def preset_rows(recipe: Recipe, said: Mapping[str, str], here: str) -> tuple[PresetRow, ...]:
    """The keys for camera, lens and the head of each light that is a flash; each keeps what was said beside it."""
    return tuple(PresetRow(words, tuple(_keys(presets, said, here))) for words, presets in _rows(recipe))


def _rows(recipe: Recipe) -> Iterator[tuple[str, Mapping[str, Mapping[str, str]]]]:
    yield "camera", _FORMATS
    yield "lens", _LENSES
    for light in recipe.lit:
        if light.head.kind == "flash":
            letter = light.letter
            yield (
                f"for {light.name}",
                {
                    words: {f"{name}_{letter}": value for name, value in head.items()}
                    for words, head in _HEADS.items()
                },
            )


def _keys(presets: Mapping[str, Mapping[str, str]], said: Mapping[str, str], here: str) -> Iterator[PresetKey]:
    for words, preset in presets.items():
        chosen = all(said.get(name) == value for name, value in preset.items())
        yield PresetKey(words, f"{here}/kit?{urlencode({**said, **preset})}", chosen)
