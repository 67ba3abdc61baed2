"""What several benches begin with."""

from __future__ import annotations

import shutil
import time
from pathlib import Path
from typing import Final

import pytest

from tests.faults.served import served

FILLED_WITHIN_S: Final = 300


@pytest.fixture(scope="session")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo with its readings and recipes."""
    data = tmp_path_factory.mktemp("filled") / "data"
    with served(data, "--demo"):
        for _ in range(FILLED_WITHIN_S):
            if not (data / "demo-to-publish.json").exists():
                return data
            time.sleep(1)
    raise AssertionError("the demo was not finished")


@pytest.fixture
def copy(filled: Path, tmp_path: Path) -> Path:
    shutil.copytree(filled, tmp_path / "data")
    return tmp_path / "data"
