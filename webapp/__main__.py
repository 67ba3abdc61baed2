"""The command line: `stopledger serve` and `stopledger measure`."""

from __future__ import annotations

import argparse
import gc
import logging
import socket
import sys
from collections.abc import Sequence

from webapp import allocator, measuring_command
from webapp import settings as settings_of
from webapp.errors import CannotStart

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
        return _serve(asked)
    except CannotStart as error:
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
    serve.add_argument("--demo", action="store_true", default=None, help=words["demo"])
    measuring_command.add_parser(commands)
    return parser


def _serve(asked: argparse.Namespace) -> int:
    settings = settings_of.read(
        host=asked.host,
        port=asked.port,
        data=asked.data,
        watch=asked.watch,
        demo=asked.demo,
        largest_upload_mb=asked.largest_upload_mb,
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
    server = Server(config)
    server.run()
    return 0 if server.started else 1


if __name__ == "__main__":
    sys.exit(main())
