"""The shadows of a plan as a template may print them: those that the lens sees, each with its figures; in a line for
each light those that it does not see; and the cards that show them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from webapp.errors import NotTraced
from webapp.facts import Fact
from webapp.plan.levels import emissions
from webapp.plan.reasons import Reason
from webapp.plan.shadows import Shadow
from webapp.plan.solids import SHAPES, Shape, usual_shape
from webapp.plan.staging import Plan
from webapp.plan.view import Look, card_size
from webapp.quantities.lengths import Lengths
from webapp.web.pages.plan_view import Line
from webapp.web.pages.progress_view import Progress
from webapp.web.words.say import maybe_say
from webapp.web.words.shadows import (
    SHAPE_NAMES,
    card_words,
    deep_words,
    on_words,
    seen_words,
    traced_words,
    why_words,
)

_NEARLY_LEVEL_DEG: Final = 20.0
_NONE_STOPS: Final = 0.05


@dataclass(frozen=True, slots=True)
class Asked:
    """Of which plan, by the id of its part of the page and the address of the plan; what goes along with each address,
    as what the subject is to be shown, and the frame whose card is laid beside."""

    id: str
    path: str
    kept: str
    shape: Shape | None
    beside: str


@dataclass(frozen=True, slots=True)
class Card:
    """A picture with its size in pixels, what it shows in a few words, and in a line below."""

    src: str
    width: int
    height: int
    alt: str
    words: str


@dataclass(frozen=True, slots=True)
class ShowAs:
    """Another shape for the subject on the cards; without an address it is the one that is shown."""

    words: str
    href: str


@dataclass(frozen=True, slots=True)
class ShadowsView:
    """Its lines and its cards; `no_card` says why there is none."""

    id: str
    lines: tuple[Line, ...]
    cards: tuple[Card, ...]
    shapes: tuple[ShowAs, ...]
    no_card: str


@dataclass(frozen=True, slots=True)
class LaterView:
    """Shadows that are not there yet, or could not be worked out: by the id of their part of the page, and the address
    at which they are asked for again, by the page itself as long as they go on."""

    id: str
    address: str
    progress: Progress

    @property
    def again_words(self) -> str:
        return "Look again" if self.progress.goes_on else "Try again"


def later_view(id_: str, address: str, trouble: NotTraced) -> LaterView:
    words = traced_words(trouble)
    return LaterView(
        id_, address, Progress(f"tracing-{id_}", words, 0, 0, trouble.goes_on, "", failed=not trouble.goes_on)
    )


def shadows_view(
    asked: Asked, plan: Plan, shadows: Sequence[Shadow], unknown: Fact | None, lengths: Lengths
) -> ShadowsView:
    """`unknown` is why the light of the set is not known, where it is not."""
    lines = [_seen(each, lengths) for each in shadows if each.seen]
    for letter, of_it in groupby(shadows, key=lambda each: each.letter):
        lines.extend(_unseen(letter, of_it))
    # Without all that is lit there is nothing to trace, and a black card would look like a dark set.
    known = emissions(plan.direct) is not None
    shape = asked.shape or usual_shape(plan)
    return ShadowsView(
        asked.id,
        tuple(lines),
        tuple(_card(asked, plan, look, shape, lengths) for look in _looks(asked, plan, shadows)) if known else (),
        tuple(_show_as(asked, each, shape) for each in SHAPES),
        "" if known else _no_card(unknown),
    )


def _seen(each: Shadow, lengths: Lengths) -> Line:
    return Line(
        f"shadow of {each.letter} on {on_words(each.on)}",
        deep_words(each),
        seen_words(each, lengths),
        steps=each.steps,
    )


def _unseen(letter: str, shadows: Iterable[Shadow]) -> Iterator[Line]:
    """What is not seen of one light, in one line; a surface that is not there is not told of."""
    told = [
        f"on {on_words(each.on)}: {why_words(each.why)}"
        for each in shadows
        if each.why is not None and not _goes_without_saying(each.on, each.why)
    ]
    if told:
        yield Line(f"other shadows of {letter}", "not seen", "; ".join(told))


def _goes_without_saying(on: str, why: Fact) -> bool:
    """A surface that is not there, and a subject that no shadow of its own falls on."""
    none = why.reason == Reason.TOO_SHALLOW and why.number("depth_stops") < _NONE_STOPS
    return why.reason == Reason.NO_SUCH_SURFACE or (on == "subject" and none)


def _looks(asked: Asked, plan: Plan, shadows: Sequence[Shadow]) -> tuple[Look, ...]:
    """From the lens; and from above what a lens that is nearly level hardly sees, or what it does not see of a shadow."""
    if asked.beside or plan.thing("table") is None:
        return ("lens",)
    missed = any(
        each.why is not None and each.why.reason in (Reason.HIDDEN_FROM_LENS, Reason.OUTSIDE_PICTURE)
        for each in shadows
        if each.on == "table"
    )
    return ("lens", "above") if missed or plan.camera.elevation_deg < _NEARLY_LEVEL_DEG else ("lens",)


def _card(asked: Asked, plan: Plan, look: Look, shape: Shape, lengths: Lengths) -> Card:
    width, height = card_size(plan, look)
    src = f"{asked.path}/card.png?{asked.kept}&look={look}&shape={shape}"
    left_out = [light.letter for light in plan.lights if light.lit and not light.is_direct]
    alt, words = card_words(look, shape, plan.field_mm, left_out, lengths)
    if asked.beside:
        return Card(
            f"{src}&beside={asked.beside}", 2 * width, height, f"{alt}, beside that of the other frame", words
        )
    return Card(src, width, height, alt, words)


def _show_as(asked: Asked, shape: Shape, shown: Shape) -> ShowAs:
    href = f"{asked.path}/shadows?{asked.kept}&shape={shape}"
    return ShowAs(SHAPE_NAMES[shape], "" if shape == shown else href)


def _no_card(unknown: Fact | None) -> str:
    """Why there is no shadow card."""
    words = maybe_say(unknown)
    return f"No card. {words}" if words else "No card: no light is lit."
