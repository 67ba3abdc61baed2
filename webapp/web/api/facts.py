"""What every answer is, and a fact as one: its reason out of a closed list, what it is about, and its values. The
sentence that is made of it stands beside it, under the name that it always had."""

from __future__ import annotations

from collections.abc import Iterable

from pydantic import BaseModel, ConfigDict, Field

from webapp.facts import Fact


class Answer(BaseModel):
    """What is answered: read off the attributes of a value of the house."""

    model_config = ConfigDict(from_attributes=True)


class FactAnswer(Answer):
    """What a sentence was made of. Stops are numbers, lengths are in millimetres, marks are texts."""

    reason: str
    about: str = Field(description="a light's letter, a patch or another name; empty for the whole")
    values: dict[str, bool | int | float | str | list[str] | list[float] | None]

    @classmethod
    def maybe(cls, told: Fact | None) -> FactAnswer | None:
        return None if told is None else cls.model_validate(told)

    @classmethod
    def all_of(cls, told: Iterable[Fact]) -> list[FactAnswer]:
        return [cls.model_validate(each) for each in told]
