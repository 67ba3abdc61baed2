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
from webapp.plan.gloss_drawing import draw_gloss
from webapp.plan.map_drawing import draw_map
from webapp.plan.positions import differences
from webapp.plan.reflections import Gloss
from webapp.plan.staging import Plan
from webapp.quantities.lengths import Lengths
from webapp.records.tables import SetPhoto
from webapp.shoots.measured_light import MeasuredShares, ReadOn
from webapp.web.pages.cube_view import CubeView, cube_view
from webapp.web.pages.figures import signed
from webapp.web.pages.form_view import Choice
from webapp.web.pages.place_view import PlaceForm, Problem, place_forms
from webapp.web.pages.set_photo_view import viewpoints
from webapp.web.words.drawing import captions, light_words
from webapp.web.words.figures import percent
from webapp.web.words.gloss import gloss_title, is_worth_a_line, mirrored_words, share_words
from webapp.web.words.listing import joined
from webapp.web.words.moves import way_back_words
from webapp.web.words.plan import evenness_words
from webapp.web.words.ratios import both_ratios, key_to_fill_text
from webapp.web.words.say import maybe_say, say
from webapp.web.words.sides import fill_words, level_text, named_side, side_words
from webapp.web.words.strike import cost_words

TAPES: Final = ("from_subject", "from_camera", "height")
"""The lengths that a place by the tape is told by."""

_SQUARE_DEG: Final = 1.0
"""Nearer to square than this nobody sees that something is not."""
_ROOMS: Final = (("plan", scales.ON_SCREEN), ("hand", scales.IN_THE_HAND), ("paper", scales.ON_PAPER))


