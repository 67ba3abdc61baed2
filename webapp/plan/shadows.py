"""The subject's shadow as the lens sees it, by one law on the table, on the background and on the subject itself.

At every place of a surface the light of a lamp is worked out twice: past all that stands on the set, and past all of it
but the subject. What the subject takes is the depth there, in stops; where the levels of all lit lights are known, also
in the light of all. The shadow is where it takes 0.2 stop at least. What counts is what the lens sees of it: a place in
the picture that nothing stands before. On the subject itself, what the subject takes is the light of that part of the
lamp which its own body is turned away from or stands before.

A surface is looked over place by place with few rays; its deepest place and its edge are then worked out with many.

Source: lambert-cosine, definition.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from webapp.facts import Fact, fact
from webapp.optics.arrays import Flags, Floats, np
from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Step, Symbol
from webapp.plan.reasons import Reason
from webapp.plan.shadow_edges import Edge
from webapp.plan.shadow_field import (
    FULL_STOPS,
    LOOKED_OVER,
    NOTHING,
    SHALLOWEST_STOPS,
    Found,
    Looked,
    Stage,
    depth_of,
    edge_seen,
    looked_for,
    run_of,
    stage_of,
)
from webapp.plan.solids import is_ball
from webapp.plan.staging import Plan, PlanLight
from webapp.plan.surfaces import SURFACES, On, Patch, corners_of

_PER_SIDE: Final = 36
_PER_SIDE_IN_SEARCH: Final = 24
_WORKED_OUT: Final = 28657
_STARTS: Final = 3
"""From how many places the deepest is looked for: a shadow may be deep at the subject's foot and where it ends."""
_APART_CELLS: Final = 3.0
_FIRST: Final = (1.05, 61)
_CLOSER: Final = ((0.7, 122), (0.25, 233), (0.08, 233), (0.025, 377))
_CLOSER_IN_ALL: Final = ((0.35, 61), (0.1, 122))
"""The reach of each further look around a place, in cells of the first look, and as how many rays it is told. In the
light of all a shadow is shallower, and a rougher look tells as much."""
_LOOK: Final = np.stack([each.ravel() for each in np.meshgrid(*2 * (np.linspace(-1.0, 1.0, 7),))])
_ON: Final = 3
_MOVED: Final = 0.6
"""How often a look is repeated where it ends near its own rim, beyond this part of its reach: what is deepest may lie
along the edge of what hides it."""

DEPTH: Final = Relation(
    result="depth of the shadow at its deepest place in the picture",
    unit="stops",
    formula="Δ = log2(E_0 / E)",
    latex=r"\Delta = \log_2 \frac{E_0}{E}",
    symbols=(
        Symbol("E_0", "light there, were the subject not in its way; of the lamp's brightest on this surface", ""),
        Symbol("E", "light there past the subject, in the same measure", ""),
    ),
    source="lambert-cosine",
    assumptions=(Assumption.FACE_GLOWS_EVENLY, Assumption.NOTHING_THROWN_BACK),
)
EDGE: Final = Relation(
    result="edge of the shadow, from 10 to 90 % of the light across it",
    unit="mm",
    formula="p = x_90 − x_10",
    latex=r"p = x_{90} - x_{10}",
    symbols=(
        Symbol("x_10", "from its middle inwards to where a tenth of the light that it costs is there", "mm"),
        Symbol("x_90", "from its middle outwards to where nine tenths of it are", "mm"),
    ),
    source="definition",
    assumptions=(Assumption.SQUARE_ACROSS_EDGE,),
)


@dataclass(frozen=True, slots=True)
class InPicture:
    """Where something lies in the picture: from and to, to the right and above its middle, in millimetres at the
    subject; `sides` are those of the subject that it shows at; `part` its width and height of the picture's, where the
    field is known."""

    across_mm: tuple[float, float]
    up_mm: tuple[float, float]
    sides: tuple[str, ...]
    part: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Shadow:
    """The shadow of one light on one surface. `why` it is not seen, else None, with its depth in that light alone and
    in the light of all (None: not known of all), the width of its edge or `edge_why` none is told, and length and width of the full shadow that is seen of it (None: there is none)."""

    letter: str
    on: On
    why: Fact | None = None
    depth_stops: float | None = None
    in_all_stops: float | None = None
    edge_mm: float | None = None
    full_mm: tuple[float, float] | None = None
    picture: InPicture | None = None
    steps: tuple[Step, ...] = ()
    edge_why: Fact | None = None

    @property
    def seen(self) -> bool:
        return self.why is None

    @property
    def is_full(self) -> bool:
        """Whether nothing of this light reaches its deepest place."""
        return self.depth_stops is not None and self.depth_stops >= FULL_STOPS


