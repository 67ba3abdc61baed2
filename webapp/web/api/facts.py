"""A fact as the API tells it: its reason out of a closed list, what it is about, and its values. The sentence that is
made of it stands beside it, under the name that it always had."""

from __future__ import annotations

from collections.abc import Iterable

from pydantic import BaseModel, Field

from webapp.facts import Fact


class FactAnswer(BaseModel):
    """What a sentence was made of. Stops are numbers, lengths are in millimetres, marks are texts."""

    reason: str
    about: str = Field(description="a light's letter, a patch or another name; empty for the whole")
    values: dict[str, bool | int | float | str | list[str] | list[float] | None]

    @classmethod
    def of(cls, told: Fact) -> FactAnswer:
        values = {name: list(value) if isinstance(value, tuple) else value for name, value in told.values.items()}
        return cls.model_validate({"reason": told.reason, "about": told.about, "values": values})

    @classmethod
    def maybe(cls, told: Fact | None) -> FactAnswer | None:
        return None if told is None else cls.of(told)

    @classmethod
    def all_of(cls, told: Iterable[Fact]) -> list[FactAnswer]:
        return [cls.of(each) for each in told]
