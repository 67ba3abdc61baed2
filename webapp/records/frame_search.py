"""The search among frames: their lines, their words and their marks, and every query on them.

A mark is a word of the full text that nobody can type, as in the search among recipes: which lights are lit, which stand at
the end of their dial, what a frame is for and what is said of it. Figures are marked by the third of a stop that they lie
in, so that a range is a walk over a few marks, newest first, and the figures themselves are compared with it only for those
that are met on it; no question looks at every frame.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from sqlalchemy import text
from sqlmodel import Session as Database
from sqlmodel import col, select

from webapp.records.recipe_search import Range, Wanted, mark_of
from webapp.records.tables import Frame, FrameLine, Session, Shot

FIGURES: Final = (
    "f_number",
    "shutter_s",
    "iso",
    "focal_mm",
    "magnification",
    "energy_j",
    "light_count",
    "unexplained_stops",
)
# Figures lie between these thirds of a stop: from a hundred-thousandth to a million.
_LOWEST, _HIGHEST, _TO_A_DOUBLING = -50, 60, 3
_ALIKE: Final = 1e-9


def third_of(value: float) -> int:
    """The third of a stop that a figure lies in."""
    return min(max(math.floor(_TO_A_DOUBLING * math.log2(value) + _ALIKE), _LOWEST), _HIGHEST)


def figure_marks(figures: Mapping[str, Any]) -> list[tuple[str, str]]:
    """The marks of the figures that are known and more than nothing."""
    return [(name, str(third_of(figures[name]))) for name in FIGURES if figures.get(name)]


def _walked_range(each: Range) -> str:
    """The marks that a range of a figure may have."""
    if each.column not in FIGURES:
        raise ValueError(f"{each.column} is no figure of a frame.")
    low = third_of(each.low) if each.low else _LOWEST
    high = third_of(each.high) if each.high else _HIGHEST
    marks = " OR ".join(f'"{mark_of(each.column, str(at))}"' for at in range(low, high + 1))
    return f"(marks : ({marks}))"


def _walked(wanted: Wanted) -> str:
    parts = [wanted.walked] if wanted.walked else []
    parts += [
        f"({' OR '.join(map(_walked_range, each.ranges))})"
        for each in wanted.any_ranges
        if not each.negated and each.ranges[0].column != "made_on"
    ]
    return " AND ".join(parts)


def _conditions(wanted: Wanted) -> tuple[str, dict[str, Any]]:
    parts: list[str] = []
    values: dict[str, Any] = {}
    for one in wanted.any_ranges:
        ranges = []
        for each in one.ranges:
            if each.column not in (*FIGURES, "made_on"):
                raise ValueError(f"{each.column} is no figure of a frame.")
            bounds = []
            for bound, sign in ((each.low, ">="), (each.high, "<=")):
                if bound is not None:
                    name = f"bound{len(values)}"
                    bounds.append(f"frame_lines.{each.column} {sign} :{name}")
                    values[name] = bound.isoformat() if isinstance(bound, dt.date) else bound
            ranges.append(f"({' AND '.join(bounds)})")
        parts.append(f" AND {'NOT ' if one.negated else ''}({' OR '.join(ranges)})")
    return "".join(parts), values


def find_newest(db: Database, wanted: Wanted, limit: int, offset: int = 0) -> list[int]:
    """The frames that meet everything wanted, those logged last first."""
    query, values = _query(wanted)
    found = db.connection().execute(
        text(f"SELECT {query} ORDER BY 1 DESC LIMIT :limit OFFSET :offset"),
        values | {"limit": limit, "offset": offset},
    )
    return [int(row[0]) for row in found]


def count_found(db: Database, wanted: Wanted, cap: int) -> int:
    """How many meet everything, counted up to a cap."""
    query, values = _query(wanted)
    found = db.connection().execute(text(f"SELECT count(*) FROM (SELECT {query} LIMIT :cap)"), values | {"cap": cap})
    return int(found.scalar_one())


def _query(wanted: Wanted) -> tuple[str, dict[str, Any]]:
    walked = _walked(wanted)
    conditions, values = _conditions(wanted)
    if not walked:
        kept_out = " AND frame_lines.key NOT IN (SELECT rowid FROM frame_words WHERE frame_words MATCH :kept_out)"
        if wanted.kept_out:
            values["kept_out"] = wanted.kept_out
        return f"frame_lines.key FROM frame_lines WHERE 1{kept_out if wanted.kept_out else ''}{conditions}", values
    values["walked"] = walked
    if not wanted.any_ranges:
        return "rowid FROM frame_words WHERE frame_words MATCH :walked", values
    return (
        "frame_words.rowid FROM frame_words CROSS JOIN frame_lines INDEXED BY frame_figures "
        f"ON frame_lines.key = frame_words.rowid WHERE frame_words MATCH :walked{conditions}",
        values,
    )


def shots_among(db: Database, keys: Sequence[int]) -> list[tuple[str, int]]:
    """The shots that some frames are of, with how many of them, the one with the newest frame first."""
    rows = db.exec(select(FrameLine.shot_id).where(col(FrameLine.key).in_(keys)).order_by(col(FrameLine.key).desc()))
    counts: dict[str, int] = {}
    for shot_id in rows:
        counts[shot_id] = counts.get(shot_id, 0) + 1
    return list(counts.items())


def frames_with(db: Database, keys: Sequence[int]) -> list[tuple[FrameLine, Frame, Shot, Session]]:
    """The frames of these lines with their shots and sessions, in the order of the keys."""
    query = (
        select(FrameLine, Frame, Shot, Session)
        .join(Frame, col(Frame.id) == FrameLine.frame_id)
        .join(Shot, col(Shot.id) == FrameLine.shot_id)
        .join(Session, col(Session.id) == Shot.session_id)
        .where(col(FrameLine.key).in_(keys))
    )
    found = {line.key: (line, frame, shot, session) for line, frame, shot, session in db.exec(query)}
    return [found[key] for key in keys if key in found]


def keys_of(db: Database, frame_ids: Sequence[str]) -> list[int]:
    """The lines of some frames."""
    found = db.exec(select(FrameLine.key).where(col(FrameLine.frame_id).in_(frame_ids)))
    return [key for key in found if key is not None]


def has_word(db: Database, beginning: str) -> bool:
    """Whether a word of the frames begins so."""
    found = db.connection().execute(
        text("SELECT 1 FROM frame_vocabulary WHERE term >= :low AND term < :high LIMIT 1"),
        {"low": beginning, "high": beginning + chr(0x10FFFF)},
    )
    return found.first() is not None


def shots_with_numbers(db: Database, numbers: Sequence[int], match: str, limit: int) -> list[str]:
    """The shots that have frames of all these numbers and the words, the one with the newest such frame first."""
    first, *others = numbers
    named = "".join(
        f" AND EXISTS (SELECT 1 FROM frames AS other WHERE other.shot_id = frames.shot_id AND other.number = :n{at})"
        for at in range(len(others))
    )
    words = " AND frame_lines.key IN (SELECT rowid FROM frame_words WHERE frame_words MATCH :match)" if match else ""
    query = (
        "SELECT frames.shot_id FROM frame_lines JOIN frames ON frames.id = frame_lines.frame_id "
        f"WHERE frame_lines.number = :first{words}{named} ORDER BY frame_lines.key DESC LIMIT :limit"
    )
    values: dict[str, Any] = {"first": first, "limit": limit, **{f"n{at}": each for at, each in enumerate(others)}}
    return list(db.connection().execute(text(query), values | ({"match": match} if match else {})).scalars())


def write_lines(db: Database, shot_id: str, lines: Iterable[Mapping[str, Any]]) -> None:
    """Write the lines of some frames of a shot; those that say what they said before are left as they are."""
    wanted = list(lines)
    if not wanted:
        return
    ids = [each["frame_id"] for each in wanted]
    stand = {line.frame_id: line for line in db.exec(select(FrameLine).where(col(FrameLine.frame_id).in_(ids)))}
    for fields in wanted:
        line = stand.get(fields["frame_id"])
        if line is None:
            db.add(FrameLine(shot_id=shot_id, **fields))
        else:
            line.shot_id = shot_id
            for name, value in fields.items():
                if getattr(line, name) != value:
                    setattr(line, name, value)
    db.flush()
