"""What is said under the figures of a worksheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.optics.diffraction import MICROMETRES_PER_MILLIMETRE
from webapp.quantities.lengths import Lengths
from webapp.web.words.worksheet_figures import length_text
from webapp.worksheets.parameters import words_of
from webapp.worksheets.reasons import Reason

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_PAIRS: Final[Mapping[str, str]] = {
    "f_number": "f-number",
    "shutter": "shutter",
    "iso": "ISO",
    "magnification": "magnification",
    "power_stops": "power",
    "distance_mm": "distance of the flash",
    "lens_filter_stops": "loss of the lens filters",
}


def _diffraction(told: Fact, _: Lengths) -> str:
    airy = told.number("airy_mm") * MICROMETRES_PER_MILLIMETRE
    return (
        f"At f/{told.number('effective_f_number'):.3g} effective the Airy disc is {airy:.3g} µm, wider than the circle of "
        "confusion: diffraction decides, and the depth is blurred as a whole."
    )


WORDS: Final[Mapping[str, Say]] = {
    Reason.MARK_ON_NO_DIAL: lambda told, _: f"{told.about} is on no dial and was used as it is.",
    Reason.MARK_ON_ANOTHER_DIAL: lambda told, _: (
        f"{told.about} is not on the {told['dial']}-stop dial; it was read on the {told['read_on']}-stop dial."
    ),
    Reason.MARK_MEANS_ANOTHER: lambda told, _: (
        f"{told.about} means {told.number('there'):.4g} on the {told['there_on']}-stop dial, and "
        f"{told.number('here'):.4g} here."
    ),
    Reason.POWER_ON_NO_DIAL: lambda told, _: (
        f"{told.about} is not on a {told['dial']}-stop dial and was used as it is."
    ),
    Reason.GIVEN_ON_ONE_SIDE: lambda told, _: (
        f"The {_PAIRS[told.about]} was given on one side only and counts as unchanged."
    ),
    Reason.BEYOND_COMMON_SYNC: lambda *_: (
        "The flash balance holds up to the sync speed; a time shorter than 1/250 s is beyond it on most cameras."
    ),
    Reason.TONE_UNBENT: lambda *_: "Valid for sRGB tone that no picture style has bent.",
    Reason.JOULES_RANK_ONE_HEAD: lambda *_: (
        "Joules rank the settings of one head; two heads of the same energy may differ by a stop and more."
    ),
    Reason.FULL_IS_NOT_ENOUGH: lambda told, _: (
        f"Full power is not enough: {told['pops']} flashes on a subject that stands still, and the ambient light "
        "adds up over the whole time."
    ),
    Reason.DIAL_ENDS_BEFORE: lambda *_: (
        "The dial ends before the wanted power: the rest has to come from distance, filter or aperture."
    ),
    Reason.COUNTED_FROM_FLASH: lambda *_: (
        "Counted from the flash, not from the camera; a large or near source gives less than inverse square."
    ),
    Reason.BLUR_OVER_TENTH: lambda *_: (
        "The blur is taken over t0.1; the ambient light goes on blurring for the whole exposure time."
    ),
    Reason.RATIO_NEEDS_CONVENTION: lambda *_: (
        "A ratio without its convention means nothing: 4 : 1 is two stops as key : fill, 1.58 as (key + fill) : fill."
    ),
    Reason.SHUTTER_MOVES_AMBIENT_ALONE: lambda *_: "The shutter moves the ambient part only, up to the sync speed.",
    Reason.INCREASE_READ_ALREADY: lambda *_: (
        "A reading through the lens, and a camera that records the effective f-number, have the increase already."
    ),
    Reason.DIFFRACTION_DECIDES: _diffraction,
    Reason.NO_F_NUMBER_REACHES: lambda told, _: (
        f"No f-number reaches a circle of confusion of {told.number('circle_of_confusion_mm'):g} mm over this depth: "
        "less depth, less magnification, or a focus stack."
    ),
    Reason.BLUR_STAYS_WITHIN: lambda told, _: (
        f"From f/{told.number('low'):.3g} to f/{told.number('high'):.3g} as marked the blur stays within the circle of "
        "confusion."
    ),
    Reason.SIZE_NOT_USED: lambda told, _: (
        f"The {words_of(told.about)} says nothing about a {told['shape']} and was not used."
    ),
    Reason.SOFT_PANEL_MEANT: lambda *_: (
        "A soft, diffused panel is meant, alike in every direction; reflectors, grids and tubes throw a beam and differ."
    ),
    Reason.SQUARE_HOLDS_FROM: lambda told, lengths: (
        f"Inverse square holds within one per cent from {length_text(told.number('from_mm'), lengths)} on, five times the "
        "largest dimension."
    ),
    Reason.INSIDE_THE_PEAK: lambda *_: "Inside the peak distance of the ring, nearer is darker.",
    Reason.NO_FULL_SHADOW: lambda told, lengths: (
        "No full shadow is left on the screen: the source is wider than what throws the shadow, and the screen lies "
        f"beyond the {length_text(told.number('reach_mm'), lengths)} that the umbra reaches."
    ),
    Reason.LIGHT_ALL_OR_NONE: lambda *_: (
        "Light all of it and the subject glows; light none of it and the subject is black."
    ),
    Reason.THIN_LENS_MEANT: lambda *_: (
        "A thin lens is meant. A lens that focuses inside is shorter close up, and stands nearer than this; from sensor to "
        "subject a real lens adds what lies between its principal planes."
    ),
    Reason.FLASH_MAKES_UP: lambda told, _: (
        f"Aperture and ISO take the flash down too: raise its power by {told.number('stops'):.2f} stops."
    ),
    Reason.FRONT_DECIDES: lambda *_: (
        "The lit front decides: a box that glows in its middle alone, or has a grid on, is harder than its size."
    ),
    Reason.LIGHTS_TO_BE_BEYOND: lambda *_: (
        "Lights stand outside of these angles, or part of one is seen in the gloss. Wavy paper and thick varnish need more."
    ),
    Reason.SEEN_IN_ORIGINAL: lambda told, _: (
        f"At this angle the lights are seen in a glossy original; they are clear of it from {told.number('clear_deg'):.3g}° "
        "on."
    ),
    Reason.RIM_MAY_BE_BRIGHT: lambda *_: (
        "The rim of the wall may show a thin bright line within the dark edge. A base, a stem and ribs are not round and "
        "differ: look through the lens and move the cards."
    ),
    Reason.CARDS_OFF_LAMPS: lambda *_: "Keep cards clear of modelling lamps: they scorch.",
    Reason.LIGHT_OVERHEAD: lambda *_: (
        "A light over the set hangs from a boom with a counterweight, a sandbag on its stand and a safety line to the head."
    ),
    Reason.BEYOND_PARALLEL_AXES: lambda *_: (
        "The loss is counted beyond that of the pair with its axes parallel, which comes on top."
    ),
    Reason.CROSSED_PASSES_NOTHING: lambda *_: "At 90° a perfect pair passes nothing; a real one passes a little.",
    Reason.SHIFT_IS_OF_THE_GEL: lambda *_: (
        "The shift is a figure of the gel: makers' sheets differ for gels of the same name."
    ),
    Reason.TAKEN_ON_THE_LOCUS: lambda *_: (
        "Each light is taken to lie on the Planckian locus; daylight and some lamps lie beside it."
    ),
    Reason.COMPARED_BY_DIAGONALS: lambda *_: (
        "Formats are compared by their diagonals; where their proportions differ, one side is seen wider."
    ),
    Reason.EXPOSURE_KEEPS_ITS_LIGHT: lambda *_: (
        "Exposure, which is light on each area, does not follow the format; the ISO goes with the square of the scale."
    ),
}
