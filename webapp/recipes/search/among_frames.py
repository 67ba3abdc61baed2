"""Find frames: the same box asks them what it asks recipes, as far as a frame has it, and what only frames have.

Which frames meet everything comes out of one walk over marks and words, those logged last first. Two frames named by their
numbers are compared, in every shot that has both.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from sqlmodel import Session as Database

from webapp.facts import Fact, fact
from webapp.ledger.entries import Comparison
from webapp.recipes.reasons import Reason
from webapp.recipes.search.asking import Asked, Group, read_question
from webapp.recipes.search.finding import COUNTED_UP_TO, PAGE, Stated
from webapp.recipes.search.stated import About, Condition
from webapp.recipes.search.vocabulary import synonyms
from webapp.records import frame_search, recipe_search
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.recipe_search import AnyRange, Marks, Range, Wanted
from webapp.records.tables import Frame, FrameLine, Session, Shot, now
from webapp.shoots.frames import ledger_between

_SHOTS_OVER = 500
_MOST_COMPARED = 3
_COLUMNS: Final[Mapping[About, str]] = {
    About.LIGHTS: "light_count",
    About.APERTURE: "f_number",
    About.SHUTTER: "shutter_s",
    About.ISO: "iso",
    About.FOCAL_LENGTH: "focal_mm",
    About.MAGNIFICATION: "magnification",
    About.ENERGY: "energy_j",
    About.UNEXPLAINED: "unexplained_stops",
    About.DAY: "made_on",
}
_MARKED: Final = frozenset(
    {About.ROLE, About.LETTER, About.DIAL, About.KIND, About.PURPOSE, About.VERDICT, About.STATE}
)


@dataclass(frozen=True, slots=True)
class FoundFrame:
    """A frame that answers, with its shot and session."""

    line: FrameLine
    frame: Frame
    shot: Shot
    session: Session


@dataclass(frozen=True, slots=True)
class Between:
    """What changed from one frame of a shot to another."""

    shot: Shot
    first: Frame
    second: Frame
    changed: Comparison


@dataclass(frozen=True, slots=True)
class FoundFrames:
    """A page of the frames that answer, the last logged first; `count` is exact below COUNTED_UP_TO. `shots` are those
    that the newest _SHOTS_OVER of them are of. `between` compares the two that the question names."""

    frames: tuple[FoundFrame, ...] = ()
    count: int = 0
    shots: tuple[tuple[Shot, int], ...] = ()
    between: tuple[Between, ...] = ()
    stated: tuple[Stated, ...] = ()
    as_words: tuple[str, ...] = ()
    says: tuple[Fact, ...] = ()


class _Words:
    """What is known of the words of frames: there are wordings of the trade, and no list of words that were mistyped."""

    def __init__(self, db: Database) -> None:
        self._db = db
        terms = recipe_search.wordings(db)
        self.wordings = synonyms((term, others.splitlines()) for term, others in terms)

    def known(self, beginning: str) -> bool:
        return frame_search.has_word(self._db, beginning)

    def alike(self, word: str) -> tuple[str, ...]:
        return ()

    def is_recorded(self, match: str) -> bool:
        return False


def find_frames(records: Records, question: str, limit: int = PAGE, offset: int = 0) -> FoundFrames:
    """The frames for a question, from `offset` on."""
    with records.reading() as db:
        asked = read_question(question, _Words(db), now().date(), of_frames=True)
        beyond = [each for each in asked.conditions if not _can_be_asked(each)]
        if beyond:
            says = (
                fact(Reason.NOT_ASKED_OF_FRAMES, figures=tuple(dict.fromkeys(each.about.value for each in beyond))),
            )
            return FoundFrames(stated=tuple(map(Stated, asked.conditions)), as_words=asked.as_words, says=says)
        numbers = [each for each in asked.conditions if each.about is About.NUMBER]
        if numbers:
            return _by_number(db, records, asked, numbers[0])
        wanted = _wanted(asked.conditions, asked.groups)
        keys = frame_search.find_newest(db, wanted, max(limit + offset, _SHOTS_OVER))
        count = len(keys)
        if count >= max(limit + offset, _SHOTS_OVER):
            count = frame_search.count_found(db, wanted, COUNTED_UP_TO)
        return FoundFrames(
            frames=_frames(db, keys[offset : offset + limit]),
            count=count,
            shots=_shots(db, keys[:_SHOTS_OVER]),
            stated=_stated(db, asked, count),
            as_words=asked.as_words,
        )


def _can_be_asked(condition: Condition) -> bool:
    if condition.about is About.NUMBER or condition.about in _MARKED:
        return True
    return condition.about in _COLUMNS and condition.of is None


def _wanted(conditions: Sequence[Condition], groups: Sequence[Group]) -> Wanted:
    wanted = Wanted(match=" AND ".join(group.match for group in groups))
    for each in conditions:
        if each.marks:
            wanted = replace(wanted, marks=(*wanted.marks, Marks(each.marks, each.negated)))
        else:
            column = _COLUMNS[each.about]
            ranges = tuple(Range(column, said.low, said.high) for said in each.reaches)
            wanted = replace(wanted, any_ranges=(*wanted.any_ranges, AnyRange(ranges, each.negated)))
    return wanted


def _frames(db: Database, keys: Sequence[int]) -> tuple[FoundFrame, ...]:
    return tuple(FoundFrame(*each) for each in frame_search.frames_with(db, keys))


def _shots(db: Database, keys: Sequence[int]) -> tuple[tuple[Shot, int], ...]:
    return tuple((shot_records.shot_of(db, shot_id), count) for shot_id, count in frame_search.shots_among(db, keys))


def _stated(db: Database, asked: Asked, count: int) -> tuple[Stated, ...]:
    """The conditions; where nothing meets them all, each with how many meet the others."""

    def without(left_out: Condition) -> int:
        others = [each for each in asked.conditions if each is not left_out]
        return frame_search.count_found(db, _wanted(others, asked.groups), COUNTED_UP_TO)

    return tuple(Stated(each, None if count else without(each)) for each in asked.conditions)


def _by_number(db: Database, records: Records, asked: Asked, named: Condition) -> FoundFrames:
    """The frames that have the numbers, in the shots that have them all; two of them are compared."""
    numbers = [int(each.value) for each in named.reaches if isinstance(each.value, float | int)]
    match = " AND ".join(group.match for group in asked.groups)
    others = [each for each in asked.conditions if each is not named]
    shots = [
        shot_records.shot_of(db, shot_id) for shot_id in frame_search.shots_with_numbers(db, numbers, match, PAGE)
    ]
    found: list[FoundFrame] = []
    between: list[Between] = []
    meeting = set(frame_search.find_newest(db, _wanted(others, asked.groups), COUNTED_UP_TO)) if others else None
    for shot in shots:
        rows = [shot_records.frame_with_number(db, shot.id, number) for number in numbers]
        lines = {
            each.line.frame_id: each for each in _frames(db, frame_search.keys_of(db, [r.id for r in rows if r]))
        }
        kept = [lines[row.id] for row in rows if row and row.id in lines]
        if meeting is not None:
            kept = [each for each in kept if each.line.key in meeting]
        found += kept
        if len(numbers) == 2 and len(kept) == 2 and len(between) < _MOST_COMPARED:
            first, second = kept[0].frame, kept[1].frame
            between.append(Between(shot, first, second, ledger_between(records, second.id, first.id)))
    return FoundFrames(
        frames=tuple(found[:PAGE]),
        count=len(found),
        shots=tuple((shot, sum(each.shot.id == shot.id for each in found)) for shot in shots),
        between=tuple(between),
        stated=tuple(map(Stated, asked.conditions)),
        as_words=asked.as_words,
    )
