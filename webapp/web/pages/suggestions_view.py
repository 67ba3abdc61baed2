"""Suggestions from geometry as a template may print them: what is asked, and each way with its figures and its key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from webapp.ledger.set_up import Light, SetUp
from webapp.ledger.wishes import WANTS, Want
from webapp.optics.working import Step
from webapp.plan.moving import ROOM_ABOVE_MM, ROOM_MM, Consequence
from webapp.plan.positions import Place, Position
from webapp.plan.sides import TO_LENS
from webapp.plan.suggestions import Answer
from webapp.plan.ways import PowerBack, Short, Suggestion
from webapp.quantities.lengths import Lengths
from webapp.web.pages.figures import signed
from webapp.web.pages.form_view import Choice
from webapp.web.words.figures import percent
from webapp.web.words.places import where_words
from webapp.web.words.ratios import key_to_fill_text, sum_to_fill_text
from webapp.web.words.say import say
from webapp.web.words.sides import named_side

_WANT_WORDS: Final[dict[Want, str]] = {
    "light": "its light, by so many stops",
    "ratio": "key : fill",
    "sum-ratio": "(key + fill) : fill",
    "evenness": "even light, within so many stops",
    "size": "as large as degrees, or as a light",
    "edge": "the edge of its shadow, in width",
}
_SAME_STOPS: Final = 0.05


@dataclass(frozen=True, slots=True)
class Key:
    """A button with the fields that it writes."""

    words: str
    fields: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """Something that changes with it: as it stands, and as it would be."""

    name: str
    stands: str
    becomes: str


@dataclass(frozen=True, slots=True)
class Way:
    """One suggestion."""

    title: str
    figure: str
    words: tuple[str, ...]
    figures: tuple[Figure, ...]
    steps: tuple[Step, ...]
    keys: tuple[Key, ...]


@dataclass(frozen=True, slots=True)
class SuggestionsView:
    """The form and, once something was asked, the answer."""

    shot_id: str
    title: str
    unit: str
    lights: tuple[Choice, ...]
    wants: tuple[Choice, ...]
    amount: str
    asked_for: tuple[tuple[str, str], ...]
    problem: str = ""
    trouble: str = ""
    asked: str = ""
    says: str = ""
    ways: tuple[Way, ...] = ()

    def offers(self, sent: Mapping[str, str]) -> bool:
        """Whether one of the keys still sends this, whatever the versions under which it was read."""
        keys = (key for way in self.ways for key in way.keys)
        return any({name: text for name, text in key.fields if not name.endswith("_version")} == sent for key in keys)


def suggestions_view(
    shot_id: str,
    title: str,
    set_up: SetUp,
    versions: Mapping[str, int],
    said: Mapping[str, str],
    answered: Answer | None,
    *,
    surface: str = TO_LENS,
    problem: str = "",
) -> SuggestionsView:
    """The suggestions for the set-up now; `said` is what was asked, as it was typed, and `surface`
    the key of what light and ratio are told of."""
    lengths = Lengths(said.get("unit") == "in")
    letter, want = said.get("light", ""), said.get("want", "light")
    return SuggestionsView(
        shot_id=shot_id,
        title=title,
        unit=lengths.unit,
        lights=tuple(Choice(each.letter, each.name, each.letter == letter) for each in set_up.lights),
        wants=tuple(Choice(each, _WANT_WORDS[each], each == want) for each in WANTS),
        amount=said.get("amount", ""),
        asked_for=tuple((name, said[name]) for name in ("light", "want", "amount", "unit") if name in said),
        problem=problem,
        asked=_asked(want, letter, answered, surface, lengths),
        says=_says(want, letter, answered, lengths),
        ways=()
        if answered is None
        else tuple(_way(set_up, versions, want, each, lengths) for each in answered.suggestions),
    )


def _asked(want: str, letter: str, answered: Answer | None, surface: str, lengths: Lengths) -> str:
    if answered is None:
        return ""
    stands = "" if answered.stands is None else _measure(want, answered.stands, lengths)
    wanted = _measure(want, answered.wanted, lengths)
    match want:
        case "light":
            return f"The light of {letter} on {named_side(surface)} changed by {wanted}"
        case "ratio" | "sum-ratio":
            asked = f"Key less fill of {wanted} on {named_side(surface)}"
        case "evenness":
            asked = f"Light over the subject within {wanted}"
        case "size":
            asked = f"{letter} looking {wanted} large"
        case _:
            asked = f"A shadow of {letter} with an edge of {wanted}"
    return f"{asked}; now {stands}" if stands else asked


def _says(want: str, letter: str, answered: Answer | None, lengths: Lengths) -> str:
    if answered is None:
        return ""
    if answered.missing is not None:
        return say(answered.missing, lengths)
    if answered.suggestions:
        return ""
    if want == "evenness" and answered.stands is not None and answered.stands <= answered.wanted:
        return "It is within that as it stands."
    return f"Neither power, nor distance, nor turning, nor aiming {letter} does it."


def _measure(want: str, value: float, lengths: Lengths) -> str:
    """A value in the unit of what is wanted."""
    match want:
        case "light":
            return f"{signed(value, 2)} stops"
        case "ratio":
            return f"{signed(value, 2)} stops, {key_to_fill_text(value)} as key : fill"
        case "sum-ratio":
            return f"{signed(value, 2)} stops, {sum_to_fill_text(value)} as (key + fill) : fill"
        case "evenness":
            return f"{value:.2f} stops"
        case "size":
            return f"{value:.1f}°"
    return lengths.text(value)


def _way(set_up: SetUp, versions: Mapping[str, int], want: str, found: Suggestion, lengths: Lengths) -> Way:
    words = [_reached(want, found, lengths)] if found.short is None and not found.bars else []
    if found.short is not None:
        words.append(_short(want, found, found.short, lengths))
    if found.bars:
        at = "There" if found.distance_mm is None else f"At {lengths.text(found.distance_mm)}"
        words.append(f"{at} it cannot stand: {' '.join(say(each, lengths) for each in found.bars)}")
    if (
        found.inverse_square_mm is not None
        and found.distance_mm is not None
        and abs(found.inverse_square_mm - found.distance_mm) >= 1.0
    ):
        words.append(f"Inverse square would have said {lengths.text(found.inverse_square_mm)}.")
    words.extend(say(each, lengths) for each in found.notes)
    steps = found.steps
    if found.power_back is not None and not found.bars:
        words.append(_power_back(set_up, found))
        steps = (*steps, found.power_back.step)
    return Way(
        title=_title(set_up, found),
        figure=_figure(set_up, found, lengths),
        words=tuple(words),
        figures=() if found.bars else _figures(found, lengths),
        steps=steps,
        keys=_keys(set_up, versions, found, lengths),
    )


def _title(set_up: SetUp, found: Suggestion) -> str:
    light = set_up.light(found.letter)
    name = found.letter if light is None else light.name
    match found.by:
        case "power":
            up = found.change_stops is not None and found.change_stops > 0.0
            return f"Turn {name} {'up' if up else 'down'}"
        case "aim":
            return f"Aim {name} past the subject"
        case "turn":
            return f"Bring {name} round towards the lens"
    return f"Move {name} on its line to the subject"


def _figure(set_up: SetUp, found: Suggestion, lengths: Lengths) -> str:
    light = set_up.light(found.letter)
    if found.by == "power":
        return "" if light is None or found.power_stops is None else light.power_mark(found.power_stops)
    if found.by == "distance" and not found.bars:
        return "" if found.distance_mm is None else lengths.text(found.distance_mm)
    return ""


def _reached(want: str, found: Suggestion, lengths: Lengths) -> str:
    at = "" if found.position is None else f" {_where(found, found.position, lengths)}."
    comes_to, wanted = (_measure(want, each, lengths) for each in (found.reaches, found.reaches - found.leaves))
    if want in ("size", "edge"):
        return f"Comes to {comes_to}{'' if comes_to == wanted else f' of {wanted}'}.{at}"
    left = "" if abs(found.leaves) < _SAME_STOPS else f", which leaves {signed(found.leaves, 2)} stops"
    return f"Comes to {comes_to}{left}.{at}"


def _where(found: Suggestion, position: Position, lengths: Lengths) -> str:
    if found.by == "aim":
        return f"Its middle points {_aim_text(position.aim, lengths)}"
    stands = where_words(position.at, lengths)
    return stands[:1].upper() + stands[1:]


def _aim_text(aim: Place, lengths: Lengths) -> str:
    parts = [
        f"{lengths.text(abs(length))} {words[length < 0.0]}"
        for length, words in (
            (aim.x_mm, ("to the right", "to the left")),
            (aim.y_mm, ("behind", "in front")),
            (aim.z_mm, ("above", "below")),
        )
        if abs(length) >= 2.5
    ]
    return f"{', '.join(parts)} of the subject's middle" if parts else "at the subject's middle"


def _short(want: str, found: Suggestion, short: Short, lengths: Lengths) -> str:
    most = _measure(want, short.reaches, lengths)
    match short.end:
        case "highest":
            return f"Its dial ends at full, which comes to {most}."
        case "lowest":
            return f"Its lowest mark comes to {most}."
        case "nearest":
            at = "" if short.at_mm is None else f" of {lengths.text(short.at_mm)}"
            return f"It comes to {most} at the nearest{at}, where its face all but touches the subject."
        case "furthest":
            room = f"{lengths.text(ROOM_MM)} long and {lengths.text(ROOM_ABOVE_MM)} above the subject"
            return f"It comes to {most} where the room ends, taken as {room}."
    if found.by == "power":
        return f"It comes to {most} at best."
    if found.position is not None:
        return f"It comes to {most} at best. {_where(found, found.position, lengths)}."
    at = "" if short.at_mm is None else f", at {lengths.text(short.at_mm)}"
    return f"It comes to {most} at most{at}; nearer and further give less."


def _power_back(set_up: SetUp, found: Suggestion) -> str:
    back, light = found.power_back, set_up.light(found.letter)
    assert back is not None
    assert light is not None
    if _past_the_dial(light, back):
        return (
            f"The dial does not give the exposure back: at {light.power_mark(back.power_stops)} it is "
            f"{signed(back.leaves_stops, 2)} stops."
        )
    rest = "" if abs(back.leaves_stops) < _SAME_STOPS else f", and leaves {signed(back.leaves_stops, 2)} stops"
    return f"{light.power_mark(back.power_stops)} gives the exposure back{rest}."


def _past_the_dial(light: Light, back: PowerBack) -> bool:
    """Whether the mark that comes nearest is an end of the dial that does not reach."""
    return abs(back.leaves_stops) > light.head.learned_slope * light.head.step_stops / 2.0 + 1e-9


def _figures(found: Suggestion, lengths: Lengths) -> tuple[Figure, ...]:
    """What changes with it, in the figures that are shown."""
    told = [
        each
        for each in (_told(every, found.letter, lengths) for every in found.follows)
        if each.stands != each.becomes
    ]
    if found.change_stops is not None:
        told.insert(
            0, Figure(f"light of {found.letter} at the subject", "", f"{signed(found.change_stops, 2)} stops")
        )
    return tuple(told)


def _told(each: Consequence, letter: str, lengths: Lengths) -> Figure:
    name = {
        "size": f"{letter} looks",
        "penumbra": f"its shadow's edge on the {each.on}",
        "evenness": "range over the subject",
        "share": f"share of {letter}",
        "ratio": "key less fill",
    }[each.figure]
    stands, becomes = (_value(each, value, lengths) for value in (each.before, each.after))
    return Figure(name, stands, becomes)


def _value(each: Consequence, value: float | None, lengths: Lengths) -> str:
    if value is None:
        return "none" if each.figure == "penumbra" else "unknown"
    match each.figure:
        case "size":
            return f"{value:.0f}°"
        case "penumbra":
            return lengths.text(value)
        case "share":
            return percent(value)
        case "ratio":
            return f"{signed(value, 2)} stops"
    return f"{value:.2f} stops"


def _keys(set_up: SetUp, versions: Mapping[str, int], found: Suggestion, lengths: Lengths) -> tuple[Key, ...]:
    light = set_up.light(found.letter)
    if light is None:
        return ()
    if found.power_stops is not None:
        if found.power_stops == light.power_stops:
            return ()
        mark = light.power_mark(found.power_stops)
        return (Key(f"Turn {found.letter} to {mark}", _fields(found.letter, versions, power=mark)),)
    if found.position is None:
        return ()
    words = f"{'Aim' if found.by == 'aim' else 'Put'} {found.letter} there"
    if found.by == "distance" and found.distance_mm is not None:
        words = f"Put {found.letter} at {lengths.text(found.distance_mm)}"
    keys = [Key(words, _fields(found.letter, versions, found.position))]
    back = found.power_back
    if back is not None and not _past_the_dial(light, back) and back.power_stops != light.power_stops:
        mark = light.power_mark(back.power_stops)
        both = _fields(found.letter, versions, found.position, mark)
        keys.append(Key(f"{words} and turn it to {mark}", both))
    return tuple(keys)


def _fields(
    letter: str, versions: Mapping[str, int], position: Position | None = None, power: str = ""
) -> tuple[tuple[str, str], ...]:
    """What a key sends: the place, the mark or both, each with the version under which it was read."""
    fields = [("of", letter)]
    if position is not None:
        at, aim = position.at, position.aim
        lengths = (at.x_mm, at.y_mm, at.z_mm, aim.x_mm, aim.y_mm, aim.z_mm)
        names = ("x", "y", "z", "aim_x", "aim_y", "aim_z")
        fields += [(name, f"{length:.3f} mm") for name, length in zip(names, lengths, strict=True)]
        fields.append(("position_version", str(versions.get(f"lights.{letter}.position", 0))))
    if power:
        fields += [("power", power), ("power_version", str(versions.get(f"lights.{letter}.power", 0)))]
    return tuple(fields)
