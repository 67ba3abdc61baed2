"""A process that is stopped, so that whoever waits for it waits for as long as a test likes."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path


def wait_until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + 120
    while not true():
        assert time.monotonic() < end
        time.sleep(0.002)


def halt(worker: int) -> None:
    """Stop the worker; the signal alone is only a request, which a busy machine takes its time to carry out."""
    os.kill(worker, signal.SIGSTOP)
    wait_until(lambda: Path(f"/proc/{worker}/stat").read_text().rpartition(")")[2].split()[0] == "T")
