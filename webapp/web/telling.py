"""One way for every change: whoever made it, what the records say has changed is told to open pages, once.

A request's changes are gathered while it is worked on, and told when it is answered; those of the folder, of measuring
and of every other thread as they are committed. Drawing is done in one thread of its own, in order, from the state that
the answer was made of where nothing was changed since.
"""

from __future__ import annotations

import logging
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from contextvars import ContextVar
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Final, NamedTuple

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from webapp.errors import NotFound
from webapp.live import IN_TRAY, Followed, Live
from webapp.records import links as link_records
from webapp.records import shots as shot_records
from webapp.records.changes import (
    Changed,
    FolderOfHouse,
    InTrayOfHouse,
    KitOfHouse,
    LengthsOfHouse,
    LivePageEnded,
    Noted,
    OfShot,
    SetUpOf,
    WholeShot,
)
from webapp.records.engine import Records
from webapp.security.identity import SAFE_METHODS
from webapp.shoots.set_up_now import StandingState
from webapp.shoots.watching import Watching
from webapp.web.gathering import Gathering

if TYPE_CHECKING:
    from webapp.web.pages.live_parts import Drawing

_LONGEST_PAGE_ID: Final = 60
# What waits, and the shots that it may be filed to.
_CHANGES_IN_TRAY: Final = frozenset({InTrayOfHouse, WholeShot})
_log = logging.getLogger(__name__)


@dataclass(slots=True)
class _Asked:
    """A request that is being answered: the page that asked, and what was noted for it so far."""

    by: str
    noted: list[Noted] = field(default_factory=list)
    is_answered: bool = False


_ASKED: ContextVar[_Asked | None] = ContextVar("asked", default=None)


class _ToTell(NamedTuple):
    noted: Noted
    by: str


@dataclass(slots=True)
class _OfSession:
    """What is told to a session together."""

    number: int = 0
    bys: set[str] = field(default_factory=set)
    by_shot: defaultdict[str, set[OfShot]] = field(default_factory=lambda: defaultdict(set))

    @property
    def by(self) -> str:
        """The page that did all of it; where several did, each is told, as it does not know what the others did."""
        return next(iter(self.bys)) if len(self.bys) == 1 else ""


