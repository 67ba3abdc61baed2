"""Glass in front of a bright field: how wide the field may be for its edges to come out dark."""

from __future__ import annotations

from typing import Any, Final

from pydantic import Field

from webapp.facts import fact
from webapp.optics import glass_edges
from webapp.worksheets.parameters import Parameters, Positive
from webapp.worksheets.reasons import Reason
from webapp.worksheets.sheet import Gives, Sheet, Worksheet, at, one_of


class EdgeCardsAsks(Parameters):
    glass_width_mm: Positive = Field(examples=["70"])
    wall_mm: Positive = Field(examples=["2"])
    inside_index: Positive = Field(1.0, examples=["1"])
    field_distance_mm: Positive = Field(examples=["300"])
    dark_edge_mm: Positive | None = Field(None, examples=["5"])
    field_width_mm: Positive | None = None
    glass_index: Positive = 1.52


def glass_of(asked: EdgeCardsAsks) -> glass_edges.Glass:
    """The glass that was asked about."""
    return glass_edges.Glass(asked.glass_width_mm, asked.wall_mm, asked.glass_index, asked.inside_index)


def _edge_cards(asked: EdgeCardsAsks) -> Sheet:
    with at("wall_mm"):
        glass = glass_of(asked)
    b = asked.field_distance_mm
    with at(one_of(asked, "dark_edge_mm", "field_width_mm")):
        if asked.dark_edge_mm is not None:
            width = glass_edges.field_for_edge_mm(glass, b, asked.dark_edge_mm)
            edge = asked.dark_edge_mm
        else:
            assert asked.field_width_mm is not None
            width = asked.field_width_mm
            edge = glass_edges.dark_edge_mm(glass, b, width)
    at_edge = min(max(glass.radius_mm - edge, 0.0), glass.radius_mm * (1.0 - 1e-9))
    ray = glass_edges.ray_through(glass, at_edge)
    given: dict[str, Any] = {
        "R": glass.radius_mm,
        "q": glass.inner_radius_mm,
        "x": at_edge,
        "n": glass.index,
        "k": glass.inside_index,
    }
    meets = glass_edges.meets_field_mm(glass, at_edge, b)
    return Sheet(
        {
            "field_width_mm": width,
            "dark_edge_mm": edge,
            "edge_share": edge / asked.glass_width_mm,
            "from_axis_mm": width / 2.0,
            "meets_mm": meets,
        },
        (
            glass_edges.TURN_THROUGH.worked(ray.turn_deg, **given),
            glass_edges.MEETS_FIELD.worked(meets, x=ray.x_mm, δ=ray.turn_deg, b=b, y=ray.y_mm),
        ),
        (fact(Reason.RIM_MAY_BE_BRIGHT), fact(Reason.CARDS_OFF_LAMPS)),
    )


EDGE_CARDS: Final = Worksheet(
    name="edge-cards",
    asks=EdgeCardsAsks,
    work=_edge_cards,
    gives=(
        Gives("field_width_mm"),
        Gives("dark_edge_mm"),
        Gives("from_axis_mm"),
        Gives("edge_share"),
        Gives("meets_mm", may_be_none=True),
    ),
    blame="field_distance_mm",
)
