"""The level chart: how bright each patch of a picture is, a line a patch, in stops about mid-tone."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from webapp.ledger.evidence import MID_TONE_STOPS
from webapp.web.drawings.drawing import Drawing, Pencil, spread, text_width
from webapp.web.pages.figures import signed

CLIPPING_STOPS: Final = -MID_TONE_STOPS
"""Where a file clips, about mid-tone."""
_WIDTH: Final = 400.0
_LEFT, _RIGHT, _TOP, _ROW = 14.0, 386.0, 20.0, 74.0
_LEAST_DARK: Final = -3
_SAME_STOPS: Final = 0.05
"""What is printed as one figure is one mark."""
_MARGIN: Final = 1.12
"""Some letters come out wider than the average one."""
_Across = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class Level:
    """What is known of one patch, in stops about mid-tone. `read_stops` None with `at_most_stops`: not to be told from
    black, and no brighter than that. `is_least`: clipped, so that it is at least what was read. `by_eye`: judged, and not
    measured. `predicted_stops` is where it would read had the log been all there was, good to `tolerance_stops`.
    """

    name: str
    wanted_stops: float
    read_stops: float | None = None
    at_most_stops: float | None = None
    is_least: bool = False
    by_eye: bool = False
    predicted_stops: float | None = None
    tolerance_stops: float | None = None
    unexplained_stops: float | None = None


def level_chart(
    levels: Sequence[Level], key: str, *, read_as: str = "read", unread: str = "not read"
) -> Drawing | None:
    """All patches on one scale: wanted a tall tick, predicted a dashed one in its tolerance, hatched, read a ring;
    clipping dotted through all of them. `read_as` names the ring ("read", or what a mix adds up to), `unread` says
    that there is none. None without patches."""
    if not levels:
        return None
    darkest, brightest = _ends(levels)
    ground = _TOP + _ROW * len(levels)
    pencil = Pencil()

    def across(stops: float) -> float:
        part = (stops - darkest) / (brightest - darkest)
        return _LEFT + min(max(part, 0.0), 1.0) * (_RIGHT - _LEFT)

    clipping = across(CLIPPING_STOPS)
    pencil.line([(clipping, _TOP - 4), (clipping, ground)], "dotted")
    pencil.text(clipping, _TOP - 8, "clipping", "middle" if clipping < _RIGHT - 24 else "end", "quiet")
    for index, each in enumerate(levels):
        _row(pencil, each, across, _TOP + _ROW * index + 46, _read_words(each, read_as) or unread)
    _axis(pencil, across, darkest, brightest, ground)
    told = "; ".join(_told(each, _read_words(each, read_as) or unread) for each in levels)
    return pencil.done(key, "Levels, in stops about mid-tone", f"{told}.", _WIDTH, ground + 34)


def _ends(levels: Sequence[Level]) -> tuple[int, int]:
    places = [CLIPPING_STOPS]
    for each in levels:
        places.append(each.wanted_stops)
        places += [at for at in (each.read_stops, each.at_most_stops, each.predicted_stops) if at is not None]
    return min(math.floor(min(places) - 0.25), _LEAST_DARK), math.ceil(max(places) + 0.25)


def _row(pencil: Pencil, level: Level, across: _Across, y: float, read_words: str) -> None:
    pencil.text(0.0, y - 32, level.name)
    pencil.line([(_LEFT, y), (_RIGHT, y)], "rule")
    wanted, predicted = across(level.wanted_stops), level.predicted_stops
    above = [("wanted", level.wanted_stops, wanted)]
    if predicted is not None:
        place = across(predicted)
        if level.tolerance_stops:
            low, high = across(predicted - level.tolerance_stops), across(predicted + level.tolerance_stops)
            pencil.box(low, y - 5, max(high - low, 2.0), 10, "hatched")
        if abs(predicted - level.wanted_stops) < _SAME_STOPS:
            above = [("wanted, predicted", level.wanted_stops, wanted)]
        else:
            pencil.line([(place, y - 9), (place, y + 9)], "dashed")
            above.append(("predicted", predicted, place))
    pencil.line([(wanted, y - 13), (wanted, y + 9)])
    clipping = across(CLIPPING_STOPS)
    _labels(pencil, [(f"{words} {signed(stops)}", place) for words, stops, place in above], y - 17, clipping)
    at = level.read_stops if level.read_stops is not None else level.at_most_stops
    if level.read_stops is not None:
        pencil.ring(across(level.read_stops), y)
    elif at is not None:
        pencil.line([(across(at), y - 5), (across(at) - 9, y), (across(at), y + 5)])
    _labels(pencil, [(read_words, wanted if at is None else across(at))], y + 22, clipping)


def _labels(pencil: Pencil, labels: list[tuple[str, float]], y: float, clipping: float) -> None:
    """Words under or over their places, moved as little as keeps them on the sheet, apart, and off the line of
    clipping."""
    widest = _MARGIN * max(text_width(words) for words, _ in labels)
    low, high = widest / 2, _WIDTH - widest / 2
    places = [at for _, at in labels]
    crosses = [abs(at - clipping) < widest / 2 for at in spread(places, widest + 8, low, high)]
    if any(crosses):
        # Darker is where there is room: the line of clipping is near the end of the scale.
        high = clipping - widest / 2 - 4
    for (words, _), x in zip(labels, spread(places, widest + 8, low, high), strict=True):
        pencil.text(x, y, words, "middle", "quiet")


def _read_words(level: Level, read_as: str) -> str:
    """What was read; "" where nothing was."""
    if level.read_stops is None and level.at_most_stops is None:
        return ""
    if level.read_stops is None:
        words = f"{read_as} below {signed(level.at_most_stops)}"
    else:
        words = f"{read_as} {'at least ' if level.is_least else ''}{signed(level.read_stops)}"
    if level.by_eye:
        words += " by eye"
    if level.unexplained_stops is not None and abs(level.unexplained_stops) >= _SAME_STOPS:
        words += f", unexplained {signed(level.unexplained_stops)}"
    return words


def _told(level: Level, read_words: str) -> str:
    parts = [f"{level.name}: wanted {signed(level.wanted_stops)}"]
    if level.predicted_stops is not None:
        within = f" ± {level.tolerance_stops:.1f}" if level.tolerance_stops else ""
        parts.append(f"predicted {signed(level.predicted_stops)}{within}")
    return ", ".join([*parts, read_words])


def _axis(pencil: Pencil, across: _Across, darkest: int, brightest: int, y: float) -> None:
    pencil.line([(_LEFT, y), (_RIGHT, y)], "rule")
    every = 1 if brightest - darkest <= 8 else 2
    for stops in range(darkest, brightest + 1):
        if stops % every == 0:
            pencil.line([(across(stops), y), (across(stops), y + 4)], "rule")
            pencil.text(across(stops), y + 16, signed(float(stops), 0), "middle", "quiet")
    pencil.text(_LEFT, y + 30, "darker", "start", "quiet")
    pencil.text(_WIDTH / 2, y + 30, "stops about mid-tone", "middle", "quiet")
    pencil.text(_RIGHT, y + 30, "lighter", "end", "quiet")
