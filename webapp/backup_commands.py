"""`stopledger backup`, `restore` and `check`: plain lines, and an exit status that a script can go by.

0 is done, or sound; 1 not done, or not sound; 2 a command that cannot be read, or settings that allow no start.
"""

from __future__ import annotations

import argparse
import datetime as dt
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from webapp import disk
from webapp import settings as settings_of
from webapp.backups import check as checking
from webapp.backups.restore import restore
from webapp.backups.state import back_up
from webapp.errors import BackupRefused, StopledgerError
from webapp.facts import Fact
from webapp.settings import Settings
from webapp.web.words.backups import REPAIRS
from webapp.web.words.say import say


def run(asked: argparse.Namespace) -> int:
    """Run one of the commands; the answer is the exit status. Raises CannotStart."""
    settings = settings_of.read(data=asked.data)
    try:
        return _COMMANDS[asked.command](settings, asked)
    except StopledgerError as refused:
        print(f"stopledger: {refused}", file=sys.stderr)
        return 1


def _back_up(settings: Settings, asked: argparse.Namespace) -> int:
    to: Path = asked.to
    try:
        to.mkdir(exist_ok=True)
    except OSError as problem:
        raise BackupRefused(str(disk.trouble_of(problem, to.parent, str(to.parent)) or problem)) from problem
    made = back_up(settings, to, dt.datetime.now(dt.UTC))
    counts = made.manifest.counts
    print(f"Backed up to {made.directory}: {counts['frames']} frames, {len(made.manifest.pictures)} pictures.")
    if disk.on_one_disk(settings.data, to):
        print("It lies on the same disk as the data directory; keep another on a disk of its own.")
    return 0


def _restore(settings: Settings, asked: argparse.Namespace) -> int:
    restored = restore(asked.source, settings.data, incomplete=asked.incomplete)
    said = restored.backup.manifest
    print(
        f"Restored to {settings.data}: {said.counts['frames']} frames, "
        f"{len(said.pictures) - len(set(restored.left_out) & said.pictures.keys())} pictures, as they were at {said.made_at:%Y-%m-%d %H:%M} UTC. "
        "Every hash is that of the manifest."
    )
    for digest in restored.left_out:
        print(f"Left out: picture {digest}.")
    return 1 if restored.left_out else 0


def _check(settings: Settings, asked: argparse.Namespace) -> int:
    found = checking.check(settings)
    _tell(found)
    if asked.repair and found.findings:
        agreed: Callable[[str], bool] = (lambda _: True) if asked.yes else _ask
        if _repair(settings, found.findings, agreed):
            found = checking.check(settings)
            _tell(found)
    return 0 if found.is_sound else 1


def _tell(found: checking.Checked) -> None:
    for each in found.findings:
        print(say(each))
    print(
        f"{'Sound' if found.is_sound else 'Not sound'}: {found.frames} frames and {found.pictures} pictures were read."
    )


def _repair(settings: Settings, findings: tuple[Fact, ...], agreed: Callable[[str], bool]) -> bool:
    """Whether anything was put right."""
    asked, repaired = set(), False
    for each in findings:
        # A picture is brought back by itself; all else of a reason is put right together.
        what = (each.reason, each.about if "name" in each.values else "")
        if what in asked or not checking.can_repair(settings, each):
            continue
        asked.add(what)
        if agreed(f"{say(each)} {REPAIRS[each.reason]}"):
            checking.repair(settings, each)
            print(f"Put right: {say(each)}")
            repaired = True
    return repaired


def _ask(question: str) -> bool:
    try:
        return input(f"{question} [y/n] ").strip().lower() in ("y", "yes")
    except EOFError:
        return False


_COMMANDS: Final[Mapping[str, Callable[[Settings, argparse.Namespace], int]]] = {
    "backup": _back_up,
    "restore": _restore,
    "check": _check,
}
