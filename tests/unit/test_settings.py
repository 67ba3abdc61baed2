"""Settings: read once, from one place; an unknown value is refused with its name and what is accepted."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from webapp import settings
from webapp.__main__ import main
from webapp.app import create_app
from webapp.errors import CannotStart

README = Path(__file__).parents[2] / "README.md"


def test_the_command_line_goes_over_the_environment(tmp_path: Path) -> None:
    read = settings.read({"STOPLEDGER_PORT": "9000", "STOPLEDGER_DATA": str(tmp_path)}, port="9001")

    assert (read.port, read.data) == (9001, tmp_path)


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.5", "::"])
def test_an_address_that_others_reach_needs_the_passphrase(
    host: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert not settings.read({}, host=host).is_loopback_alone
    assert main(["serve", "--host", host, "--data", str(tmp_path)]) == 2
    assert "stopledger passphrase" in capsys.readouterr().err

    monkeypatch.setattr("sys.stdin", io.StringIO("four plain words here\n"))
    assert main(["passphrase", "--data", str(tmp_path)]) == 0
    create_app(settings.read({}, host=host, data=str(tmp_path)))


def test_a_host_is_an_address() -> None:
    with pytest.raises(CannotStart, match=r"example\.org is no address"):
        settings.read({}, host="example.org")


@pytest.mark.parametrize("host", ["127.0.0.1", "::1", "localhost", "127.0.0.9"])
def test_loopback_is_taken(host: str) -> None:
    assert settings.read({}, host=host).is_loopback_alone


@pytest.mark.parametrize(
    ("name", "value"), [("port", "many"), ("port", "70000"), ("demo", "maybe"), ("largest_upload_mb", "0")]
)
def test_an_unknown_value_names_the_setting(name: str, value: str) -> None:
    with pytest.raises(CannotStart, match=name):
        settings.read({f"STOPLEDGER_{name.upper()}": value})


def test_a_misspelt_setting_is_named() -> None:
    with pytest.raises(CannotStart, match="STOPLEDGER_PROT is no setting"):
        settings.read({"STOPLEDGER_PROT": "1"})


def test_a_watched_folder_that_is_not_there_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status = main(["serve", "--watch", str(tmp_path / "none"), "--data", str(tmp_path)])

    assert status == 2
    assert "is no folder" in capsys.readouterr().err


def test_every_setting_stands_in_the_readme() -> None:
    text = README.read_text()

    for name in settings.DESCRIPTIONS:
        assert f"STOPLEDGER_{name.upper()}" in text, name
