"""A recipe on other kit, in words: the table of what is written and what it comes to, and what could not be kept."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.optics.working import Step
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.ratios import magnification_text
from webapp.recipes.adapt.adapting import Adapted
from webapp.recipes.reasons import Reason
from webapp.web.words.figures import level_words, maybe_number, number_or_unknown, numbers, percent, stops_words
from webapp.web.words.plain_kit import light_words

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_SHOWN_MM: Final = 0.5
_SHOWN_PART: Final = 0.005
_NO_DIFFERENCE_STOPS: Final = 0.005
"""Less would read +0.00."""


@dataclass(frozen=True, slots=True)
class RowWords:
    """One line of the table: as written, on your kit, the difference that rounding or a limit leaves; and the fact
    that it is made of."""

    what: str
    written: str
    yours: str
    difference: str
    fact: Fact
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class LostWords:
    """What could not be kept, and the ways that there are to it, each with its price."""

    text: str
    ways: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AdaptedWords:
    """The whole table, what was chosen for it and why, and what could not be kept."""

    rows: tuple[RowWords, ...]
    lost: tuple[LostWords, ...]
    chosen: tuple[str, ...]


def adapted_words(adapted: Adapted, lengths: Lengths = CENTIMETRES) -> AdaptedWords:
    """The table as it is read."""
    rows = tuple(
        RowWords(*_ROWS[each.fact.reason](each.fact, lengths), each.fact, each.steps) for each in adapted.rows
    )

    def said(told: Fact) -> str:
        return WORDS[told.reason](told, lengths)

    lost = tuple(LostWords(said(each.fact), tuple(map(said, each.ways))) for each in adapted.lost)
    return AdaptedWords(rows, lost, tuple(map(said, adapted.chosen)))


# --- the table ------------------------------------------------------------------------------------------------------

Cells = tuple[str, str, str, str]
"""What is told of, as written, on the other kit, the difference."""


def _magnification(told: Fact, _: Lengths) -> Cells:
    was, now = (magnification_text(told.number(each)) for each in ("written", "yours"))
    return "magnification", was, now, f"the {told.text('held')} of the field holds"


def _field(told: Fact, lengths: Lengths) -> Cells:
    was, now = numbers(told, "written_mm"), numbers(told, "yours_mm")
    moved = [
        f"{name} {_shift(new - old, lengths)}"
        for name, old, new in zip(("width", "height"), was, now, strict=True)
        if abs(new / old - 1.0) > _SHOWN_PART
    ]
    return "field", _sides(was, lengths), _sides(now, lengths), ", ".join(moved) + ": crop to it" if moved else ""


def _sides(field_mm: tuple[float, ...], lengths: Lengths) -> str:
    if lengths.inches:
        return lengths.sides(*field_mm)
    return " × ".join(f"{side / 10:.3g}" for side in field_mm) + " cm"


def _shift(length_mm: float, lengths: Lengths) -> str:
    return "" if abs(length_mm) < _SHOWN_MM else lengths.difference(length_mm)


def _focal_length(told: Fact, _: Lengths) -> Cells:
    written = maybe_number(told, "written_mm")
    return (
        "focal length",
        "unknown" if written is None else f"{written:g} mm",
        f"{told.number('yours_mm'):.4g} mm",
        f"exact would be {told.number('exact_mm'):.4g} mm",
    )


def _camera_distance(told: Fact, lengths: Lengths) -> Cells:
    was, now = told.number("written_mm"), told.number("yours_mm")
    return "camera distance", lengths.text(was), lengths.text(now), _shift(now - was, lengths)


def _f_number(told: Fact, _: Lengths) -> Cells:
    written = "" if told["written"] is None else f"f/{told.text('written')}"
    residue = _differs(told.number("residue_stops"))
    past = f"{residue} past the exact f/{told.number('exact'):.3g}" if residue else ""
    return "f-number", written, f"f/{told.text('yours')}", past


def _depth(told: Fact, _: Lengths) -> Cells:
    was, now = told.number("written_mm"), told.number("yours_mm")
    return "depth", f"{was:.3g} mm", f"{now:.3g} mm", _differs(math.log2(now / was))


def _effective(told: Fact, _: Lengths) -> Cells:
    was, now = (f"f/{told.number(each):.3g}" for each in ("written", "yours"))
    return "effective f-number", was, now, ""


def _diffraction(told: Fact, _: Lengths) -> Cells:
    was, now = (f"{told.number(each):.1f} pixels" for each in ("written_px", "yours_px"))
    return "diffraction disc", was, now, ""


def _iso(told: Fact, _: Lengths) -> Cells:
    was, now = told.number("written"), told.number("yours")
    return "ISO", f"{was:.4g}", f"{now:.4g}", _differs(math.log2(now / was))


def _trim(told: Fact, _: Lengths) -> Cells:
    was, now = (f"ISO {told.number(each):.4g}" for each in ("from_iso", "yours"))
    return "dials trimmed together", was, now, f"{stops_words(told.number('stops'))}: where their marks come closest"


def _shutter(told: Fact, _: Lengths) -> Cells:
    was, now = (f"{told.text(each)} s" for each in ("written", "yours"))
    return "shutter", was, now, _differs(told.number("stops"))


def _ambient(told: Fact, _: Lengths) -> Cells:
    stops = _differs(told.number("stops")) or "unchanged"
    return "ambient light in the picture", "as it was", stops, "prove it again in the new room"


def _level(told: Fact, _: Lengths) -> Cells:
    was, now = (level_words(told.number(each)) for each in ("written_av", "yours_av"))
    return f"{told.about} metered at ISO 100", was, now, _differs(told.number("stops"))


def _distance(told: Fact, lengths: Lengths) -> Cells:
    was, now = (lengths.text(maybe_number(told, each)) for each in ("written_mm", "yours_mm"))
    return f"{told.about} distance", was, now, "" if told["yours_deg"] is None else _apparent_size(told)


def _apparent_size(told: Fact) -> str:
    return f"apparent size {told.number('yours_deg'):.3g}°, written {told.number('written_deg'):.3g}°"


def _power(told: Fact, _: Lengths) -> Cells:
    residue = _differs(told.number("residue_stops"))
    left = f"{residue} left by the dial" if residue else ""
    return f"{told.about} power", told.text("written"), told.text("yours"), left


_ROWS: Final[Mapping[str, Callable[[Fact, Lengths], Cells]]] = {
    Reason.ADAPTED_MAGNIFICATION: _magnification,
    Reason.ADAPTED_FIELD: _field,
    Reason.ADAPTED_FOCAL_LENGTH: _focal_length,
    Reason.ADAPTED_CAMERA_DISTANCE: _camera_distance,
    Reason.ADAPTED_F_NUMBER: _f_number,
    Reason.ADAPTED_DEPTH: _depth,
    Reason.ADAPTED_EFFECTIVE_F_NUMBER: _effective,
    Reason.ADAPTED_DIFFRACTION: _diffraction,
    Reason.ADAPTED_ISO: _iso,
    Reason.ADAPTED_TRIM: _trim,
    Reason.ADAPTED_SHUTTER: _shutter,
    Reason.ADAPTED_AMBIENT: _ambient,
    Reason.ADAPTED_LEVEL: _level,
    Reason.ADAPTED_DISTANCE: _distance,
    Reason.ADAPTED_POWER: _power,
}


def _row(told: Fact, lengths: Lengths) -> str:
    what, written, yours, difference = _ROWS[told.reason](told, lengths)
    return f"{what}: {written} becomes {yours}" + (f" ({difference})" if difference else "")


# --- what could not be kept -----------------------------------------------------------------------------------------


def _not_close_enough(told: Fact, _: Lengths) -> str:
    greatest, needed = number_or_unknown(told, "greatest"), number_or_unknown(told, "needed")
    return f"{told['lens'] or 'your lens'} goes to {greatest}, and {needed} is needed."


def _perspective(told: Fact, lengths: Lengths) -> str:
    now, was = (lengths.text(told.number(each)) for each in ("yours_mm", "written_mm"))
    return (
        f"Perspective: from {now} instead of {was}, the only distance at which {told.number('focal_mm'):.4g} mm gives "
        f"this framing. A lens of {told.number('wanted_focal_mm'):.3g} mm would keep it."
    )


def _framing(told: Fact, _: Lengths) -> str:
    wanted, focal = (f"{told.number(each):.4g} mm" for each in ("wanted_focal_mm", "focal_mm"))
    return f"Framing: {wanted} is needed from the same place, and this lens has {focal}."


def _out_of_iso(told: Fact, _: Lengths) -> str:
    was, now = (f"{told.number(each):.4g}" for each in ("written", "yours"))
    return f"ISO {was} is outside the range of {told['camera'] or 'your camera'}; {now} is the nearest."


def _past_sync(told: Fact, _: Lengths) -> str:
    was, now = (f"{told.text(each)} s" for each in ("written", "yours"))
    return f"{was} is past the sync speed of {told['camera'] or 'your camera'}: {now} instead."


def _softness(told: Fact, lengths: Lengths) -> str:
    at, needed = (lengths.text(told.number(each)) for each in ("distance_mm", "needed_mm"))
    return (
        f"Softness of {told.about}: {light_words(told)} at {at}: {_apparent_size(told)}; it would have to stand at "
        f"{needed}."
    )


def _no_reading(told: Fact, _: Lengths) -> str:
    silent = f"{told.about}: {light_words(told)} has no meter reading, so its dial cannot be told."
    level = maybe_number(told, "level_av")
    return silent if level is None else f"{silent} Set it so that it alone meters {level_words(level)}."


def _out_of_range(told: Fact, lengths: Lengths) -> str:
    residue, there = told.number("residue_stops"), maybe_number(told, "needed_mm")
    end, way = ("highest", "too little") if residue < 0 else ("lowest", "too much")
    said = f"{told.about}: the {end} mark of {light_words(told)} gives {abs(residue):.1f} stops {way}"
    if there is None:
        return f"{said}; no distance makes it up."
    looks = "larger" if there < told.number("distance_mm") else "smaller"
    return f"{said}; at {lengths.text(there)} it would do, and look {looks}."


def _differs(stops: float) -> str:
    """How far something is off, in stops; nothing where it would read as none."""
    return "" if abs(stops) < _NO_DIFFERENCE_STOPS else stops_words(stops)


def _signed(stops: float) -> str:
    """Stops as they are told in a sentence: "+0.4 stops"."""
    return f"{stops:+.1f} stops".replace("-", "−")


def _left_out(told: Fact, _: Lengths) -> str:
    level, ratio = maybe_number(told, "level_av"), maybe_number(told, "from_key_stops")
    metered = f"it has to meter {level_words(level)} alone" if level is not None else "its level is not known"
    under = "" if not ratio else f", {_signed(ratio)} from the key"
    return f"{told.about} has no head: its light is missing from the picture ({metered}{under})."


def _made_hard(told: Fact, lengths: Lengths) -> str:
    return (
        f"{told.about} was a soft source, {told.number('written_deg'):.3g}° large; {light_words(told)} at "
        f"{lengths.text(told.number('distance_mm'))} is a hard one: edges of shadows and highlights come out sharp."
    )


def _continuous(told: Fact, _: Lengths) -> str:
    shutter = told["shutter"]
    at = f" (set the meter to {shutter} s)" if shutter else ""
    return (
        f"{told.about}: {light_words(told)} is continuous where there was flash: the shutter now counts for it{at}, the "
        "room’s light grows with every longer exposure, and nothing freezes what moves."
    )


def _residue(told: Fact, _: Lengths) -> str:
    return f"{told.about}: the dial of {light_words(told)} leaves it {_signed(told.number('residue_stops'))} off."


def _crop(told: Fact, _: Lengths) -> str:
    width, height = round(told.number("width_px")), round(told.number("height_px"))
    return f"Crop to {percent(told.number('part'))} of each side: {width} × {height} pixels are left."


def _extension(told: Fact, lengths: Lengths) -> str:
    return (
        f"{told.number('extension_mm'):.0f} mm more extension: the camera comes to {lengths.text(told.number('distance_mm'))}, "
        f"and {told.number('stops'):.1f} stops of light are lost (counted above)."
    )


def _nearer(told: Fact, lengths: Lengths) -> str:
    looks = maybe_number(told, "yours_deg")
    size = "" if looks is None else f": it looks {looks:.3g}° large from there"
    return f"{told.about} at {lengths.text(told.number('distance_mm'))}{size}."


def _face(told: Fact, lengths: Lengths) -> str:
    size, there = (lengths.text(told.number(each)) for each in ("size_mm", "distance_mm"))
    return f"A face of {size} for {told.about} at {there}: a larger modifier, or a diffusing panel, which takes light of its own."


def _iso_way(told: Fact, _: Lengths) -> str:
    stops = told.number("stops")
    price = "noise, and " if stops > 0 else ""
    return f"ISO {told.text('mark')}: {price}every other light and the room {_signed(-stops)} to make up for it."


def _aperture(told: Fact, _: Lengths) -> str:
    moved, missing = told.number("stops"), told.number("missing_stops")
    depth = "less depth" if moved < 0 else "more depth and more diffraction"
    end = "" if abs(missing) < 0.2 else f" (the end of the lens: {abs(missing):.1f} stops are still missing)"
    others = "the other lights as much up" if moved > 0 else "the other lights as much down"
    return f"f/{told.text('mark')}{end}: {depth}, and {others}."


def _pops(told: Fact, _: Lengths) -> str:
    return f"{round(told.number('pops'))} pops of {told.about} in one exposure in a dark room: nothing may move, and the other lights fire once."


def _longer(told: Fact, _: Lengths) -> str:
    stops = told.number("stops")
    return f"{told.text('mark')} s: the room and every other continuous light {_signed(stops)}, and nothing may move."


def _lens_chosen(told: Fact, lengths: Lengths) -> str:
    now, was = maybe_number(told, "yours_mm"), maybe_number(told, "written_mm")
    reaches = (
        "" if maybe_number(told, "greatest") is None else f" goes to {magnification_text(told.number('greatest'))};"
    )
    stands = (
        ""
        if now is None or was is None
        else f" the camera stands at {lengths.text(now)}, written {lengths.text(was)}"
    )
    focal = f" at {told.number('focal_mm'):.4g} mm" if maybe_number(told, "focal_mm") is not None else ""
    return f"Lens: {told['lens'] or 'your lens'}{focal}, the nearest of {round(told.number('of'))}:{reaches}{stands or ' it frames as written'}."


def _head_chosen(told: Fact, lengths: Lengths) -> str:
    if told["is_own"]:
        return f"{told.about}: {light_words(told)}, the recipe’s own."
    energies = [maybe_number(told, each) for each in ("yours_j", "written_j")]
    sizes = [maybe_number(told, each) for each in ("yours_mm", "written_mm")]
    why = []
    if None not in energies:
        why.append(" for ".join(f"{each:.4g} J" for each in energies if each is not None))
    if None not in sizes:
        why.append(f"a face of {' for '.join(lengths.text(each) for each in sizes)}")
    return f"{told.about}: {light_words(told)}, the nearest that was free" + (f" ({', '.join(why)})." if why else ".")


WORDS: Final[Mapping[str, Say]] = dict.fromkeys(_ROWS, _row) | {
    Reason.LEFT_WITHOUT_A_HEAD: _left_out,
    Reason.MADE_HARD: _made_hard,
    Reason.CONTINUOUS_FOR_FLASH: _continuous,
    Reason.FLASH_FOR_CONTINUOUS: lambda told, _: (
        f"{told.about}: {light_words(told)} is flash where there was continuous light: the shutter no longer counts for it."
    ),
    Reason.RESIDUE_LEFT: _residue,
    Reason.WAY_CROP: _crop,
    Reason.WAY_EXTENSION: _extension,
    Reason.WAY_LENS: lambda told, _: f"A lens of {told.number('focal_mm'):.3g} mm.",
    Reason.WAY_STACK: lambda told, _: (
        f"A focus stack of {round(told.number('frames'))} frames, {told.number('step_mm'):.2g} mm apart: nothing may move."
    ),
    Reason.WAY_LESS_DEPTH: lambda told, _: (
        f"Less depth: {told.number('depth_mm'):.3g} mm instead of {told.number('written_mm'):.3g} mm."
    ),
    Reason.WAY_DISTANCE: _nearer,
    Reason.WAY_FACE: _face,
    Reason.WAY_SHEETS: lambda told, _: (
        f"{told.number('stops'):.1f} stops of ND or diffusion on {told.about}: nothing else changes; diffusion makes it "
        "softer, and sheets near a hot lamp scorch."
    ),
    Reason.WAY_ISO: _iso_way,
    Reason.WAY_APERTURE: _aperture,
    Reason.WAY_POPS: _pops,
    Reason.WAY_LONGER: _longer,
    Reason.WAY_DARKEN: lambda told, _: (
        f"Darken the room by {told.number('stops'):.1f} stops, and prove it: a longer exposure gathers that much more of it."
    ),
    Reason.WAY_DARK_ROOM: lambda told, _: "Darken the room and prove it at the shutter speed that is used.",
    Reason.WAY_STILL: lambda told, _: (
        f"Nothing moves for {told['shutter']} s: tripod, a still subject, no draught."
        if told["shutter"]
        else "Nothing moves while the shutter is open: tripod, a still subject, no draught."
    ),
    Reason.WAY_CARD: lambda told, _: (
        f"A white card or a reflector where {told.about} stood: it gives back less than falls on it, so it stays well under "
        "the key, and has no direction of its own."
    ),
    Reason.WAY_SECOND_EXPOSURE: lambda told, _: (
        f"Two frames, a head moved to {told.about} for the second, added as light: camera and subject stand still."
    ),
    Reason.LENS_CHOSEN: _lens_chosen,
    Reason.HEAD_CHOSEN: _head_chosen,
    Reason.FROM_TEST_FRAME: lambda told, _: (
        f"{told.about}: by your test frame at f/{told.text('mark')}, which reads {_signed(told.number('stops'))}."
    ),
    Reason.FROM_GUIDE_NUMBER: lambda told, _: (
        f"{told.about}: by the guide number {told.number('guide_number_m'):g} m, which is an estimate: expose one frame at "
        "what comes out, and type in what it reads."
    ),
    Reason.NO_HEAD_LEFT: lambda told, _: f"{told.about}: every head stands for a brighter light already.",
    Reason.NOT_CLOSE_ENOUGH: _not_close_enough,
    Reason.PERSPECTIVE_UNKNOWN: lambda told, _: (
        "Perspective: the recipe has neither a camera distance nor a focal length."
    ),
    Reason.PERSPECTIVE_LOST: _perspective,
    Reason.FRAMING_UNKNOWN: lambda told, _: "Framing: the recipe does not say its focal length.",
    Reason.FRAMING_LOST: _framing,
    Reason.DEPTH_LOST: lambda told, _: (
        f"Depth: f/{told.number('exact'):.3g} is needed, and this lens stands at f/{told.text('mark')}."
    ),
    Reason.ISO_OUT_OF_RANGE: _out_of_iso,
    Reason.PAST_SYNC_SPEED: _past_sync,
    Reason.NEVER_METERED: lambda told, _: (
        f"{told.about} was never metered: its level cannot be told, only its ratio judged by eye."
    ),
    Reason.SOFTNESS_LOST: _softness,
    Reason.NO_METER_READING: _no_reading,
    Reason.POWER_OUT_OF_RANGE: _out_of_range,
}
