"""What stands in words on a drawing. The words are made by whoever makes words (`web.words.drawing`)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from webapp.plan.positions import Place
from webapp.plan.staging import PlanLight


@dataclass(frozen=True, slots=True)
class Captions:
    """`light` tells a light to those who do not see the drawing, `stand` a thing by its name and its place to those who
    move it by the keys, `earlier` whose place it was, by its letter. `units` says what lengths are in, the most telling
    first: as much of it is printed as there is room for."""

    length: Callable[[float], str]
    light: Callable[[PlanLight], str]
    stand: Callable[[str, Place], str]
    earlier: Callable[[str], str]
    many: Callable[[int], str]
    units: tuple[str, ...]
    plan: str
    side: str
    north: str
    no_lights: str
