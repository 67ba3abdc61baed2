"""The ledger as CSV, read back by another reader: lines, figures, times, and texts that no spreadsheet runs."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests import typed
from tests.conftest import Studio
from webapp.errors import NotFound
from webapp.exports import ledger_csv
from webapp.exports.ledger_csv import COLUMNS, TEXTS, guarded, unguarded
from webapp.shoots import frames, sessions, set_up_now
from webapp.shoots.log_frame import FrameWords, log_frame
from webapp.web.api.files import LEDGER_WORDS

Line = dict[str, str]


def change(studio: Studio, **said: object) -> None:
    typed.change(studio.records, studio.shot_id, {name.replace("__", "."): value for name, value in said.items()})


def log(studio: Studio, **words: str) -> str:
    return log_frame(studio.records, studio.shot_id, FrameWords(**words)).frame_id


def read(pieces: Iterator[str]) -> list[Line]:
    return list(csv.DictReader(io.StringIO("".join(pieces), newline="")))


def lines(studio: Studio) -> list[Line]:
    return read(ledger_csv.of_shot(studio.records, studio.shot_id, LEDGER_WORDS))


def test_a_frame_is_a_line_for_each_light_and_one_for_the_ambient(studio: Studio) -> None:
    head = set_up_now.state(studio.records, studio.shot_id).set_up.lights[0].head.id
    set_up_now.add_light(studio.records, studio.shot_id, head)
    log(studio)
    log(studio)

    told = [(each["frame"], each["line"], each["name"].split()[-1]) for each in lines(studio)]

    expected = [("light", "A"), ("light", "B"), ("ambient", "ambient")]
    assert told == [(str(number), *each) for number in (1, 2) for each in expected]


def test_figures_are_those_of_the_ledger(studio: Studio) -> None:
    change(studio, f_number="8", shutter="1/125", lights__A__power="100 J", lights__A__distance="80 cm")
    log(studio)
    change(studio, f_number="11", lights__A__power="200 J")
    log(studio)

    light = next(each for each in lines(studio) if each["frame"] == "2" and each["line"] == "light")

    assert (light["f_number_mark"], light["shutter_mark"]) == ("11", "1/125")
    # f/11 is the eighth root of two to the seventh, and a shutter of 1/125 is open for 1/128 s (ISO 2720 and 516).
    assert float(light["f_number_exact"]) == pytest.approx(11.3137, abs=1e-4)
    assert float(light["shutter_exact_s"]) == pytest.approx(1 / 128)
    assert float(light["power_stops_from_full"]) == -1.0
    assert float(light["distance_mm"]) == 800.0
    assert float(light["balance_stops"]) == pytest.approx(0.0, abs=1e-3)
    assert "energy" in light["entries"]


def test_what_is_unknown_is_empty_and_never_zero(studio: Studio) -> None:
    change(studio, lights__A__power="unknown", lights__A__distance="unknown", magnification="unknown")
    log(studio)

    light = lines(studio)[0]

    for name in ("power_mark", "power_stops_from_full", "energy_j", "distance_mm", "bearing_deg", "magnification"):
        assert light[name] == "", name


def test_times_are_iso_8601_in_utc(studio: Studio) -> None:
    frame_id = log(studio)

    read_at = datetime.fromisoformat(lines(studio)[0]["logged_at_utc"])

    logged_at = frames.one(studio.records, frame_id).row.logged_at
    assert read_at.utcoffset() == timedelta(0)
    assert abs(read_at - logged_at) < timedelta(milliseconds=1)


@pytest.mark.parametrize("reason", ["=2+3", "+1 stop", "-1 stop", "@set", "'tis", "＝1", 'lens, "long"\r\nand far'])
def test_a_text_comes_back_and_no_spreadsheet_runs_it(studio: Studio, reason: str) -> None:
    log(studio, because=reason)

    cell = lines(studio)[0]["because"]

    assert not cell.startswith(("=", "+", "-", "@", "＝"))
    assert unguarded(cell) == frames.page_of(studio.records, studio.shot_id, limit=1)[0].row.because


@given(st.text())
def test_guarding_loses_nothing(text: str) -> None:
    assert unguarded(guarded(text)) == text
    assert not guarded(text).startswith(("=", "+", "-", "@", "\t", "\r", "\n"))


def test_figures_are_never_guarded(studio: Studio) -> None:
    change(studio, lights__A__power="50 J")
    log(studio)

    for line in lines(studio):
        for name in set(COLUMNS) - TEXTS:
            assert not line[name].startswith("'"), name


def test_lines_end_as_the_standard_has_it_and_all_are_of_one_length(studio: Studio) -> None:
    log(studio, because="two\nlines")
    text = "".join(ledger_csv.of_shot(studio.records, studio.shot_id, LEDGER_WORDS))

    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))

    assert text.endswith("\r\n")
    assert {len(row) for row in rows} == {len(COLUMNS)}


def test_a_session_has_the_ledgers_of_all_its_shots(studio: Studio) -> None:
    log(studio)
    other = sessions.begin_shot(studio.records, studio.session_id, {"title": "movement"})
    log_frame(studio.records, other, FrameWords())

    told = read(ledger_csv.of_session(studio.records, studio.session_id, LEDGER_WORDS))

    assert [each["shot_title"] for each in told if each["line"] == "ambient"] == ["enamel dial", "movement"]


def test_a_shot_without_frames_is_the_head_alone(studio: Studio) -> None:
    assert "".join(ledger_csv.of_shot(studio.records, studio.shot_id, LEDGER_WORDS)) == ",".join(COLUMNS) + "\r\n"


@pytest.mark.parametrize("made", [ledger_csv.of_shot, ledger_csv.of_session])
def test_what_is_not_there_is_told_before_the_first_line(studio: Studio, made: object) -> None:
    with pytest.raises(NotFound):
        made(studio.records, "nowhere", LEDGER_WORDS)  # type: ignore[operator]


def test_frames_are_read_as_they_are_asked_for(studio: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(frames, "_READ_AT_ONCE", 2)
    for _ in range(5):
        log(studio)
    pieces = ledger_csv.of_shot(studio.records, studio.shot_id, LEDGER_WORDS)
    next(pieces)
    log(studio)

    # The sixth was not there when the reading began, and nothing of it was held back or read too early.
    rest = "".join(pieces)

    assert [each for each in ("3", "4", "5", "6") if f"\n1,enamel dial,{each}," in "\n" + rest] == [
        "3",
        "4",
        "5",
        "6",
    ]
