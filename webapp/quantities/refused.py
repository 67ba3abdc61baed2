"""Why a field of a form was refused, in a sentence that says what to do. The library that checks the forms speaks to
programmers: "String should have at least 1 character"."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from webapp.errors import InvalidValue, SeveralInvalid
from webapp.quantities.reading import quoted


@dataclass(frozen=True, slots=True)
class Refused:
    """The text of a refusal; in braces what it repeats: `said`, and the bounds by the names that the library has."""

    text: str

    def at(self, error: Mapping[str, Any]) -> str:
        """The sentence for one field."""
        return self.text.format(said=quoted(str(error.get("input", ""))), **error.get("ctx", {}))


_NO_NUMBER: Final = Refused("{said} is no number: write it with digits.")
_NO_WHOLE_NUMBER: Final = Refused("{said} is no whole number: write it with digits.")
_SENTENCES: Final[Mapping[str, Refused]] = {
    "missing": Refused("This is missing."),
    "extra_forbidden": Refused("There is no such field here."),
    "string_too_short": Refused("This is empty: write something."),
    "string_too_long": Refused("This is too long: at most {max_length} characters are kept."),
    "string_pattern_mismatch": Refused("This has signs that cannot be kept: write it as plain text."),
    "string_type": Refused("A text is wanted here."),
    "too_long": Refused("These are too many: at most {max_length} are kept."),
    "too_short": Refused("These are too few: at least {min_length}."),
    "float_parsing": _NO_NUMBER,
    "float_type": Refused("A number is wanted here."),
    "finite_number": _NO_NUMBER,
    "int_parsing": _NO_WHOLE_NUMBER,
    "int_parsing_size": _NO_WHOLE_NUMBER,
    "int_type": Refused("A whole number is wanted here."),
    "int_from_float": _NO_WHOLE_NUMBER,
    "bool_parsing": Refused("{said} is neither yes nor no."),
    "bool_type": Refused("Yes or no is wanted here, as true or false."),
    "greater_than": Refused("{said} is too small: more than {gt:.12g} is needed."),
    "greater_than_equal": Refused("{said} is too small: {ge:.12g} or more is needed."),
    "less_than": Refused("{said} is too much: it has to be less than {lt:.12g}."),
    "less_than_equal": Refused("{said} is too much: {le:.12g} at most."),
    "literal_error": Refused("{said} is none of these: {expected}."),
    "enum": Refused("{said} is none of these: {expected}."),
}


def sentence_of(error: ErrorDetails | Mapping[str, Any]) -> str:
    """What is wrong with one field, and what it takes. What a model says itself stands as it says it."""
    refused = _SENTENCES.get(error["type"])
    if refused is not None:
        return refused.at(error)
    message = error["msg"].removeprefix("Value error, ").rstrip(".")
    return message[:1].upper() + message[1:] + "."


def invalid_fields(error: ValidationError, whole: str = "form") -> SeveralInvalid:
    """A form's problems as the error tree has them: each at its field, in a sentence; `whole` names what is no field's."""
    return SeveralInvalid(
        [
            InvalidValue(tuple(str(part) for part in each["loc"]) or (whole,), sentence_of(each))
            for each in error.errors(include_url=False)
        ]
    )
