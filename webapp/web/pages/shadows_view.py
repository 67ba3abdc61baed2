"""The shadows of a plan as a template may print them: those that the lens sees, each with its figures, and in a line for
each light those that it does not see."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from webapp.plan.reasons import Reason
from webapp.plan.shadows import Shadow
from webapp.quantities.lengths import Lengths
from webapp.web.pages.plan_view import Line
from webapp.web.words.shadows import deep_words, on_words, seen_words, why_words


@dataclass(frozen=True, slots=True)
class ShadowsView:
    """Of which plan, under which mark of its set-up, and its lines."""

    id: str
    lines: tuple[Line, ...]


def shadows_view(id_: str, shadows: Sequence[Shadow], lengths: Lengths) -> ShadowsView:
    lines = [_seen(each, lengths) for each in shadows if each.seen]
    for letter, of_it in groupby(shadows, key=lambda each: each.letter):
        lines.extend(_unseen(letter, of_it))
    return ShadowsView(id_, tuple(lines))


def _seen(each: Shadow, lengths: Lengths) -> Line:
    return Line(
        f"shadow of {each.letter} on {on_words(each.on)}", deep_words(each), seen_words(each, lengths), each.steps
    )


def _unseen(letter: str, shadows: Iterable[Shadow]) -> Iterable[Line]:
    """What is not seen of one light, in one line; a surface that is not there is not told of."""
    told = [
        f"on {on_words(each.on)}: {why_words(each.why)}"
        for each in shadows
        if each.why is not None and each.why.reason != Reason.NO_SUCH_SURFACE
    ]
    if told:
        yield Line(f"other shadows of {letter}", "not seen", "; ".join(told))
