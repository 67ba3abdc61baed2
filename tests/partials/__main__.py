"""Serve the page of all partials for the eye: `python -m tests.partials [PORT]`."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import uvicorn

from tests import partials
from webapp.app import create_app
from webapp.settings import Settings

with tempfile.TemporaryDirectory() as data:
    port = int(sys.argv[1]) if len(sys.argv) > 1 else 8000
    app = create_app(Settings(data=Path(data), port=port))
    partials.add_to(app)
    print(f"http://127.0.0.1:{port}{partials.ADDRESS}")
    uvicorn.run(app, host="127.0.0.1", port=port, log_level="warning")