@dataclass(frozen=True, slots=True)
class Line:
    """A figure that follows, in lines of their own where it has several parts. `words` stand under it, `more` with its workings; `about` is the letter of its light."""

    name: str
    figure: str
    words: str = ""
    more: str = ""
    steps: tuple[Step, ...] = ()
    about: str = ""


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
class Became:
    """A figure that a move changed; empty is one that is not told."""

    name: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class Moved:
    """What was just moved, and what it did, first the figures of what was moved. `tape` is the press that says it was
    taped there, None where it is. Shares, ratio and levels are `on` the surface that is chosen, which their names leave out."""

    words: tuple[str, ...]
    on: str
    figures: tuple[Became, ...]
    more: int
    tape: PlaceForm | None


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
    """The plan of the set-up now, or of a frame. Of its drawings one is for a screen, one for the hand, and one for
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
    moved: Moved | None
    surfaces: tuple[Choice, ...]
    surface: str
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
    read: ReadOn | None = None,
    before: tuple[str, SetUp] | None = None,
    moved_from: SetUp | None = None,
    last_move: Move | None = None,
    problem: Problem | None = None,
    mirror: Mirror | None = None,
    photos: Sequence[SetPhoto] = (),
    sets: Mapping[str, str] | None = None,
) -> PlanView:
    """`read` says what the figures are for; `before` is another plan to lay under this one, with its name; `moved_from` is
    the set-up before the last move; `photos` are those of the set, and
    `sets` names by id those that places were carried over from."""
    seen = measured or MeasuredShares()
    found = _found(set_up, seen, read)
    plan = plan_of(set_up)
    lengths, movable = Lengths(shown.inches), bool(shown.action)
    earlier = plan_of(before[1]) if before else None
    light_map = found.evenness
    lines = tuple(_lines(found, lengths))
    was = () if moved_from is None else tuple(_lines(_found(moved_from, seen, read), lengths))
    forms = place_forms(set_up, plan, versions or {}, lengths, problem, sets or {}) if movable else ()
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
        forms=forms,
        unit=lengths.unit,
        lines=lines,
        moved=_moved(moved_from, set_up, (was, lines), named_side(found.surface.key), forms, lengths),
        surfaces=tuple(Choice(each.key, side_words(each), each == found.surface) for each in found.surfaces),
        surface=named_side(found.surface.key),
        cube=cube_view(found.cube),
        map=Markup(draw_map(light_map, "Light over the subject, in stops against its middle")) if light_map else None,
        gloss=_gloss(found.gloss, plan),
        map_words=evenness_words(light_map, found.middle_behind),
        cautions=_cautions(plan, found, lengths),
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


def _found(set_up: SetUp, seen: MeasuredShares, read: ReadOn | None) -> Follows:
    if read is None:
        return follows(set_up, seen.by_light, seen.at)
    return follows(set_up, seen.by_light, seen.at, read.own, read.chosen)


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


def _lines(found: Follows, lengths: Lengths) -> Iterator[Line]:
    on = f" on {named_side(found.surface.key)}"
    yield from (_share(each, on) for each in found.shares)
    if found.ratio is not None:
        stops = found.ratio.stops
        yield Line(
            f"key {found.ratio.key} less fill {found.ratio.fill}{on}",
            f"{signed(stops)} stops\n{key_to_fill_text(stops)}",
            more=both_ratios(stops),
            steps=(found.ratio.step,),
        )
    yield from _level(found, on)
    if found.cube is not None:
        for each in found.cube.fills:
            side, stops = each.under_key[0]
            yield Line(
                f"fill by {each.card} on {named_side(side)}",
                f"{signed(stops)} stops",
                more=fill_words(each),
                steps=(each.step,),
            )
    if found.background is not None:
        stops, step = found.background
        name = "background against the face to the lens"
        yield Line(name, f"{signed(stops)} stops", more="in the light on them", steps=(step,))
    if found.evenness is not None:
        yield Line("evenness over the subject", f"{found.evenness.range_stops:.2f} stop")
    for soft in found.softness:
        figure = f"{soft.across_deg:.0f}°"
        if abs(soft.across_deg - soft.up_deg) >= 0.5:
            figure += f" × {soft.up_deg:.0f}°"
        more = "from the subject: the larger, the softer"
        yield Line(f"apparent size of {soft.letter}", figure, more=more, steps=(soft.step,), about=soft.letter)
    if found.gloss is None:
        yield Line("flat gloss", "none", more="the lens sees the subject's edge or its back")
    else:
        yield from _in_gloss(found.gloss)
    if found.card is not None:
        width, height, step = found.card
        yield Line(
            "card that fills the view behind",
            lengths.sides(width, height),
            more=f"at the background's place, with {lengths.text(10.0)} on every side",
            steps=(step,),
        )
    for letter, distance_mm, step in found.rings:
        name = f"the dark middle of ring {letter} closes"
        yield Line(name, f"from {lengths.text(distance_mm)}", steps=(step,), about=letter)


def _level(found: Follows, on: str) -> Iterator[Line]:
    """What a meter reads of all lights together on the surface that is chosen."""
    if found.cube is None or not found.cube.is_absolute or found.cube.unknown:
        return
    for each in found.cube.sides:
        if each.surface.key == found.surface.key and each.is_summed:
            reads = "dark" if each.total is None else level_text(each.total)
            yield Line(f"all lights{on}", reads, more="as a meter there reads at ISO 100, to the third of a stop")


def _in_gloss(gloss: Gloss) -> Iterator[Line]:
    """What shows in a flat gloss, the nearest first, in one line; and what would show there from elsewhere."""
    told = [each for each in reversed(gloss.mirrored) if is_worth_a_line(each)]
    shown = [each for each in told if each.fraction > 0.0]
    more = [f"{each.name}: {mirrored_words(each)}" for each in shown]
    absent = [each for each in told if each.fraction == 0.0]
    for words in dict.fromkeys(map(mirrored_words, absent)):
        alike = [each.name for each in absent if mirrored_words(each) == words]
        more.append(f"{joined(sorted(alike))} {'does' if len(alike) == 1 else 'do'} not show: {words}")
    figure = "\n".join(f"{each.name} {share_words(each.fraction)}" for each in shown) or "shows nothing of the set"
    yield Line("flat gloss", figure, more="; ".join(more))


def _share(line: ShareLine, on: str) -> Line:
    """The modelled share with the measured one beside it; where nothing can be modelled, the measured one."""
    name = f"share of {line.letter}{on}"
    measured = "" if line.measured is None else f"measured {percent(line.measured)} at {line.measured_at}"
    why = maybe_say(line.why)
    if line.modelled is None:
        figure = "unknown" if line.measured is None else f"{percent(line.measured)}"
        told = f"{measured}; not modelled: {why}" if measured else why
        return Line(name, figure, told, steps=line.steps, about=line.letter)
    if measured and line.off_stops is not None:
        measured += f", modelled {signed(line.off_stops)} stops against it"
    rests_on = "guide number, not metered" if line.by_guide else "meter reading"
    more = "" if measured or why else f"modelled from its {rests_on}"
    words = measured or why or (more if line.by_guide else "")
    return Line(name, f"{percent(line.modelled)}", words, "" if words else more, line.steps, line.letter)


_MOST_CHANGED: Final = 6


def _moved(
    before: SetUp | None,
    after: SetUp,
    figures_of: tuple[Sequence[Line], Sequence[Line]],
    on: str,
    forms: Sequence[PlaceForm],
    lengths: Lengths,
) -> Moved | None:
    """What moved between two set-ups, with the figures that changed; None where nothing did."""
    if before is None:
        return None
    was, lines = figures_of
    names = [each.letter for each in after.lights if before.light(each.letter) != each]
    stood = {each.name: each.figure for each in was}
    stands = {each.name: each.figure for each in lines}
    about = {each.name: each.about for each in (*was, *lines)}
    changed = [name for name in dict.fromkeys((*stands, *stood)) if stands.get(name) != stood.get(name)]
    changed.sort(key=lambda name: about[name] not in names)
    figures = tuple(
        Became(each.removesuffix(f" on {on}"), stood.get(each, ""), stands.get(each, "")) for each in changed
    )
    moved = {f"lights.{each}" for each in names}
    moved |= {f"things.{each.id}" for each in after.things if each not in before.things}
    tape = [each for each in forms if each.field in moved and each.tape_says]
    words = _differences(before, after, lengths)
    if not words and not figures:
        return None
    return Moved(
        words or ("The set was changed.",),
        on,
        figures[:_MOST_CHANGED],
        max(0, len(figures) - _MOST_CHANGED),
        tape[0] if len(tape) == 1 else None,
    )


def _cautions(plan: Plan, found: Follows, lengths: Lengths) -> tuple[str, ...]:
    told = [say(each.told, lengths) for each in found.cautions]
    if plan.camera_is_assumed:
        told.append("The camera's place is assumed: 1 m in front, level with the subject.")
    if plan.thing("subject") is None:
        told.append("The subject's size is assumed: 10 × 10 cm, flat, square to the lens.")
    if plan.subject_lies and plan.off_square_deg >= _SQUARE_DEG:
        told.append(
            f"The subject lies flat on the table: its face is its top, {plan.off_square_deg:.0f}° off square to the lens."
        )
    return tuple(told)
