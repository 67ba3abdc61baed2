"""Entries and their notes in words."""

from __future__ import annotations

import pytest

from tests.unit.ledger.builders import DIAL, exposure, light
from webapp.facts import Fact, fact
from webapp.ledger.entries import Cause, Entry, Head, Power, Setting, compare
from webapp.ledger.exposures import Filters
from webapp.ledger.reasons import Reason
from webapp.ledger.set_up import IncidentReading
from webapp.optics.scales import Quantity
from webapp.quantities.lengths import Lengths
from webapp.quantities.marks import read_mark
from webapp.web.words.entries import entry_words, settings_of
from webapp.web.words.say import say


def test_an_entry_is_told_with_its_light_only_where_it_is_that_lights_own() -> None:
    compared = compare(exposure("5.6", light(power=-6.0)), exposure("22", light(power=-1.0, distance_mm=1000.0)))

    told = [entry_words(entry) for entry in compared.of("A")]

    assert told == ["aperture f/5.6 to f/22", "A energy 6.25 J to 200 J", "A distance 60 cm to 100 cm"]
    assert entry_words(compared.of("A")[1], named=False) == "energy 6.25 J to 200 J"


def test_a_distance_is_told_in_the_readers_lengths() -> None:
    compared = compare(exposure("8", light(distance_mm=600.0)), exposure("8", light(distance_mm=None)))

    assert entry_words(compared.of("A")[0], Lengths(inches=True)) == "A distance 23.6 in to unknown"


@pytest.mark.parametrize(
    ("cause", "setting", "words"),
    [
        (Cause.APERTURE, read_mark(Quantity.F_NUMBER, "8"), "f/8"),
        (Cause.APERTURE, IncidentReading(7.0, "11.3", -1.0, 600.0), "metered f/11.3"),
        (Cause.SHUTTER, read_mark(Quantity.SHUTTER, "2"), "2 s"),
        (Cause.ISO, read_mark(Quantity.ISO, "200"), "ISO 200"),
        (Cause.CLOSE_UP, 0.0, "distant"),
        (Cause.ENERGY, Power(-6.0, DIAL), "6.25 J"),
        (Cause.ENERGY, Power(-1.5, None), "−1.5 stops below full"),
        (Cause.ENERGY, Head(), "another head"),
        (Cause.ENERGY, Head("key A"), "key A"),
        (Cause.MODIFIER, Filters(), "bare"),
        (Cause.FILTERS, Filters(), "none"),
        (Cause.FILTERS, Filters(("a", "a", "b"), 1.0, ("ND", "ND", "blue")), "2 × ND + blue"),
        (Cause.LENS_FILTERS, Filters(("a", "b"), 1.0), "2 in"),
        (Cause.POPS, 4, "4"),
        (Cause.METERED, 8.0, "f/16"),
        (Cause.METERED, None, "unknown"),
    ],
)
def test_a_setting_is_told_by_what_it_is(cause: Cause, setting: Setting, words: str) -> None:
    assert settings_of(Entry(cause, "A", None, setting, None)) == (words, "unknown")


def test_a_light_that_was_switched() -> None:
    assert [say(fact(Reason.SWITCHED, "B", lit=lit)) for lit in (True, False)] == ["B on", "B off"]


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (fact(Reason.LIGHT_IS_GONE, "A", light="key A"), "key A is not in the set any more: no balance."),
        (fact(Reason.LIGHT_IS_OFF, "A", light="key A"), "key A is off now: no balance."),
        (
            fact(Reason.LIGHT_WAS_OFF, "A", light="key A"),
            "key A was off there: it has nothing to be compared with yet.",
        ),
        (
            fact(Reason.ANOTHER_HEAD, "A", light="key A"),
            "key A is another head than before: only a meter reading or a frame tells what that changed.",
        ),
        (fact(Reason.POWER_UNKNOWN, "A", light="key A"), "No balance for key A: its power is unknown."),
        (
            fact(Reason.POWER_LEARNED, "A", a_mark_stops=0.8, readings=5),
            "A gives 0.80 a marked stop, as learned from 5 readings.",
        ),
        (
            fact(Reason.DISTANCE_UNKNOWN, "A", light="key A"),
            "The distance of key A is unknown on both sides and taken as unchanged.",
        ),
        (
            fact(Reason.DISTANCE_UNKNOWN_ONCE, "A", light="key A"),
            "No balance for key A: its distance is known in only one of the two set-ups.",
        ),
        (
            fact(Reason.LOSS_UNKNOWN, "A", light="key A", fitted="softbox"),
            "No balance for key A: the loss of softbox is unknown.",
        ),
        (
            fact(Reason.LENS_LOSS_UNKNOWN, "all", fitted="a gel"),
            "No balance: the loss of a gel on the lens is unknown.",
        ),
        (
            fact(Reason.SETTING_UNKNOWN, "all", setting="iso"),
            "The ISO is unknown on both sides and taken as unchanged.",
        ),
        (
            fact(Reason.SETTING_UNKNOWN_ONCE, "all", setting="f_number"),
            "No balance: the f-number is known in only one of the two set-ups.",
        ),
        (
            fact(Reason.SETTING_UNKNOWN_ONCE, "ambient", setting="shutter"),
            "No ambient balance: the shutter is known in only one of the two set-ups.",
        ),
    ],
)
def test_each_note_on_a_comparison_reads_as_it_did(told: Fact, words: str) -> None:
    assert say(told) == words
