"""Small drawings for the trade's terms, as a workshop would chalk them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Final

from webapp.web.drawings.drawing import Drawing, Pencil

_WIDTH: Final = 300.0
_HEIGHT: Final = 130.0


def _done(pencil: Pencil, key: str, title: str, description: str) -> Drawing:
    return pencil.done(f"term-{key}", title, description, _WIDTH, _HEIGHT)


def _round(x: float, y: float, radius: float, begin: float = 0.0, end: float = 360.0) -> list[tuple[float, float]]:
    """Points of a circle or a part of it, degrees counted from the right, downwards."""
    angles = [math.radians(begin + (end - begin) * step / 32.0) for step in range(33)]
    return [(x + radius * math.cos(each), y + radius * math.sin(each)) for each in angles]


def _head(pencil: Pencil, x: float, y: float, letter: str, toward: tuple[float, float]) -> None:
    """A light by its letter in a ring, with the axis of its beam."""
    pencil.line(_round(x, y, 11.0))
    pencil.text(x, y + 4.0, letter, "middle")
    reach = math.hypot(toward[0] - x, toward[1] - y)
    along = ((toward[0] - x) / reach, (toward[1] - y) / reach)
    pencil.line(
        [(x + 11.0 * along[0], y + 11.0 * along[1]), (toward[0] - 12.0 * along[0], toward[1] - 12.0 * along[1])],
        "dashed",
    )


def stops() -> Drawing:
    """Five marks on a rule, four gaps."""
    pencil = Pencil()
    marks = ("f/5.6", "f/8", "f/11", "f/16", "f/22")
    places = [30.0 + 60.0 * each for each in range(len(marks))]
    pencil.line([(places[0], 70.0), (places[-1], 70.0)])
    for place, mark in zip(places, marks, strict=True):
        pencil.line([(place, 62.0), (place, 78.0)])
        pencil.text(place, 98.0, mark, "middle")
    for number, place in enumerate(places[:-1], start=1):
        pencil.line(_round(place + 30.0, 66.0, 26.0, 200.0, 340.0), "rule")
        pencil.text(place + 30.0, 34.0, str(number), "middle", "quiet")
    return _done(
        pencil,
        "stops",
        "Five marks, four stops",
        "From f/5.6 to f/22 there are five marks and four gaps of one stop each.",
    )


def distance() -> Drawing:
    """One square at a distance, four at twice it."""
    pencil = Pencil()
    x, y = 24.0, 64.0
    for at, half in ((140.0, 20.0), (256.0, 40.0)):
        pencil.line([(at, y - half), (at, y + half)])
    pencil.line([(x, y), (256.0, y - 40.0)], "dashed")
    pencil.line([(x, y), (256.0, y + 40.0)], "dashed")
    pencil.line([(252.0, y), (260.0, y)])
    pencil.ring(x, y)
    pencil.text(140.0, 36.0, "1", "middle")
    pencil.text(268.0, 48.0, "1/4")
    pencil.dimension(x, 140.0, 118.0, "d")
    pencil.dimension(140.0, 256.0, 118.0, "d")
    return _done(
        pencil,
        "distance",
        "Twice the distance, a quarter of the light",
        "The same beam covers four times the area at twice the distance.",
    )


def sync() -> Drawing:
    """Two frames: whole, and with a dark band."""
    pencil = Pencil()
    pencil.box(20.0, 20.0, 110.0, 74.0)
    pencil.box(170.0, 20.0, 110.0, 74.0)
    pencil.box(170.0, 64.0, 110.0, 30.0, "hatched")
    pencil.text(75.0, 116.0, "1/200 s", "middle", "quiet")
    pencil.text(225.0, 116.0, "1/400 s", "middle", "quiet")
    return _done(
        pencil,
        "sync",
        "Up to the sync speed, and beyond it",
        "At 1/200 s the whole frame is lit; at 1/400 s a band of it stays dark.",
    )


def magnification() -> Drawing:
    """Subject, lens and an image of the same size."""
    pencil = Pencil()
    y = 64.0
    pencil.line([(40.0, y), (40.0, y - 36.0), (35.0, y - 28.0)])
    pencil.line([(260.0, y), (260.0, y + 36.0), (265.0, y + 28.0)])
    pencil.line(_round(205.0, y, 62.0, 145.0, 215.0))
    pencil.line(_round(95.0, y, 62.0, -35.0, 35.0))
    pencil.line([(20.0, y), (280.0, y)], "rule")
    pencil.line([(40.0, y - 36.0), (260.0, y + 36.0)], "dashed")
    pencil.text(40.0, 120.0, "subject", "middle", "quiet")
    pencil.text(150.0, 120.0, "lens", "middle", "quiet")
    pencil.text(260.0, 120.0, "sensor", "middle", "quiet")
    return _done(
        pencil,
        "magnification",
        "Magnification 1:1",
        "Subject and image are of the same size, at the same distance from the lens.",
    )


def roles() -> Drawing:
    """A plan with key, fill and rim."""
    pencil = Pencil()
    subject = (150.0, 56.0)
    pencil.line(_round(*subject, 9.0))
    _head(pencil, 60.0, 92.0, "A", subject)
    _head(pencil, 240.0, 96.0, "B", subject)
    _head(pencil, 206.0, 18.0, "C", subject)
    pencil.area([(143.0, 122.0), (157.0, 122.0), (150.0, 108.0)])
    pencil.text(38.0, 120.0, "key", "middle", "quiet")
    pencil.text(264.0, 122.0, "fill", "middle", "quiet")
    pencil.text(226.0, 22.0, "rim", "start", "quiet")
    return _done(
        pencil,
        "roles",
        "Key A, fill B, rim C",
        "Seen from above: the camera in front, the key and the fill beside it, the rim behind the subject.",
    )


def apparent() -> Drawing:
    """One source at two distances, and the angles that it fills."""
    pencil = Pencil()
    x, y = 276.0, 64.0
    for at in (40.0, 160.0):
        pencil.box(at - 4.0, y - 34.0, 8.0, 68.0, "hatched")
        pencil.line([(at, y - 34.0), (x, y), (at, y + 34.0)], "dashed")
    pencil.ring(x, y)
    pencil.text(40.0, 118.0, "far: hard", "middle", "quiet")
    pencil.text(160.0, 118.0, "near: soft", "middle", "quiet")
    return _done(
        pencil,
        "apparent",
        "The same softbox, near and far",
        "Nearer to the subject the same softbox fills a wider angle, and its light is softer.",
    )


def penumbra() -> Drawing:
    """A source, an edge, and the ramp of light on the ground behind it."""
    pencil = Pencil()
    pencil.box(18.0, 24.0, 8.0, 50.0, "hatched")
    pencil.box(126.0, 50.0, 6.0, 76.0, "cross-hatched")
    pencil.line([(268.0, 8.0), (268.0, 124.0)])
    # Past the edge at 126, 50 from both ends of the source, as far as the screen.
    for top in (24.0, 74.0):
        pencil.line([(26.0, top), (268.0, top + (50.0 - top) * (268.0 - 26.0) / (126.0 - 26.0))], "dashed")
    pencil.text(22.0, 96.0, "light", "middle", "quiet")
    pencil.text(142.0, 122.0, "edge", "start", "quiet")
    pencil.line([(276.0, 16.0), (276.0, 86.9)], "rule")
    return _done(
        pencil,
        "penumbra",
        "The soft edge of a shadow",
        "Between the two lines past the edge a part of the source is seen: there the shadow is soft.",
    )


def angles() -> Drawing:
    """A flat surface, the camera, and the mirrored directions."""
    pencil = Pencil()
    pencil.line([(76.0, 112.0), (132.0, 112.0)])
    pencil.area([(44.0, 20.0), (60.0, 20.0), (52.0, 34.0)])
    # Equal angles on both sides of the upright at each end of the surface.
    for at in (76.0, 132.0):
        pencil.line([(52.0, 34.0), (at, 112.0)], "rule")
        pencil.line([(at, 112.0), (at + (at - 52.0) * 96.0 / 78.0, 16.0)], "dashed")
    pencil.text(52.0, 14.0, "camera", "middle", "quiet")
    pencil.text(214.0, 100.0, "a light between glares", "middle", "quiet")
    return _done(
        pencil,
        "angles",
        "The family of angles",
        "What the camera would see mirrored in a flat surface lies between the two dashed lines.",
    )


def dark_field() -> Drawing:
    """A panel, a smaller dark card before it, the glass, the camera."""
    pencil = Pencil()
    pencil.box(16.0, 12.0, 8.0, 106.0, "hatched")
    pencil.box(64.0, 38.0, 6.0, 54.0, "cross-hatched")
    pencil.line(_round(170.0, 65.0, 15.0))
    pencil.area([(282.0, 58.0), (282.0, 72.0), (268.0, 65.0)])
    for side in (-1.0, 1.0):
        pencil.line([(24.0, 65.0 + side * 50.0), (170.0, 65.0 + side * 15.0), (268.0, 65.0)], "dashed")
    pencil.text(20.0, 8.0, "lit panel", "start", "quiet")
    pencil.text(78.0, 69.0, "dark card", "start", "quiet")
    pencil.text(170.0, 100.0, "glass", "middle", "quiet")
    return _done(
        pencil,
        "dark_field",
        "Dark-field",
        "Light comes past the edges of a dark card and is bent into the rim of the glass.",
    )


def crossed() -> Drawing:
    """Two sheets, their lines at right angles."""
    pencil = Pencil()
    pencil.box(40.0, 24.0, 74.0, 74.0)
    pencil.box(186.0, 24.0, 74.0, 74.0)
    for step in range(1, 7):
        pencil.line([(40.0 + step * 10.6, 24.0), (40.0 + step * 10.6, 98.0)], "rule")
        pencil.line([(186.0, 24.0 + step * 10.6), (260.0, 24.0 + step * 10.6)], "rule")
    pencil.text(77.0, 118.0, "on the light", "middle", "quiet")
    pencil.text(223.0, 118.0, "on the lens", "middle", "quiet")
    return _done(
        pencil,
        "crossed",
        "Axes crossed",
        "The axis of the sheet on the light is upright, that of the polariser on the lens level.",
    )


def shaping() -> Drawing:
    """Three heads: a tube, a grid, a flag."""
    pencil = Pencil()
    for x, name in ((30.0, "snoot"), (130.0, "grid"), (224.0, "flag")):
        pencil.box(x, 46.0, 18.0, 30.0)
        pencil.text(x + 26.0, 118.0, name, "middle", "quiet")
    pencil.line([(48.0, 54.0), (76.0, 56.0), (76.0, 66.0), (48.0, 68.0)])
    pencil.box(148.0, 46.0, 8.0, 30.0, "cross-hatched")
    pencil.box(262.0, 18.0, 4.0, 44.0, "hatched")
    for x, y, spread in ((76.0, 61.0, 7.0), (156.0, 61.0, 16.0)):
        for side in (-1.0, 1.0):
            pencil.line([(x, y + side * 5.0), (x + 34.0, y + side * spread)], "dashed")
    pencil.line([(242.0, 61.0), (292.0, 92.0)], "dashed")
    pencil.line([(242.0, 61.0), (292.0, 61.0)], "dashed")
    return _done(
        pencil, "shaping", "Snoot, grid and flag", "A tube and a grid narrow the beam; a flag keeps half of it off."
    )


def stack() -> Drawing:
    """Planes of focus through a subject."""
    pencil = Pencil()
    pencil.line(_round(150.0, 62.0, 46.0))
    for step in range(7):
        x = 112.0 + step * 12.6
        pencil.line([(x, 10.0), (x, 112.0)], "rule")
    pencil.area([(16.0, 55.0), (16.0, 69.0), (30.0, 62.0)])
    pencil.line([(30.0, 62.0), (100.0, 62.0)], "dashed")
    pencil.text(150.0, 126.0, "one frame a plane", "middle", "quiet")
    return _done(
        pencil, "stack", "A focus stack", "Frames are focused on planes one behind the other through the subject."
    )


DRAWN: Final[Mapping[str, Callable[[], Drawing]]] = {
    each.__name__: each
    for each in (
        stops,
        distance,
        sync,
        magnification,
        roles,
        apparent,
        penumbra,
        angles,
        dark_field,
        crossed,
        shaping,
        stack,
    )
}
