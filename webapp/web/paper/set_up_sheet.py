"""The set-up sheet of a recipe: plan, settings, lights, steps, cautions and code on one page.

Made for one step of `giving_way`: what that step leaves out or cuts is said on the sheet, and stands whole in the
recipe. How large anything is on paper is said in static/paper.css. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from webapp.plan.scales import Room
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.recipes.document import LightPart, PositionPart, Recipe, StepPart
from webapp.recipes.set_plan import drawn_plan, has_plan
from webapp.recipes.written_frame import light_of, position_of
from webapp.web.pages.figures import signed
from webapp.web.paper.giving_way import STEPS, PlanSize, Step
from webapp.web.paper.sizes import Fitted, Paper, cut, fitted
from webapp.web.words.drawing import captions
from webapp.web.words.places import held_words, known_words, where_words
from webapp.web.words.shared import (
    ambient_words,
    distance_of,
    kit_of_light,
    known_lines,
    metered_words,
    open_lines,
    post_words,
    settings_lines,
    within_words,
)
from webapp.web.words.steps import steps_read

# In units of the drawing: its width, and its height by step; and how wide it is in its column, which static/paper.css
# says again.
_DRAWN_WIDTH: Final = 680.0
_DRAWN_WIDTH_MM: Final = 120.0
_DRAWN_HEIGHT: Final[dict[PlanSize, float]] = {"large": 784.0, "middle": 644.0, "small": 504.0}
# From which part of the letters on a column of the lower half is given more room than the other.
_MORE: Final = 0.58

MOST_LETTERS: Final = 20_000
"""More than any page holds, in the narrowest letters of the smallest type. A sheet of more is not worth laying out: of
the longest recipes that would take minutes."""

Split = Literal["even", "steps", "cautions"]
HEADINGS: Final = ("light", "kit", "stands", "apparent size", "metered, ISO 100", "from key, stops", "on its dial")


@dataclass(frozen=True, slots=True)
class SetUpSheet:
    """The sheet as the template prints it. `drawing` and `code` are SVG, `picture` an address; empty where there is
    none. `step` says how large plan and type are, `split` how the lower half is divided."""

    paper: Paper
    step: Step
    title: str
    under: tuple[str, ...]
    drawing: str
    picture: str
    settings: tuple[tuple[str, str], ...]
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    more_lights: int
    steps: Fitted
    facts: Fitted
    cautions: Fitted
    slips: Fitted
    notes: Fitted
    split: Split
    code: str
    foot: tuple[str, ...]

    @property
    def letters(self) -> int:
        """How many letters are in its texts, those of the drawing apart."""
        lists = (
            self.steps.texts,
            self.facts.texts,
            self.cautions.texts,
            self.slips.texts,
            self.notes.texts,
            *self.rows,
            *self.settings,
        )
        return sum(len(text) for texts in lists for text in texts)


def set_up_sheet(
    recipe: Recipe,
    step: Step = STEPS[0],
    *,
    version: int,
    paper: Paper,
    picture: str = "",
    code: str = "",
    address: str = "",
    lengths: Lengths = CENTIMETRES,
) -> SetUpSheet:
    """A version of a recipe as a sheet, its lengths as the house likes them. `code` is a QR code as SVG, and `address`
    the words of where it leads."""
    read = steps_read(recipe, lengths)
    steps = fitted(tuple(map(_step, read)), step.steps, step.letters)
    slips = fitted(tuple(each.otherwise for each in read if each.otherwise), step.slips, step.letters)
    cautions = fitted(recipe.cautions, step.cautions, step.letters)
    notes = fitted(tuple(_notes(recipe)), step.notes, step.letters)
    facts = fitted(tuple(_facts(recipe, lengths)), step.facts, step.letters)
    return SetUpSheet(
        paper=paper,
        step=step,
        title=cut(recipe.title, step.letters),
        under=tuple(_under(recipe, version, step)),
        drawing=_drawing(recipe, step, lengths),
        picture=picture if step.plan != "none" else "",
        settings=_settings(recipe, step, lengths),
        headings=HEADINGS,
        rows=tuple(_row(recipe, light, step, lengths) for light in recipe.lights[: step.lights]),
        more_lights=max(len(recipe.lights) - step.lights, 0),
        steps=steps,
        facts=facts,
        cautions=cautions,
        slips=slips,
        notes=notes,
        split=_split((steps, notes), (facts, cautions, slips)),
        code=code,
        foot=tuple(_foot(recipe, step, (steps, cautions, facts, slips, notes), address)),
    )


def _step(step: StepPart) -> str:
    return " ".join(filter(None, (step.words, f"Check: {step.check}" if step.check else "")))


def _split(on_left: tuple[Fitted, ...], on_right: tuple[Fitted, ...]) -> Split:
    """The longer column of the lower half gets more of its width."""
    left, right = (sum(len(text) for each in side for text in each.texts) for side in (on_left, on_right))
    if left > _MORE * (left + right):
        return "steps"
    return "cautions" if right > _MORE * (left + right) else "even"


def _notes(recipe: Recipe) -> Iterator[str]:
    """What is no step on the set and belongs to the picture all the same: what is hardest to guess comes first."""
    if recipe.background:
        yield f"Background: {recipe.background}"
    if recipe.post:
        yield f"Post-production: {'; '.join(map(post_words, recipe.post))}"
    if recipe.why:
        yield f"Why it works: {recipe.why}"


def _under(recipe: Recipe, version: int, step: Step) -> Iterator[str]:
    yield f"Version {version} · {recipe.made_on.isoformat()}"
    said = " · ".join(filter(None, (recipe.subject, ", ".join((*recipe.looks, *recipe.surfaces)))))
    if said:
        yield cut(said, step.letters)


def _settings(recipe: Recipe, step: Step, lengths: Lengths) -> tuple[tuple[str, str], ...]:
    lines = settings_lines(recipe, lengths=lengths)
    kit = [("camera", recipe.camera.name)] if recipe.camera else []
    kit += [("lens", recipe.lens.name)] if recipe.lens else []
    return tuple((name, cut(value, step.letters)) for name, value in (*lines, *kit))


def _row(recipe: Recipe, light: LightPart, step: Step, lengths: Lengths) -> tuple[str, ...]:
    named = f"{light.letter} {light.role}".strip() + ("" if light.lit else " (off)")
    cells = (
        named,
        kit_of_light(light_of(light), kit_names=True, lengths=lengths),
        ", ".join(filter(None, (_stands(recipe, light, lengths), held_words(light.held_by)))),
        "unknown" if light.angular_size_deg is None else f"{light.angular_size_deg:.3g}°",
        metered_words(light),
        signed(light.from_key_stops),
        light.power_mark,
    )
    return tuple(cut(cell, step.letters) for cell in cells)


def _stands(recipe: Recipe, light: LightPart, lengths: Lengths) -> str:
    if light.shines_on != "subject":
        return f"{distance_of(recipe, light, lengths)} from the {light.shines_on}" + _on_the_plan(light, lengths)
    if light.position is None:
        return ", ".join(filter(None, (distance_of(recipe, light, lengths), light.direction)))
    return _where(light.position, lengths)


def _on_the_plan(light: LightPart, lengths: Lengths) -> str:
    if light.position is None or light.position.known == "unknown":
        return ""
    return f", which it shines on: {_where(light.position, lengths)}"


def _where(part: PositionPart, lengths: Lengths) -> str:
    position = position_of(part)
    return f"{where_words(position.at, lengths)} ({known_words(position)})"


def _facts(recipe: Recipe, lengths: Lengths) -> Iterator[str]:
    yield from (f"{each.what}: {within_words(each, lengths)}" for each in recipe.tolerances)
    yield from recipe.ratios
    if recipe.ambient is not None:
        yield ambient_words(recipe.ambient)


def _drawing(recipe: Recipe, step: Step, lengths: Lengths) -> str:
    """The plan to the largest standard scale that the step has room for."""
    if step.plan == "none" or not has_plan(recipe):
        return ""
    room = Room(_DRAWN_WIDTH, _DRAWN_HEIGHT[step.plan], unit_mm=_DRAWN_WIDTH_MM / _DRAWN_WIDTH)
    drawn = drawn_plan(recipe, captions(lengths), room)
    # WeasyPrint takes no style for a drawing from the sheet around it.
    return drawn.replace("<svg ", '<svg font-family="Sheet Sans, sans-serif" ', 1)


def _foot(recipe: Recipe, step: Step, lists: tuple[Fitted, ...], address: str) -> Iterator[str]:
    for name, figures in known_lines(recipe):
        if name != "set on dials":
            yield cut(f"{name.capitalize()}: {figures}.", step.letters)
    if recipe.open or recipe.not_measured:
        yield cut(f"Open: {' '.join(open_lines(recipe))}", step.letters)
    if step.plan == "none":
        gone = [*(["the plan"] if has_plan(recipe) else []), *(["the picture"] if recipe.result else [])]
        if gone:
            yield f"Left out here: {' and '.join(gone)}."
    named = zip(("steps", "cautions", "tolerances and ratios", "what to look for", "notes"), lists, strict=True)
    shortened = [name for name, found in named if not found.is_whole]
    if len(recipe.lights) > step.lights:
        shortened.insert(0, "lights")
    if shortened:
        yield f"Shortened here, and whole in the recipe: {', '.join(shortened)}."
    if address:
        yield f"The code leads to {address}"
