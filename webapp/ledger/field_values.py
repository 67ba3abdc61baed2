"""Values of the fields of a set-up: read from what was typed or sent, written into the set-up, and told.

What was typed is read once, at the edge, by a `Reader`, into a typed value; `write` gives the set-up with one field set
to it, or refuses it with a sentence and leaves the set-up as it was. Which fields there are says `ledger.fields`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, TypeVar

from webapp.errors import InvalidValue, NotFound
from webapp.ledger import placing
from webapp.ledger.fields import NOT_THERE, Field, KitShelf, field_of, moves_with
from webapp.ledger.grammars import (
    Keypad,
    Steps,
    Value,
)
from webapp.ledger.set_up import (
    Light,
    SetUp,
)
from webapp.plan.positions import Thing
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.reading import BeyondRange


class Reader:
    """Reads what was typed or sent into typed values, one field after the other, each on the dials as the fields before
    it leave them. `set_up` is the set-up with everything in it that was read so far."""

    def __init__(self, set_up: SetUp, shelf: KitShelf, lengths: Lengths = CENTIMETRES) -> None:
        self.set_up, self.lengths = set_up, lengths
        self._shelf = shelf

    def typed(self, path: str, text: str) -> Value:
        """A field as it was typed. One that still reads as it is written keeps what stands, which may be finer.

        Raises InvalidValue at the field for what it cannot hold, and NotFound for a field that there is not.
        """
        owner, field = _owner_and_field(self.set_up, path)
        stands, grammar = field.get(owner), field.grammar
        if grammar.is_typed and text.strip() and text.strip() in _written(field, owner, self.lengths):
            return self.take(path, stands)
        return self.take(path, _at(path, lambda: grammar.read(text, owner, self.lengths)))

    def sent(self, path: str, value: Any) -> Value:
        """A field as JSON holds it: text as it would be typed in centimetres, a number in millimetres or in stops below
        full, yes or no, a list of ids, or null. Raises as `typed` does."""
        owner, field = _owner_and_field(self.set_up, path)
        if value is None:
            read: Value = None
        elif isinstance(value, bool):
            read = _at(path, lambda: field.grammar.of_switch(value))
        elif isinstance(value, int | float):
            read = _at(path, lambda: field.grammar.of_number(float(value), owner))
        elif isinstance(value, list):
            read = _at(path, lambda: field.grammar.of_list(tuple(str(each) for each in value)))
        else:
            read = _at(path, lambda: field.grammar.read(str(value), owner, self.lengths))
        return self.take(path, read)

    def take(self, path: str, value: Value) -> Value:
        """Go on from the set-up with a typed value in it. Raises as `write` does."""
        self.set_up = write(self.set_up, path, value, self._shelf)
        return value


def _written(field: Field, owner: Any, lengths: Lengths) -> set[str]:
    """The texts that a field stands on a page as."""
    value = field.get(owner)
    return {field.grammar.text(value, owner, lengths), field.grammar.shown(value, owner, lengths)}


def write(set_up: SetUp, path: str, value: Value, shelf: KitShelf, lengths: Lengths = CENTIMETRES) -> SetUp:
    """The set-up with one field set to a typed value, or moved from where it stands (`Steps`, which for a length are
    marks of the tape of `lengths`; `More`).

    Raises InvalidValue at the field, and NotFound for a field or an item of kit that there is not.
    """
    owner, field = _owner_and_field(set_up, path)

    def written() -> Any:
        stands = field.get(owner)
        if isinstance(value, Steps):
            settled: Any = field.grammar.stepped(stands, value.count, owner, lengths)
        else:
            settled = field.grammar.settled(stands, value, owner)
        if settled is None and not field.can_be_unknown:
            raise ValueError(f"The {field.label} cannot be unknown.")
        return field.put(owner, settled, shelf)

    changed = _with_owner(set_up, path, _at(path, written))
    return replace(changed, carried=tuple(each for each in changed.carried if each not in (path, *moves_with(path))))


def text_of(set_up: SetUp, path: str, lengths: Lengths = CENTIMETRES) -> str:
    """A field as it is typed and read back, a length as the tape of `lengths` writes it; that a thing is not there."""
    owner, field = _owner_and_field(set_up, path)
    if isinstance(owner, Thing) and placing.thing_of(set_up, owner.id) is None:
        return NOT_THERE
    return field.grammar.text(field.get(owner), owner, lengths)


def shown(set_up: SetUp, path: str, lengths: Lengths = CENTIMETRES) -> str:
    """The same as a page shows it: "f/11" for "11"."""
    owner, field = _owner_and_field(set_up, path)
    return field.grammar.shown(field.get(owner), owner, lengths)


def clicks_a_stop(set_up: SetUp, path: str) -> int:
    """How many clicks of a field's dial are a whole stop; 1 on a dial that has no stops."""
    owner, field = _owner_and_field(set_up, path)
    return field.grammar.clicks_a_stop(owner)


def keypad(set_up: SetUp, path: str, lengths: Lengths) -> Keypad:
    """What a phone brings up to type a value of a field."""
    owner, field = _owner_and_field(set_up, path)
    return field.grammar.keypad(owner, lengths)


T = TypeVar("T")


def _at(path: str, doing: Callable[[], T]) -> T:
    """Whatever a grammar refuses, refused at its field."""
    try:
        return doing()
    except ValueError as error:
        nearest = error.nearest if isinstance(error, BeyondRange) else ""
        raise InvalidValue(tuple(path.split(".")), str(error), nearest) from error


def _owner_and_field(set_up: SetUp, path: str) -> tuple[Any, Field]:
    """What a field belongs to, and the field. A thing that is not there yet is one as it would be put up."""
    group, _, rest = path.partition(".")
    owner: SetUp | Light | Thing = set_up
    if group == "lights":
        letter = rest.partition(".")[0]
        light = set_up.light(letter)
        if light is None:
            raise NotFound(f"The set-up has no light {letter[:10]}.")
        owner = light
    elif group == "things":
        thing_id = rest.partition(".")[0]
        owner = placing.thing_of(set_up, thing_id) or placing.new_thing(thing_id)
    return owner, field_of(path)


def _with_owner(set_up: SetUp, path: str, owner: Any) -> SetUp:
    group, _, rest = path.partition(".")
    if group == "lights":
        return set_up.with_light(owner)
    if group == "things":
        return placing.with_thing(set_up, rest.partition(".")[0], owner)
    assert isinstance(owner, SetUp)
    return owner
