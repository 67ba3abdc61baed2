"""The page before the set is struck, as a template may print it: each question with what it costs, and its blanks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from webapp.errors import InvalidValue, StaleValue
from webapp.ledger import placing
from webapp.ledger.worth_measuring import ASKED_FIRST, WorthMeasuring
from webapp.optics.working import Step
from webapp.quantities.lengths import Lengths
from webapp.shoots.on_record import Kind, OnRecord
from webapp.shoots.set_up_now import StandingState
from webapp.shoots.strike import BeforeStriking, fields_asked
from webapp.web.pages.desk_view import LEAVE, closed_words, set_up_words
from webapp.web.pages.form_view import Choice
from webapp.web.pages.standing_evidence_view import ambient_line
from webapp.web.typed import TAPED
from webapp.web.words.places import carried_distance_words, known_words, where_words
from webapp.web.words.say import say
from webapp.web.words.strike import blank_example, blank_label, error_words, evidence_name, is_off


@dataclass(frozen=True, slots=True)
class BlankView:
    """One thing to type."""

    name: str
    label: str
    hint: str
    typed: str


@dataclass(frozen=True, slots=True)
class QuestionView:
    """One question with its figure, which is large where it is of light that would be off; `problem` is why the answer
    could not be kept."""

    id: str
    asks: str
    stands: str
    figure: str
    is_off: bool
    because: str
    steps: tuple[Step, ...]
    blanks: tuple[BlankView, ...]
    problem: str


@dataclass(frozen=True, slots=True)
class Tick:
    """A place that a tick confirms: its name, the distance that the tape would have to say, and how it stands."""

    name: str
    thing: str
    tape_says: str
    stands: str
    ticked: bool


@dataclass(frozen=True, slots=True)
class EvidenceLine:
    """One thing that tells of the set: its name, what is on record of it, and the page where it stands (or is typed). A
    missing one is set up by a press of `key`; a meter reading is typed where its light's power and distance are known."""

    kind: str
    about: str
    name: str
    says: str
    href: str
    key: str = ""
    typed_here: bool = False


@dataclass(frozen=True, slots=True)
class EvidenceView:
    """What is missing of a set and what is there. `now` is what is set up just now, and `leave` the key that leaves it;
    `problem` is why something was refused."""

    shot_id: str
    missing: tuple[EvidenceLine, ...]
    there: tuple[EvidenceLine, ...]
    now: str
    leave: str
    next_number: int
    watches: bool
    problem: str = ""


@dataclass(frozen=True, slots=True)
class StrikeView:
    """What is asked before the set of a shot is struck: the questions worth most first, the others behind a disclosure."""

    shot_id: str
    session_id: str
    title: str
    first: tuple[QuestionView, ...]
    others: tuple[QuestionView, ...]
    ticks: tuple[Tick, ...]
    versions: tuple[tuple[str, int], ...]
    frames: tuple[Choice, ...]
    closed: str
    trouble: str

    @property
    def others_open(self) -> bool:
        """Whether one of the others was refused, and has to be seen."""
        return any(each.problem for each in self.others)


def strike_view(
    asked: BeforeStriking, said: Mapping[str, str] | None = None, problem: InvalidValue | StaleValue | None = None
) -> StrikeView:
    """`said` is what was typed and `problem` why it could not be kept."""
    typed = said or {}
    problems = _by_question(asked.asked, problem)
    names = dict.fromkeys(
        (*fields_asked(asked.asked), *(placing.field_of_tape(asked.state.set_up, each) for each in asked.untaped))
    )
    questions = tuple(
        _question(each, typed, problems.get(each.field, ""), asked.state.lengths) for each in asked.asked
    )
    return StrikeView(
        shot_id=asked.state.shot.id,
        session_id=asked.state.shot.session_id,
        title=asked.state.shot.title,
        first=questions[:ASKED_FIRST],
        others=questions[ASKED_FIRST:],
        ticks=tuple(_tick(each, asked, typed) for each in asked.untaped),
        versions=tuple((f"version.{name}", asked.state.versions.get(name, 0)) for name in names),
        frames=_frames(asked, typed),
        closed=closed_words(asked.state.shot),
        trouble=str(problem) if problem is not None and not problems else "",
    )


def _tick(field: str, asked: BeforeStriking, typed: Mapping[str, str]) -> Tick:
    state = asked.state
    position, name = placing.position_of(state.set_up, field), placing.name_of_place(field)
    light, lengths = state.set_up.light(name), state.lengths
    if position is not None:
        far, stands = (
            position.at.distance_mm,
            f"{where_words(position.at, lengths)}, {known_words(position, asked.sets)}",
        )
    else:
        assert light is not None
        assert light.distance_mm is not None
        far, stands = light.distance_mm, carried_distance_words(light.distance_mm, lengths)
    return Tick(
        f"{field}.{TAPED}",
        light.name if light else name,
        lengths.text(far),
        stands,
        f"{field}.{TAPED}" in typed,
    )


def evidence_view(asked: BeforeStriking, *, watches: bool, problem: str = "") -> EvidenceView:
    """`watches`: files come from a folder to this shot; `problem` is why something was refused."""
    state = asked.state
    lines = [(each.is_there, _evidence_line(each, state)) for each in asked.on_record]
    return EvidenceView(
        shot_id=state.shot.id,
        missing=tuple(line for there, line in lines if not there),
        there=tuple(line for there, line in lines if there),
        now=set_up_words(state),
        leave=LEAVE.get(state.set_up_for, ""),
        next_number=state.next_number,
        watches=watches and state.shot.on_set,
        problem=problem,
    )


def _evidence_line(each: OnRecord, state: StandingState) -> EvidenceLine:
    light = state.set_up.light(each.about)
    says = ambient_line(state.evidence.proof).text if each.says is None else say(each.says, state.lengths)
    href, key, typed_here = f"/frames/{each.frame_id}" if each.frame_id else "", "Set up", False
    if each.kind is Kind.METER and light is not None:
        typed_here = light.power_stops is not None and light.distance_mm is not None
        href, key = f"/kit/lights/{light.head.id}", "Keep" if typed_here else ""
    if each.kind is Kind.PHOTO:
        href, key = f"#photos-{state.shot.id}", ""
    return EvidenceLine(each.kind.value, each.about, evidence_name(each), says, href, key, typed_here)


def _question(each: WorthMeasuring, typed: Mapping[str, str], problem: str, lengths: Lengths) -> QuestionView:
    figure = "cannot be reckoned" if each.error_stops is None else error_words(each.error_stops)
    return QuestionView(
        id=each.field.replace(".", "-"),
        asks=say(each.asks, lengths),
        stands=say(each.stands, lengths),
        figure=figure,
        is_off=is_off(each.error_stops),
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
