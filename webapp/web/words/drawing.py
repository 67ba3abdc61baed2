"""What stands in words on a drawing of the set."""

from __future__ import annotations

from webapp.optics.sources import Point, Rectangle, Ring
from webapp.plan.captions import Captions
from webapp.plan.staging import PlanLight
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.web.words.places import known_words, where_words


def captions(lengths: Lengths = CENTIMETRES) -> Captions:
    """The words on a drawing, with lengths as the reader likes them."""
    unit = "inches" if lengths.inches else "centimetres"
    return Captions(
        length=lengths.text,
        light=lambda light: light_words(light, lengths),
        stand=lambda name, at: (
            f"{name}: {where_words(at, lengths)}. Arrow keys move it by a centimetre, with shift by ten."
        ),
        earlier=lambda letter: f"{letter} before",
        many=lambda count: f"{count} lights",
        units=(f"lengths in {unit}, from the middle of the subject", f"lengths in {unit}", unit),
        plan="plan",
        side="side elevation, camera at the left",
        north="N, lens axis",
        no_lights="No lights.",
    )


def light_words(light: PlanLight, lengths: Lengths = CENTIMETRES) -> str:
    """A light in words, for those who do not see the drawing.

    >>> from webapp.optics.sources import Disc
    >>> from webapp.plan.positions import Position, place_at
    >>> light_words(PlanLight("A", "key A", "key", True, Disc(600.0), Position(place_at(800.0, -45.0, 400.0))))
    'A: disc 60 cm, 80 cm from the subject, 45° left, 40 cm above (planned)'
    """
    face = f"{light.letter}: {face_words(light, lengths)}"
    if light.position is None:
        return f"{face}, no position"
    where = f"{where_words(light.position.at, lengths)} ({known_words(light.position)})"
    return f"{face}, {where}{'' if light.lit else ', off'}"


def face_words(light: PlanLight, lengths: Lengths = CENTIMETRES) -> str:
    """The face that a light shows: "disc 60 cm"."""
    source = light.source
    if isinstance(source, Point):
        return "bare lamp"
    if isinstance(source, Rectangle):
        return f"panel {lengths.text(source.width_mm)} × {lengths.text(source.height_mm)}"
    return f"{'ring' if isinstance(source, Ring) else 'disc'} {lengths.text(source.diameter_mm)}"
