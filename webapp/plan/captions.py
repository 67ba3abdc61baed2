"""What stands in words on a drawing. The words are made by whoever makes words (`web.words.drawing`)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from webapp.plan.positions import Place
from webapp.plan.staging import PlanLight


@dataclass(frozen=True, slots=True)
class Captions:
    """`light` tells a light to those who do not see the drawing, `stand` a thing by its name and its place to those who
    move it by the keys, `fitted` what is on a light, `earlier` whose place it was, by its letter. `scale` says how many
    times smaller the paper is than the set. `units` and `plan` say what lengths are, the most telling first: as much of
    it is printed as there is room for; so do `side` and `north` for where the camera is."""

    inches: bool
    length: Callable[[float], str]
    light: Callable[[PlanLight], str]
    stand: Callable[[str, Place], str]
    fitted: Callable[[PlanLight], str]
    earlier: Callable[[str], str]
    many: Callable[[int], str]
    scale: Callable[[float], str]
    side: Callable[[Place], tuple[str, ...]]
    north: Callable[[Place], str]
    units: tuple[str, ...]
    plan: tuple[str, ...]
    camera: str
    no_lights: str
