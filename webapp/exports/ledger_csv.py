"""The ledger as CSV (RFC 4180): a line for each light of each frame, one for its ambient light, and one for each patch
that was read.

Every figure has its unit in the head of its column; times are ISO 8601 in UTC; decimals have a point, and what is
unknown is empty. A spreadsheet would run a text that begins like a formula: such a text gets an apostrophe in front,
and so does one that begins with an apostrophe itself. Taking one apostrophe off the front of a text gives back what
was written; columns of figures never carry one.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from webapp.facts import Wording
from webapp.ledger.assessment import LightBalance
from webapp.ledger.entries import Entry
from webapp.ledger.evidence import PatchEvidence
from webapp.ledger.set_up import Light, SetUp
from webapp.optics.scales import Marked, Quantity, value_at
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import Shot
from webapp.shoots import frames
from webapp.shoots.frames import LoggedFrame

_FRAME: Final = (
    *("shot", "shot_title", "frame", "logged_at_utc", "purpose", "because", "verdict", "is_reference", "taken_back"),
    *("f_number_mark", "f_number_exact", "shutter_mark", "shutter_exact_s", "iso_mark", "iso_exact"),
    *("focal_length_mm", "magnification", "magnification_is_estimated", "camera_distance_mm", "pops"),
    *("lens_filters", "lens_filters_loss_stops"),
)
_LINE: Final = ("line", "name")
_LIGHT: Final = (
    *("head", "modifier", "filters", "is_lit", "power_mark", "power_stops_from_full", "energy_j", "distance_mm"),
    *("bearing_deg", "height_mm", "position_is", "meter_f_number_at_iso_100", "meter_power_stops_from_full"),
    *("meter_distance_mm",),
)
_BALANCE: Final = ("balance_stops", "balance_against", "meant_stops", "entries")
_PATCH: Final = (
    "wanted_stops",
    "read_stops",
    "predicted_stops",
    "unexplained_stops",
    "tolerance_stops",
    "read_by_eye",
)
COLUMNS: Final = (*_FRAME, *_LINE, *_LIGHT, *_BALANCE, *_PATCH)
TEXTS: Final = frozenset(
    {
        *("shot_title", "purpose", "because", "verdict", "f_number_mark", "shutter_mark", "iso_mark", "lens_filters"),
        *("line", "name", "head", "modifier", "filters", "power_mark", "position_is", "balance_against", "entries"),
    }
)
"""The columns that hold words; all others hold figures, times, or yes and no."""
# What a spreadsheet takes for the beginning of a formula, the full-width forms among it.
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_GUARD: Final = "'"

Cells = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class LedgerWords:
    """What the ledger says, made by whoever makes words: a fact, and an entry by its cause and its two settings."""

    fact: Wording
    entry: Callable[[Entry], str]


def guarded(text: str) -> str:
    """A text that no spreadsheet runs.

    >>> guarded("=2+3"), guarded("'tis"), guarded("key"), unguarded(guarded("=2+3"))
    ("'=2+3", "''tis", 'key', '=2+3')
    """
    return _GUARD + text if text.startswith((*_FORMULA, _GUARD)) else text


def unguarded(text: str) -> str:
    """The text as it was written."""
    return text.removeprefix(_GUARD)


def of_shot(records: Records, shot_id: str, words: LedgerWords) -> Iterator[str]:
    """The ledger of a shot, piece by piece. Raises NotFound at once where there is no such shot."""
    with records.reading() as db:
        shot = shot_records.shot_of(db, shot_id)
    return _written(records, [shot], words)


def of_session(records: Records, session_id: str, words: LedgerWords) -> Iterator[str]:
    """The ledgers of all shots of a session, in their order. Raises NotFound at once where there is no session."""
    with records.reading() as db:
        shot_records.session_of(db, session_id)
        shots = list(shot_records.shots_in(db, session_id))
    return _written(records, shots, words)


def _written(records: Records, shots: Iterable[Shot], words: LedgerWords) -> Iterator[str]:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for shot in shots:
        for frame in frames.in_order(records, shot.id):
            for cells in lines_of_frame(shot, frame, words):
                writer.writerow([_cell(name, cells.get(name)) for name in COLUMNS])
            yield out.getvalue()
            out.seek(0)
            out.truncate()
    yield out.getvalue()


def _cell(name: str, value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return guarded(value) if name in TEXTS else str(value)


def lines_of_frame(shot: Shot, frame: LoggedFrame, words: LedgerWords) -> Iterator[Cells]:
    """The lines of one frame: its lights by letter, the ambient light, then the patches that were read."""
    common = _frame_cells(shot, frame)
    for light in frame.set_up.lights:
        cells = {"line": "light", "name": light.name, **_light_cells(light)}
        yield common | cells | _balance_cells(frame.ledger.of(light.letter), words)
    yield common | {"line": "ambient", "name": "ambient"} | _balance_cells(frame.ledger.ambient, words)
    for patch in frame.evidence.patches:
        yield common | {"line": "patch", "name": patch.name} | _patch_cells(patch)


def _frame_cells(shot: Shot, frame: LoggedFrame) -> dict[str, Any]:
    row, set_up = frame.row, frame.set_up
    return {
        "shot": shot.number,
        "shot_title": shot.title,
        "frame": row.number,
        "logged_at_utc": row.logged_at.astimezone(dt.UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z"),
        "purpose": row.purpose,
        "because": row.because,
        "verdict": row.verdict,
        "is_reference": frame.is_reference,
        "taken_back": row.taken_back,
        **_marked("f_number", set_up.f_number),
        **_marked("shutter", set_up.shutter, "_s"),
        **_marked("iso", set_up.iso),
        **_camera_cells(set_up),
    }


def _camera_cells(set_up: SetUp) -> dict[str, Any]:
    losses = [each.loss_stops for each in set_up.lens_filters]
    return {
        "focal_length_mm": set_up.focal_length_mm,
        "magnification": set_up.magnification,
        "magnification_is_estimated": set_up.magnification_estimated,
        "camera_distance_mm": set_up.subject_distance_mm,
        "pops": set_up.pops,
        "lens_filters": "; ".join(each.name for each in set_up.lens_filters),
        "lens_filters_loss_stops": None if None in losses else sum(loss for loss in losses if loss is not None),
    }


def _marked(name: str, mark: Marked | None, unit: str = "") -> dict[str, Any]:
    if mark is None:
        return {}
    return {f"{name}_mark": mark.text, f"{name}_exact{unit}": f"{mark.exact:.6g}"}


def _light_cells(light: Light) -> dict[str, Any]:
    cells: dict[str, Any] = {
        "head": light.head.name,
        "modifier": light.modifier.name if light.modifier else "",
        "filters": "; ".join(each.name for each in light.filters),
        "is_lit": light.lit,
        "distance_mm": light.distance_mm,
    }
    if light.power_stops is not None:
        cells |= {"power_mark": light.power_mark(), "power_stops_from_full": light.power_stops}
        cells |= {"energy_j": light.head.dial.energy_j(light.power_stops)}
    if light.position is not None:
        at = light.position.at
        cells |= {"bearing_deg": round(at.bearing_deg, 3), "height_mm": at.z_mm, "position_is": light.position.known}
    if light.incident is not None:
        cells |= {
            "meter_f_number_at_iso_100": f"{value_at(Quantity.F_NUMBER, light.incident.av):.6g}",
            "meter_power_stops_from_full": light.incident.power_stops,
            "meter_distance_mm": light.incident.distance_mm,
        }
    return cells


def _balance_cells(line: LightBalance | None, words: LedgerWords) -> dict[str, Any]:
    if line is None:
        return {}
    told = (
        f"{words.entry(entry)}: " + ("unknown" if entry.stops is None else f"{entry.stops:+.3f}")
        for entry in line.entries
    )
    return {
        "balance_stops": None if line.stops is None else round(line.stops, 4),
        "balance_against": words.fact(line.against) if line.against else "",
        "meant_stops": line.target_stops,
        "entries": "; ".join(told),
    }


def _patch_cells(patch: PatchEvidence) -> dict[str, Any]:
    figures = {
        "wanted_stops": patch.wanted_stops,
        "read_stops": patch.read_stops,
        "predicted_stops": patch.predicted_stops,
        "unexplained_stops": patch.unexplained_stops,
        "tolerance_stops": patch.tolerance_stops,
    }
    rounded = {name: None if value is None else round(value, 4) for name, value in figures.items()}
    return {**rounded, "read_by_eye": patch.by_eye}
