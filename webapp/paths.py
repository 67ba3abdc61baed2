"""Where the files lie that travel with the code: beside it in a checkout, inside the package in a wheel."""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent
_BUNDLED = PACKAGE / "_data"
_ROOT = _BUNDLED if _BUNDLED.is_dir() else PACKAGE.parent
TEMPLATES = _ROOT / "templates"
STATIC = _ROOT / "static"
MIGRATIONS = _ROOT / "migrations"
