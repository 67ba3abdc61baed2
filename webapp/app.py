"""create_app(settings): the one door. Opens the records, wires the parts together, turns errors into answers."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import AsyncIterator, Callable
from functools import partial
from pathlib import Path
from urllib.parse import urlsplit

from fastapi import Depends, FastAPI
from sqlmodel import Session as Database
from starlette.middleware.gzip import DEFAULT_EXCLUDED_CONTENT_TYPES, GZipMiddleware

from webapp import disk, error_handlers, static_files
from webapp.backups.directory import Backup, BackupDirectory
from webapp.backups.schedule import Schedule
from webapp.backups.state import state_of
from webapp.certificates import host_names
from webapp.devices import Devices
from webapp.doors import Doors
from webapp.errors import CannotStart, DiskTrouble
from webapp.facts import Fact
from webapp.filling import Filling
from webapp.kit.starter import lay_out_starter_kit
from webapp.later import LaterRoutes, RoutesBeforeAnswer
from webapp.live import Live
from webapp.log import Numbered
from webapp.pictures.kinds import CAMERA_SUFFIXES
from webapp.pictures.store import PictureStore, make_directory
from webapp.pictures.watch import watch_folder
from webapp.recipes.terms import lay_out_vocabulary
from webapp.records import database_file
from webapp.records.engine import DATABASE_NAME, Records
from webapp.records.upgrade import upgrade
from webapp.security.guard import Guard, Rules, Streams
from webapp.services import Services, may_ask
from webapp.settings import Settings
from webapp.shoots.deletion import finish_deletion
from webapp.shoots.ingest import Intake
from webapp.shoots.log_frame import renew_all
from webapp.shoots.tiles import LightTable
from webapp.shoots.tracing import Tracing
from webapp.shoots.watching import Watching
from webapp.web import pages
from webapp.web.telling import Telling, TellsOpenPages

_log = logging.getLogger(__name__)
# Over the largest picture: the other fields of the form that carries it.
_ROOM_FOR_FIELDS_MB = 2
# Compressed already (pictures, camera files, PDFs), or to be sent line by line (event streams).
_SENT_AS_THEY_ARE = (*DEFAULT_EXCLUDED_CONTENT_TYPES, "application/octet-stream", "application/pdf")
_FRONT_PAGE_FIRST_S = 1.0
_WATCHED_AGAIN_S = 2.0


def create_app(settings: Settings) -> FastAPI:
    """The whole program over one data directory. Raises CannotStart, and DiskTrouble where the disk does not let it."""
    named, streams = f"the data directory ({settings.data})", Streams()
    with disk.saying(settings.data, named):
        make_directory(settings.data, 0o700)
        disk.refuse_unwritable(settings.data, named)
        _refuse_damaged(settings)
        services = _open_house(settings, streams)
    app = FastAPI(
        title="Stopledger",
        version="1",
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/v1/openapi.json",
        lifespan=_lifespan,
        max_body_size=(settings.largest_upload_mb + _ROOM_FOR_FIELDS_MB) << 20,
        telemetry={"tracing": False},
        dependencies=[Depends(may_ask)],
    )
    app.state.services = services
    app.state.telling = Telling(services.records, services.live, services.watching)
    app.add_middleware(TellsOpenPages, telling=app.state.telling)
    app.state.later_routes = LaterRoutes(app)
    app.add_middleware(RoutesBeforeAnswer, later=app.state.later_routes)
    app.add_middleware(GZipMiddleware, minimum_size=500, compresslevel=6, exclude_content_types=_SENT_AS_THEY_ARE)
    app.add_middleware(Guard, rules=_rules(settings, services.devices), streams=streams)
    app.add_middleware(Numbered)
    app.add_route(f"{static_files.PLACE}{{path:path}}", static_files.answer, include_in_schema=False)
    app.add_route("/worker.js", static_files.worker, include_in_schema=False)
    pages.add_front(app)
    error_handlers.add_to(app)
    services.doors.app = app
    return app


def _refuse_damaged(settings: Settings) -> None:
    """Before anything is written: nothing makes a damaged database better, and much makes it worse."""
    database = settings.data / DATABASE_NAME
    damage = database.is_file() and database_file.damage_in(database, quick=True)
    if damage:
        raise CannotStart(
            f"The database {database} is damaged ({damage}). Nothing was started, and nothing was changed. "
            + _way_back(settings)
        )


def _newest_sound(settings: Settings) -> Backup | None:
    for place in (settings.backup_to, state_of(settings).place):
        with contextlib.suppress(OSError):
            found = BackupDirectory(Path(place)).newest_sound() if place else None
            if found is not None:
                return found
    return None


def _way_back(settings: Settings) -> str:
    newest = _newest_sound(settings)
    # The words of it are wanted this once.
    from webapp.web.words.backups import restore_words

    if newest is None:
        return "No sound backup was found; if you have one elsewhere, “stopledger restore FROM --data DIR” brings it back."
    return (
        f"The newest sound backup is of {newest.manifest.made_at.astimezone():%Y-%m-%d %H:%M}, with "
        f"{newest.manifest.counts['frames']} frames. Bring it back into a directory of its own, and start with that: "
        + restore_words(newest.directory, settings.data)
    )


def _rules(settings: Settings, devices: Devices) -> Rules:
    outside = urlsplit(settings.public_address).hostname
    return Rules(
        known=devices.who_holds,
        names=frozenset({*host_names(), *settings.names}),
        outside_names=frozenset({outside} if outside else ()),
        trusts_machine=settings.is_loopback_alone and not settings.proxy,
        behind_proxy=bool(settings.proxy),
    )


def _renew(db: Database) -> None:
    """Work out anew what is computed and kept: the ledgers, what pictures prove, the lines of the search."""
    # The first page is served without it.
    from webapp.recipes.publish import renew_lines

    renew_all(db, _tell_renewed)
    renew_lines(db)


def _tell_renewed(done: int, of: int) -> None:
    """A line for each tenth of the shots."""
    if done * 10 // of > (done - 1) * 10 // of:
        _log.info("The records are brought up to date: %s of %s shots are worked out anew.", done, of)


def _open_house(settings: Settings, streams: Streams) -> Services:
    store = PictureStore(settings.pictures, most_bytes=settings.largest_upload_mb << 20)
    if settings.demo:
        _begin_demo(settings, store)
    records = Records(settings.data)
    put_aside = upgrade(records, _renew)
    if put_aside is not None:
        _log.info("The records were brought up to date; a copy of them as they were is in %s.", put_aside)
    light_table = LightTable(settings, store)
    services = Services(
        settings,
        records,
        store,
        Live(lambda: records.newest),
        Intake(settings, records, store),
        Watching(settings, records),
        light_table,
        Tracing(light_table.pictures),
        Devices(records, streams),
        Doors(settings),
        Filling(settings, records),
    )
    if not (settings.is_loopback_alone and not settings.proxy) and not services.devices.has_passphrase():
        raise CannotStart(
            f"Other machines can reach {settings.host}, and nobody is let in without a passphrase: set one with "
            f"`stopledger passphrase --data {settings.data}`. For a phone on the studio's network alone, start with "
            "--lan and leave --host as it is."
        )
    services.filling.work = partial(_put_demo_in, services)
    finish_deletion(records, settings, store)
    lay_out_starter_kit(records)
    lay_out_vocabulary(records)
    return services


def _begin_demo(settings: Settings, store: PictureStore) -> None:
    from webapp.demo import fill

    if not fill.can_begin(settings):
        _log.info("%s has data in it, so the demo is left out.", settings.data)
        return
    _log.info("Laying out the demo shoots in %s; their readings and recipes follow.", settings.data)
    fill.begin(settings, store)


def _put_demo_in(services: Services, logged: Callable[[], None]) -> None:
    """On demand. The demo takes the set only where no camera file could be taken for one of its frames."""
    from webapp.demo import fill

    on_set = services.watching.folder is None
    fill.put_in(services.settings, services.records, services.intake, on_set=on_set, logged=logged)


def _finish_demo(services: Services) -> None:
    if not services.settings.demo_to_publish.exists():
        return
    from webapp.demo import fill

    try:
        fill.finish(services.settings, services.records, services.intake)
    except Exception:
        services.filling.not_published()
        _log.exception("The recipes of the demo could not be published; the next start tries again.")


@contextlib.asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    services: Services = app.state.services
    services.intake.try_again()
    settings = services.settings
    schedule = Schedule(settings, settings.backup_to) if settings.backup_to is not None else None
    if schedule is not None:
        schedule.start()
    later = asyncio.create_task(_add_later_routes(app))
    demo = asyncio.create_task(asyncio.to_thread(_finish_demo, services))
    watching = asyncio.create_task(_watch(services))
    try:
        yield
    finally:
        await _ended(later)
        app.state.telling.close()
        await services.doors.close()
        app.state.later_routes.close()
        await _ended(watching)
        services.intake.close()
        await demo
        await asyncio.to_thread(services.filling.close)
        if schedule is not None:
            await asyncio.to_thread(schedule.close)
        services.tracing.close()
        services.light_table.close()
        services.records.close()


async def _ended(task: asyncio.Task[None]) -> None:
    """End a task that would go on for ever."""
    task.cancel()
    with contextlib.suppress(asyncio.CancelledError):
        await task


async def _add_later_routes(app: FastAPI) -> None:
    """After the front page, which is asked for as soon as the address is told."""
    await asyncio.sleep(_FRONT_PAGE_FIRST_S)
    await asyncio.to_thread(app.state.later_routes.add)


async def _watch(services: Services) -> None:
    """Follow the folder that is watched, and as soon as another is chosen, that."""
    loop, chosen = asyncio.get_running_loop(), asyncio.Event()
    services.watching.on_chosen = lambda: loop.call_soon_threadsafe(chosen.set)
    while True:
        chosen.clear()
        folder = services.watching.folder
        following = asyncio.create_task(_follow(services.intake, folder)) if folder else None
        try:
            await chosen.wait()
        finally:
            if following is not None:
                await _ended(following)


async def _follow(intake: Intake, folder: Path) -> None:
    """The folder yields paths; the ledger makes frames of them."""
    # The words of every room hang on it, and the front page is served without a folder and before one.
    from webapp.web.words.say import say

    intake.warm()
    told = ""
    while True:
        try:
            await _take_arrivals(intake, folder, lambda each: _log.warning(say(each)))
        except DiskTrouble as trouble:
            if str(trouble) != told:
                told = str(trouble)
                _log.error("The watched folder is waited for: %s (%s)", trouble, trouble.cause)
            await asyncio.sleep(_WATCHED_AGAIN_S)
        except Exception:
            # A disk that was full for a moment may not end the watch: the next one takes stock of what came meanwhile.
            _log.exception("The watched folder could not be followed; it is looked into again.")
            await asyncio.sleep(_WATCHED_AGAIN_S)


async def _take_arrivals(intake: Intake, folder: Path, tell: Callable[[Fact], None]) -> None:
    arrivals = watch_folder(folder, suffixes=CAMERA_SUFFIXES, tell=tell, register=intake)
    async with contextlib.aclosing(arrivals) as paths:
        async for path in paths:
            await asyncio.to_thread(intake.arrived, path)
