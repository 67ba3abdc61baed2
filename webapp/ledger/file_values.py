"""What a camera file says, read on the dials of the kit in use and compared with what was set.

The ledger uses the file's value; what was set is kept beside it. A subject distance in the file's metadata never
sets the magnification: where it is measured from is not defined well enough.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from webapp.facts import Fact, fact
from webapp.ledger.reasons import Reason
from webapp.ledger.set_up import SetUp
from webapp.optics import macro
from webapp.optics.scales import Marked, Quantity, nearest_mark, read_value, stops_of
from webapp.pictures.metadata import PictureFacts

# Two readings closer than this are the same dial position.
_SAME_STOPS = 0.05
FileValue = Marked | float
"""A mark of a dial, or a focal length in millimetres."""


@dataclass(frozen=True, slots=True)
class FileAgainstSet:
    """The set-up with the file's values in it, and the fields in which the file and the set-up differ.

    `file_values` and `set_values` are by field; only the differing ones are in `set_values`.
    """

    set_up: SetUp
    file_values: dict[str, FileValue]
    set_values: dict[str, FileValue]

    @property
    def says(self) -> tuple[Fact, ...]:
        """What differed, as one fact; nothing where nothing did."""
        if not self.set_values:
            return ()
        differs = fact(
            Reason.FILE_DIFFERS,
            fields=tuple(self.set_values),
            file=tuple(_mark(self.file_values[field]) for field in self.set_values),
            stood=tuple(_mark(was) for was in self.set_values.values()),
        )
        return (differs,)


def _mark(value: FileValue) -> str:
    return value.text if isinstance(value, Marked) else f"{value:g}"


def hold_against(set_up: SetUp, facts: PictureFacts) -> FileAgainstSet:
    """Read a file's settings on the dials of the kit in use, and put them into the set-up."""
    read = {
        "f_number": _f_number(set_up, facts.f_number),
        "shutter": _read(Quantity.SHUTTER, facts.exposure_time_s, set_up),
        "iso": _read(Quantity.ISO, facts.iso, set_up),
    }
    standing = {"f_number": set_up.f_number, "shutter": set_up.shutter, "iso": set_up.iso}
    file_values: dict[str, FileValue] = {}
    set_values: dict[str, FileValue] = {}
    changed: dict[str, Marked] = {}
    for field, value in read.items():
        if value is None:
            continue
        file_values[field] = value
        was = standing[field]
        if was is None or abs(was.stops - value.stops) > _SAME_STOPS:
            changed[field] = value
            if was is not None:
                set_values[field] = was
    focal = facts.focal_length_mm
    set_up = replace(set_up, **changed)  # type: ignore[arg-type]
    if focal is not None:
        file_values["focal_length"] = focal
        set_up, was_focal = _with_focal_length(set_up, focal)
        if was_focal is not None:
            set_values["focal_length"] = was_focal
    return FileAgainstSet(set_up, file_values, set_values)


def _f_number(set_up: SetUp, recorded: float | None) -> Marked | None:
    """The mark behind a recorded f-number: a lens whose camera records the effective one is read back first, so
    that the close-up loss is not counted twice."""
    if recorded is None:
        return None
    if set_up.lens.records == "effective" and set_up.magnification:
        recorded = macro.marked_f_number(recorded, set_up.magnification, set_up.lens.pupil_ratio)
        exact = read_value(Quantity.F_NUMBER, recorded, set_up.lens.f_number_dial)
        return exact if exact.dial is not None else _nearest_on_dial(recorded, set_up)
    return _read(Quantity.F_NUMBER, recorded, set_up)


def _nearest_on_dial(f_number: float, set_up: SetUp) -> Marked:
    # An effective f-number is recorded rounded, and the magnification is known to a few per cent: the mark behind
    # it is the nearest one on the dial.
    mark = nearest_mark(Quantity.F_NUMBER, stops_of(Quantity.F_NUMBER, f_number), set_up.lens.f_number_dial)
    return Marked(Quantity.F_NUMBER, mark.text, mark.stops, set_up.lens.f_number_dial)


def _read(quantity: Quantity, value: float | None, set_up: SetUp) -> Marked | None:
    if value is None:
        return None
    dial = {
        Quantity.F_NUMBER: set_up.lens.f_number_dial,
        Quantity.SHUTTER: set_up.camera.shutter_dial,
        Quantity.ISO: set_up.camera.iso_dial,
    }[quantity]
    try:
        return read_value(quantity, value, dial)
    except ValueError:
        return None


def _with_focal_length(set_up: SetUp, focal_mm: float) -> tuple[SetUp, float | None]:
    lens, was = set_up.lens, set_up.focal_length_mm
    within = lens.shortest_focal_mm - 0.5 <= focal_mm <= lens.longest_focal_mm + 0.5
    if not within or (was is not None and abs(was - focal_mm) < 0.5):
        return set_up, None
    return replace(set_up, focal_length_mm=focal_mm), was