def shadows(plan: Plan) -> tuple[Shadow, ...]:
    """The shadows of all lit lights that have a position and shine on the subject, on every surface."""
    seen = stage_of(plan)
    return tuple(
        _shadow(seen, light, on) for light in plan.placed if light.lit and light.is_direct for on in SURFACES
    )


def shadow(plan: Plan, light: PlanLight, on: On) -> Shadow:
    """The shadow of one light of a plan, lit or not, on a surface."""
    return _shadow(stage_of(plan.with_light(replace(light, lit=True))), light, on)


def edge_mm(plan: Plan, light: PlanLight, on: On) -> float | None:
    """How wide the edge of a light's shadow is, from 10 to 90 %; None where none is told."""
    found = edge_at(plan, light, on)
    return None if found is None else found.width_mm


def edge_at(plan: Plan, light: PlanLight, on: On) -> Edge | None:
    """The same with where it begins and ends."""
    found = _edge_in_one(_of_one(plan, light), light.letter, on)
    return found if isinstance(found, Edge) else None


def unseen(plan: Plan, light: PlanLight, on: On) -> Fact | None:
    """Why no edge of a light's shadow is told; None where one is."""
    found = _edge_in_one(_of_one(plan, light), light.letter, on)
    return found if isinstance(found, Fact) else None


def _of_one(plan: Plan, light: PlanLight) -> Plan:
    """The set with one light alone, and nothing of what it sends: an edge is the same at any power."""
    bare = replace(light, lit=True, name="", role="", reading=None, power_stops=None, filter_stops=None, guide=None)
    return replace(plan, lights=(bare,), camera_stops=None)


@lru_cache(maxsize=128)
def _edge_in_one(plan: Plan, letter: str, on: On) -> Edge | Fact:
    """The edge of a shadow in its own light, looked over with fewer places; or why it is not seen."""
    stage = stage_of(plan)
    found = looked_for(stage, letter, on, _PER_SIDE_IN_SEARCH)
    if isinstance(found, Fact):
        return found
    return edge_seen(stage, letter, on, found)


def _shadow(stage: Stage, light: PlanLight, on: On) -> Shadow:
    found = looked_for(stage, light.letter, on, _PER_SIDE)
    if isinstance(found, Fact):
        return Shadow(light.letter, on, found)
    return _as_seen(stage, light.letter, on, found)


def _as_seen(
    stage: Stage,
    letter: str,
    on: On,
    found: Found,
) -> Shadow:
    looked, parts, seen, brightest = found.looked, found.parts, found.seen, found.brightest
    in_all = _in_all(stage, letter, on, looked, seen)
    if in_all is not None:
        noted = [each >= SHALLOWEST_STOPS for each in in_all]
        if not any(each.any() for each in noted):
            deepest = max(float(each.max(initial=0.0)) for each in in_all)
            return Shadow(letter, on, fact(Reason.TOO_SHALLOW, letter, on=on, depth_stops=deepest))
        seen = noted
    depths = [np.where(flags, depth_of(each), 0.0) for each, flags in zip(parts, seen, strict=True)]
    alone = _Deepest(stage, letter, on, alone=True).of(looked, depths)
    together = None if in_all is None else alone
    if in_all is not None and len(stage.sent) > 1:
        together = _Deepest(stage, letter, on, alone=False).of(looked, in_all)
    depth, given, left = alone
    edge = edge_seen(stage, letter, on, found)
    told = edge if isinstance(edge, Edge) else None
    return Shadow(
        letter,
        on,
        depth_stops=depth,
        in_all_stops=None if together is None else together[0],
        edge_mm=None if told is None else told.width_mm,
        edge_why=edge if isinstance(edge, Fact) else None,
        full_mm=_full(stage, letter, looked, parts, seen) if depth >= FULL_STOPS else None,
        picture=_in_picture(stage, looked, seen, on),
        steps=_steps(stage, depth, given / brightest, left / brightest, told),
    )


