"""The plan as a template may print it: the drawing, a form for each thing, and what follows, figure by figure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from webapp.ledger import placing
from webapp.ledger.geometry import Follows, ShareLine, follows, named_places, plan_of
from webapp.ledger.moves import Move
from webapp.ledger.set_up import SetUp
from webapp.ledger.worth_measuring import ASKED_FIRST, worth_measuring
from webapp.optics.working import Step
from webapp.plan import drawing, scales
from webapp.plan.cube import Surface
from webapp.plan.gloss_drawing import draw_gloss
from webapp.plan.map_drawing import draw_map
from webapp.plan.positions import differences
from webapp.plan.reflections import Gloss
from webapp.plan.staging import Plan
from webapp.quantities.lengths import Lengths
from webapp.records.tables import SetPhoto
from webapp.shoots.measured_light import MeasuredShares
from webapp.web.pages.cube_view import CubeView, cube_view
from webapp.web.pages.figures import signed
from webapp.web.pages.place_view import PlaceForm, Problem, place_forms
from webapp.web.pages.set_photo_view import viewpoints
from webapp.web.words.drawing import captions, light_words
from webapp.web.words.gloss import gloss_title, is_worth_a_line, mirrored_words, share_words
from webapp.web.words.listing import joined
from webapp.web.words.moves import way_back_words
from webapp.web.words.plan import evenness_words
from webapp.web.words.ratios import both_ratios
from webapp.web.words.say import maybe_say, say
from webapp.web.words.sides import fill_words, named_side
from webapp.web.words.strike import cost_words

TAPES: Final = ("from_subject", "from_camera", "height")
"""The lengths that a place by the tape is told by."""

_ROOMS: Final = (("plan", scales.ON_SCREEN), ("hand", scales.IN_THE_HAND), ("paper", scales.ON_PAPER))


@dataclass(frozen=True, slots=True)
class Line:
    """A figure that follows, with its working."""

    name: str
    figure: str
    words: str = ""
    steps: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class AskLine:
    """Something to ask of the set while it stands, and what not knowing it costs."""

    asks: str
    words: str


@dataclass(frozen=True, slots=True)
class Undo:
    """The way back from the last move."""

    move: str
    words: str


@dataclass(frozen=True, slots=True)
class AllTheSame:
    """A drag that came too late, to be sent again over what stands now."""

    words: str
    said: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class TapeForm:
    """The two tapes as they were typed; `of` is the light or thing they were laid to. `note` is what has to be known before."""

    of: str = ""
    from_subject: str = ""
    from_camera: str = ""
    height: str = "0"
    problem: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Shown:
    """Whose plan is shown, and how: the addresses that it is read from and moved by (none: it cannot be moved), that of
    its shadows, and the frame that is laid under it. While something is dragged the hand draws
    it, so that then it is not `is_drawn` here."""

    id: str
    shot_id: str
    title: str
    here: str
    action: str
    shadows: str
    inches: bool = False
    under: str = ""
    is_drawn: bool = True


@dataclass(frozen=True, slots=True)
class Mirror:
    """The two sides on which a taped triangle closes; one has to be chosen."""

    field: str
    sides: tuple[tuple[str, str], ...]
    said: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class PlanView:
    """The plan of the standing set-up, or of a frame. Of its drawings one is for a screen, one for the hand, and one for
    paper, to a standard scale."""

    id: str
    shot_id: str
    action: str
    here: str
    under: str
    shadows: str
    movable: bool
    drawings: tuple[Markup, ...]
    title: str
    words: tuple[str, ...]
    forms: tuple[PlaceForm, ...]
    unit: str
    lines: tuple[Line, ...]
    cube: CubeView | None
    map: Markup | None
    gloss: Markup | None
    map_words: str
    cautions: tuple[str, ...]
    differences: tuple[str, ...]
    against: str
    ask: tuple[AskLine, ...]
    photos: int
    tape: TapeForm
    undo: Undo | None = None
    mirror: Mirror | None = None
    all_the_same: AllTheSame | None = None
    trouble: str = ""


def plan_view(
    set_up: SetUp,
    shown: Shown,
    *,
    versions: Mapping[str, int] | None = None,
    measured: MeasuredShares | None = None,
    own: Sequence[Surface] = (),
    before: tuple[str, SetUp] | None = None,
    last_move: Move | None = None,
    problem: Problem | None = None,
    mirror: Mirror | None = None,
    photos: Sequence[SetPhoto] = (),
    sets: Mapping[str, str] | None = None,
) -> PlanView:
    """`own` are faces of the subject that were named; `before` is another plan to lay under this one, with its name; `photos` are those of the set, and
    `sets` names by id those that places were carried over from."""
    seen = measured or MeasuredShares()
    found = follows(set_up, seen.by_light, seen.at, own)
    plan = plan_of(set_up)
    lengths, movable = Lengths(shown.inches), bool(shown.action)
    earlier = plan_of(before[1]) if before else None
    light_map = found.evenness
    return PlanView(
        id=shown.id,
        shot_id=shown.shot_id,
        action=shown.action,
        here=shown.here,
        under=shown.under,
        shadows=shown.shadows,
        movable=movable,
        drawings=tuple(
            Markup(
                drawing.draw(
                    plan,
                    shown.title,
                    captions(lengths),
                    before=earlier,
                    movable=movable and key != "paper",
                    key=key,
                    room=room,
                    viewpoints=viewpoints(photos),
                )
                if shown.is_drawn
                else ""
            )
            for key, room in _ROOMS
        ),
        title=shown.title,
        words=() if movable else tuple(light_words(light, lengths) for light in plan.lights),
        forms=place_forms(set_up, plan, versions or {}, lengths, problem, sets or {}) if movable else (),
        unit=lengths.unit,
        lines=_lines(found, lengths),
        cube=cube_view(found.cube),
        map=Markup(draw_map(light_map, "Light over the subject, in stops against its middle")) if light_map else None,
        gloss=_gloss(found.gloss, plan),
        map_words=evenness_words(light_map, found.middle_behind),
        cautions=_cautions(plan.camera_is_assumed, plan.thing("subject") is None, found, lengths),
        differences=_differences(before[1], set_up, lengths) if before else (),
        against=before[0] if before else "",
        ask=tuple(
            AskLine(say(each.asks, lengths), cost_words(each, lengths))
            for each in worth_measuring(set_up)[:ASKED_FIRST]
        )
        if movable
        else (),
        photos=len(photos),
        tape=_tape(set_up, problem),
        undo=Undo(last_move.id, way_back_words(last_move, lengths)) if movable and last_move else None,
        mirror=mirror,
        all_the_same=_all_the_same(problem, versions or {}),
        trouble=problem.message if problem and problem.field != "tape" else "",
    )


def _gloss(gloss: Gloss | None, plan: Plan) -> Markup | None:
    if gloss is None:
        return None
    off = frozenset(light.letter for light in plan.lights if not light.lit)
    return Markup(draw_gloss(gloss, off, gloss_title(gloss)))


def _tape(set_up: SetUp, problem: Problem | None) -> TapeForm:
    note = "" if placing.camera_is_taped(set_up) else "Tape the camera first: until then the position is estimated."
    if problem is None or problem.field != "tape":
        return TapeForm(note=note)
    said = problem.said
    return TapeForm(
        of=said.get("field", ""),
        from_subject=said.get("from_subject", ""),
        from_camera=said.get("from_camera", ""),
        height=said.get("height", "0"),
        problem=problem.message,
        note=note,
    )


def _all_the_same(problem: Problem | None, versions: Mapping[str, int]) -> AllTheSame | None:
    """A drag has no field that keeps what was sent, so it is offered once more under the version that stands now."""
    if problem is None or "drag" not in problem.said:
        return None
    name = problem.field.partition(".")[2].replace("-", " ")
    version = str(versions.get(f"{problem.field}.position", 0))
    return AllTheSame(f"Put {name} there all the same", tuple((dict(problem.said) | {"version": version}).items()))


def _differences(before: SetUp, after: SetUp, lengths: Lengths) -> tuple[str, ...]:
    was, now = (named_places(each.lights, each.things) for each in (before, after))
    return tuple(say(each, lengths) for each in differences(was, now))


def _lines(found: Follows, lengths: Lengths) -> tuple[Line, ...]:
    on = f" on {named_side(found.surface)}"
    lines = [_share(each, on) for each in found.shares]
    if found.ratio is not None:
        stops = found.ratio.stops
        lines.append(
            Line(
                f"key {found.ratio.key} less fill {found.ratio.fill}{on}",
                f"{signed(stops)} stops",
                both_ratios(stops),
                (found.ratio.step,),
            )
        )
    if found.cube is not None:
        lines.extend(
            Line(f"fill by {each.card}", f"{signed(each.under_key[0][1])} stops", fill_words(each), (each.step,))
            for each in found.cube.fills
        )
    if found.background is not None:
        stops, step = found.background
        lines.append(
            Line("background against the subject", f"{signed(stops)} stops", "in the light on them", (step,))
        )
    for soft in found.softness:
        figure = f"{soft.across_deg:.0f}°"
        if abs(soft.across_deg - soft.up_deg) >= 0.5:
            figure += f" × {soft.up_deg:.0f}°"
        lines.append(
            Line(f"apparent size of {soft.letter}", figure, "from the subject: the larger, the softer", (soft.step,))
        )
    if found.gloss is None:
        lines.append(Line("flat gloss", "none", "the lens sees the subject's edge or its back"))
    else:
        lines.extend(_in_gloss(found.gloss))
    if found.card is not None:
        width, height, step = found.card
        lines.append(
            Line(
                "card that fills the view behind",
                f"{lengths.text(width)} × {lengths.text(height)}",
                f"at the background's place, with {lengths.text(10.0)} on every side",
                (step,),
            )
        )
    for letter, distance_mm, step in found.rings:
        lines.append(
            Line(f"the dark middle of ring {letter} closes", f"from {lengths.text(distance_mm)}", "", (step,))
        )
    return tuple(lines)


def _in_gloss(gloss: Gloss) -> Iterator[Line]:
    """A line for each thing that shows, the nearest first; those that do not, together where they would from one place."""
    told = [each for each in reversed(gloss.mirrored) if is_worth_a_line(each)]
    for each in told:
        if each.fraction > 0.0:
            yield Line(f"{each.name} in a flat gloss", f"on {share_words(each.fraction)}", mirrored_words(each))
    absent = [each for each in told if each.fraction == 0.0]
    for words in dict.fromkeys(map(mirrored_words, absent)):
        alike = [each.name for each in absent if mirrored_words(each) == words]
        figure = "does not show" if len(alike) == 1 else "do not show"
        yield Line(f"{joined(sorted(alike))} in a flat gloss", figure, words)


def _share(line: ShareLine, on: str) -> Line:
    """The modelled share with the measured one beside it; where nothing can be modelled, the measured one."""
    name = f"share of {line.letter}{on}"
    measured = "" if line.measured is None else f"measured {line.measured:.0%} at {line.measured_at}"
    why = maybe_say(line.why)
    if line.modelled is None:
        figure = "unknown" if line.measured is None else f"{line.measured:.0%}"
        told = f"{measured}; not modelled: {why}" if measured else why
        return Line(name, figure, told, line.steps)
    if measured and line.off_stops is not None:
        measured += f", modelled {signed(line.off_stops)} stops against it"
    rests_on = "guide number, not metered" if line.by_guide else "meter reading"
    return Line(name, f"{line.modelled:.0%}", measured or why or f"modelled from its {rests_on}", line.steps)


def _cautions(camera_assumed: bool, subject_assumed: bool, found: Follows, lengths: Lengths) -> tuple[str, ...]:
    told = [say(each.told, lengths) for each in found.cautions]
    if camera_assumed:
        told.append("The camera's place is assumed: 1 m in front, level with the subject.")
    if subject_assumed:
        told.append("The subject's size is assumed: 10 × 10 cm, flat, square to the lens.")
    return tuple(told)
