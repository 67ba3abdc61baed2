"""What is traced of a plan ray by ray, asked for and answered as bytes: its shadows, and its shadow cards.

Both take longer than all else that follows from a plan, so a process of its own does them (`pictures.worker`). What goes
there and comes back is JSON, or a picture: it is read as values again, and nothing in it runs.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

from pydantic import TypeAdapter

from webapp.plan.shadows import Shadow, shadows
from webapp.plan.solids import Shape
from webapp.plan.staging import Plan
from webapp.plan.view import Look


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be traced of a plan; a card of the subject in a shape (None: as its size has it), or, with another plan
    `beside` it, both of their cards."""

    what: Literal["shadows", "card"]
    plan: Plan
    look: Look = "lens"
    shape: Shape | None = None
    beside: Plan | None = None


def asked_bytes(asked: Asked) -> bytes:
    return _reader(Asked).dump_json(asked)


def answered(asked: bytes) -> bytes:
    """What the process answers: shadows as JSON, a card as a PNG. Raises ValueError for what asks for nothing."""
    task: Asked = _reader(Asked).validate_json(asked)
    if task.what == "shadows":
        return _reader(tuple[Shadow, ...]).dump_json(shadows(task.plan))
    # A picture library, for the cards alone.
    from webapp.plan.shadow_card import shadow_card_png, side_by_side_png

    if task.beside is None:
        return shadow_card_png(task.plan, task.look, task.shape)
    return side_by_side_png(task.plan, task.beside, task.shape)


def shadows_from(answer: bytes) -> tuple[Shadow, ...]:
    """Raises ValueError for what are none."""
    found: tuple[Shadow, ...] = _reader(tuple[Shadow, ...]).validate_json(answer)
    return found


@lru_cache(maxsize=4)
def _reader(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)
