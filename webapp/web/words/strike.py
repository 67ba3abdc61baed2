"""Before the set is struck: the questions, what is known now, and what not knowing better would cost."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.ambient_proof import AmbientProof
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.worth_measuring import Blank, WorthMeasuring
from webapp.plan.positions import Place
from webapp.quantities.angles import bearing_text
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.ratios import magnification_text
from webapp.shoots.on_record import Kind, OnRecord
from webapp.shoots.reasons import Reason as Shoot
from webapp.web.words.proof import NO_PROOF, proof_line

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_LABELS: Final = {"f_number": "f-number", "magnification": "magnification", "subject_distance": "subject distance"}
_EXAMPLES: Final = {
    "distance": ("60 cm", "24 in"),
    "subject_distance": ("60 cm", "24 in"),
    "bearing": ("45 left", "45 left"),
    "height": ("20 cm above", "8 in above"),
    "f_number": ("f/11", "f/11"),
    "magnification": ("1:2, or distant", "1:2, or distant"),
}
"""What can be typed, in centimetres and in inches."""
_NO_DIFFERENCE_STOPS: Final = 0.005


def blank_label(blank: Blank) -> str:
    """What can be answered, by its name: "distance of A"."""
    group, *rest = blank.name.split(".")
    return f"{rest[1]} of {rest[0]}" if rest else _LABELS[group]


def blank_example(blank: Blank, lengths: Lengths = CENTIMETRES) -> str:
    """How it can be typed."""
    return blank.mark or _EXAMPLES[blank.name.rpartition(".")[2]][lengths.inches]


def lacking_name(asked: WorthMeasuring) -> str:
    """What a question is about, once the set is gone: "place of A", "magnification"."""
    first, *others = asked.blanks
    return f"place of {asked.asks.about}" if others else blank_label(first)


def cost_words(asked: WorthMeasuring, lengths: Lengths = CENTIMETRES) -> str:
    """What not knowing it would cost in a reshoot, in a line."""
    because = WORDS[asked.because.reason](asked.because, lengths)
    if asked.error_stops is None or asked.error_stops < _NO_DIFFERENCE_STOPS:
        return because
    return f"{error_words(asked.error_stops)} in a reshoot: {because}"


def is_off(error_stops: float | None) -> bool:
    """Whether the light would be off by more than nothing; None, which cannot be reckoned, is not said to be."""
    return error_stops is not None and error_stops >= _NO_DIFFERENCE_STOPS


def error_words(error_stops: float) -> str:
    """How far the light would be off, and that it would not be.

    >>> error_words(0.05), error_words(0.5), error_words(3.5), error_words(0.0)
    ('0.05 stop off', '0.5 stop off', '3.5 stops off', 'light unchanged')
    """
    if not is_off(error_stops):
        return "light unchanged"
    figure = f"{error_stops:.2f}" if error_stops < 0.095 else f"{error_stops:.1f}"
    return f"{figure} stop{'s' * (float(figure) > 1.0)} off"


def place_words(told: Fact, lengths: Lengths) -> str:
    """A position, of a fact that has it in millimetres."""
    at = Place(told.number("x_mm"), told.number("y_mm"), told.number("z_mm"))
    where = f"{lengths.text(at.distance_mm)}, {bearing_text(at.bearing_deg)}, {lengths.offset_text(at.z_mm)}"
    return f"{where}, {told.text('known')}"


def evidence_name(each: OnRecord) -> str:
    """What tells of a set: "A alone", "Rule in the frame"."""
    match each.kind:
        case Kind.ONE_LIGHT:
            return f"{each.about} alone"
        case Kind.RULE:
            return "Rule in the frame"
        case Kind.AMBIENT:
            return "Ambient check"
        case Kind.METER:
            return f"Meter reading of {each.about}"
        case Kind.PHOTO:
            return "Photo of the set"


def evidence_words(each: OnRecord, proof: AmbientProof | None, lengths: Lengths = CENTIMETRES) -> str:
    """What is on record of it; `proof` is that of the ambient light."""
    if each.says is not None:
        return WORDS[each.says.reason](each.says, lengths)
    return NO_PROOF if proof is None else proof_line(proof, lengths)


def _not_read(told: Fact, _: Lengths) -> str:
    return f"frame {told['frame']}{': its picture has no reading yet' if told['pictured'] else ' has no picture'}"


def _metered(told: Fact, lengths: Lengths) -> str:
    return f"f/{told['f_number']} at {told['power']}, {lengths.text(told.number('distance_mm'))}, ISO 100"


def _how_far(told: Fact, _: Lengths) -> str:
    return f"How far is {told.about} from the subject{', and where does it stand' if told['and_where'] else ''}?"


def _by_tape(told: Fact, _: Lengths) -> str:
    return (
        f"How far is {told.about}, measured with a tape?"
        if told["only_distance"]
        else (f"Where does {told.about} stand, measured with a tape?")
    )


def _distance(told: Fact, lengths: Lengths) -> str:
    missing = ", direction unknown" if told["and_direction"] else ""
    return lengths.text(told.number("distance_mm")) + missing


def _tape(told: Fact, lengths: Lengths) -> str:
    return f"±{lengths.text(told.number('tape_mm'))}"


WORDS: Final[Mapping[str, Say]] = {
    Reason.ASK_POWER: lambda told, _: f"What does the dial of {told.about} read?",
    Reason.ASK_HOW_FAR: _how_far,
    Reason.ASK_WHERE: lambda told, _: f"Where does {told.about} stand?",
    Reason.ASK_BY_TAPE: _by_tape,
    Reason.ASK_APERTURE: lambda *_: "What does the aperture ring read?",
    Reason.ASK_MAGNIFICATION: lambda *_: "How large is the subject on the sensor? A rule in the picture tells.",
    Reason.ASK_SUBJECT_DISTANCE: lambda *_: "How far is the lens from the subject?",
    Reason.KNOWN_NOTHING: lambda *_: "unknown",
    Reason.KNOWN_PLACE: place_words,
    Reason.KNOWN_DISTANCE: _distance,
    Reason.KNOWN_MAGNIFICATION: lambda told, _: f"{told.number('magnification'):g}, estimated",
    Reason.ANYWHERE_ON_DIAL: lambda told, _: f"anywhere on a dial of {told.number('span_stops'):g} stops",
    Reason.ANYWHERE_ON_RING: lambda told, _: (
        f"anywhere from f/{told.number('widest'):g} to f/{told.number('smallest'):g}"
    ),
    Reason.NOTHING_REBUILT: lambda *_: "without a distance nothing can be rebuilt",
    Reason.DIRECTION_OFF: lambda told, _: f"{told.number('off_deg'):g}° off on a flat subject",
    Reason.DISTANCE_OFF: lambda told, lengths: f"{_tape(told, lengths)} of its distance",
    Reason.WORKED_OUT_OFF: lambda told, lengths: (
        f"{_tape(told, lengths)} of the distance that it was worked out from"
    ),
    Reason.WORKED_OUT_FROM_NOTHING: lambda *_: "worked out from a distance that is not known any more",
    Reason.TAKEN_FOR_DISTANT: lambda *_: "taken for distant, while it may be as large as the lens goes",
    Shoot.LIT_ALONE: lambda told, _: f"frame {told['frame']}",
    Shoot.LIT_ALONE_NOT_READ: _not_read,
    Shoot.LIT_ALONE_BEFORE_CHANGE: lambda told, _: f"frame {told['frame']} is from before {told.about} was changed",
    Shoot.NEVER_LIT_ALONE: lambda told, _: "tells what it gave in every frame, and lets it be re-mixed",
    Shoot.RULE_PICTURED: lambda told, _: f"frame {told['frame']}: tap the rule there",
    Shoot.SCALE_KNOWN: lambda told, _: f"scale known: {magnification_text(told.number('magnification'))}",
    Shoot.NO_RULE: lambda *_: "gives the scale, and with it the close-up loss",
    Shoot.METERED: _metered,
    Shoot.NOT_METERED: lambda *_: "is the figure that travels to another kit",
    Shoot.SET_PHOTOGRAPHED: lambda told, _: f"{told['photos']} photo{'s' * (told['photos'] != 1)}",
    Shoot.SET_NOT_PHOTOGRAPHED: lambda *_: "shows what no figure says: stands, flags, cables, what was clipped on",
    Reason.ONLY_PERSPECTIVE: lambda *_: "only the perspective changes",
}
