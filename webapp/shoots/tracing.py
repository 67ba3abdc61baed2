"""Shadows and shadow cards as pages ask for them: traced in the worker that makes pictures ready to be looked at, so that
they never hold up the server.

A drag asks for them many times. What a page asks for supersedes what it asked for before, as long as that has not begun:
whoever still waits for the older is asked what stands by then. What was traced lately is kept by its value, the plan
among it, so that an answer that took longer than a page waits for is there when it asks again.
"""

from __future__ import annotations

import asyncio
import logging
import threading
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from starlette.concurrency import run_in_threadpool

from webapp.errors import NotReadYet, NotTraced
from webapp.pictures.isolation import IsolatedPictures

if TYPE_CHECKING:
    from webapp.plan.tracing import Asked

TRACING_LIMIT_S: Final = 30.0
"""For one task, from when the worker begins it."""
_KEPT: Final = 12
_log = logging.getLogger(__name__)


class _Superseded(Exception):
    """The page that asked has asked for something newer, or nothing is begun any more."""


@dataclass(slots=True, eq=False)
class _Job:
    pages: set[str]
    answer: Future[bytes] = field(default_factory=Future)
    has_begun: bool = False


class Tracing:
    """Shared by threads and by what runs on the loop. One task is traced at a time."""

    def __init__(self, pictures: IsolatedPictures) -> None:
        self._pictures = pictures
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="tracing")
        self._lock = threading.Lock()
        self._jobs: OrderedDict[Asked, _Job] = OrderedDict()
        self._made: OrderedDict[Asked, bytes] = OrderedDict()
        self._closed = False

    async def newest(self, page: str, asked: Callable[[], Asked], within_s: float) -> tuple[Asked, bytes]:
        """What a page asks for, and its answer. `asked` says it of what stands, in a thread, and is called again where
        something newer was asked for meanwhile. Raises NotTraced: it goes on where it is only not there in time."""
        try:
            async with asyncio.timeout(within_s):
                while True:
                    if self._closed:
                        raise NotTraced("The program is being closed; the shadows were not worked out.")
                    task = await run_in_threadpool(asked)
                    try:
                        return task, await asyncio.shield(asyncio.wrap_future(self._begun(page, task)))
                    except _Superseded:
                        continue
        except TimeoutError:
            raise NotTraced(
                f"The shadows were not worked out within {within_s:g} s. Ask again.",
                goes_on=True,
                waits=self._pictures.reads_a_picture,
            ) from None

    def close(self) -> None:
        """What was not begun is refused. The worker is its owner's to end."""
        self._closed = True
        self._thread.shutdown(wait=False, cancel_futures=True)
        with self._lock:
            waiting = [job for job in self._jobs.values() if not job.has_begun]
            self._jobs.clear()
        for job in waiting:
            job.answer.set_exception(_Superseded())

    def _begun(self, page: str, asked: Asked) -> Future[bytes]:
        """The answer to come. A task that waits already is waited for together."""
        with self._lock:
            if asked in self._made:
                self._made.move_to_end(asked)
                there: Future[bytes] = Future()
                there.set_result(self._made[asked])
                return there
            superseded = [each for each in self._jobs if _is_newer(asked, each) and self._is_given_up(page, each)]
            gone = [self._jobs.pop(each) for each in superseded]
            job = self._jobs.get(asked)
            is_new = job is None
            if job is None:
                job = self._jobs[asked] = _Job(set())
            job.pages.add(page)
        for each in gone:
            each.answer.set_exception(_Superseded())
        if is_new:
            self._thread.submit(self._trace_next)
        return job.answer

    def _is_given_up(self, page: str, asked: Asked) -> bool:
        """Whether nobody but this page waits for a task that has not begun."""
        job = self._jobs[asked]
        if job.has_begun or page not in job.pages:
            return False
        job.pages.discard(page)
        return not job.pages

    def _trace_next(self) -> None:
        with self._lock:
            asked, job = next(((a, each) for a, each in self._jobs.items() if not each.has_begun), (None, None))
            if asked is None or job is None:
                return
            job.has_begun = True
        made: bytes | NotTraced
        try:
            made = self._traced(asked)
        except NotTraced as trouble:
            made = trouble
        with self._lock:
            self._jobs.pop(asked, None)
            if isinstance(made, bytes):
                self._made[asked] = made
                if len(self._made) > _KEPT:
                    self._made.popitem(last=False)
        if isinstance(made, bytes):
            job.answer.set_result(made)
        else:
            job.answer.set_exception(made)

    def _traced(self, asked: Asked) -> bytes:
        # Shapes and rays, of which nothing is needed to start.
        from webapp.plan.tracing import asked_bytes

        try:
            return self._pictures.trace(asked_bytes(asked), TRACING_LIMIT_S)
        except NotReadYet:
            raise NotTraced(
                "The shadows could not be worked out: the process that traces them ended, or took longer than "
                f"{TRACING_LIMIT_S:g} s. Ask again."
            ) from None
        except Exception:
            _log.exception("Something could not be traced.")
            raise NotTraced("The shadows could not be worked out this time. Ask again.") from None


def _is_newer(asked: Asked, other: Asked) -> bool:
    """Whether one asks of another plan what the other asks of its own."""
    alike = (asked.what, asked.look, asked.shape) == (other.what, other.look, other.shape)
    return alike and (asked.plan, asked.beside) != (other.plan, other.beside)