class Telling:
    """Tells the hub what the records note."""

    def __init__(self, records: Records, live: Live, watching: Watching) -> None:
        self._records = records
        self._live = live
        self._watching = watching
        self._soon: Gathering[_ToTell] = Gathering(self._tell, "telling")
        self._session_of: dict[str, str] = {}
        records.on_noted = self._note

    @cached_property
    def _drawing(self) -> Drawing:
        # What pages are drawn with is most of the program, and nobody follows while it starts.
        from webapp.web.pages.live_parts import Drawing

        return Drawing(self._records, self._watching)

    def close(self) -> None:
        """End the streams; nothing more is told."""
        self._live.close()
        self._soon.close()

    def tell_of(self, asked: _Asked) -> None:
        """What a request changed is told from now on: it is answered."""
        asked.is_answered = True
        noted, asked.noted = asked.noted, []
        if any(each.changed for each in noted):
            self._soon.note(*(_ToTell(each, asked.by) for each in noted))

    def _note(self, noted: Noted) -> None:
        asked = _ASKED.get()
        if asked is not None and not asked.is_answered:
            if noted.changed or noted.states:
                asked.noted.append(noted)
        elif noted.changed:
            self._soon.note(_ToTell(noted, ""))

    def _tell(self, noted: list[_ToTell]) -> None:
        states = {shot_id: state for each in noted for shot_id, state in each.noted.states.items()}
        of_sessions: defaultdict[str, _OfSession] = defaultdict(_OfSession)
        for each in noted:
            for changed in each.noted.changed:
                for session_id, of_shot in self._of_shots(changed, each.noted.number):
                    told = of_sessions[session_id]
                    told.number = max(told.number, each.noted.number)
                    told.bys.add(each.by)
                    told.by_shot[of_shot.shot_id].add(of_shot)
        self._tell_in_tray([each for each in noted if _CHANGES_IN_TRAY.intersection(map(type, each.noted.changed))])
        for session_id, told in of_sessions.items():
            self._tell_session(session_id, told, states)
            self._tell_live_pages(session_id, told)

    def _of_shots(self, changed: Changed, number: int) -> Iterable[tuple[str, OfShot]]:
        """The shots that a change is of, with their sessions; what is of no shot is done at once."""
        match changed:
            case LivePageEnded():
                self._live.end(Followed("live page", changed.token))
            case LengthsOfHouse():
                self._live.draw_anew(number)
            case KitOfHouse() | InTrayOfHouse() | FolderOfHouse():
                # What can be chosen stands on every desk, and so do the folder and how much waits in the in-tray.
                with self._records.reading() as db:
                    for session_id in self._live.sessions():
                        for shot in shot_records.shots_in(db, session_id):
                            yield session_id, SetUpOf(shot.id)
            case _:
                session_id = self._session_with(changed.shot_id)
                if session_id:
                    yield session_id, changed

    def _session_with(self, shot_id: str) -> str:
        """The session of a shot; empty where the shot was deleted meanwhile."""
        found = self._session_of.get(shot_id)
        if found is None:
            try:
                with self._records.reading() as db:
                    found = shot_records.shot_of(db, shot_id).session_id
            except NotFound:
                return ""
            self._session_of[shot_id] = found
        return found

    def _tell_session(self, session_id: str, told: _OfSession, states: Mapping[str, object]) -> None:
        followed = Followed("session", session_id)
        if not self._live.anyone(followed, but=told.by):
            self._live.skip(followed, told.number, told.by)
            return
        try:
            parts = [
                self._drawing.parts_of(shot_id, changed, self._newest(states.get(shot_id)))
                for shot_id, changed in told.by_shot.items()
            ]
        except Exception:
            _log.exception("The pages of a session could not be told; they are drawn anew.")
            self._live.skip(followed, told.number, told.by)
            return
        self._live.tell(followed, told.number, "".join(parts), told.by)

    def _tell_in_tray(self, noted: Sequence[_ToTell]) -> None:
        if not noted:
            return
        number, bys = max(each.noted.number for each in noted), {each.by for each in noted}
        by = next(iter(bys)) if len(bys) == 1 else ""
        if not self._live.anyone(IN_TRAY, but=by):
            self._live.skip(IN_TRAY, number, by)
            return
        # As above.
        from webapp.web.pages.live_parts import in_tray_fragment

        try:
            part = in_tray_fragment(self._drawing.in_tray())
        except Exception:
            _log.exception("The in-tray could not be told; it is drawn anew.")
            self._live.skip(IN_TRAY, number, by)
            return
        self._live.tell(IN_TRAY, number, part, by)

    def _newest(self, state: object) -> StandingState | None:
        """The state that an answer was made of, where nothing was changed since."""
        if isinstance(state, StandingState) and state.as_of == self._records.newest:
            return state
        return None

    def _tell_live_pages(self, session_id: str, told: _OfSession) -> None:
        if not self._live.knows_any("live page"):
            return
        # As above.
        from webapp.web.pages.live_page_parts import concerns_live_pages, parts_of_live_page

        of_live_pages = {each: changed for each, changed in told.by_shot.items() if concerns_live_pages(changed)}
        if not of_live_pages:
            return
        with self._records.reading() as db:
            pages = [each for each in link_records.live_pages_of(db, session_id) if not link_records.has_ended(each)]
        for page in pages:
            followed = Followed("live page", page.token)
            if not self._live.anyone(followed):
                self._live.skip(followed, told.number)
                continue
            try:
                parts = parts_of_live_page(self._records, page, of_live_pages)
            except Exception:
                _log.exception("A live page could not be told; it is drawn anew.")
                self._live.skip(followed, told.number)
                continue
            self._live.tell(followed, told.number, parts)


class TellsOpenPages:
    """The middleware: gathers what a request changes, and has it told once the request is answered."""

    def __init__(self, app: ASGIApp, telling: Telling) -> None:
        self._app = app
        self._telling = telling

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] in SAFE_METHODS:
            await self._app(scope, receive, send)
            return
        asked = _Asked(Headers(scope=scope).get("x-page", "")[:_LONGEST_PAGE_ID])
        ours = _ASKED.set(asked)

        async def send_and_tell(message: Message) -> None:
            await send(message)
            # Before what a response leaves to be done after it, such as the preview of a frame that was logged.
            if message["type"] == "http.response.body" and not message.get("more_body", False):
                self._telling.tell_of(asked)

        try:
            await self._app(scope, receive, send_and_tell)
        finally:
            _ASKED.reset(ours)
            self._telling.tell_of(asked)
