"""The light on each side of the subject as a template may print it: a table, and a small drawing of a cube."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.optics.working import Step
from webapp.plan.cube import Cube, SideLevel
from webapp.plan.sides import TO_LENS
from webapp.web.pages.figures import signed
from webapp.web.words.say import say
from webapp.web.words.sides import level_text, side_words


@dataclass(frozen=True, slots=True)
class SideRow:
    """One side: what each light gives, what all give together, and that against the face to the lens."""

    name: str
    lights: tuple[str, ...]
    together: str
    against: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class CubeView:
    """`drawn` has a figure for each side that the drawing shows, by its place there."""

    letters: tuple[str, ...]
    rows: tuple[SideRow, ...]
    drawn: dict[str, str]
    note: str
    unknown: tuple[str, ...]


_PLACES = {
    "lens": "front",
    "left": "left",
    "right": "right",
    "top": "top",
    "far": "top",
    "back": "back",
    "near": "near",
}


def cube_view(cube: Cube | None) -> CubeView | None:
    """The light on each side; None where no light is known."""
    if cube is None:
        return None
    return CubeView(
        letters=cube.letters,
        rows=tuple(_row(cube, side) for side in cube.sides),
        drawn={
            _PLACES[side.surface.name]: _together(cube, side) for side in cube.sides if side.surface.kind == "side"
        },
        note="As an incident meter reads at ISO 100, to the third of a stop; below it against the face to the lens."
        if cube.is_absolute
        else "In stops against the face to the lens: the light has no meter reading and no guide number.",
        unknown=tuple(say(each) for each in cube.unknown),
    )


def _row(cube: Cube, side: SideLevel) -> SideRow:
    return SideRow(
        name=side_words(side.surface),
        lights=tuple(_level(cube, side.by_light[letter], side) for letter in cube.letters),
        together=_together(cube, side),
        against=signed(side.against_lens) if _is_compared(cube, side) else "",
        steps=side.steps,
    )


def _is_compared(cube: Cube, side: SideLevel) -> bool:
    return cube.is_absolute and side.against_lens is not None and side.surface.name != TO_LENS


def _level(cube: Cube, stops: float | None, side: SideLevel) -> str:
    if stops is None:
        return "dark"
    if cube.is_absolute:
        return level_text(stops)
    return _against(cube, stops)


def _together(cube: Cube, side: SideLevel) -> str:
    if not side.is_summed or cube.unknown:
        return ""
    return _level(cube, side.total, side)


def _against(cube: Cube, stops: float) -> str:
    to_lens = next((each.total for each in cube.sides if each.surface.name == TO_LENS), None)
    return "lit" if to_lens is None else signed(stops - to_lens)
