"""The relations behind the entries of a ledger that are plain differences: of power, of losses, of close-up exposure
increase, of pops; and the balance that they add up to. The functions of the relations with a formula of their own
stand in their modules; here is what a working shows of the differences.
"""

from __future__ import annotations

from typing import Final

from webapp.optics.assumptions import Assumption
from webapp.optics.working import Relation, Symbol

POWER_CHANGE: Final = Relation(
    result="change by the power",
    unit="stops",
    formula="Δ = p2 − p1",
    latex=r"\Delta = p_2 - p_1",
    symbols=(
        Symbol("p1", "power before, stops below full", "stops"),
        Symbol("p2", "power after, stops below full", "stops"),
    ),
    source="definition",
    assumptions=(Assumption.ONE_HEAD,),
)
LEARNED_POWER_CHANGE: Final = Relation(
    result="change by the power",
    unit="stops",
    formula="Δ = k (p2 − p1)",
    latex=r"\Delta = k \, (p_2 - p_1)",
    symbols=(
        Symbol("k", "what one marked stop of this head gives", "stops"),
        Symbol("p1", "power before, stops below full", "stops"),
        Symbol("p2", "power after, stops below full", "stops"),
    ),
    source="definition",
    assumptions=(Assumption.OWN_SLOPE,),
)
LOSS_CHANGE: Final = Relation(
    result="change by what stands in the beam",
    unit="stops",
    formula="Δ = l1 − l2",
    latex=r"\Delta = l_1 - l_2",
    symbols=(Symbol("l1", "loss before", "stops"), Symbol("l2", "loss after", "stops")),
    source="definition",
)
CLOSE_UP_CHANGE: Final = Relation(
    result="change by the magnification",
    unit="stops",
    formula="Δ = i1 − i2, i1 = 2 log2(1 + m1 / P), i2 = 2 log2(1 + m2 / P)",
    latex=r"\Delta = i_1 - i_2, \quad i_{1,2} = 2 \log_2 \left( 1 + \frac{m_{1,2}}{P} \right)",
    symbols=(
        Symbol("i1", "exposure increase before", "stops"),
        Symbol("i2", "exposure increase after", "stops"),
        Symbol("m1", "magnification before"),
        Symbol("m2", "magnification after"),
        Symbol("P", "pupil magnification"),
    ),
    source="close-up-increase",
    assumptions=(Assumption.NOT_THROUGH_LENS,),
)
POPS_CHANGE: Final = Relation(
    result="change by the pops",
    unit="stops",
    formula="Δ = log2(n2 / n1)",
    latex=r"\Delta = \log_2 \frac{n_2}{n_1}",
    symbols=(Symbol("n1", "flashes before"), Symbol("n2", "flashes after")),
    source="guide-number",
    assumptions=(Assumption.EQUAL_FLASHES,),
)
METERED_CHANGE: Final = Relation(
    result="change of the level at the subject",
    unit="stops",
    formula="Δ = A2 − A1, A = 2 log2(metered f-number)",
    latex=r"\Delta = A_2 - A_1, \quad A = 2 \log_2 N",
    symbols=(
        Symbol("A1", "metered level there, at ISO 100", "stops"),
        Symbol("A2", "metered level here, at ISO 100", "stops"),
    ),
    source="definition",
    assumptions=(Assumption.ONE_METER_ALONE,),
)
BALANCE: Final = Relation(
    result="balance",
    unit="stops",
    formula="balance = Σ entries",
    latex=r"b = \sum_i \Delta_i",
    symbols=(Symbol("Σ", "sum of the entries that act on this light", "stops"),),
    source="definition",
    assumptions=(Assumption.STOPS_ADD_UP,),
)
