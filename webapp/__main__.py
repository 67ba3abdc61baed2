"""The command line: `stopledger serve`, `measure`, `backup`, `restore` and `check`."""

from __future__ import annotations

import argparse
import gc
import logging
import socket
import sys
from collections.abc import Sequence
from pathlib import Path

from webapp import allocator, disk, measuring_command
from webapp import settings as settings_of
from webapp.errors import CannotStart, DiskTrouble

# An open event stream would otherwise hold the server up for ever when it is asked to stop.
_STOPS_WITHIN_S = 2


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command; the answer is the exit status."""
    asked = _parser().parse_args(arguments)
    if asked.command == "measure":
        # The server has no use for it, and a script waits for every import.
        from webapp.web.words.say import say

        return measuring_command.run(asked, say)
    try:
        if asked.command == "serve":
            return _serve(asked)
        from webapp import backup_commands

        return backup_commands.run(asked)
    except (CannotStart, DiskTrouble) as error:
        print(f"stopledger: {error}", file=sys.stderr)
        return 2


def _parser() -> argparse.ArgumentParser:
    words = settings_of.DESCRIPTIONS
    parser = argparse.ArgumentParser(
        prog="stopledger",
        description="A session logbook and shot-recipe library for pictures made with controlled light.",
    )
    commands = parser.add_subparsers(dest="command", required=True)
    serve = commands.add_parser("serve", help="serve the logbook to a browser on this machine")
    serve.add_argument("--host", help=words["host"])
    serve.add_argument("--port", help=words["port"])
    serve.add_argument("--data", metavar="DIR", help=words["data"])
    serve.add_argument("--watch", metavar="DIR", help=words["watch"])
    serve.add_argument("--largest-upload-mb", metavar="N", help=words["largest_upload_mb"])
    serve.add_argument("--backup-to", metavar="DIR", help=words["backup_to"])
    serve.add_argument("--backup-every-hours", metavar="N", help=words["backup_every_hours"])
    serve.add_argument("--demo", action="store_true", default=None, help=words["demo"])
    measuring_command.add_parser(commands)
    _add_backup_parsers(commands)
    return parser


def _add_backup_parsers(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    data = settings_of.DESCRIPTIONS["data"]
    backup = commands.add_parser("backup", help="back up records and pictures, also while the server runs")
    backup.add_argument("to", metavar="TO", type=Path, help="directory of the backups; best on another disk")
    backup.add_argument("--data", metavar="DIR", help=data)
    restore = commands.add_parser("restore", help="bring a backup back into an empty directory")
    restore.add_argument(
        "source", metavar="FROM", type=Path, help="directory of the backups (the newest sound one), or one of them"
    )
    restore.add_argument("--data", metavar="DIR", required=True, help="empty or new directory to restore into")
    restore.add_argument(
        "--incomplete",
        action="store_true",
        help="leave out pictures that are missing from the backup or have changed",
    )
    check = commands.add_parser("check", help="say whether records and pictures are sound; exit status 1 if not")
    check.add_argument("--data", metavar="DIR", help=data)
    check.add_argument(
        "--repair", action="store_true", help="ask for each thing that can be put right; stop the server first"
    )
    check.add_argument("--yes", action="store_true", help="with --repair: answer every question with yes")


def _serve(asked: argparse.Namespace) -> int:
    settings = settings_of.read(
        host=asked.host,
        port=asked.port,
        data=asked.data,
        watch=asked.watch,
        demo=asked.demo,
        largest_upload_mb=asked.largest_upload_mb,
        backup_to=asked.backup_to,
        backup_every_hours=asked.backup_every_hours,
    )
    allocator.give_memory_back()
    # What is made while starting stays: looking through it for garbage would be a tenth of the start.
    gc.disable()
    import uvicorn

    from webapp.app import create_app

    class Server(uvicorn.Server):
        """Says where it listens once it does: the port may have been left to the system."""

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            if self.started:
                host, port = self.servers[0].sockets[0].getsockname()[:2]
                address = f"[{host}]" if ":" in host else host
                print(f"Stopledger: http://{address}:{port}/  (data in {settings.data})", flush=True)

    logging.basicConfig(level=logging.INFO, format="%(message)s")
    logging.getLogger("alembic").setLevel(logging.WARNING)
    for handler in logging.getLogger().handlers:
        handler.addFilter(disk.in_one_line)
    app = create_app(settings)
    gc.freeze()
    gc.enable()
    config = uvicorn.Config(
        app,
        host=settings.host,
        port=settings.port,
        log_level="warning",
        timeout_graceful_shutdown=_STOPS_WITHIN_S,
        server_header=False,
    )
    logging.getLogger("uvicorn.error").addFilter(disk.in_one_line)
    server = Server(config)
    server.run()
    return 0 if server.started else 1


if __name__ == "__main__":
    sys.exit(main())
