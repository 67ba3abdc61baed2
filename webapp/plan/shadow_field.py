"""Where a shadow falls: every surface of a set looked over place by place, for one lamp, past the subject and without it;
and the edge of what is found.

Source: lambert-cosine.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from webapp.facts import Fact, fact
from webapp.optics.arrays import Flags, Floats, np
from webapp.plan.levels import emissions
from webapp.plan.reasons import Reason
from webapp.plan.shadow_edges import Course, Edge, Sampled, edge_of
from webapp.plan.solids import Ball, Block, Rows, Sheet, Solid, flats_of, stands_in, subject_of
from webapp.plan.staging import Plan
from webapp.plan.surfaces import Flat, Grid, On, Patch, front_of, landed, patches_of_subject, where_shadow_reaches
from webapp.plan.view import View, view_of
from webapp.plan.visibility import Lamp, lamp_of, light_left

SHALLOWEST_STOPS: Final = 0.2
"""Less than this is no shadow."""
FULL_STOPS: Final = 10.0
"""Where less than a thousandth of a light is left, its shadow is full, and told as so deep."""
NOTHING: Final = 2.0**-FULL_STOPS
LOOKED_OVER: Final = 61
"""Rays to each place of a first look."""
_ON_SUBJECT: Final = 22
_FAINT: Final = 1e-3
"""A place that gets less than this part of a lamp's brightest light on a surface is not lit by it."""


@dataclass(frozen=True, slots=True, eq=False)
class Stage:
    """A plan as what stands in the way and what sees it."""

    plan: Plan
    flats: tuple[Sheet, ...]
    body: Ball | Block
    view: View
    lamps: dict[str, Lamp]
    sent: dict[str, float]
    """What each lit light sends; empty where one of them is unknown."""

    @property
    def solids(self) -> tuple[Solid, ...]:
        return (*self.flats, self.body)

    def past(self, letter: str, on: On, places: Rows, normals: Rows, samples: int) -> tuple[Floats, Floats]:
        """The light of one lamp past all but the subject, and past all."""
        things = (self.flats, (self.body,))
        free, left = light_left(self.lamps[letter], places, normals, things, samples, through=on == "subject")
        return free, left

    def of_others(self, letter: str, places: Floats, normals: Floats, samples: int) -> Floats:
        """The light of all other lit lights, on the meter's scale."""
        total = np.zeros(places.shape[1])
        for other, sends in self.sent.items():
            if other != letter:
                total += sends * light_left(self.lamps[other], places, normals, (self.solids,), samples)[0]
        return total

    def seen(self, places: Floats, normals: Floats) -> tuple[Flags, Flags, dict[str, Flags]]:
        """Which places lie in the picture, which of all can be seen from the lens, and what hides those that cannot."""
        hidden = self.view.hidden_by(places, self.solids)
        open_ = self.view.faces(places, normals)
        for each in hidden.values():
            open_ &= ~each
        return self.view.in_picture(places), open_, hidden


@dataclass(frozen=True, slots=True, eq=False)
class Looked:
    """A patch that was looked over: what of the light is left at each place (not a number where it is not lit), and what
    the lens sees of it."""

    patch: Patch
    grid: Grid
    free: Floats
    left: Floats
    in_picture: Flags
    open: Flags
    hidden: dict[str, Flags]


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """A shadow as it was looked over: what is left of the light at every place of every patch, where it is seen to be a
    shadow, and the lamp's brightest light on the surface."""

    looked: list[Looked]
    parts: list[Floats]
    seen: list[Flags]
    brightest: float


def stage_of(plan: Plan) -> Stage:
    sent = emissions(plan.direct) if plan.direct == plan else None
    lamps = {light.letter: lamp_of(light) for light in plan.placed}
    values = {light.letter: value for light, value in sent or ()}
    return Stage(plan, flats_of(plan), subject_of(plan), view_of(plan), lamps, values)


def looked_for(stage: Stage, letter: str, on: On, per_side: int) -> Found | Fact:
    """A shadow in its own light, place by place; or why it is not seen."""
    patches = _patches(stage, letter, on)
    if patches is None:
        return fact(Reason.NO_SUCH_SURFACE, letter, on=on)
    looked = [_looked_over(stage, letter, on, patch, per_side) for patch in patches]
    brightest = max((float(each.free.max()) for each in looked), default=0.0)
    if brightest <= 0.0:
        # Where no shadow can fall the light may still reach the surface; it is only not in the subject's way.
        why = Reason.NO_LIGHT_ON_IT if looked or not _reaches(stage, letter, on) else Reason.TOO_SHALLOW
        return fact(why, letter, on=on, depth_stops=0.0)
    parts = [_part(each, brightest) for each in looked]
    depths = [depth_of(each) for each in parts]
    deep = [depth >= SHALLOWEST_STOPS for depth in depths]
    if not any(each.any() for each in deep):
        deepest = max(float(np.nanmax(each, initial=0.0)) for each in depths)
        return fact(Reason.TOO_SHALLOW, letter, on=on, depth_stops=deepest)
    seen = [each.in_picture & each.open & told for each, told in zip(looked, deep, strict=True)]
    if not any(each.any() for each in seen):
        return _why_unseen(letter, on, looked, deep)
    return Found(looked, parts, seen, brightest)


