"""What the front page can do without, made once that is served or when it is first asked for.

The modules of the other routes, with the models of the whole JSON interface, are most of what starting takes.
"""

from __future__ import annotations

import threading

from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool
from starlette.types import ASGIApp, Receive, Scope, Send

_WITHOUT_THEM = ("/static/",)
_FRONT = "/"


class LaterRoutes:
    """Adds them to the app, once, with what the readers of live pages share; may be shared by threads."""

    def __init__(self, app: FastAPI) -> None:
        self._app = app
        self._adding = threading.Lock()
        self.are_there = False

    def add(self) -> None:
        """Add them, or wait until they are added."""
        with self._adding:
            if self.are_there:
                return
            from webapp.web import api, pages, paper
            from webapp.web.pages.live_page_parts import LivePages

            services = self._app.state.services
            self._app.state.live_pages = LivePages(services.records, services.live)
            pages.add_others(self._app)
            paper.add_to(self._app)
            api.add_to(self._app)
            self.are_there = True

    def close(self) -> None:
        """Keep what the live pages counted."""
        if self.are_there:
            self._app.state.live_pages.close()


class RoutesBeforeAnswer:
    """Middleware: a request that is not for the front page waits for the later routes."""

    def __init__(self, app: ASGIApp, later: LaterRoutes) -> None:
        self._app = app
        self._later = later

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and not self._later.are_there and not _is_front(scope["path"]):
            await run_in_threadpool(self._later.add)
        await self._app(scope, receive, send)


def _is_front(path: str) -> bool:
    return path == _FRONT or path.startswith(_WITHOUT_THEM)
