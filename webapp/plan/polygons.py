"""Convex outlines on a plane: what two have in common, what is left of one outside another, and their areas.

An outline is its corners in order, as plain numbers: of so few, these are several times as fast as arrays. Cutting is that of
Sutherland and Hodgman (1974, from memory): exact but for rounding.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

Corner = tuple[float, float]
Outline = Sequence[Corner]

_FEWEST: Final = 3
# Of the area of what is cut; below it a piece is what rounding left.
_NOTHING: Final = 1e-12


def area(outline: Outline) -> float:
    """The area of an outline, whichever way round its corners run (shoelace)."""
    return abs(_signed_area(outline))


def within(outline: Outline, other: Outline) -> Outline:
    """What two convex outlines have in common."""
    for start, end in _edges(other):
        if len(outline) < _FEWEST:
            break
        outline = _parted(outline, start, end)[0]
    return outline


def without(pieces: Iterable[Outline], other: Outline) -> list[Outline]:
    """What is left of convex pieces outside a convex outline, as convex pieces."""
    edges = list(_edges(other))
    if not edges:
        return list(pieces)
    left: list[Outline] = []
    for piece in pieces:
        outsides: list[Outline] = []
        rest, least = piece, _NOTHING * area(piece)
        for start, end in edges:
            rest, outside = _parted(rest, start, end)
            if area(outside) > least:
                outsides.append(outside)
            if len(rest) < _FEWEST:
                break
        # One that the other does not touch stays in one piece.
        left.extend(outsides if area(rest) > least else [piece])
    return left


def middle(outline: Outline) -> Corner:
    """The centre of its area, which lies in a convex outline; of one without area the mean of its corners."""
    weights = [
        one[0] * other[1] - other[0] * one[1] for one, other in zip(outline, [*outline[1:], outline[0]], strict=True)
    ]
    total = 3.0 * sum(weights)
    if not total:
        return sum(x for x, _ in outline) / len(outline), sum(y for _, y in outline) / len(outline)
    following = [*outline[1:], outline[0]]
    x, y = (
        sum(weight * (one[at] + other[at]) for weight, one, other in zip(weights, outline, following, strict=True))
        for at in (0, 1)
    )
    return x / total, y / total


def _signed_area(outline: Outline) -> float:
    if len(outline) < _FEWEST:
        return 0.0
    total, (before_x, before_y) = 0.0, outline[-1]
    for x, y in outline:
        total += before_x * y - x * before_y
        before_x, before_y = x, y
    return total / 2.0


def _edges(outline: Outline) -> Iterator[tuple[Corner, Corner]]:
    """The edges of an outline, its inside to their left; none of one that has no area."""
    signed = _signed_area(outline)
    ordered = outline if signed > 0.0 else list(outline)[::-1]
    return zip(ordered, [*ordered[1:], ordered[0]], strict=True) if signed else iter(())


def _parted(outline: Outline, start: Corner, end: Corner) -> tuple[list[Corner], list[Corner]]:
    """The parts of an outline to the left and to the right of a line."""
    (from_x, from_y), along_x, along_y = start, end[0] - start[0], end[1] - start[1]
    left: list[Corner] = []
    right: list[Corner] = []
    if not outline:
        return left, right
    before_x, before_y = outline[-1]
    before = along_x * (before_y - from_y) - along_y * (before_x - from_x)
    for x, y in outline:
        here = along_x * (y - from_y) - along_y * (x - from_x)
        if (here >= 0.0) != (before >= 0.0):
            part = before / (before - here)
            crossing = before_x + part * (x - before_x), before_y + part * (y - before_y)
            left.append(crossing)
            right.append(crossing)
        (left if here >= 0.0 else right).append((x, y))
        before_x, before_y, before = x, y, here
    return left, right
