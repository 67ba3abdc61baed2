"""The command line: `stopledger serve`, `measure`, `backup`, `restore`, `check`, `passphrase` and `certificate`."""

from __future__ import annotations

import argparse
import contextlib
import gc
import logging
import os
import socket
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from webapp import allocator, disk, log, measuring_command
from webapp import settings as settings_of
from webapp.errors import CannotStart, DiskTrouble, InvalidValue
from webapp.security.identity import Role
from webapp.settings import Settings

if TYPE_CHECKING:
    from webapp.services import Services

_MOST_FILES = 8192
_METAVARS = {
    "data": "DIR",
    "watch": "DIR",
    "backup_to": "DIR",
    "largest_upload_mb": "MB",
    "backup_every_hours": "HOURS",
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command; the answer is the exit status."""
    asked = _parser().parse_args(arguments)
    if asked.command == "measure":
        # The server has no use for it, and a script waits for every import.
        from webapp.web.words.say import say

        return measuring_command.run(asked, say)
    try:
        if asked.command == "serve":
            return _serve(settings_of.read(**{name: getattr(asked, name) for name in settings_of.DESCRIPTIONS}))
        from webapp import backup_commands, door_commands

        if asked.command in door_commands.COMMANDS:
            return door_commands.run(asked)
        return backup_commands.run(asked)
    except KeyboardInterrupt:
        return 130
    except (CannotStart, DiskTrouble, InvalidValue) as error:
        print(f"stopledger: {error}", file=sys.stderr)
        return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="stopledger",
        description="A session logbook and shot-recipe library for pictures made with controlled light.",
    )
    commands = parser.add_subparsers(dest="command", required=True)
    serve = commands.add_parser("serve", help="serve the logbook to a browser on this machine")
    for name, about in settings_of.DESCRIPTIONS.items():
        option = f"--{name.replace('_', '-')}"
        if name in settings_of.SWITCHES:
            serve.add_argument(option, action="store_true", default=None, help=about)
        else:
            serve.add_argument(option, metavar=_METAVARS.get(name), help=about)
    passphrase = commands.add_parser("passphrase", help="set the owner's passphrase, for a server that others reach")
    certificate = commands.add_parser("certificate", help="make or renew the certificate for the studio's network")
    for each in (passphrase, certificate):
        each.add_argument("--data", metavar="DIR", help=settings_of.DESCRIPTIONS["data"])
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


def _serve(settings: Settings) -> int:
    # The records are nobody's but their owner's: files 0600, directories 0700.
    os.umask(0o077)
    _open_files_enough()
    allocator.give_memory_back()
    # What is made while starting stays: looking through it for garbage would be a tenth of the start.
    gc.disable()
    import uvicorn

    from webapp.app import create_app
    from webapp.doors import bound, server_config

    class Server(uvicorn.Server):
        """Opens the other doors and says where it listens once it does: the port may have been left to the system."""

        refused: CannotStart | None = None

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            if not self.started:
                return
            host, port = self.servers[0].sockets[0].getsockname()[:2]
            address = f"[{host}]" if ":" in host else host
            print(f"Stopledger: http://{address}:{port}/  (data in {settings.data})", flush=True)
            try:
                await services.doors.open_at_start()
            except CannotStart as error:
                self.refused, self.should_exit = error, True
            else:
                _tell_doors(services)

        async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
            # Streams would be waited for, and then cut.
            services.live.close()
            await services.doors.close()
            await super().shutdown(sockets)

    log.begin()
    for handler in logging.getLogger().handlers:
        handler.addFilter(disk.in_one_line)
    app = create_app(settings)
    services = app.state.services
    gc.freeze()
    gc.enable()
    logging.getLogger("uvicorn.error").addFilter(disk.in_one_line)
    server = Server(server_config(app, settings, host=settings.host, port=settings.port))
    with bound("Stopledger", settings.host, settings.port) as listening:
        server.run([listening])
    if server.refused is not None:
        raise server.refused
    return 0 if server.started else 1


def _open_files_enough() -> None:
    """As many as the system lets us: every follower of a live page holds one."""
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        _, most = resource.getrlimit(resource.RLIMIT_NOFILE)
        resource.setrlimit(resource.RLIMIT_NOFILE, (min(most, _MOST_FILES) if most > 0 else _MOST_FILES, most))


def _tell_doors(services: Services) -> None:
    """The addresses of the other doors; for the studio's, the code that lets the owner's phone in."""
    if services.doors.studio:
        import segno

        address = f"{services.doors.studio}pair/{services.devices.pair(Role.OWNER).code}"
        segno.make(address, error="l").terminal(compact=True)
        print(
            f"On the studio's network: {services.doors.studio}  (the code lets one phone in, for two minutes)",
            flush=True,
        )
    if services.doors.outside:
        print(f"Links and live pages: {services.doors.outside}", flush=True)


if __name__ == "__main__":
    sys.exit(main())
