"""The working behind an entry and a balance: the relations of webapp.optics with the ledger's numbers in them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from webapp.ledger.entries import Cause, Entry
from webapp.ledger.exposures import AMBIENT
from webapp.optics import exposure, sources
from webapp.optics.scales import Dial, Quantity, nearest_mark
from webapp.optics.working import Relation, Step, Symbol

_SAME_SLOPE: Final = 1e-9
EXACT_STEPS = "marked values count as the exact steps they name"

POWER_CHANGE: Final = Relation(
    result="change by the energy",
    unit="stops",
    formula="Δ = p2 − p1",
    latex=r"\Delta = p_2 - p_1",
    symbols=(
        Symbol("p1", "power before, stops below full", "stops"),
        Symbol("p2", "power after, stops below full", "stops"),
    ),
    source="definition",
    assumptions=("one head; its dial keeps its word",),
)
LEARNED_POWER_CHANGE: Final = Relation(
    result="change by the energy",
    unit="stops",
    formula="Δ = k (p2 − p1)",
    latex=r"\Delta = k \, (p_2 - p_1)",
    symbols=(
        Symbol("k", "what one marked stop of this head gives", "stops"),
        Symbol("p1", "power before, stops below full", "stops"),
        Symbol("p2", "power after, stops below full", "stops"),
    ),
    source="definition",
    assumptions=("k is the median of the head's own readings",),
)
LOSS_CHANGE: Final = Relation(
    result="change by what stands in the beam",
    unit="stops",
    formula="Δ = l1 − l2",
    latex=r"\Delta = l_1 - l_2",
    symbols=(Symbol("l1", "loss before", "stops"), Symbol("l2", "loss after", "stops")),
    source="definition",
    assumptions=("losses as the kit has them",),
)
CLOSE_UP_CHANGE: Final = Relation(
    result="change by the close-up loss",
    unit="stops",
    formula="Δ = −2 log2((1 + m2/P) / (1 + m1/P))",
    latex=r"\Delta = -2 \log_2 \frac{1 + m_2 / P}{1 + m_1 / P}",
    symbols=(
        Symbol("m1", "magnification before"),
        Symbol("m2", "magnification after"),
    ),
    source="close-up-increase",
    assumptions=("metered by hand or flash; a reading through the lens has it already",),
)
POPS_CHANGE: Final = Relation(
    result="change by the pops",
    unit="stops",
    formula="Δ = log2(n2 / n1)",
    latex=r"\Delta = \log_2 \frac{n_2}{n_1}",
    symbols=(Symbol("n1", "flashes before"), Symbol("n2", "flashes after")),
    source="guide-number",
    assumptions=("equal flashes; nothing moves between them",),
)
BALANCE: Final = Relation(
    result="balance",
    unit="stops",
    formula="balance = sum of the entries",
    latex=r"b = \sum_i \Delta_i",
    symbols=(Symbol("n", "number of entries"),),
    source="definition",
    assumptions=("stops are logarithms of light factors, so factors that multiply are stops that add",),
)


def working_of_entry(entry: Entry, source: sources.Source | None = None) -> Step | None:
    """The step behind one entry; None where it is unknown. `source` is the emitting face, for a distance."""
    was, now = entry.given
    if entry.stops is None or was is None or now is None:
        return None
    if entry.cause is Cause.APERTURE:
        return exposure.APERTURE_CHANGE.worked(entry.stops, N1=was, N2=now, assuming=(EXACT_STEPS,))
    if entry.cause is Cause.SHUTTER:
        return exposure.SHUTTER_CHANGE.worked(entry.stops, t1=was, t2=now, assuming=(EXACT_STEPS,))
    if entry.cause is Cause.ISO:
        return exposure.ISO_CHANGE.worked(entry.stops, S1=was, S2=now, assuming=(EXACT_STEPS,))
    if entry.cause is Cause.CLOSE_UP:
        return CLOSE_UP_CHANGE.worked(entry.stops, m1=was, m2=now)
    if entry.cause is Cause.ENERGY:
        if now != was and abs((slope := entry.stops / (now - was)) - 1.0) > _SAME_SLOPE:
            return LEARNED_POWER_CHANGE.worked(entry.stops, k=slope, p1=was, p2=now)
        return POWER_CHANGE.worked(entry.stops, p1=was, p2=now)
    if entry.cause is Cause.POPS:
        return POPS_CHANGE.worked(entry.stops, n1=was, n2=now)
    if entry.cause is Cause.DISTANCE:
        return _distance_step(entry.stops, was, now, source or sources.Point())
    return LOSS_CHANGE.worked(entry.stops, l1=was, l2=now)


def _distance_step(stops: float, was: float, now: float, source: sources.Source) -> Step:
    if isinstance(source, sources.Point):
        return sources.INVERSE_SQUARE.worked(stops, d_1=was, d_2=now)
    return sources.CHANGE_WITH_DISTANCE.worked(
        stops,
        e_1=sources.illuminance_per_intensity(source, was),
        e_2=sources.illuminance_per_intensity(source, now),
        assuming=(f"the face is a {type(source).__name__.lower()} and glows evenly",),
    )


def working_of_balance(
    entries: Sequence[Entry], balance_stops: float | None, source: sources.Source | None
) -> list[Step]:
    """The steps behind a balance: each entry, then their sum."""
    steps = [step for entry in entries if (step := working_of_entry(entry, source)) is not None]
    steps.append(BALANCE.worked(balance_stops, n=float(len(entries))))
    return steps


def fence_post_words(entry: Entry) -> str:
    """Marks and gaps of a change of aperture, counted out: "f/5.6, 8, 11, 16, 22: four gaps, five marks"."""
    was, now = entry.given
    if entry.cause is not Cause.APERTURE or entry.acts_on == AMBIENT or was is None or now is None:
        return ""
    from_stop, to_stop = 2 * math.log2(was), 2 * math.log2(now)
    gaps = abs(to_stop - from_stop)
    if gaps < 2 or abs(gaps - round(gaps)) > 1e-6 or abs(from_stop - round(from_stop)) > 1e-6 or gaps > 8:
        return ""
    low, high = sorted((round(from_stop), round(to_stop)))
    marks = [nearest_mark(Quantity.F_NUMBER, stop, Dial.FULL).text for stop in range(low, high + 1)]
    words = ("two", "three", "four", "five", "six", "seven", "eight", "nine")
    count = round(gaps)
    return f"f/{', '.join(marks)}: {words[count - 2]} gaps, {words[count - 1]} marks"
