"""The first page says how the backups stand, and how much room is left."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from webapp.backups.state import back_up
from webapp.errors import BackupRefused
from webapp.settings import Settings
from webapp.web.pages.backups_view import backups_view
from webapp.web.words.backups import when


@pytest.fixture
def settings(client: TestClient) -> Settings:
    settings: Settings = client.app.state.services.settings  # type: ignore[attr-defined]
    return settings


def ago(**span: float) -> dt.datetime:
    return dt.datetime.now(dt.UTC) - dt.timedelta(**span)


def test_without_a_backup_it_says_what_to_do(client: TestClient) -> None:
    page = client.get("/").text

    assert "Never backed up." in page
    assert "stopledger backup TO --data" in page


def test_the_last_sound_backup_is_said_with_its_pictures(
    client: TestClient, settings: Settings, tmp_path: Path
) -> None:
    (tmp_path / "second-disk").mkdir()
    at = ago(seconds=1)
    back_up(settings, tmp_path / "second-disk", at)

    page = client.get("/").text

    assert f"Backed up {when(at, at)}, 0 pictures, to {tmp_path / 'second-disk'}." in page
    assert "on the same disk" in page
    assert "Never backed up" not in page


def test_an_attempt_that_failed_is_said_with_its_reason(
    client: TestClient, settings: Settings, tmp_path: Path
) -> None:
    with pytest.raises(BackupRefused):
        back_up(settings, tmp_path / "not mounted", ago(seconds=1))

    page = client.get("/").text

    assert 'class="alarm"' in page
    assert "failed." in page
    assert "connect its disk or share" in page


@pytest.mark.parametrize(("days", "scheduled", "said"), [(3, False, False), (8, False, True), (3, True, True)])
def test_a_backup_that_is_too_old_is_said(
    settings: Settings, tmp_path: Path, days: int, scheduled: bool, said: bool
) -> None:
    (tmp_path / "second-disk").mkdir()
    back_up(settings, tmp_path / "second-disk", ago(days=days))
    served = replace(settings, backup_to=tmp_path / "second-disk" if scheduled else None)

    assert any(f"That is {days} days ago." in line for line in backups_view(served).lines) is said


def test_little_room_is_said_before_it_is_none(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("webapp.disk.free_bytes", lambda _: 10_000_000_000)
    assert "left on the disk" not in client.get("/").text

    monkeypatch.setattr("webapp.disk.free_bytes", lambda _: 1_940_000_000)
    assert "1.9 GB left on the disk of the data directory." in client.get("/").text


@pytest.mark.parametrize(
    ("at", "words"),
    [
        (dt.datetime(2026, 11, 29, 14, 2), "today 14:02"),
        (dt.datetime(2026, 11, 28, 23, 59), "yesterday 23:59"),
        (dt.datetime(2026, 3, 1, 8, 0), "on 1 March 2026, 08:00"),
    ],
)
def test_a_moment_is_said_by_its_day(at: dt.datetime, words: str) -> None:
    assert when(at.astimezone(), dt.datetime(2026, 11, 29, 18, 0).astimezone()) == words
