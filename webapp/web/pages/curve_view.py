"""A camera's tone curve on its page in the kit: the chart, what it rests on, and its working."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from webapp.kit.curves import KnownCurve
from webapp.optics.exposure_series import THROUGH_THE_CURVE
from webapp.optics.tone_curve import DARKEST_STOPS, LEVELS, WHITE_STOPS, ToneCurve
from webapp.optics.working import Step
from webapp.web.drawings.chart import Axis, Curve, chart
from webapp.web.drawings.drawing import Drawing
from webapp.web.pages.figures import signed
from webapp.web.words.tone_curve import known_over, rests_on, style_words

_LOWEST: Final = -6.0
_DEVIATIONS: Final = 2.0
_WORKED_AT: Final = -2.0


@dataclass(frozen=True, slots=True)
class CurveRow:
    """The curve at one level, as the page prints it."""

    level: str
    light: str
    within: str
    slope: str
    known: bool


@dataclass(frozen=True, slots=True)
class CurveView:
    style: str
    drawing: Drawing
    rests_on: str
    known_over: str
    rows: tuple[CurveRow, ...]
    steps: tuple[Step, ...]


def curve_views(curves: Sequence[KnownCurve]) -> tuple[CurveView, ...]:
    """The curves of a camera."""
    return tuple(_view(each, index) for index, each in enumerate(curves))


def _view(known: KnownCurve, index: int) -> CurveView:
    learned, curve = known.learned, known.learned.curve
    style = style_words(known.kind, known.style)
    return CurveView(
        style=style,
        drawing=_drawing(curve, index),
        rests_on=rests_on(learned),
        known_over=known_over(learned),
        rows=tuple(_rows(curve)),
        steps=(_worked(curve),),
    )


def _worked(curve: ToneCurve) -> Step:
    """What a level two stops below mid-tone in the file is below it in light."""
    light, against = curve.light_stops(_WORKED_AT), curve.light_stops(0.0)
    return THROUGH_THE_CURVE.worked(light - against, a=_WORKED_AT, b=0.0, g_a=light, g_b=against)


def _drawing(curve: ToneCurve, index: int) -> Drawing:
    levels = [*(level for level in LEVELS if _LOWEST <= level < WHITE_STOPS), WHITE_STOPS]
    low, high = curve.known or (0.0, 0.0)
    ticks = tuple((float(stops), signed(float(stops), 0)) for stops in _whole_stops())

    def line(start: float, end: float, deviations: float = 0.0) -> tuple[tuple[float, float], ...]:
        return tuple(
            (level, curve.light_stops(level) + deviations * curve.error_stops(level))
            for level in levels
            if start <= level <= end
        )

    return chart(
        f"curve-{index}",
        "Light of the scene by the level in the file",
        "The light rises with the level along the learned curve; dotted lines above and below are its error bar, dashed parts "
        "are not known, and the thin line is a file without a curve of its own.",
        Axis("level in the file, stops about mid-tone", ticks=ticks, ends=(_LOWEST, WHITE_STOPS)),
        Axis("light, stops about mid-tone", ticks=ticks[::2], ends=(_LOWEST, WHITE_STOPS + 1.0)),
        [
            Curve("no curve", tuple((level, level) for level in levels), "hair"),
            Curve("", line(DARKEST_STOPS, WHITE_STOPS, -_DEVIATIONS), "dotted"),
            Curve("", line(DARKEST_STOPS, WHITE_STOPS, _DEVIATIONS), "dotted"),
            Curve("", line(DARKEST_STOPS, low), "dashed"),
            Curve("", line(low, high)),
            Curve("learned", line(high, WHITE_STOPS), "dashed"),
        ],
        rings=[(0.0, 0.0)],
    )


def _rows(curve: ToneCurve) -> Iterator[CurveRow]:
    low, high = curve.known or (0.0, 0.0)
    for level in _whole_stops():
        yield CurveRow(
            signed(float(level), 0),
            signed(curve.light_stops(level), 2),
            f"±{_DEVIATIONS * curve.error_stops(level):.2f}",
            f"{curve.slope(level):.2f}",
            low <= level <= high,
        )


def _whole_stops() -> range:
    return range(int(_LOWEST), int(WHITE_STOPS) + 1)
