"""A drafted recipe put into words: sentences of the document, which its reader keeps as they were published. Lengths are
in centimetres there, as in every document."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.optics.working import Step
from webapp.quantities.lengths import Lengths
from webapp.recipes.document import LONGEST_LINE, Recipe, Tolerance, WorkingPart
from webapp.recipes.drafting import Draft, FrameChanges
from webapp.recipes.plain_text import plain_text
from webapp.recipes.reasons import Reason
from webapp.web.words.figures import maybe_number, names, one_decimal

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_TOLERANCES: Final = {"level": "each light's level", "distance": "distances", "angle": "angles"}


def written(draft: Draft, say: Callable[[Fact], str]) -> Recipe:
    """The document with its sentences, each as `say` makes it of a fact."""
    texts = {
        "workings": tuple(_working(each, say) for each in draft.workings),
        "steps": tuple(_line(say(each)) for each in draft.steps),
        "changes": tuple(_line(_changes(each, say)) for each in draft.changes),
        "ratios": tuple(_line(say(each)) for each in draft.ratios),
        "tolerances": tuple(map(_tolerance, draft.tolerances)),
        "cautions": tuple(_line(say(each)) for each in draft.cautions),
    }
    return Recipe(**{name: getattr(draft.figures, name) for name in Recipe.model_fields} | texts)


def _working(step: Step, say: Callable[[Fact], str]) -> WorkingPart:
    return WorkingPart(**asdict(step) | {"assumptions": tuple(map(say, step.assumptions))})


def _line(text: str) -> str:
    return plain_text(text)[:LONGEST_LINE]


def _changes(told: FrameChanges, say: Callable[[Fact], str]) -> str:
    # One that acts on every light alike is told once.
    changes = dict.fromkeys(f"{say(each)}{_size(each)}" for each in told.facts)
    return f"Frame {told.number}: {', '.join(changes)}."


def _size(told: Fact) -> str:
    stops = told.values.get("stops")
    return "" if stops is None else f" ({one_decimal(told.number('stops'))})"


def _tolerance(told: Fact) -> Tolerance:
    return Tolerance(what=_TOLERANCES[told.about], within=told.number("within"), unit=told.text("unit"))


def _light(told: Fact, lengths: Lengths) -> str:
    name, at = told.text("light"), maybe_number(told, "distance_mm")
    fitted = "" if told["modifier"] is None else f" with {told.text('modifier')}"
    filters = "".join(f", {each}" for each in names(told, "filters"))
    where = ", distance unknown" if at is None else f" at {lengths.text(at)}"
    return (
        f"{name[:1].upper() + name[1:]}: {told.text('head')}{fitted}{filters}{where}, {told.text('mark')} "
        f"(frame {told['frame']})."
    )


def _ratio(told: Fact, _: Lengths) -> str:
    stops = told.number("from_key_stops")
    ratio, below = 2.0 ** abs(stops), stops <= 0
    as_light = f"{ratio:.1f}:1" if below else f"1:{ratio:.1f}"
    return (
        f"{told.text('key')} to {told.text('light')}: {as_light}, {abs(stops):.1f} stops "
        f"{'under' if below else 'over'}, as metered"
    )


WORDS: Final[Mapping[str, Say]] = {
    Reason.STEP_PROVE_AMBIENT: lambda told, _: f"Every lamp off: prove the ambient light (frame {told['frame']}).",
    Reason.STEP_LIGHT: _light,
    Reason.STEP_NOTED: lambda told, _: f"Frame {told['frame']}: {told.text('note')}.",
    Reason.RATIO: _ratio,
    Reason.USUAL_TOLERANCE: lambda told, _: (
        f"{_TOLERANCES[told.about]}: ± {told.number('within'):g} {told.text('unit')}"
    ),
}
