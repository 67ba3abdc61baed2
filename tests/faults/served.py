"""A server in a process of its own, that can be killed."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]


@dataclass
class Served:
    url: str
    process: subprocess.Popen[str]


@contextmanager
def served(data: Path, *arguments: str, code: Path = ROOT, cwd: Path | None = None) -> Iterator[Served]:
    """`python -m webapp serve` with the package found under `code`, started from `cwd`."""
    environment = {**os.environ, "PYTHONPATH": str(code), "PYTHONSAFEPATH": "1"}
    command = [sys.executable, "-m", "webapp", "serve", "--port", "0", "--data", str(data), *arguments]
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=environment, cwd=cwd or data.parent
    )
    try:
        assert process.stdout is not None
        said = ""
        for line in process.stdout:
            said += line
            if found := re.search(r"http://[\d.]+:\d+", line):
                yield Served(found.group(0), process)
                return
        raise AssertionError(f"the server did not start: {said}")
    finally:
        process.kill()
        process.wait()
        assert process.stdout is not None
        process.stdout.close()