def _patches(stage: Stage, letter: str, on: On) -> tuple[Patch, ...] | None:
    """The patches of a surface that the shadow may reach; None where there is no such surface."""
    if on == "subject":
        return patches_of_subject(stage.body, stage.view.eye)
    front = front_of(stage.flats, on)
    if front is None:
        return None
    reached = where_shadow_reaches(front, stage.lamps[letter], stage.body)
    return () if reached is None else (reached,)


def _reaches(stage: Stage, letter: str, on: On) -> bool:
    """Whether anything of a light falls on a surface that its shadow does not reach."""
    front = front_of(stage.flats, on)
    if front is None:
        return False
    grid = front.grid(8)
    return bool(stage.past(letter, on, grid.places, grid.normals, LOOKED_OVER)[0].max() > 0.0)


def _looked_over(stage: Stage, letter: str, on: On, patch: Patch, per_side: int) -> Looked:
    grid = patch.grid(_ON_SUBJECT if on == "subject" else per_side)
    places, normals = grid.places.astype(np.float32), grid.normals.astype(np.float32)
    free, left = np.zeros(places.shape[1]), np.zeros(places.shape[1])
    rows = np.flatnonzero(stage.body.may_shade(places, stage.lamps[letter].around))
    free[rows], left[rows] = stage.past(letter, on, places[:, rows], normals[:, rows], LOOKED_OVER)
    # Where nothing of the subject can come into the way, all of the light is left.
    clear = np.setdiff1d(np.arange(len(free)), rows, assume_unique=True)
    free[clear] = left[clear] = float(free.max())
    return Looked(patch, grid, free, left, *stage.seen(grid.places, grid.normals))


def _part(looked: Looked, brightest: float) -> Floats:
    lit = looked.free > _FAINT * brightest
    return np.where(lit, looked.left / np.where(lit, looked.free, 1.0), np.nan)


def depth_of(part: Floats) -> Floats:
    return np.asarray(-np.log2(np.maximum(part, NOTHING)))


def _why_unseen(letter: str, on: On, looked: Sequence[Looked], deep: Sequence[Flags]) -> Fact:
    """Outside the picture, or hidden: whichever is true of more of it, and by what hides the most."""
    inside = sum(int((each.in_picture & told).sum()) for each, told in zip(looked, deep, strict=True))
    if 2 * inside < sum(int(each.sum()) for each in deep):
        return fact(Reason.OUTSIDE_PICTURE, letter, on=on)
    counts: dict[str, int] = {}
    for each, told in zip(looked, deep, strict=True):
        for name, hidden in each.hidden.items():
            counts[name] = counts.get(name, 0) + int((hidden & told & each.in_picture).sum())
    by = max(counts, key=lambda name: counts[name], default=on)
    return fact(Reason.HIDDEN_FROM_LENS, letter, on=on, by=by if counts.get(by) else on)


def edge_seen(stage: Stage, letter: str, on: On, found: Found) -> Edge | Fact:
    """The edge that is seen where the shadow ends, away from the light; or why none is told."""
    looked, parts, seen = found.looked, found.parts, found.seen

    def left_at(places: Floats, normals: Floats, samples: int) -> Floats:
        free, left = stage.past(letter, on, places, normals, samples)
        there = free > _FAINT * found.brightest
        if on != "subject":
            there &= ~stands_in(stage.body, places)
        return np.where(there, left / np.where(there, free, 1.0), np.nan)

    def seen_at(places: Floats, normals: Floats) -> Flags:
        in_picture, open_, _ = stage.seen(places, normals)
        return in_picture & open_

    sampled = [
        Sampled(each.patch, each.grid, part, each.in_picture & each.open)
        for each, part in zip(looked, parts, strict=True)
    ]
    middle, run = run_of(stage, letter, looked[0].patch)
    shown = np.concatenate([each.grid.places[:, flags] for each, flags in zip(looked, seen, strict=True)], axis=1)
    # By how much more than the least it takes there, so that a rim of just so much does not shift it.
    weights = 2.0**-SHALLOWEST_STOPS - np.concatenate([part[flags] for part, flags in zip(parts, seen, strict=True)])
    abreast = float(run @ (shown - middle[:, np.newaxis]) @ weights / max(float(weights.sum()), _FAINT**2))
    edge = edge_of(sampled, Course(middle, run, abreast), left_at, seen_at)
    return edge if isinstance(edge, Edge) else fact(edge, letter, on=on)


def run_of(stage: Stage, letter: str, patch: Patch) -> tuple[Floats, Floats]:
    """The middle of the shadow and the direction in which it runs: from where the lens sees the subject's middle, or
    from the subject's foot, to where the middle of the lamp throws it. With neither apart, to the right."""
    lamp, view = stage.lamps[letter].face.middle, stage.view
    if not isinstance(patch, Flat):
        return np.zeros(3), -lamp / max(float(np.linalg.norm(lamp)), 1.0)
    face = patch.face
    middle = landed(patch, lamp, np.zeros(3))
    level = abs(float(face.normal[2])) > math.sqrt(0.5)
    foot = -float(-face.middle @ face.normal) * face.normal
    seen = foot if level else landed(patch, view.eye, np.zeros(3))
    start = foot if seen is None else seen
    if middle is None:
        middle = start
        way = -lamp + float(lamp @ face.normal) * face.normal
    else:
        way = middle - start
    length = float(np.linalg.norm(way))
    if length < 1e-3 * max(stage.plan.subject_mm):
        return middle, view.face.across - float(view.face.across @ face.normal) * face.normal
    return middle, way / length
