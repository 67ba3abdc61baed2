"""The in-tray: a register of every camera file that a watched folder holds or held, and what of it waits for a press.

A file is registered when it is first seen, so that what was begun when the server stopped is gone on with. What lay in
a folder before the server first looked into it, or comes in a whole card at once, is asked about and never logged by
itself.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from sqlmodel import Session as Database

from webapp.errors import Conflict
from webapp.facts import Fact, fact
from webapp.pictures.watch import Signature
from webapp.records import arrivals as arrival_records
from webapp.records.engine import Records
from webapp.records.tables import IN_TRAY, Arrival, ArrivalState
from webapp.shoots.reasons import Reason
from webapp.shoots.together import MOST_AT_ONCE

MOST_LINES: Final = 500
_ASKED_ABOUT: Final = frozenset({Reason.FOUND_AT_FIRST_LOOK, Reason.CAME_TOGETHER})
_UNFINISHED: Final = frozenset({ArrivalState.SEEN, ArrivalState.BEING_WRITTEN})


@dataclass(frozen=True, slots=True)
class TrayLine:
    """One exposure in the in-tray: its files (a raw file and the JPEG beside it are one line), oldest first."""

    arrivals: tuple[Arrival, ...]

    @property
    def id(self) -> str:
        return self.arrivals[0].id

    @property
    def why(self) -> tuple[Fact, ...]:
        return self.arrivals[0].why


@dataclass(frozen=True, slots=True)
class Question:
    """What came together and is asked about at once: a card, or what lay in a folder before the first look."""

    folder: str
    reason: Reason
    lines: tuple[TrayLine, ...]

    @property
    def id(self) -> str:
        return f"{self.reason} {self.folder}"

    @property
    def arrivals(self) -> tuple[Arrival, ...]:
        return tuple(each for line in self.lines for each in line.arrivals)


@dataclass(frozen=True, slots=True)
class Tray:
    """The in-tray as it is asked about: what came together, and the other lines, of which there are `more` than these.
    Files that are `arriving` ask for nothing."""

    questions: tuple[Question, ...]
    lines: tuple[TrayLine, ...]
    more: int
    arriving: tuple[Arrival, ...] = ()


def take_stock(records: Records, folder: Path, found: Mapping[Path, Signature]) -> list[Path]:
    """Register what lies in a folder. The answer is what of it is to be taken: what has come since the server last
    looked, what it had begun with, and what it could not read then."""
    with records.writing() as db:
        is_first = arrival_records.begin_folder(db, str(folder.absolute()))
        known = arrival_records.newest_in(db, str(folder.absolute()))
        in_order = sorted(found, key=lambda path: (found[path][1], path.name))
        new = [path for path in in_order if not _is(known.get(path.name), found[path])]
        come = [path for path in new if path.name not in known or known[path.name].state not in _UNFINISHED]
        asks: tuple[Fact, ...] = ()
        if is_first:
            asks = (fact(Reason.FOUND_AT_FIRST_LOOK),)
        elif len(come) > MOST_AT_ONCE:
            asks = (fact(Reason.CAME_TOGETHER, files=len(come)),)
        for path in new:
            row = known[path.name] = _registered(db, known.get(path.name), path, found[path])
            if asks and path in come:
                row.state, row.why = ArrivalState.WAITING, asks
        there = set(found.values())
        for row in known.values():
            if row.state in _UNFINISHED and folder / row.path not in found:
                _gone(row, there)
            elif _waits_for(row, Reason.NOT_READ_YET, Reason.PART_MISSING):
                row.state, row.why = ArrivalState.SEEN, ()
        return [path for path in in_order if known[path.name].state in _UNFINISHED]


def seen(records: Records, path: Path, signature: Signature) -> Arrival:
    """Register that a file has come, or was written to again."""
    with records.writing() as db:
        arrival_records.begin_folder(db, str(path.parent.absolute()))
        return _registered(db, arrival_records.newest_at(db, str(path.parent.absolute()), path.name), path, signature)


def set_aside(records: Records, arrival_id: str, state: ArrivalState, *why: Fact, shot_id: str | None = None) -> None:
    """A file is no frame for now; `why` says what keeps it from being one, `shot_id` which shot it was filed to by a
    press."""
    with records.writing() as db:
        row = arrival_records.arrival_of(db, arrival_id)
        row.state, row.why, row.shot_id = state, why, shot_id


def ask_about(records: Records, arrival_ids: Collection[str], files: int) -> None:
    """Files came together with so many in all: they wait under one question. Those that were answered for meanwhile stay
    as they are."""
    with records.writing() as db:
        for row in (arrival_records.arrival_of(db, each) for each in arrival_ids):
            if row.state == ArrivalState.SEEN or _waits_for(row, Reason.CAME_TOGETHER):
                row.state, row.why = ArrivalState.WAITING, (fact(Reason.CAME_TOGETHER, files=files),)


def gone(records: Records, folder: Path, names: Collection[str], there: Collection[Signature]) -> None:
    """Files have vanished from a folder, in which such are `there`: of those that were not read it is said."""
    with records.writing() as db:
        for name in names:
            row = arrival_records.newest_at(db, str(folder.absolute()), name)
            if row is not None and (row.state in _UNFINISHED or _waits_for(row, Reason.NOT_READ_YET)):
                _gone(row, there)


def _gone(row: Arrival, there: Collection[Signature]) -> None:
    """A file vanished unread; one that lies there under another name was renamed."""
    was_renamed = (row.size_bytes, row.changed_ns) in there
    row.state = ArrivalState.DISMISSED if was_renamed else ArrivalState.REFUSED
    row.why = (fact(Reason.FILE_IS_GONE),)


def taken_in(
    db: Database, arrival_id: str, *, digest: str, frame_id: str, shot_id: str, why: tuple[Fact, ...]
) -> None:
    """Inside the transaction that logs it: a file is the picture of a frame."""
    row = arrival_records.arrival_of(db, arrival_id)
    row.state, row.why = ArrivalState.TAKEN, why
    row.digest, row.frame_id, row.shot_id = digest, frame_id, shot_id


def lines(records: Records, limit: int | None = MOST_LINES) -> tuple[TrayLine, ...]:
    """What waits or was refused, oldest first: a line for each exposure, told by the names of its files."""
    with records.reading() as db:
        rows = arrival_records.in_tray(db, limit)
    grouped: dict[tuple[str, str], list[Arrival]] = {}
    for row in rows:
        grouped.setdefault((row.folder, Path(row.path).stem.casefold()), []).append(row)
    return tuple(TrayLine(tuple(each)) for each in grouped.values())


def tray(records: Records) -> Tray:
    """All that waits or was refused, oldest first. A single line is no question."""
    asked: dict[tuple[str, Reason], list[TrayLine]] = {}
    others = []
    for line in lines(records, None):
        reason = next((each for each in _ASKED_ABOUT if all(_waits_for(row, each) for row in line.arrivals)), None)
        if reason is None:
            others.append(line)
        else:
            asked.setdefault((line.arrivals[0].folder, reason), []).append(line)
    others += [group[0] for group in asked.values() if len(group) == 1]
    questions = [Question(*key, tuple(group)) for key, group in asked.items() if len(group) > 1]
    with records.reading() as db:
        arriving = tuple(arrival_records.being_written(db, MOST_LINES))
    return Tray(tuple(questions), tuple(others[:MOST_LINES]), max(0, len(others) - MOST_LINES), arriving)


def files_in_question(records: Records, question_id: str) -> list[str]:
    """The files that are asked about together, by their ids. Raises Conflict where that was answered meanwhile."""
    for question in tray(records).questions:
        if question.id == question_id:
            return [each.id for each in question.arrivals]
    raise Conflict("That was answered already: look at what waits now.")


def files_of(records: Records, line_ids: Iterable[str]) -> list[str]:
    """The files of lines, by their ids. An id that is of no line (any more) stands for itself."""
    found = {line.id: [each.id for each in line.arrivals] for line in lines(records, None)}
    return [file_id for line_id in line_ids for file_id in found.get(line_id, [line_id])]


def count(records: Records) -> int:
    """How many files wait or were refused."""
    with records.reading() as db:
        return arrival_records.count_in_tray(db)


def dismiss(records: Records, arrival_ids: Iterable[str]) -> None:
    """Leave files out of the log. They stay where they lie, and in the register. Raises Conflict where one of them is
    not in the in-tray any more."""
    with records.writing() as db:
        for arrival_id in arrival_ids:
            for_press(db, arrival_id).state = ArrivalState.DISMISSED


def for_press(db: Database, arrival_id: str) -> Arrival:
    """A file that can be filed or dismissed. Raises NotFound and Conflict."""
    row = arrival_records.arrival_of(db, arrival_id)
    if row.state not in IN_TRAY:
        raise Conflict(f"{row.path} is not in the in-tray any more: it is {row.state}.")
    return row


def _is(row: Arrival | None, signature: Signature) -> bool:
    return row is not None and (row.size_bytes, row.changed_ns) == signature


def _waits_for(row: Arrival, *reasons: Reason) -> bool:
    return row.state == ArrivalState.WAITING and any(each.reason in reasons for each in row.why)


def _registered(db: Database, row: Arrival | None, path: Path, signature: Signature) -> Arrival:
    size_bytes, changed_ns = signature
    is_over = row is not None and row.state in (ArrivalState.TAKEN, ArrivalState.DISMISSED)
    if row is None or (is_over and not _is(row, signature)):
        row = Arrival(
            folder=str(path.parent.absolute()),
            path=path.name,
            size_bytes=size_bytes,
            changed_ns=changed_ns,
            state=ArrivalState.SEEN,
            digest=row.digest if row is not None else "",
        )
        db.add(row)
        return row
    row.size_bytes, row.changed_ns = signature
    if not is_over and not _waits_for(row, *_ASKED_ABOUT):
        row.state, row.why = ArrivalState.SEEN, ()
    return row
