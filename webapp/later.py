"""What the front page can do without, made once that is served or when it is first asked for.

The modules of the other routes, with the models of the whole JSON interface, are most of what starting takes.
"""

from __future__ import annotations

import functools
import threading

from fastapi import Depends, FastAPI
from starlette.concurrency import run_in_threadpool
from starlette.routing import BaseRoute
from starlette.types import ASGIApp, Receive, Scope, Send

from webapp.services import may_ask

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
            from webapp.web.pages.live_page_parts import LivePages

            services = self._app.state.services
            self._app.state.live_pages = LivePages(services.records, services.live)
            self._app.router.routes.extend(_routes())
            self.are_there = True

    def close(self) -> None:
        """Keep what the live pages counted."""
        if self.are_there:
            self._app.state.live_pages.close()


@functools.cache
def _routes() -> tuple[BaseRoute, ...]:
    """The later routes, which hold nothing of the app that they are added to."""
    from webapp.web import api, pages, paper

    bare = FastAPI(openapi_url=None, dependencies=[Depends(may_ask)])
    pages.add_others(bare)
    paper.add_to(bare)
    api.add_to(bare)
    return tuple(bare.router.routes)


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
