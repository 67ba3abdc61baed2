"""The three scenes, rendered once, and a general colour library as another road to the same figures."""

from __future__ import annotations

import importlib
import warnings
from types import ModuleType

import pytest

from webapp.demo.scenes import Scene, render_scene


@pytest.fixture(scope="session")
def cock() -> Scene:
    return render_scene("balance-cock", (600, 400))


@pytest.fixture(scope="session")
def tile() -> Scene:
    return render_scene("tile")


@pytest.fixture(scope="session")
def bottle() -> Scene:
    return render_scene("bottle")


@pytest.fixture(scope="session")
def colour_library() -> ModuleType:
    """On import it warns of drawing packages that no test here needs."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return importlib.import_module("colour")