def _in_all(
    stage: Stage, letter: str, on: On, looked: Sequence[Looked], seen: Sequence[Flags]
) -> list[Floats] | None:
    """How deep the shadow is in the light of all, where it is seen; None where a light is unknown."""
    if letter not in stage.sent:
        return None
    sends, found = stage.sent[letter], []
    for each, flags in zip(looked, seen, strict=True):
        depth, rows = np.zeros(len(flags)), np.flatnonzero(flags)
        if len(rows):
            others = stage.of_others(letter, each.grid.places[:, rows], each.grid.normals[:, rows], LOOKED_OVER)
            with_it, past_it = sends * each.free[rows] + others, sends * each.left[rows] + others
            depth[rows] = np.log2(with_it / np.maximum(past_it, NOTHING * with_it))
        found.append(depth)
    return found


@dataclass(frozen=True, slots=True, eq=False)
class _Start:
    """A place from which a deeper one is looked for."""

    patch: Patch
    place: Floats
    depth: float
    cell_mm: float


def _starts(looked: Sequence[Looked], depths: Sequence[Floats]) -> list[_Start]:
    """The deepest places of a first look, some cells apart."""
    found: list[_Start] = []
    for each, depth in zip(looked, depths, strict=True):
        cell, left = max(each.grid.cell_mm), depth.copy()
        for _ in range(_STARTS):
            best = int(left.argmax())
            if left[best] <= 0.0:
                break
            place = each.grid.places[:, best]
            found.append(_Start(each.patch, place, float(depth[best]), cell))
            near = np.linalg.norm(each.grid.places - place[:, np.newaxis], axis=0) < _APART_CELLS * cell
            left[near] = 0.0
    return sorted(found, key=lambda start: -start.depth)[:_STARTS]


def _middle_of_full(looked: Sequence[Looked], depths: Sequence[Floats]) -> tuple[Patch, Floats] | None:
    """The middle of the largest piece that looks full."""
    pieces = [
        (each.patch, each.grid.places[:, depth >= FULL_STOPS]) for each, depth in zip(looked, depths, strict=True)
    ]
    patch, full = max(pieces, key=lambda piece: piece[1].shape[1])
    if not full.shape[1]:
        return None
    return patch, full[:, int(np.linalg.norm(full - full.mean(axis=1, keepdims=True), axis=0).argmin())]


@dataclass(frozen=True, slots=True, eq=False)
class _Deepest:
    """The search for the deepest place that is seen, in one light alone or in the light of all."""

    stage: Stage
    letter: str
    on: On
    alone: bool

    def of(self, looked: Sequence[Looked], depths: Sequence[Floats]) -> tuple[float, float, float]:
        """How deep, and the light there without the subject and with it."""
        full = _middle_of_full(looked, depths)
        if full is not None:
            # The first look may have missed what is left at the rim of what looks full.
            found = self._at(*full)
            if found[0] >= FULL_STOPS:
                return found
        starts = [self._near(each, *_FIRST) for each in _starts(looked, depths)]
        best = max(starts, key=lambda start: start.depth)
        for reach, rays in _CLOSER if self.alone else _CLOSER_IN_ALL:
            for _ in range(_ON):
                was, best = best, self._near(best, reach, rays)
                if float(np.linalg.norm(best.place - was.place)) < _MOVED * reach * best.cell_mm:
                    break
        return self._at(best.patch, best.place)

    def _at(self, patch: Patch, place: Floats) -> tuple[float, float, float]:
        normal = patch.walked(place, patch.tangents(place)[0], np.zeros(1))[1]
        found, given, left = self._depths(place[:, np.newaxis], normal, _WORKED_OUT)
        return float(found[0]), float(given[0]), float(left[0])

    def _near(self, start: _Start, reach: float, rays: int) -> _Start:
        """The deepest of the places around one that are seen."""
        places, normals = start.patch.around(start.place, reach * start.cell_mm * _LOOK)
        in_picture, open_, _ = self.stage.seen(places, normals)
        rows = np.flatnonzero(np.isfinite(places).all(axis=0) & in_picture & open_)
        if not len(rows):
            return start
        depths = self._depths(places[:, rows], normals[:, rows], rays)[0]
        best = int(depths.argmax())
        return replace(start, place=places[:, rows[best]], depth=float(depths[best]))

    def _depths(self, places: Floats, normals: Floats, samples: int) -> tuple[Floats, Floats, Floats]:
        free, left = self.stage.past(self.letter, self.on, places, normals, samples)
        given, past = free, left
        if not self.alone:
            sends = self.stage.sent[self.letter]
            others = self.stage.of_others(self.letter, places, normals, samples)
            given, past = sends * free + others, sends * left + others
        with np.errstate(divide="ignore", invalid="ignore"):
            depth = np.where(given > 0.0, -np.log2(np.maximum(past / given, NOTHING)), 0.0)
        return depth, given, past


