"""Corrections: how a balance is off, what would bring it to its target, and why a way is none."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.corrections import EVEN_WITHIN_STOPS
from webapp.ledger.reasons import Effect, Reason
from webapp.ledger.ways import Correction
from webapp.optics.scales import Quantity
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.marks import written
from webapp.web.words import entries
from webapp.web.words.listing import begun, names, signed_tenth

if TYPE_CHECKING:
    from webapp.web.words.say import Say

# A length this small is told in millimetres where no tape reaches; past it, in whole metres.
_NEAR_MM: Final = 500.0
_MOST_POPS_TOLD: Final = 1e6


def sentence_of(correction: Correction, lengths: Lengths = CENTIMETRES) -> str:
    """How the balance is off, what to do, what that leaves, and what it costs; what is wished stands above its ways."""
    move = correction.move
    first = f"{action_of(correction.first, lengths)}." if correction.first else ""
    done = _DONE.get(move.reason, _turned)(action_of(move, lengths), move)
    left = correction.leaves_stops
    leaves = "" if abs(left) < EVEN_WITHIN_STOPS else f"Leaves {signed_tenth(left)}."
    notes = (entries.WORDS[each.reason](each, lengths) for each in correction.notes)
    back = "That takes back what was just changed." if correction.turns_back else ""
    stands = "" if correction.stands.reason == Reason.POWER_WISHED else _off(correction.stands)
    return " ".join(filter(None, (stands, first, done, leaves, back, _COSTS[move.reason](move), *notes)))


def action_of(move: Fact, lengths: Lengths = CENTIMETRES) -> str:
    """What a correction does, as its button has it: "A: 200 J to 100 J"."""
    return _ACTIONS[move.reason](move, lengths)


def key_of(correction: Correction, lengths: Lengths = CENTIMETRES) -> str:
    """What the key of a correction says, with the mark to be set alone: "Set A 100 J", "Move A to 80 cm"; of two moves
    "Set A 6.25 J, put ND 0.3 on A"."""
    key = _KEYS[correction.move.reason](correction.move, lengths)
    if correction.first is None:
        return key
    return f"{_KEYS[correction.first.reason](correction.first, lengths)}, {key[:1].lower()}{key[1:]}"


def effect_words(effect: Effect) -> str:
    """What a correction moves or keeps beside the balance."""
    return EFFECTS[effect]


EFFECTS: Final[Mapping[Effect, str]] = {
    Effect.ENERGY: "energy",
    Effect.EVERY_ENERGY: "energy of every light",
    Effect.RECYCLE_TIME: "recycle time",
    Effect.DEPTH: "depth of field",
    Effect.DIFFRACTION: "diffraction",
    Effect.AMBIENT: "ambient",
    Effect.SOFTNESS: "softness",
    Effect.FALL_OFF: "fall-off",
    Effect.RATIOS: "ratios",
    Effect.NOISE: "noise",
    Effect.MODELLING_LIGHT: "modelling light",
    Effect.COLOUR: "perhaps colour",
    Effect.FILTER_WORK: "softness or colour, if the filter made it",
    Effect.LENS_FILTER_WORK: "reflections or colour, if the filter made them",
    Effect.FINDER: "finder brightness",
    Effect.FRAME_TIME: "time for the frame",
}


# --- how it is off ------------------------------------------------------------------------------------------------


def _off(told: Fact) -> str:
    """The first part of a correction, and of each note on a way that is none."""
    off = told.number("off_stops")
    size, side = f"{abs(off):.1f}", "over" if off > 0 else "under"
    if "lights" in told.values:
        return f"{' and '.join(names(told, 'lights'))} are all {size} {side}."
    target = told.number("target_stops")
    goal = f" its {signed_tenth(target)}" if abs(target) >= EVEN_WITHIN_STOPS else ""
    return f"{begun(told.text('light'))} is {size} {side}{goal}."


# --- what is done -------------------------------------------------------------------------------------------------


def _powers(move: Fact, _: Lengths) -> str:
    moved = zip(names(move, "lights"), names(move, "was"), names(move, "now"), strict=True)
    return ", ".join(f"{letter}: {was} to {now}" for letter, was, now in moved)


def _distances(move: Fact, lengths: Lengths) -> str:
    return f"{move.about}: {lengths.text(move.number('was_mm'))} to {lengths.text(move.number('now_mm'))}"


def _fitted(move: Fact) -> str:
    return " + ".join(names(move, "fitted"))


def _power_and_sheets(move: Fact, _: Lengths) -> str:
    return f"{move.about}: {move['was']} to {move['now']} and {_fitted(move)} {_side(move)} {move.about}"


def _side(move: Fact) -> str:
    return "off" if move["out"] else "on"


def _powers_and_sheets(move: Fact, _: Lengths) -> str:
    return ", ".join(
        f"{letter}: {f'{was} to {now}' if was != now else was}{f' and {fitted} {_side(move)}' if fitted else ''}"
        for letter, was, now, fitted in _each(move)
    )


def _each(move: Fact) -> Iterator[tuple[str, str, str, str]]:
    """The lights of a move, each with its marks and the sheets that go on it or come off."""
    return zip(*(names(move, of) for of in ("lights", "was", "now", "fitted")), strict=True)


_ACTIONS: Final[Mapping[str, Say]] = {
    Reason.POWER_TO: lambda move, _: f"{move.about}: {move['was']} to {move['now']}",
    Reason.POWERS_TO: _powers,
    Reason.POWER_AND_SHEETS_TO: _power_and_sheets,
    Reason.POWERS_AND_SHEETS_TO: _powers_and_sheets,
    Reason.PUT_ON_LIGHT: lambda move, _: f"{_fitted(move)} on {move.about}",
    Reason.TAKE_OFF_LIGHT: lambda move, _: f"{_fitted(move)} off {move.about}",
    Reason.PUT_ON_LENS: lambda move, _: f"{_fitted(move)} on the lens",
    Reason.TAKE_OFF_LENS: lambda move, _: f"{_fitted(move)} off the lens",
    Reason.F_NUMBER_TO: lambda move, _: f"f/{move['was']} to f/{move['now']}",
    Reason.ISO_TO: lambda move, _: f"ISO {move['was']} to {move['now']}",
    Reason.F_NUMBER_AND_OTHERS_TO: lambda move, _: f"f/{move['was']} to f/{move['now']}, {_others(move)}",
    Reason.ISO_AND_OTHERS_TO: lambda move, _: f"ISO {move['was']} to {move['now']}, {_others(move)}",
    Reason.DISTANCE_TO: _distances,
    Reason.POPS_TO: lambda move, _: f"{move['was']} to {move['now']} pops{_open(move)}",
}


def _others(move: Fact) -> str:
    turned = zip(*(names(move, of) for of in ("others", "others_was", "others_now")), strict=True)
    return ", ".join(f"{letter}: {was} to {now}" for letter, was, now in turned)


def _others_now(move: Fact) -> str:
    return ", ".join(map(" ".join, zip(names(move, "others"), names(move, "others_now"), strict=True)))


def _open(move: Fact) -> str:
    """How long the shutter stands open for several pops. What was written in by an earlier build does not tell."""
    return f" in {written(Quantity.SHUTTER, move.text('shutter'))}" if move.values.get("shutter") else ""


_KEYS: Final[Mapping[str, Say]] = {
    Reason.POWER_TO: lambda move, _: f"Set {move.about} {move['now']}",
    Reason.POWERS_TO: lambda move, _: (
        "Set " + ", ".join(map(" ".join, zip(names(move, "lights"), names(move, "now"), strict=True)))
    ),
    Reason.POWER_AND_SHEETS_TO: lambda move, _: f"Set {move.about} {move['now']} and {_fitted(move)} {_side(move)}",
    Reason.POWERS_AND_SHEETS_TO: lambda move, _: (
        "Set "
        + ", ".join(
            f"{letter} {now}{f' and {fitted} {_side(move)}' if fitted else ''}"
            for letter, _, now, fitted in _each(move)
        )
    ),
    Reason.PUT_ON_LIGHT: lambda move, _: f"Put {_fitted(move)} on {move.about}",
    Reason.TAKE_OFF_LIGHT: lambda move, _: f"Take {_fitted(move)} off {move.about}",
    Reason.PUT_ON_LENS: lambda move, _: f"Put {_fitted(move)} on the lens",
    Reason.TAKE_OFF_LENS: lambda move, _: f"Take {_fitted(move)} off the lens",
    Reason.F_NUMBER_TO: lambda move, _: f"Set f/{move['now']}",
    Reason.ISO_TO: lambda move, _: f"Set ISO {move['now']}",
    Reason.F_NUMBER_AND_OTHERS_TO: lambda move, _: f"Set f/{move['now']}, {_others_now(move)}",
    Reason.ISO_AND_OTHERS_TO: lambda move, _: f"Set ISO {move['now']}, {_others_now(move)}",
    Reason.DISTANCE_TO: lambda move, lengths: f"Move {move.about} to {lengths.text(move.number('now_mm'))}",
    Reason.POPS_TO: lambda move, _: f"Set {move['now']} pops{_open(move)}",
}


def _turned(action: str, _: Fact) -> str:
    """A dial is turned from mark to mark; filters are put on and taken off with what they take or give."""
    return f"{action}."


_DONE: Final[Mapping[str, Callable[[str, Fact], str]]] = {
    Reason.POWER_AND_SHEETS_TO: lambda action, move: (
        f"{action} ({'gives' if move['out'] else 'takes'} {move.number('loss_stops'):.1f})."
    ),
    Reason.PUT_ON_LIGHT: lambda action, move: f"Put {action} (takes {move.number('loss_stops'):.1f}).",
    Reason.TAKE_OFF_LIGHT: lambda action, move: f"Take {action} (gives {move.number('loss_stops'):.1f}).",
    Reason.PUT_ON_LENS: lambda action, move: f"Put {action} (takes {move.number('loss_stops'):.1f} from everything).",
    Reason.TAKE_OFF_LENS: lambda action, move: (
        f"Take {action} (gives {move.number('loss_stops'):.1f} to everything)."
    ),
}


# --- what it costs ------------------------------------------------------------------------------------------------


def _cost_of_powers(move: Fact) -> str:
    uneven = move.number("uneven_stops")
    if uneven < EVEN_WITHIN_STOPS:
        return "Ratios, depth and ambient unchanged."
    return f"Ratios shift by {uneven:.1f}; depth and ambient unchanged."


def _cost_of_sheets(move: Fact) -> str:
    if move["out"]:
        return "What the filter did goes with it."
    return "The light grows softer; colour may shift." if move["softens"] else "Colour may shift a little."


def _cost_on_light(move: Fact) -> str:
    return f"{_cost_of_sheets(move)} Depth and ambient unchanged."


def _cost_of_iso(move: Fact) -> str:
    return f"Depth unchanged; ambient moves along. Noise {'grows' if move['rises'] else 'falls'}."


def _cost_of_f_number(move: Fact) -> str:
    depth, kept = _cost_of_depth(move), "ratios stay" if move["several"] else "energy stays"
    return f"{depth} Ambient moves along; {kept}."


def _cost_of_depth(move: Fact) -> str:
    was, now = move["was_depth_mm"], move["now_depth_mm"]
    more = "More" if move["closes"] else "Less"
    if isinstance(was, float) and isinstance(now, float):
        return f"Depth of field {was:.2g} mm to {now:.2g} mm, {more.lower()} diffraction."
    return f"{more} depth of field, {more.lower()} diffraction."


def _cost_of_distance(move: Fact) -> str:
    further = move.number("now_mm") > move.number("was_mm")
    shadows = "Shadows harden, fall-off evens out." if further else "Shadows soften, fall-off steepens."
    return f"{shadows} Depth and ambient unchanged."


def _cost_of_pops(move: Fact) -> str:
    fewer = move.number("now") < move.number("was")
    still = "" if fewer else "Static subject only. "
    if not move["shutter"]:
        return f"{still}Ambient unchanged: the shutter stays as it is."
    return f"{still}The open shutter lets in {move.number('ambient_stops'):.1f} stops more ambient light: check it again."


_COSTS: Final[Mapping[str, Callable[[Fact], str]]] = {
    Reason.POWER_TO: lambda move: "Depth and ambient unchanged.",
    Reason.POWERS_TO: _cost_of_powers,
    Reason.POWER_AND_SHEETS_TO: _cost_on_light,
    Reason.POWERS_AND_SHEETS_TO: lambda move: f"{_cost_of_sheets(move)} {_cost_of_powers(move)}",
    Reason.PUT_ON_LIGHT: _cost_on_light,
    Reason.TAKE_OFF_LIGHT: _cost_on_light,
    Reason.PUT_ON_LENS: lambda move: "Depth unchanged; ambient and the finder darken with it.",
    Reason.TAKE_OFF_LENS: lambda move: "Depth unchanged; ambient and the finder brighten with it.",
    Reason.F_NUMBER_TO: _cost_of_f_number,
    Reason.ISO_TO: _cost_of_iso,
    Reason.F_NUMBER_AND_OTHERS_TO: lambda move: f"{_cost_of_depth(move)} Ambient moves along.",
    Reason.ISO_AND_OTHERS_TO: _cost_of_iso,
    Reason.DISTANCE_TO: _cost_of_distance,
    Reason.POPS_TO: _cost_of_pops,
}


# --- why a way is none --------------------------------------------------------------------------------------------


def _power_out_of_reach(told: Fact) -> str:
    short = told.number("short_stops")
    end = f"the {'lowest' if told.number('off_stops') > 0 else 'highest'} mark is {told['ends']}"
    if not told["needs"]:
        return f"By energy {told.about} needs {short:.1f} stops more than full, {end}."
    return f"By energy {told.about} needs {told['needs']}, {end}: {short:.1f} stops short."


def _powers_out_of_reach(told: Fact) -> str:
    end = f"below its lowest mark, {told['lowest']}" if told["lowest"] else "above full"
    return (
        f"All energies together cannot be moved: {told.about} would be {told.number('short_stops'):.1f} stops {end}."
    )


def _f_number_out_of_reach(told: Fact) -> str:
    return (
        f"By aperture it needs f/{told['needs']}; the lens ends at f/{told.number('ends'):g}: "
        f"{told.number('short_stops'):.1f} stops short."
    )


def _distance_out_of_law(told: Fact) -> str:
    change = -told.number("off_stops")
    if change < 0.0:
        return (
            f"Distance does not do it: A change of {change:+.2f} stops would move the source a million kilometres away; "
            "turn its power down."
        )
    return (
        f"Distance does not do it: From {told.number('from_mm'):g} mm this source gains at most "
        f"{max(told.number('most_stops'), 0.0):.2f} stops by distance alone; {change:+.2f} stops need more power."
    )


def _distance_out_of_tape(told: Fact) -> str:
    needs_mm = told.number("needs_mm")
    needs = f"{needs_mm:.1f} mm" if needs_mm < _NEAR_MM else f"{needs_mm / 1000:.0f} m"
    return f"By distance {told.about} needs {needs}: out of reach of a tape."


def _too_many_pops(told: Fact) -> str:
    needs = told.number("needs")
    many = f"{needs:.0f}" if needs < _MOST_POPS_TOLD else "millions"
    return f"By several pops it needs {many} of them; past {told['most']} that is no correction."


_CANNOT: Final[Mapping[str, Callable[[Fact], str]]] = {
    Reason.POWER_OUT_OF_REACH: _power_out_of_reach,
    Reason.POWERS_OUT_OF_REACH: _powers_out_of_reach,
    Reason.F_NUMBER_OUT_OF_REACH: _f_number_out_of_reach,
    Reason.ISO_OUT_OF_REACH: lambda told: (
        f"By ISO it needs {told['needs']}; the camera ends at {told.number('ends'):.7g}."
    ),
    Reason.DISTANCE_OUT_OF_LAW: _distance_out_of_law,
    Reason.DISTANCE_OUT_OF_TAPE: _distance_out_of_tape,
    Reason.TOO_MANY_POPS: _too_many_pops,
    Reason.POPS_NEED_STILLNESS: lambda told: (
        f"Several pops ({told['pops']}) would need a subject that does not move."
    ),
    Reason.POPS_NEED_RECYCLING: lambda told: (
        f"Several pops ({told['pops']}) would need the recycle time and the shutter to be known."
    ),
    Reason.POPS_NEED_TIME: lambda told: (
        f"Several pops ({told['pops']}) would need the shutter open for {told.number('needs_s'):.0f} s; its dial ends "
        f"at {told.number('most_s'):g} s."
    ),
}


def _cannot(told: Fact, _: Lengths) -> str:
    return f"{_off(told)} {_CANNOT[told.reason](told)}"


WORDS: Final[Mapping[str, Say]] = {
    Reason.OFF_TARGET: lambda told, _: _off(told),
    Reason.ALL_OFF_TARGET: lambda told, _: _off(told),
    Reason.POWER_WISHED: lambda told, _: f"{told['wished']} of {told.about}",
    **_ACTIONS,
    **dict.fromkeys(_CANNOT, _cannot),
}
