"""The trade's terms, each in a sentence or two, for the guide."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Term:
    """`drawing` names one of `web.drawings.terms`, "" for none."""

    name: str
    words: str
    drawing: str = ""

    @property
    def key(self) -> str:
        return "term-" + self.name.replace(" ", "-")


TERMS: Final = (
    Term(
        "stop",
        "Twice the light, or half of it. Aperture, power, ISO, filters and distance all change light in stops, so they "
        "can be added up.",
        "stops",
    ),
    Term("mark", "A value that a dial has engraved. f/11 counts as exactly 2 to the power of 7/2, which is 11.31."),
    Term(
        "distance and light",
        "A small source gives a quarter of the light at twice the distance: 2 stops less. A large source close up falls "
        "off more slowly.",
        "distance",
    ),
    Term(
        "guide number",
        "The f-number times the distance, for a flash at full power and ISO 100, with its reflector on.",
    ),
    Term(
        "sync speed",
        "The shortest shutter time at which the whole frame gets the flash. Beyond it part of the frame stays dark.",
        "sync",
    ),
    Term(
        "magnification",
        "The size of the image on the sensor over the size of the subject. At 1:1 a 24 mm subject fills a 24 mm side.",
        "magnification",
    ),
    Term(
        "effective f-number",
        "The f-number that the light obeys up close: the marked one times 1 + magnification. At 1:1 f/8 exposes as f/16.",
    ),
    Term(
        "circle of confusion",
        "The largest blur that still passes for a point in the picture. Depth of field is counted to it.",
    ),
    Term(
        "key, fill, rim",
        "Key: the light that shapes the subject. Fill: it lifts the shadows. Rim: from behind, it draws the edge.",
        "roles",
    ),
    Term(
        "apparent size",
        "The angle that a source fills as the subject sees it. It sets how soft the light is: the same softbox is harder "
        "from further away.",
        "apparent",
    ),
    Term(
        "penumbra",
        "The soft edge of a shadow. It grows with the apparent size of the light and with the distance behind the edge.",
        "penumbra",
    ),
    Term(
        "family of angles",
        "All directions from which a source would be seen mirrored in the surface. A light inside them glares; outside "
        "them it does not.",
        "angles",
    ),
    Term(
        "dark-field",
        "Clear glass before a dark card with light coming past its edges: the rim shines, the middle stays dark.",
        "dark_field",
    ),
    Term(
        "cross-polarised",
        "Polarising sheets on the lights and a polariser on the lens at 90° to them: glare goes, colour stays, about 3 "
        "stops are lost.",
        "crossed",
    ),
    Term(
        "snoot, grid, flag",
        "A snoot is a tube for a small circle of light, a grid narrows the beam, a flag keeps light off.",
        "shaping",
    ),
    Term("gel", "A coloured sheet on a light. Its shift is given in mired: plus is warmer."),
    Term("mired", "A million over the colour temperature in kelvin. Equal steps look about equally large."),
    Term(
        "modelling lamp",
        "The steady lamp in a flash head, for aiming. Off, or proved harmless, when the frame is made.",
    ),
    Term(
        "pops", "Several flashes on one open shutter. 2 pops are 1 stop more, 4 are 2. The subject must hold still."
    ),
    Term(
        "focus stack",
        "Frames focused one behind the other, merged into one that is sharp through its depth.",
        "stack",
    ),
    Term(
        "ambient light", "Everything that is not flash. The shutter time changes it, and leaves the flash as it is."
    ),
    Term(
        "reference frame",
        "The frame of a shot that balances are taken against: the first one, until you choose another.",
    ),
    Term("entry", "One cause of a change between two frames, in stops with its sign."),
    Term(
        "balance", "The sum of the entries that act on one light. Over 0 it is brighter than in the reference frame."
    ),
    Term("patch", "A named place in the picture (card, rim, label) with the level that it should have."),
    Term("reading", "What was measured in a picture file at a patch, in linear light."),
    Term("unexplained difference", "Reading minus prediction. Either the log is wrong, or the light was."),
    Term("hero", "The frame of a shot that is delivered, and that the recipe is made of."),
    Term("strike", "To take the set down. What only the set knows is asked before."),
    Term("reshoot", "To make a recipe again, with its frame as the target."),
)
