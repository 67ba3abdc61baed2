"""The set-up sheet of a recipe: plan, settings, lights, steps, cautions and code on one page.

The page is laid out here, block by block in millimetres (static/paper.css has the same measures), before it is drawn:
the drawing gives way to the text first, and where the text still does not fit it is shortened by rule, and the sheet
says what stands whole in the recipe alone. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import Final

from webapp.ledger.metered import level_words
from webapp.optics.lengths import CENTIMETRES, Lengths
from webapp.plan.drawing import Room
from webapp.plan.positions import place_text
from webapp.recipes.document import LightPart, Recipe
from webapp.recipes.set_plan import drawn_plan, has_plan, position_of
from webapp.recipes.share.links import ambient_words, kit_of_light, settings_lines
from webapp.web.pages.figures import signed
from webapp.web.paper.sizes import LINE_MM, Fitted, Paper, count_lines, cut, fitted, lines_of

# The measures of static/paper.css, in millimetres.
_TITLE_TYPE_MM: Final = 5.6
_TITLE_MM: Final = 7.4
_HEADING_MM: Final = 5.6
_GAP_MM: Final = 3.0
_CODE_MM: Final = 22.0
_BESIDE_MM: Final = 66.0
_BETWEEN_MM: Final = 5.0
_NAME_MM: Final = 29.0
_ROW_PADDING_MM: Final = 1.4
_CELL_PADDING_MM: Final = 2.0
_STEP_INDENT_MM: Final = 7.0
_CAUTION_INDENT_MM: Final = 4.0
_FOOT_LINES: Final = 3
_SPARE_MM: Final = 4.0
# Bold and serif type is wider than the type that is measured.
_BOLD: Final = 1.15

_DRAWING_MM: Final = (140.0, 130.0, 120.0, 110.0, 100.0, 90.0)
_PICTURE_MM: Final = (42, 30)
_PICTURE_ALONE_MM: Final = (85, 60, 42)
_SPLITS: Final = {"even": 0.5, "steps": 0.6, "cautions": 0.4}
_NARROWEST: Final = min(_SPLITS.values())
# How many lights and lines of facts go on the page; fewer where there is no room for more.
_ROWS_AND_FACTS: Final = ((10, 8), (10, 5), (8, 5), (6, 4), (4, 4), (2, 2))
_MOST_CELL_LINES: Final = 3
_FEWEST_LINES: Final = 4
_MOST_SUBJECT_LINES: Final = 2
# Units of the drawing in a millimetre, so that its letters come out at 2.3 mm.
_DRAWN_PER_MM: Final = 5.6
_STRIPS_OF_DRAWING: Final = 220.0
_HEIGHT_OF_DRAWING: Final = re.compile(r'viewBox="0 0 \d+ (\d+)"')

HEADINGS: Final = ("light", "kit", "stands", "looks", "metered, ISO 100", "from key, stops", "on its dial")
_COLUMNS_MM: Final = (22.0, 0.0, 44.0, 17.0, 17.0, 15.0, 20.0)


@dataclass(frozen=True, slots=True)
class SetUpSheet:
    """The sheet as the template prints it. `drawing` and `code` are SVG, `picture` an address; empty where there is
    none. `picture_mm` is the height of the picture, `split` how the lower half is divided."""

    paper: Paper
    title: str
    under: tuple[str, ...]
    drawing: str
    picture: str
    picture_mm: int
    settings: tuple[tuple[str, str], ...]
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    more_lights: int
    steps: Fitted
    facts: Fitted
    cautions: Fitted
    split: str
    code: str
    foot: tuple[str, ...]
    height_mm: float


@dataclass(frozen=True, slots=True)
class _Arrangement:
    """How the page might be shared out."""

    drawing_mm: float
    picture_mm: int
    split: str
    steps: Fitted
    cautions: Fitted
    height_mm: float

    @property
    def costs(self) -> tuple[int, int, float, int]:
        """What is left out weighs most, then what is cut, then how small drawing and picture become."""
        lists = (self.steps, self.cautions)
        return (
            sum(each.left_out for each in lists),
            sum(each.lines_cut for each in lists),
            -self.drawing_mm,
            -self.picture_mm,
        )


@dataclass(frozen=True, slots=True)
class _Page:
    """What stands on the page whatever is shortened, and the room that is left."""

    paper: Paper
    recipe: Recipe
    title: str
    under: tuple[str, ...]
    header_mm: float
    settings: tuple[tuple[str, str], ...]
    rows: tuple[tuple[str, ...], ...]
    facts: Fitted
    columns_mm: tuple[float, ...]

    @property
    def has_picture(self) -> bool:
        return self.recipe.result is not None

    @property
    def table_mm(self) -> float:
        if not self.rows:
            return 0.0
        heights = [2 * LINE_MM + _ROW_PADDING_MM]
        for row in self.rows:
            widths = _cell_widths(self.columns_mm)
            most = max(len(lines_of(cell, width)) for cell, width in zip(row, widths, strict=True))
            heights.append(most * LINE_MM + _ROW_PADDING_MM)
        return sum(heights) + (LINE_MM if self.more_lights else 0.0) + _GAP_MM

    @property
    def more_lights(self) -> int:
        return len(self.recipe.lights) - len(self.rows)

    def facts_mm(self, room_mm: float) -> float:
        """The height of the facts under their heading."""
        lines = count_lines(self.facts.texts, room_mm) + (1 if self.facts.left_out else 0)
        return _HEADING_MM + LINE_MM * lines if lines else 0.0

    def upper_mm(self, drawing_mm: float, picture_mm: int) -> float:
        """The height of the drawing and of what stands beside it, whichever is more, and without the gap below."""
        beside = _HEADING_MM + sum(
            LINE_MM * len(lines_of(value, _BESIDE_MM - _NAME_MM)) for _, value in self.settings
        )
        picture = picture_mm + _GAP_MM if self.has_picture else 0.0
        if not has_plan(self.recipe):
            # Without a plan the picture takes the place of the drawing.
            return max(picture, beside)
        return max(drawing_mm, beside + picture)


def set_up_sheet(
    recipe: Recipe,
    *,
    version: int,
    paper: Paper,
    picture: str = "",
    code: str = "",
    address: str = "",
    lengths: Lengths = CENTIMETRES,
) -> SetUpSheet:
    """A version of a recipe as a sheet, its lengths as the house likes them. `code` is a QR code as SVG, and `address` the words of where it leads."""
    page, best = next(
        (page, min(found, key=lambda each: each.costs))
        for page in _pages(recipe, version, paper, lengths, has_code=bool(code))
        if (found := list(_arrangements(page)))
    )
    return SetUpSheet(
        paper=paper,
        title=page.title,
        under=page.under,
        drawing=_drawing(recipe, paper, best.drawing_mm, lengths) if has_plan(recipe) else "",
        picture=picture,
        picture_mm=best.picture_mm,
        settings=page.settings,
        headings=HEADINGS,
        rows=page.rows,
        more_lights=page.more_lights,
        steps=best.steps,
        facts=page.facts,
        cautions=best.cautions,
        split=best.split,
        code=code,
        foot=tuple(_foot(page, best, address)),
        height_mm=best.height_mm,
    )


def _pages(recipe: Recipe, version: int, paper: Paper, lengths: Lengths, *, has_code: bool) -> Iterator[_Page]:
    """The page with all lights and facts first, then with fewer and fewer of them."""
    columns = _columns(paper)
    room = paper.room_width_mm - (_CODE_MM + _GAP_MM if has_code else 0.0)
    under = tuple(_under(recipe, version, room))
    header = _TITLE_MM + LINE_MM * count_lines(under, room)
    for most_rows, most_facts in _ROWS_AND_FACTS:
        yield _Page(
            paper=paper,
            recipe=recipe,
            title=cut(recipe.title, 1, room / _BOLD, _TITLE_TYPE_MM),
            under=under,
            header_mm=(max(header, _CODE_MM) if has_code else header) + _GAP_MM,
            settings=_settings(recipe, lengths),
            rows=tuple(_row(light, columns, lengths) for light in recipe.lights[:most_rows]),
            facts=fitted(tuple(_facts(recipe)), most_facts, _NARROWEST * paper.room_width_mm - _BETWEEN_MM),
            columns_mm=columns,
        )


def _arrangements(page: _Page) -> Iterator[_Arrangement]:
    """Every way of sharing the page out that leaves steps and cautions a few lines each, if they need them."""
    drawings = _DRAWING_MM if has_plan(page.recipe) else (0.0,)
    pictures = (_PICTURE_MM if has_plan(page.recipe) else _PICTURE_ALONE_MM) if page.has_picture else (0,)
    room = page.paper.room_height_mm - _SPARE_MM - page.header_mm - page.table_mm - _FOOT_LINES * LINE_MM - _GAP_MM
    width = page.paper.room_width_mm - _BETWEEN_MM
    for drawing_mm, picture_mm, (split, part) in product(drawings, pictures, _SPLITS.items()):
        upper = page.upper_mm(drawing_mm, picture_mm)
        left = room - upper - _GAP_MM
        steps_mm, cautions_mm = part * width - _STEP_INDENT_MM, (1.0 - part) * width - _CAUTION_INDENT_MM
        facts = page.facts_mm((1.0 - part) * width)
        lines = _lines(left - _HEADING_MM), _lines(left - facts - _HEADING_MM)
        steps = fitted(page.recipe.steps, lines[0], steps_mm)
        cautions = fitted(page.recipe.cautions, lines[1], cautions_mm)
        if left < facts or any(
            most < _FEWEST_LINES and not found.is_whole for most, found in zip(lines, (steps, cautions), strict=True)
        ):
            continue
        lower = max(_list_mm(steps, steps_mm), facts + _list_mm(cautions, cautions_mm))
        yield _Arrangement(
            upper, picture_mm, split, steps, cautions, page.paper.room_height_mm - _SPARE_MM - left + lower
        )


def _lines(room_mm: float) -> int:
    return max(int(room_mm / LINE_MM), 0)


def _list_mm(found: Fitted, room_mm: float) -> float:
    """The height of a list under its heading."""
    lines = count_lines(found.texts, room_mm) + (1 if found.left_out else 0)
    return _HEADING_MM + lines * LINE_MM if lines else 0.0


def _under(recipe: Recipe, version: int, room_mm: float) -> Iterator[str]:
    yield cut(f"Version {version} · {recipe.made_on.isoformat()}", 1, room_mm)
    said = " · ".join(filter(None, (recipe.subject, ", ".join((*recipe.looks, *recipe.surfaces)))))
    if said:
        yield cut(said, _MOST_SUBJECT_LINES, room_mm)


def _settings(recipe: Recipe, lengths: Lengths) -> tuple[tuple[str, str], ...]:
    lines = settings_lines(recipe, lengths=lengths)
    kit = [("camera", recipe.camera.name)] if recipe.camera else []
    kit += [("lens", recipe.lens.name)] if recipe.lens else []
    return tuple((name, cut(value, 2, _BESIDE_MM - _NAME_MM)) for name, value in (*lines, *kit))


def _columns(paper: Paper) -> tuple[float, ...]:
    """The widths of the table's columns; the kit takes what the others leave."""
    rest = paper.room_width_mm - sum(_COLUMNS_MM)
    return tuple(width or rest for width in _COLUMNS_MM)


