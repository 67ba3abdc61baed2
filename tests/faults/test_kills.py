"""The server is killed at any moment, again and again, and started on the same data: what was answered is there, once.

The run of its own, with its counts: STOPLEDGER_KILLS=2000 pytest -n 0 -s tests/faults/test_kills.py"""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path

from tests.faults.kills import KILLS
from tests.faults.saves import DESK, EVERY_KIND, Client, Counts
from tests.faults.served import PROGRAM, begun, killed, served
from webapp.backups.directory import BackupDirectory

_OF_A_HOUSE = 40
"""Kills on one data directory; then a new one is begun, so that the record stays as small as a day's."""
_AT_ONCE = 2
# What is saved in a phase, and when the kill comes after the first of it is on its way (s).
_PHASES = {
    "serving": (EVERY_KIND, 1.2),
    "upload": (("upload",), 0.3),
    "intake": ((*DESK, "file"), 1.5),
    "import": (("bundle",), 0.3),
    "backup": ((*DESK, "upload"), 0.4),
}
_BACK_UP = (
    "import datetime as dt, sys; from pathlib import Path; from webapp import disk; disk.on_one_disk = lambda *_: False;"
    "from webapp.backups.directory import BackupDirectory; from webapp.settings import Settings;"
    "print('begun', flush=True); data, to = map(Path, sys.argv[1:]);"
    "BackupDirectory(to).add(Settings(data=data), dt.datetime.now(dt.UTC))"
)
"""A backup as to another disk: it is copying that takes its time."""


def house_of_kills(house: Path, phases: Sequence[str], seed: int, counts: Counts) -> None:
    """One data directory through a kill in each of the phases."""
    client, chance = Client(house, seed, counts), random.Random(seed)
    watching = ("--watch", str(client.folder))
    for phase in phases:
        if phase == "start":
            process = begun(*PROGRAM, "serve", "--port", "0", "--data", client.data, *watching)
            time.sleep(chance.uniform(0.0, 1.2))
            killed(process)
        else:
            with served(client.data, *watching) as server:
                client.hold_against(server.url)
                _killed_while(phase, client, server.url, server.process.kill, chance)
        counts.kills[phase] += 1
    with served(client.data, *watching) as server:
        client.hold_against(server.url)
        client.files_come_into_the_record()
    client.end()


def _killed_while(phase: str, client: Client, url: str, kill: Callable[[], None], chance: random.Random) -> None:
    kinds, most_s = _PHASES[phase]
    with ExitStack() as stack:
        if phase == "backup":
            backup = begun("-c", _BACK_UP, client.data, client.house / "backups")
            stack.callback(killed, backup)
            assert backup.stdout is not None
            backup.stdout.readline()
        on_its_way = stack.enter_context(client.saving(url, kinds))
        on_its_way.wait()
        time.sleep(chance.uniform(0.0, most_s))
        kill()
    if phase == "backup":
        earlier = BackupDirectory(client.house / "backups")
        client.counts.unsound += [str(each.directory) for each in earlier.backups() if not each.is_sound]


def test_what_was_answered_is_in_the_record_once_after_every_kill(tmp_path: Path) -> None:
    every = ("start", *_PHASES)
    phases = [every[number % len(every)] for number in range(KILLS)]
    counts, of_a_house = Counts(), min(_OF_A_HOUSE, KILLS // _AT_ONCE)
    # One server starts while the other is at work.
    with ThreadPoolExecutor(_AT_ONCE) as pool:
        houses = []
        for number, at in enumerate(range(0, KILLS, of_a_house)):
            house = tmp_path / f"house-{number}"
            house.mkdir()
            houses.append(pool.submit(house_of_kills, house, phases[at : at + of_a_house], number, counts))
        for each in houses:
            each.result()
            print(counts, flush=True)

    assert counts.kills.total() == KILLS
    assert counts.is_clean, [*counts.lost, *counts.doubled, *counts.unsound]
