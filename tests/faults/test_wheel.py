"""The wheel carries templates, static files and migrations, and runs outside a checkout."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import httpx

from tests.faults.served import ROOT, served


def test_the_wheel_runs_from_another_folder(tmp_path: Path) -> None:
    wheels, installed, elsewhere = (tmp_path / name for name in ("wheels", "installed", "elsewhere"))
    elsewhere.mkdir()
    pip = [sys.executable, "-m", "pip", "--quiet"]
    subprocess.run([*pip, "wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", wheels, ROOT], check=True)
    [wheel] = wheels.glob("stopledger-*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    assert not [name for name in names if "__pycache__" in name or name.startswith("tests/")]
    subprocess.run([*pip, "install", "--no-deps", "--target", installed, wheel], check=True)

    with (
        served(tmp_path / "data", code=installed, cwd=elsewhere) as server,
        httpx.Client(base_url=server.url, timeout=120) as client,
    ):
        session = client.post("/sessions", data={"name": "from a wheel"}).headers["location"]
        shot = client.post(f"{session}/shots", data={"title": "from a wheel"}).headers["location"]
        assert "Set-up now" in client.get(shot).text
        assert client.get("/static/stopledger.css").status_code == 200
