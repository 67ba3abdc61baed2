"""Why a field of a form was refused: in the words of whoever fills it in, and what to do."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import pytest
from pydantic import BaseModel, Field, ValidationError, field_validator

from webapp.quantities.refused import invalid_fields


class Form(BaseModel, extra="forbid"):
    name: str = Field("rim", min_length=1, max_length=5, pattern="^[a-z]*$")
    width: float = Field(1.0, gt=0, le=20_000, allow_inf_nan=False)
    count: int = Field(1, ge=1, lt=9)
    lit: bool = True
    kind: Literal["gel", "other"] = "gel"
    names: Annotated[tuple[str, ...], Field(max_length=1)] = ()
    day: str = ""

    @field_validator("day")
    @classmethod
    def _is_a_day(cls, value: str) -> str:
        if value:
            raise ValueError("write a day as 2026-11-24")
        return value


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"name": ""}, "This is empty: write something."),
        ({"name": "shoulder"}, "This is too long: at most 5 characters are kept."),
        ({"name": "<b>"}, "This has signs that cannot be kept: write it as plain text."),
        ({"name": 5}, "A text is wanted here."),
        ({"width": "wide"}, "“wide” is no number: write it with digits."),
        ({"width": "nan"}, "“nan” is no number: write it with digits."),
        ({"width": None}, "A number is wanted here."),
        ({"width": "0"}, "“0” is too small: more than 0 is needed."),
        ({"width": 30_000}, "“30000” is too much: 20000 at most."),
        ({"count": "1.5"}, "“1.5” is no whole number: write it with digits."),
        ({"count": 0}, "“0” is too small: 1 or more is needed."),
        ({"count": 9}, "“9” is too much: it has to be less than 9."),
        ({"lit": "maybe"}, "“maybe” is neither yes nor no."),
        ({"kind": "grid"}, "“grid” is none of these: 'gel' or 'other'."),
        ({"names": ("a", "b")}, "These are too many: at most 1 are kept."),
        ({"weather": "fog"}, "There is no such field here."),
        ({"day": "soon"}, "Write a day as 2026-11-24."),
    ],
)
def test_a_refusal_says_what_is_wrong_and_what_is_wanted(said: dict[str, Any], told: str) -> None:
    with pytest.raises(ValidationError) as refused:
        Form.model_validate(said)

    (problem,) = invalid_fields(refused.value).problems

    assert (problem.where, str(problem)) == ((next(iter(said)),), told)
