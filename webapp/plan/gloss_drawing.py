"""What shows in a flat gloss, as SVG: its face as the lens sees it, and each light, card and flag where it is mirrored."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from html import escape
from typing import Final

from webapp.optics.arrays import Floats, np
from webapp.plan.lettering import Label
from webapp.plan.reflections import Gloss, Mirrored
from webapp.plan.sheet import line

_FACE: Final = 240.0
_EDGE: Final = 12.0
_RING: Final = 11.0
# Of a patch around a ring; where there is less, the ring stands beside the face.
_CLEAR: Final = 4.0
_GAP: Final = 8.0
_APART: Final = 28.0
_LEAST: Final = 0.001


def draw_gloss(gloss: Gloss, off: Collection[str], title: str, key: str = "gloss") -> str:
    """The face with what it mirrors, the nearest on top: lights blank with their letters in rings (dashed where they are
    `off`), cards hatched, flags and what else is dark crossed."""
    low, high = gloss.outline.min(axis=0), gloss.outline.max(axis=0)
    scale = _FACE / float((high - low).max())
    width, height = ((high - low) * scale).tolist()
    paper = _Paper(float(low[0]), float(high[1]), scale)
    shown = [each for each in gloss.mirrored if each.fraction + each.hidden >= _LEAST]
    marks = [_mark_of(each, paper) for each in shown if each.fraction >= _LEAST]
    left, right = ([each for each in marks if not each.fits and each.is_left == side] for side in (True, False))
    margins = [max((2.0 * each.half + _GAP for each in group), default=0.0) for group in (left, right)]
    high_enough = max(height, max(len(left), len(right)) * _APART)
    drawn = (
        f'<svg class="evenness-map gloss" viewBox="{-margins[0]:.0f} 0 {width + 2 * _EDGE + sum(margins):.0f} '
        f'{high_enough + 2 * _EDGE:.0f}" role="img" aria-labelledby="{key}-t" fill="none" stroke="currentColor" '
        f'font-size="12"><title id="{key}-t">{escape(title)}</title>' + _patterns(key)
    )
    drawn += "".join(_patch(each, paper, key, dashed=each.name in off) for each in shown)
    drawn += f'<path d="{_path(paper.at(gloss.outline))}" stroke-width="1.6"/>'
    _put_beside(left, _EDGE - _GAP, -1.0)
    _put_beside(right, _EDGE + width + _GAP, 1.0)
    return drawn + "".join(mark.drawn(dashed=mark.letter in off) for mark in marks) + "</svg>"


@dataclass(frozen=True, slots=True)
class _Paper:
    left: float
    top: float
    scale: float

    def at(self, places: Floats) -> Floats:
        return np.column_stack(
            (_EDGE + (places[:, 0] - self.left) * self.scale, _EDGE + (self.top - places[:, 1]) * self.scale)
        )


@dataclass(slots=True)
class _Mark:
    """A letter in a ring, on its patch or beside the face with a line to it."""

    letter: str
    on: tuple[float, float]
    fits: bool
    is_left: bool
    at: tuple[float, float]

    @property
    def half(self) -> float:
        """Half the width of the ring."""
        return max(_RING, 4.6 * len(self.letter) + 4.0)

    def drawn(self, *, dashed: bool) -> str:
        (x, y), half = self.at, self.half
        end = x + (half if self.is_left else -half), y
        leader = "" if self.fits else line((self.on, end), ' stroke-width="0.7"')
        dashes = ' stroke-dasharray="3 2"' if dashed else ""
        ring = (
            f'<rect class="ring" x="{x - half:.1f}" y="{y - _RING:.1f}" width="{2 * half:.1f}" height="{2 * _RING:.1f}" '
            f'rx="{_RING:.1f}"{dashes}/>'
        )
        return leader + ring + Label(self.letter, x, y + 4.7, "middle", style=' class="letter-in-ring"').drawn()


def _mark_of(each: Mirrored, paper: _Paper) -> _Mark:
    assert each.middle is not None
    assert each.largest is not None
    x, y = paper.at(np.array([each.middle]))[0].tolist()
    wide, high = np.ptp(paper.at(each.largest), axis=0).tolist()
    mark = _Mark(each.name, (x, y), False, each.middle[0] < 0.0, (x, y))
    mark.fits = wide >= 2.0 * (mark.half + _CLEAR) and high >= 2.0 * (_RING + _CLEAR)
    return mark


def _put_beside(marks: list[_Mark], edge: float, side: float) -> None:
    """Each level with what it names, or below the one before it."""
    least = _EDGE
    for mark in sorted(marks, key=lambda each: each.on[1]):
        y = max(mark.on[1], least + _RING)
        mark.at, least = (edge + side * mark.half, y), y + _APART - _RING


def _patch(each: Mirrored, paper: _Paper, key: str, *, dashed: bool) -> str:
    """Blank first, so that what it hides does not show through, then its hatching."""
    path = "".join(_path(paper.at(outline)) for outline in each.outlines)
    blank = f'<path d="{path}" fill-rule="evenodd" class="ring" stroke-width="1"'
    if each.kind == "light":
        return blank + (' stroke-dasharray="5 3"/>' if dashed else "/>")
    pattern = "hatch" if each.kind in ("reflector", "background") else "cross"
    hatched = f'<path d="{path}" fill-rule="evenodd" fill="url(#{key}-{pattern})" stroke="none"/>'
    return blank + "/>" + hatched


def _path(corners: Floats) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in corners) + "Z"


def _patterns(key: str) -> str:
    one, two = "M0 0V6", "M0 0V5M0 0H5"
    return (
        "<defs>"
        + "".join(
            f'<pattern id="{key}-{name}" width="{step}" height="{step}" patternUnits="userSpaceOnUse" '
            f'patternTransform="rotate(45)"><path d="{way}" stroke="currentColor" stroke-width="0.8"/></pattern>'
            for name, step, way in (("hatch", 6, one), ("cross", 5, two))
        )
        + "</defs>"
    )
