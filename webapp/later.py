"""What the front page can do without, made once that is served or when it is first asked for.

The modules of the other routes, with the models of the whole JSON interface, are most of what starting takes.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool
from starlette.types import ASGIApp, Receive, Scope, Send

if TYPE_CHECKING:
    from webapp.web.pages.live_parts import Telling

_WITHOUT_THEM = ("/static/",)
_FRONT = "/"


class LaterRoutes:
    """Adds them to the app, once; may be shared by threads."""

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

            pages.add_others(self._app)
            paper.add_to(self._app)
            api.add_to(self._app)
            self.are_there = True


class LaterAnnounce:
    """Tells as what `make` gives, which is made with the first thing that there is to tell."""

    def __init__(self, make: Callable[[], Telling]) -> None:
        self._make = make
        self._making = threading.Lock()
        self._made: Telling | None = None

    def standing(self, shot_id: str, by: str = "") -> None:
        """The standing set-up of a shot changed."""
        self.telling.standing(shot_id, by)

    def frame(self, frame_id: str, by: str = "") -> None:
        """A frame was logged or changed."""
        self.telling.frame(frame_id, by)

    def notices(self, shot_id: str, by: str = "") -> None:
        """The lines in a shot's log changed."""
        self.telling.notices(shot_id, by)

    def checklist(self, shot_id: str, by: str = "") -> None:
        """A line of a reshoot's checklist was ticked."""
        self.telling.checklist(shot_id, by)

    def whole_shot(self, shot_id: str, by: str = "") -> None:
        """Many frames changed at once: the reference frame is another."""
        self.telling.whole_shot(shot_id, by)

    def close(self) -> None:
        """Nothing more is told: the server is going down."""
        self.telling.close()

    @property
    def telling(self) -> Telling:
        """The one that tells."""
        with self._making:
            if self._made is None:
                self._made = self._make()
            return self._made


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