def _row(light: LightPart, columns_mm: tuple[float, ...], lengths: Lengths) -> tuple[str, ...]:
    named = f"{light.letter} {light.role}".strip() + ("" if light.lit else " (off)")
    cells = (
        named,
        kit_of_light(light, kit_names=True, lengths=lengths),
        _stands(light, lengths),
        "unknown" if light.angular_size_deg is None else f"{light.angular_size_deg:.3g}°",
        level_words(light.incident_av),
        signed(light.from_key_stops),
        light.power_mark,
    )
    return tuple(
        cut(cell, _MOST_CELL_LINES, width) for cell, width in zip(cells, _cell_widths(columns_mm), strict=True)
    )


def _cell_widths(columns_mm: tuple[float, ...]) -> Iterator[float]:
    """The room for text in each column; in the first it is bold."""
    for place, width in enumerate(columns_mm):
        yield (width - _CELL_PADDING_MM) / (1.0 if place else _BOLD)


def _stands(light: LightPart, lengths: Lengths) -> str:
    if light.position is None:
        return ", ".join(filter(None, (lengths.text(light.distance_mm), light.direction)))
    known = "" if light.position.known == "measured" else f" ({light.position.known.replace('unknown', 'not known')})"
    return place_text(position_of(light.position).at, lengths.inches) + known