def _full(
    stage: Stage, letter: str, looked: Sequence[Looked], parts: Sequence[Floats], seen: Sequence[Flags]
) -> tuple[float, float] | None:
    """Length along the way the shadow runs, and width, of the full shadow that is seen; None of next to none."""
    largest: tuple[float, float] | None = None
    for each, part, flags in zip(looked, parts, seen, strict=True):
        full = flags & (part <= NOTHING)
        if full.sum() < 2:
            continue
        _, run = run_of(stage, letter, each.patch)
        one, other = each.patch.tangents(each.grid.places[:, 0])
        along = run @ each.grid.places[:, full]
        beside = np.cross(run, np.cross(one, other)) @ each.grid.places[:, full]
        cell = max(each.grid.cell_mm)
        found = (float(np.ptp(along)) + cell, float(np.ptp(beside)) + cell)
        if largest is None or found[0] * found[1] > largest[0] * largest[1]:
            largest = found
    return largest


def _in_picture(stage: Stage, looked: Sequence[Looked], seen: Sequence[Flags], on: On) -> InPicture:
    places = np.concatenate([each.grid.places[:, flags] for each, flags in zip(looked, seen, strict=True)], axis=1)
    across, up = stage.view.across_and_up(places)
    outline = stage.view.across_and_up(corners_of(stage.body).T.copy())
    box = [(float(each.min()), float(each.max())) for each in (across, up)]
    subject = [(float(np.nanmin(each)), float(np.nanmax(each))) for each in outline]
    field = stage.view.field_mm
    part = None
    if field is not None:
        part = ((box[0][1] - box[0][0]) / field[0], (box[1][1] - box[1][0]) / field[1])
    middle = (float(across.mean()), float(up.mean()))
    return InPicture(box[0], box[1], _sides(box, subject, middle, on), part)


def _sides(
    box: list[tuple[float, float]], subject: list[tuple[float, float]], middle: tuple[float, float], on: On
) -> tuple[str, ...]:
    """At which sides of the subject in the picture something shows."""
    names = (("left", "right"), ("below", "above"))
    if on == "subject":
        off = [
            (middle[axis] - sum(subject[axis]) / 2.0) / max(subject[axis][1] - subject[axis][0], 1e-6)
            for axis in range(2)
        ]
        return tuple(names[axis][off[axis] > 0.0] for axis in range(2) if abs(off[axis]) > 0.1)
    out = {
        name: sign * (box[axis][end] - subject[axis][end])
        for axis in range(2)
        for end, (name, sign) in enumerate(zip(names[axis], (-1.0, 1.0), strict=True))
    }
    furthest = max(out.values())
    return tuple(name for name, by in out.items() if by > 0.0 and by >= 0.4 * furthest)


def _steps(stage: Stage, depth: float, given: float, left: float, edge: Edge | None) -> tuple[Step, ...]:
    taken = Assumption.SUBJECT_AS_BALL if is_ball(stage.plan) else Assumption.SUBJECT_AS_BLOCK
    steps = [DEPTH.worked(depth, assuming=(fact(taken),), E_0=given, E=left)]
    if edge is not None:
        steps.append(EDGE.worked(edge.width_mm, x_10=edge.inwards_mm, x_90=edge.outwards_mm))
    return tuple(steps)
