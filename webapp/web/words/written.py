"""A drafted recipe put into words: sentences of the document, which its reader keeps as they were published. Lengths are
in centimetres there, as in every document."""

from __future__ import annotations

from dataclasses import asdict

from webapp.facts import Fact
from webapp.optics.working import Step
from webapp.recipes.document import LONGEST_LINE, ChangePart, Recipe, Tolerance, WorkingPart
from webapp.recipes.drafting import Draft, HistoryEntry
from webapp.recipes.plain_text import plain_text
from webapp.web.words.drafts import tolerance_of
from webapp.web.words.figures import one_decimal
from webapp.web.words.say import say
from webapp.web.words.steps import drafted_steps


def written(draft: Draft) -> Recipe:
    """The document with its sentences."""
    texts = {
        "workings": tuple(map(_working, draft.workings)),
        "steps": drafted_steps(draft.figures),
        "changes": tuple(map(_change, draft.changes)),
        "ratios": tuple(_line(say(each)) for each in draft.ratios),
        "tolerances": tuple(map(_tolerance, draft.tolerances)),
        "cautions": tuple(_line(say(each)) for each in draft.cautions),
    }
    return Recipe(**{name: getattr(draft.figures, name) for name in Recipe.model_fields} | texts)


def _working(step: Step) -> WorkingPart:
    return WorkingPart(**asdict(step) | {"assumptions": tuple(map(say, step.assumptions))})


def _line(text: str) -> str:
    return plain_text(text)[:LONGEST_LINE]


def _change(told: HistoryEntry) -> ChangePart:
    # One that acts on every light alike is told once.
    changes = dict.fromkeys(f"{say(each).rstrip('.')}{_size(each)}" for each in told.facts)
    return ChangePart(first_frame=told.frames[0], last_frame=told.frames[-1], words=_line("; ".join(changes)))


def _size(told: Fact) -> str:
    stops = told.values.get("stops")
    return "" if stops is None else f" ({one_decimal(told.number('stops'))})"


def _tolerance(told: Fact) -> Tolerance:
    return Tolerance(what=plain_text(tolerance_of(told)), within=told.number("within"), unit=told.text("unit"))
