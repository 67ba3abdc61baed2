"""The doors besides the machine's own: the studio's network, and the one outside for links and live pages.

Each is a listener of its own in the running server, so that what came in through it is known by the socket and not by
anything that the request says. The studio's can be opened and closed while the server runs.
"""

from __future__ import annotations

import asyncio
import contextlib
import socket
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from starlette.types import ASGIApp

from webapp import certificates
from webapp.errors import CannotStart
from webapp.security.guard import AtDoor, Door
from webapp.settings import Settings

if TYPE_CHECKING:
    import uvicorn

STOPS_WITHIN_S: Final = 2
"""An open event stream would otherwise hold the server up for ever when it is asked to stop."""
_MOST_OUTSIDE: Final = 600
# An address that documentation uses (RFC 5737): a datagram socket that is connected to it sends nothing, and knows
# from which address of this machine it would.
_SOMEWHERE: Final = ("192.0.2.1", 9)


@dataclass(slots=True)
class _Open:
    server: uvicorn.Server
    serving: asyncio.Task[None]
    address: str


class Doors:
    """Opened and closed in the event loop; read from anywhere."""

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._open: dict[Door, _Open] = {}
        self.app: ASGIApp | None = None

    async def open_at_start(self) -> None:
        """Those that the server was started with. Raises CannotStart."""
        if self._settings.lan:
            await self.open_studio()
        if self._settings.public_port is not None:
            await self._listen(Door.OUTSIDE, self._settings.public_host, self._settings.public_port, secure=False)

    async def open_studio(self) -> None:
        """Listen on the studio's network. Raises CannotStart where there is none, or the port is taken."""
        if Door.STUDIO not in self._open:
            host = own_address()
            if not host:
                raise CannotStart("lan: this machine is on no network just now. Join one, and try again.")
            await self._listen(Door.STUDIO, host, self._settings.port, secure=True)

    async def close_studio(self) -> None:
        await self._close(Door.STUDIO)

    async def close(self) -> None:
        for door in tuple(self._open):
            await self._close(door)

    @property
    def studio(self) -> str:
        """The address at which a phone finds the house; empty where it cannot."""
        opened = self._open.get(Door.STUDIO)
        return opened.address if opened else ""

    @property
    def outside(self) -> str:
        """The address that links begin with where it was given, or else that of the door outside; empty for none."""
        opened = self._open.get(Door.OUTSIDE)
        return self._settings.public_address or (opened.address if opened else "")

    def address_for_readers(self, asked: str) -> str:
        """What an address that is shared begins with; `asked` is by what the server was asked for just now."""
        return self.outside or self.studio or asked

    async def _listen(self, door: Door, host: str, port: int, *, secure: bool) -> None:
        import uvicorn

        class Beside(uvicorn.Server):
            """A server beside the first, which alone hears the signals that end the process."""

            @contextlib.contextmanager
            def capture_signals(self) -> Iterator[None]:
                yield

        assert self.app is not None
        certificate = await asyncio.to_thread(self._certificate_for, host) if secure else None
        config = server_config(
            AtDoor(self.app, door),
            self._settings,
            lifespan="off",
            # Its own, so that however many come to it, the house stays open.
            limit_concurrency=_MOST_OUTSIDE if door is Door.OUTSIDE else None,
            ssl_certfile=str(certificate.chain) if certificate else None,
            ssl_keyfile=str(certificate.key) if certificate else None,
        )
        server = Beside(config)
        serving = asyncio.create_task(server.serve([bound(f"The door {door}", host, port)]))
        while not server.started:
            await asyncio.sleep(0.01)
            if serving.done():
                raise CannotStart(f"The door {door} could not be opened at {host}, port {port}.")
        at = server.servers[0].sockets[0].getsockname()
        shown = own_address() or at[0] if at[0] in ("0.0.0.0", "::") else at[0]
        scheme = "https" if certificate else "http"
        self._open[door] = _Open(server, serving, f"{scheme}://{f'[{shown}]' if ':' in shown else shown}:{at[1]}/")

    def _certificate_for(self, host: str) -> certificates.Certificate | None:
        """The one that was made, made anew where it runs out or the network gave this machine another address."""
        folder = self._settings.certificates
        return None if certificates.of(folder) is None else certificates.make(folder, (host,))[0]

    async def _close(self, door: Door) -> None:
        opened = self._open.pop(door, None)
        if opened is not None:
            opened.server.should_exit = True
            await opened.serving


def server_config(app: ASGIApp, settings: Settings, **more: Any) -> uvicorn.Config:
    """How uvicorn is set up at every door. A proxy's word on who asks is believed where it was named, and only its."""
    import uvicorn

    from webapp.connections import ImpatientProtocol

    return uvicorn.Config(
        app,
        http=ImpatientProtocol,
        log_config=None,
        log_level="warning",
        timeout_graceful_shutdown=STOPS_WITHIN_S,
        server_header=False,
        proxy_headers=bool(settings.proxy),
        forwarded_allow_ips=list(settings.proxy),
        **more,
    )


def bound(what: str, host: str, port: int) -> socket.socket:
    """The place where something will listen. Raises CannotStart where the system does not give it."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
    except OSError as error:
        listening.close()
        raise CannotStart(
            f"{what} cannot be opened at {host}, port {port}: {error.strerror}. Name another port."
        ) from error
    return listening


def own_address() -> str:
    """The address of this machine on its network; empty where it is on none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(_SOMEWHERE)
        except OSError:
            return ""
        address = str(asked.getsockname()[0])
    return "" if address.startswith("127.") or address == "0.0.0.0" else address