def _facts(recipe: Recipe) -> Iterator[str]:
    yield from (f"{each.what}: ± {each.within:g} {each.unit}" for each in recipe.tolerances)
    yield from recipe.ratios
    if recipe.ambient is not None:
        yield ambient_words(recipe.ambient)


def _drawing(recipe: Recipe, paper: Paper, height_mm: float, lengths: Lengths) -> str:
    """The plan for this paper, as large as the height allows. Of its two views each takes what it needs, so that
    together they are tried from generous to tight."""
    width_mm = paper.room_width_mm - _BESIDE_MM - _BETWEEN_MM
    units = height_mm * _DRAWN_PER_MM
    drawn, most = "", units
    for part in (0.75, 0.65, 0.55, 0.5):
        room = Room(width_mm * _DRAWN_PER_MM, part * (units - _STRIPS_OF_DRAWING))
        drawn = drawn_plan(recipe, room, inches=lengths.inches)
        found = _HEIGHT_OF_DRAWING.search(drawn)
        most = float(found.group(1)) if found else units
        if most <= units:
            break
    size = f'width="{width_mm:.1f}mm" height="{min(most / _DRAWN_PER_MM, height_mm):.1f}mm"'
    return drawn.replace("<svg ", f"<svg {size} ", 1)


def _foot(page: _Page, best: _Arrangement, address: str) -> Iterator[str]:
    room = page.paper.room_width_mm
    if page.recipe.not_measured:
        yield cut(f"Not measured: {', '.join(page.recipe.not_measured)}.", 1, room)
    lists = (("steps", best.steps), ("cautions", best.cautions), ("tolerances and ratios", page.facts))
    shortened = [name for name, found in lists if not found.is_whole]
    if page.more_lights:
        shortened.insert(0, "lights")
    if shortened:
        yield cut(f"Shortened here, and whole in the recipe: {', '.join(shortened)}.", 1, room)
    if address:
        yield cut(f"The code leads to {address}", 1, room)
