"""The page before the set is struck, as a template may print it: each question with what it costs, and its blanks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from webapp.errors import InvalidValue, StaleValue
from webapp.ledger.worth_measuring import WorthMeasuring
from webapp.optics.working import Step
from webapp.quantities.lengths import Lengths
from webapp.shoots.strike import BeforeStriking, fields_asked
from webapp.web.pages.desk_view import closed_words
from webapp.web.pages.form_view import Choice
from webapp.web.words.say import say
from webapp.web.words.strike import blank_example, blank_label, error_words


@dataclass(frozen=True, slots=True)
class BlankView:
    """One thing to type."""

    name: str
    label: str
    hint: str
    typed: str


@dataclass(frozen=True, slots=True)
class QuestionView:
    """One question with its figure; `problem` is why the answer could not be kept."""

    id: str
    asks: str
    stands: str
    figure: str
    because: str
    steps: tuple[Step, ...]
    blanks: tuple[BlankView, ...]
    problem: str


@dataclass(frozen=True, slots=True)
class StrikeView:
    """What is asked before the set of a shot is struck."""

    shot_id: str
    title: str
    questions: tuple[QuestionView, ...]
    versions: tuple[tuple[str, int], ...]
    frames: tuple[Choice, ...]
    closed: str
    trouble: str


def strike_view(
    asked: BeforeStriking, said: Mapping[str, str] | None = None, problem: InvalidValue | StaleValue | None = None
) -> StrikeView:
    """`said` is what was typed and `problem` why it could not be kept."""
    typed = said or {}
    problems = _by_question(asked.asked, problem)
    names = fields_asked(asked.asked)
    return StrikeView(
        shot_id=asked.state.shot.id,
        title=asked.state.shot.title,
        questions=tuple(
            _question(each, typed, problems.get(each.field, ""), asked.state.lengths) for each in asked.asked
        ),
        versions=tuple((f"version.{name}", asked.state.versions.get(name, 0)) for name in names),
        frames=_frames(asked, typed),
        closed=closed_words(asked.state.shot),
        trouble=str(problem) if problem is not None and not problems else "",
    )


def _question(each: WorthMeasuring, typed: Mapping[str, str], problem: str, lengths: Lengths) -> QuestionView:
    figure = "cannot be reckoned" if each.error_stops is None else error_words(each.error_stops)
    return QuestionView(
        id=each.field.replace(".", "-"),
        asks=say(each.asks, lengths),
        stands=say(each.stands, lengths),
        figure=figure,
        because=say(each.because, lengths),
        steps=() if each.step is None else (each.step,),
        blanks=tuple(
            BlankView(blank.name, blank_label(blank), blank_example(blank, lengths), typed.get(blank.name, ""))
            for blank in each.blanks
        ),
        problem=problem,
    )


def _by_question(asked: Sequence[WorthMeasuring], problem: InvalidValue | StaleValue | None) -> dict[str, str]:
    """The sentences by the question that they belong to."""
    if problem is None:
        return {}
    several = problem.problems if isinstance(problem, InvalidValue) else [problem]
    found: dict[str, str] = {}
    for each in several:
        path = ".".join(each.where)
        # A light may be asked for its power and for its place: the longer name is the nearer one.
        fitting = [one.field for one in asked if path == one.field or path.startswith(f"{one.field}.")]
        if fitting:
            found[max(fitting, key=len)] = str(each)
    return found


def _frames(asked: BeforeStriking, typed: Mapping[str, str]) -> tuple[Choice, ...]:
    chosen = typed.get("as_in_frame")
    return tuple(
        Choice(
            each.id,
            f"frame {each.number}" + ("" if each.purpose == "test" else f", {each.purpose}"),
            each.chosen if chosen is None else each.id == chosen,
        )
        for each in asked.frames
    )
