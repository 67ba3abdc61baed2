"""The commands as a script sees them: plain lines and an exit status."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.unit.backups.house import kept_house
from webapp.__main__ import main
from webapp.settings import Settings


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return kept_house(tmp_path / "data")


@pytest.fixture
def answers(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is typed, the next one first."""
    typed: list[str] = []

    def answer(_question: str) -> str:
        if not typed:
            raise EOFError
        return typed.pop(0)

    monkeypatch.setattr("builtins.input", answer)
    return typed


@pytest.fixture
def lost_previews(settings: Settings) -> None:
    for path in settings.previews.iterdir():
        path.unlink()


def test_backup_restore_and_check(settings: Settings, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["backup", str(tmp_path / "second-disk"), "--data", str(settings.data)]) == 0
    said = capsys.readouterr().out
    assert "2 frames, 2 pictures." in said
    assert "same disk" in said

    assert main(["restore", str(tmp_path / "second-disk"), "--data", str(tmp_path / "new")]) == 0
    assert "2 frames, 2 pictures" in capsys.readouterr().out

    assert main(["check", "--data", str(tmp_path / "new")]) == 0
    assert capsys.readouterr().out.splitlines()[-1] == "Sound: 2 frames and 2 pictures were read."


def test_what_is_not_sound_is_status_1(settings: Settings, capsys: pytest.CaptureFixture[str]) -> None:
    next(path for path in settings.pictures.rglob("*") if path.is_file()).unlink()

    assert main(["check", "--data", str(settings.data)]) == 1

    first, last = capsys.readouterr().out.splitlines()
    assert "is missing" in first
    assert last.startswith("Not sound:")


def test_what_cannot_be_done_is_a_sentence_and_status_1(
    settings: Settings, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["backup", str(tmp_path / "no" / "where"), "--data", str(settings.data)]) == 1
    assert main(["restore", str(tmp_path / "none"), "--data", str(tmp_path / "new")]) == 1
    assert main(["restore", str(tmp_path / "none"), "--data", str(settings.data)]) == 1
    assert main(["check", "--data", str(tmp_path / "none")]) == 1

    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 4
    assert all(line.startswith("stopledger: ") for line in lines)
    # A disk that is not connected is not made.
    assert not (tmp_path / "no").exists()


@pytest.mark.parametrize("typed", [["backup"], ["restore", "FROM"], ["check", "--data"]])
def test_a_command_that_cannot_be_read_is_status_2(typed: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(typed)

    assert ended.value.code == 2


@pytest.mark.parametrize(("typed", "made"), [(["y"], 4), (["n"], 0), ([], 0)])
def test_the_repair_asks_and_does_what_is_agreed_to(
    settings: Settings, lost_previews: None, answers: list[str], typed: list[str], made: int
) -> None:
    answers += typed

    main(["check", "--data", str(settings.data), "--repair"])

    assert len(list(settings.previews.iterdir())) == made


def test_a_script_agrees_to_all(settings: Settings, lost_previews: None, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--data", str(settings.data), "--repair", "--yes"]) == 0

    assert capsys.readouterr().out.splitlines()[-1] == "Sound: 2 frames and 2 pictures were read."
    assert len(list(settings.previews.iterdir())) == 4
