"""The balance sheet as a template may print it: every figure and word decided here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from webapp.ledger.assessment import Assessment, LightBalance
from webapp.ledger.corrections import EVEN_WITHIN_STOPS
from webapp.ledger.entries import Cause
from webapp.ledger.evidence import FrameEvidence
from webapp.ledger.exposures import AMBIENT
from webapp.ledger.set_up import SetUp
from webapp.ledger.ways import Correction
from webapp.ledger.wishes import PowerWish
from webapp.ledger.workings import Around, working_of_balance, working_of_sharpness
from webapp.optics.working import Step
from webapp.quantities.lengths import Lengths
from webapp.shoots.evidence import StandingEvidence
from webapp.web.pages.figures import signed, tone
from webapp.web.pages.standing_evidence_view import RatioView, ratio_view, total_lines
from webapp.web.words.balance import against_words
from webapp.web.words.corrections import key_of, sentence_of
from webapp.web.words.entries import OWN_CAUSES, entry_words
from webapp.web.words.listing import joined
from webapp.web.words.say import say
from webapp.web.words.workings import fence_post_words


@dataclass(frozen=True, slots=True)
class BalanceRow:
    """One ruled line: a cause, and what it does to each column."""

    label: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CorrectionView:
    """A correction: `action` is what its key says; one that `turns_back` takes back what was just changed."""

    digest: str
    action: str
    sentence: str
    turns_back: bool


@dataclass(frozen=True, slots=True)
class WorkingView:
    """The working behind one column of the balance."""

    name: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class WishedView:
    """The other ways to a power that a head does not have, by what it is, and the wish as the page sends it along."""

    what: str
    light: str
    power: str
    ways: tuple[CorrectionView, ...]


@dataclass(frozen=True, slots=True)
class BalanceView:
    """The balance sheet of the set-up now (or of a frame)."""

    against: str
    columns: tuple[str, ...]
    rows: tuple[BalanceRow, ...]
    balances: tuple[tuple[str, str], ...]
    targets: tuple[str, ...]
    even_words: str
    ways: tuple[CorrectionView, ...]
    notes: tuple[str, ...]
    total: str
    fence_post: str
    workings: tuple[WorkingView, ...]
    measured: tuple[str, ...] = ()
    ratio: RatioView | None = None
    problem: str = ""
    wished: WishedView | None = None


def balance_view(assessment: Assessment, set_up: SetUp, lengths: Lengths) -> BalanceView:
    """The ruled sheet: a line a cause, a column a light, the balance below; lengths as the reader likes them."""
    lines = [*assessment.lit, assessment.ambient] if assessment.reference_number is not None else list(assessment.lit)
    return BalanceView(
        against=taken_against(assessment),
        columns=tuple(line.acts_on for line in lines),
        rows=_rows(lines, lengths),
        balances=tuple((signed(line.stops), _line_tone(line)) for line in lines),
        targets=tuple(signed(line.target_stops) if line.target_stops else "" for line in lines),
        even_words=even_words(assessment),
        ways=ways_of(assessment, lengths),
        notes=tuple(
            dict.fromkeys([*(say(note, lengths) for note in assessment.notes), *_stand_in_words(assessment)])
        ),
        total=_total_words(assessment),
        fence_post=next(
            (words for line in lines for entry in line.entries if (words := fence_post_words(entry))), ""
        ),
        workings=(
            *(_working_view(line, set_up) for line in lines if line.entries),
            *_sharpness_working(set_up),
        ),
    )


def _line_tone(line: LightBalance) -> str:
    return "plain" if line.acts_on == AMBIENT else tone(line.stops, line.target_stops)


def taken_against(assessment: Assessment) -> str:
    """What the balances are taken against: "against frame 3"."""
    if assessment.reference_number is not None:
        return f"against frame {assessment.reference_number}"
    if assessment.stand_in:
        return f"against {against_words(assessment.stand_in)}"
    if any(line.metered for line in assessment.lights):
        return "against the meter reading"
    return "no reference frame yet"


def _stand_in_words(assessment: Assessment) -> tuple[str, ...]:
    if not assessment.stand_in:
        return ()
    against = against_words(assessment.stand_in)
    return (f"Balanced against {against} until a frame of this shot is made the reference frame.",)


def with_evidence(view: BalanceView, evidence: StandingEvidence) -> BalanceView:
    """The sheet with what the pictures add: totals by measured shares, and the lighting ratio. A measured total takes
    the place of the words that there is none."""
    measured = any(each.total.stops is not None for each in evidence.totals)
    return replace(
        view,
        total="" if measured else view.total,
        measured=total_lines(evidence),
        ratio=ratio_view(evidence),
    )


def with_predictions(view: BalanceView, evidence: FrameEvidence) -> BalanceView:
    """The sheet of a frame with what each patch ought to read by the shares; the words that there is no total go."""
    told = [each for each in evidence.patches if each.predicted_stops is not None]
    if not told or len(view.columns) < 3:
        return view
    lines = tuple(f"Total at {each.name} {signed(each.predicted_stops)}." for each in told)
    return replace(view, total="", measured=lines)


_OF_ONE_COLUMN: Final = (*OWN_CAUSES, Cause.METERED)


def _rows(lines: list[LightBalance], lengths: Lengths) -> tuple[BalanceRow, ...]:
    """One line for a cause that acts on several columns alike, one for each light where the cause is its own."""
    rows: dict[tuple[Cause, str, str], dict[str, str]] = {}
    several = sum(1 for line in lines if line.acts_on != AMBIENT) > 1
    for line in lines:
        for entry in line.entries:
            whose = entry.acts_on if entry.cause in _OF_ONE_COLUMN and several else ""
            label = entry_words(entry, lengths, named=False)
            rows.setdefault((entry.cause, whose, label), {})[line.acts_on] = signed(entry.stops)
    order = list(Cause)
    return tuple(
        BalanceRow(
            label=f"{whose} {label}".strip(),
            cells=tuple(cells.get(line.acts_on, "") for line in lines),
        )
        for (_, whose, label), cells in sorted(rows.items(), key=lambda row: (order.index(row[0][0]), row[0][1]))
    )


def ways_of(assessment: Assessment, lengths: Lengths) -> tuple[CorrectionView, ...]:
    """What would put the balances right, the best first."""
    return tuple(_correction_view(each, lengths) for each in assessment.corrections)


def wished_view(wish: PowerWish, ways: Sequence[Correction], lengths: Lengths) -> WishedView | None:
    """The ways to a wished power; None where there are none."""
    shown = tuple(_correction_view(each, lengths) for each in ways)
    return WishedView(say(ways[0].stands), wish.letter, wish.typed, shown) if ways else None


def can_intend(assessment: Assessment) -> tuple[str, ...]:
    """The lights that are off their target, which may be what is intended."""
    off = ((line.acts_on, line.off_by) for line in assessment.lit)
    return tuple(letter for letter, stops in off if stops is not None and abs(stops) >= EVEN_WITHIN_STOPS)


def _correction_view(correction: Correction, lengths: Lengths) -> CorrectionView:
    return CorrectionView(
        digest=correction.digest,
        action=key_of(correction, lengths),
        sentence=sentence_of(correction, lengths),
        turns_back=correction.turns_back,
    )


def even_words(assessment: Assessment) -> str:
    """That every light is on its target, or what is to be done before there is one; "" where one is off."""
    lit = assessment.lit
    if not lit:
        return "Every light is off."
    if any(line.off_by is None for line in lit):
        stands = assessment.reference_number is not None or assessment.stand_in
        return "" if stands else "Log a frame: the first becomes the reference."
    if can_intend(assessment):
        return ""
    return f"{joined([line.acts_on for line in lit])} on target."


def _total_words(assessment: Assessment) -> str:
    if len(assessment.lit) < 2:
        return ""
    if assessment.total_stops is not None:
        return f"Total {signed(assessment.total_stops)}: {say(assessment.total_reason)}."
    return say(assessment.total_reason)


def _sharpness_working(set_up: SetUp) -> tuple[WorkingView, ...]:
    steps = working_of_sharpness(set_up)
    return (WorkingView("opening, diffraction and depth", tuple(steps)),) if steps else ()


def _working_view(line: LightBalance, set_up: SetUp) -> WorkingView:
    steps = working_of_balance(line.entries, line.stops, Around.of(set_up, line.acts_on))
    return WorkingView(line.name, tuple(steps))
