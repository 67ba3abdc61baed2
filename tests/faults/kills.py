"""How many kills a test makes: a few, or as many as are asked for in a run of its own."""

from __future__ import annotations

import os

KILLS = int(os.environ.get("STOPLEDGER_KILLS", "6"))
FEWER_KILLS = KILLS // 2
"""Where each has a whole start before it."""
