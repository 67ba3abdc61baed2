"""The plain trade terms that recipes are described and searched by, with the other words for them. Pure.

These are what a new house starts with; each term can be edited, and the edited list is what the search uses.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping

SUBJECT_TYPE, SURFACE, LOOK, TECHNIQUE = "subject type", "surface", "look", "technique"
VOCABULARIES = (SUBJECT_TYPE, SURFACE, LOOK, TECHNIQUE)

STARTING_TERMS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    SUBJECT_TYPE: {
        "jewellery": ("jewelry", "jewel", "ring jewellery"),
        "timepiece": ("watch", "wristwatch", "clock", "horology"),
        "coin/medal": ("coin", "medal", "numismatic"),
        "fossil/mineral": ("fossil", "mineral", "crystal", "rock"),
        "insect": ("bug", "beetle", "fly", "moth", "butterfly"),
        "ceramic": ("ceramics", "pottery", "porcelain", "stoneware", "earthenware", "china"),
        "glassware": ("glass", "glasses", "tumbler", "goblet"),
        "bottle": ("flask", "flacon"),
        "perfume": ("scent", "fragrance"),
        "flower/plant": ("blossom", "botanical", "leaf"),
        "footwear": ("shoe", "boot", "sneaker", "trainers"),
        "clothing": ("clothes", "garment", "knitwear", "sweater", "jumper", "pullover"),
        "cutlery/metalware": ("cutlery", "metalware", "silverware"),
        "textile": ("cloth", "fabric", "textiles"),
        "paper/artwork": ("document", "manuscript", "painting", "artwork", "charter"),
        "food": ("dish", "plate"),
        "drink": ("beverage", "liquid"),
        "cosmetic": ("cosmetics", "make-up", "makeup", "skin care"),
        "electronics": (
            "electronic",
            "circuit",
            "circuit board",
            "pcb",
            "phone",
            "telephone",
            "smartphone",
            "cell phone",
        ),
        "tool": ("tools", "implement"),
        "leather": ("hide",),
        "instrument": ("musical instrument",),
        "portrait detail": ("skin", "portrait"),
    },
    SURFACE: {
        "matt": ("matte", "dull", "unglazed"),
        "semi-gloss": ("satin", "semi gloss"),
        "gloss": ("glossy", "shiny"),
        "mirror": ("polished", "chrome"),
        "transparent": ("clear", "see-through"),
        "textured": ("texture", "rough", "relief"),
    },
    LOOK: {
        "hard": ("hard light",),
        "soft": ("soft light",),
        "flat": ("flat light",),
        "shadowless": ("no shadow", "without shadows"),
        "raking": ("grazing", "raking light"),
        "cross-lit": ("cross lit", "crossed light"),
        "top-lit": ("top light", "top lit", "light from above"),
        "back-lit": ("backlit", "back lit", "backlight", "light from behind"),
        "rim": ("rims", "edge light", "bright edges"),
        "silhouette": ("silhouettes",),
        "bright-field": ("bright field", "brightfield"),
        "dark-field": ("dark field", "darkfield"),
        "high key": ("high-key", "bright and airy"),
        "low key": ("low-key", "moody", "dark and moody"),
        "specular": ("highlight", "highlights"),
        "graduated": ("gradient", "graduation"),
        "even copy": ("copy light", "copy", "reproduction", "even illumination"),
        "translucent glow": ("glow", "glows"),
    },
    TECHNIQUE: {
        "ring light": ("ring", "ring flash", "ringlight"),
        "on the lens axis": ("lens axis", "axial"),
        "cross-polarised": ("cross-polarized", "cross polarised", "crossed polarisers", "crossed polarizers"),
        "polariser": ("polarizer", "polarising filter", "polarizing filter", "polarising", "polarizing"),
        "softbox": ("soft box", "octabox"),
        "strip box": ("stripbox", "strip light", "strip lights", "strip", "strips"),
        "snoot": ("snoots",),
        "grid spot": ("grid", "honeycomb"),
        "umbrella": ("brolly",),
        "scrim": ("diffusion frame",),
        "light tent": ("tent",),
        "focus stack": ("stack", "stacks", "stacked", "stacking"),
        "fall-off": ("falloff", "fall off", "inverse square"),
        "close-up": ("close up", "closeup", "macro"),
        "bellows": ("extension", "tube"),
        "pack and head": ("pack-and-head", "generator"),
        "monolight": ("compact flash",),
        "continuous": ("lamp", "led"),
        "without reflections": ("without glare", "no reflections", "reflection free"),
        "freeze motion": ("freeze", "frozen", "motion frozen", "stopped motion"),
        "warm gel": ("orange gel", "cto"),
        "cool gel": ("blue gel", "ctb"),
        "long exposure": ("slow shutter", "time exposure", "open shutter"),
        "fresnel spot": ("fresnel",),
        "barn doors": ("barndoors",),
        "below": ("from below", "underneath"),
    },
}

_WORD = re.compile(r"[^\W_]+")


def tokens(text: str) -> list[str]:
    """The words of a text as the full text sees them: small letters, no accents, split at everything else.

    >>> tokens("Dark-field, f/16 Émail")
    ['dark', 'field', 'f', '16', 'email']
    """
    plain = unicodedata.normalize("NFKD", text.casefold())
    return _WORD.findall("".join(each for each in plain if not unicodedata.combining(each)))


def synonyms(terms: Iterable[tuple[str, Iterable[str]]]) -> dict[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """By every wording of a term, all its wordings, as words. A wording of two terms means both, and each half of
    "coin/medal" is one."""
    found: dict[tuple[str, ...], dict[tuple[str, ...], None]] = {}
    for term, others in terms:
        halves = term.split("/") if "/" in term else ()
        wordings = [tuple(words) for each in (term, *halves, *others) if (words := tokens(each))]
        for wording in wordings:
            found.setdefault(wording, {}).update(dict.fromkeys(wordings))
    return {wording: tuple(all_of) for wording, all_of in found.items()}
