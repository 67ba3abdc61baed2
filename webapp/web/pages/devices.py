"""Phones and browsers: who is let in, by which code, and the doors they come through."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import FileResponse, RedirectResponse, Response

from webapp import certificates
from webapp.devices import ROLES, Pairing
from webapp.errors import CannotStart, InvalidValue, NotFound
from webapp.records import shots as shot_records
from webapp.records.tables import Device, now
from webapp.security.guard import COOKIE, SIGN_IN
from webapp.security.identity import Identity, Right, Role, asks_for, owner_only
from webapp.services import Asking, InServices, Services
from webapp.web.pages.link_view import PRIVATE, qr_code
from webapp.web.pages.render import fragment, go_to, wants_partial, whole_page
from webapp.web.pages.sessions import said_in

router = APIRouter()
_KEEPS_S = 90 * 24 * 3600
_ROLE_WORDS = {
    Role.OWNER: "the owner: everything",
    Role.ASSISTANT: "an assistant: logs; no links, no deletion",
    Role.VIEWER: "a viewer: sees the frames of one session as they come, without names, notes or rejected ones",
}


@dataclass(frozen=True, slots=True)
class DeviceLine:
    id: str
    name: str
    about: str
    is_asking: bool


@dataclass(frozen=True, slots=True)
class PairingView:
    """A code on show. `settled` is what became of it, empty while it can be used."""

    code: str
    address: str
    picture: str
    about: str
    settled: str


@router.get("/devices")
@owner_only
def devices(request: Request, services: InServices, asking: Asking) -> Response:
    """The browsers that are signed in, and the form for another."""
    return _page(request, services, asking)


@router.post("/devices")
@owner_only
async def add(request: Request, services: InServices, asking: Asking) -> Response:
    """Show a code that lets one browser in."""
    said = await said_in(request)
    return await run_in_threadpool(_add, request, services, asking, said)


def _add(request: Request, services: Services, asking: Identity, said: dict[str, str]) -> Response:
    try:
        role = Role(said.get("role", Role.ASSISTANT))
        pairing = services.devices.pair(
            role, sees_private=said.get("sees_private") == "true", session_id=_active_session(services, said)
        )
    except ValueError:
        return _page(request, services, asking, {"role": "Choose whom the browser is for."})
    except InvalidValue as error:
        return _page(request, services, asking, {error.where[0]: str(error)})
    return _page(request, services, asking, pairing=pairing)


def _active_session(services: Services, said: dict[str, str]) -> str:
    if said.get("session"):
        return said["session"]
    with services.records.reading() as db:
        shot = shot_records.shot_on_the_set(db)
    return shot.session_id if shot else ""


@router.get("/devices/codes/{code}")
@owner_only
def code_on_show(request: Request, services: InServices, code: str) -> Response:
    """Whether a code on show was used."""
    try:
        view = _pairing_view(request, services, services.devices.pairing(code))
    except NotFound:
        view = PairingView(code, "", "", "", "The code was used, or its two minutes are over.")
    return Response(fragment("pairing.html", pairing=view), media_type="text/html", headers=PRIVATE)


@router.post("/devices/studio")
@owner_only
async def studio_door(request: Request, services: InServices, asking: Asking) -> Response:
    """Open or close the door to the studio's network."""
    said = await said_in(request)
    try:
        if said.get("open") == "true":
            await services.doors.open_studio()
        else:
            await services.doors.close_studio()
    except CannotStart as error:
        return await run_in_threadpool(_page, request, services, asking, {"studio": str(error)})
    return go_to(request, "/devices")


@router.post("/devices/passphrase")
@owner_only
async def set_passphrase(request: Request, services: InServices, asking: Asking) -> Response:
    """Set the owner's passphrase."""
    said = await said_in(request)
    try:
        await run_in_threadpool(services.devices.set_passphrase, said.get("passphrase", ""), asking.device)
    except InvalidValue as error:
        return await run_in_threadpool(_page, request, services, asking, {"passphrase": str(error)})
    return go_to(request, "/devices")


@router.post("/devices/{device_id}/sign-out")
@owner_only
def sign_out_device(request: Request, services: InServices, device_id: str) -> Response:
    """Sign a browser out, at once."""
    services.devices.sign_out(device_id)
    return go_to(request, "/devices")


@router.get("/pair/{code}")
@asks_for(Right.SIGN_IN)
def pair(request: Request, services: InServices, code: str) -> Response:
    """What a phone sees that has read the code: nothing is used up by looking."""
    return _pair_page(request, services.devices.pairing(code))


@router.post("/pair/{code}")
@asks_for(Right.SIGN_IN)
async def let_in(request: Request, services: InServices, code: str) -> Response:
    """Let this browser in, by its name."""
    said = await said_in(request)
    try:
        device, token = await run_in_threadpool(services.devices.let_in, code, said.get("name", ""))
    except InvalidValue as error:
        pairing = services.devices.pairing(code)
        return await run_in_threadpool(_pair_page, request, pairing, said, str(error))
    return _signed_in(request, device, token, "/")


@router.get(SIGN_IN)
@asks_for(Right.SIGN_IN)
def sign_in_page(request: Request, services: InServices, next: str = "") -> Response:
    """Where whoever is not signed in comes to."""
    return _sign_in_page(request, services, {"next": next})


@router.post(SIGN_IN)
@asks_for(Right.SIGN_IN)
async def sign_in(request: Request, services: InServices) -> Response:
    """Sign in by the passphrase."""
    said = await said_in(request)
    who = request.client.host if request.client else ""
    try:
        device, token = await run_in_threadpool(
            services.devices.sign_in, said.get("passphrase", ""), said.get("name", ""), who
        )
    except InvalidValue as error:
        return await run_in_threadpool(_sign_in_page, request, services, said, {error.where[0]: str(error)})
    return _signed_in(request, device, token, said.get("next", ""))


@router.post("/sign-out")
@asks_for(Right.SIGN_IN)
def sign_out(services: InServices, asking: Asking) -> Response:
    """Sign this browser out, and have it forget what it keeps of the house."""
    if asking.device:
        services.devices.sign_out(asking.device)
    answer = RedirectResponse(SIGN_IN, 303, {"Clear-Site-Data": '"cache", "storage"'})
    answer.delete_cookie(COOKIE)
    return answer


@router.get("/certificate")
@asks_for(Right.SIGN_IN)
def authority(services: InServices) -> Response:
    """The authority that a phone installs to trust the studio's certificate. It is no secret; its key is."""
    made = certificates.of(services.settings.certificates)
    if made is None:
        raise NotFound("No certificate was made for this studio.")
    return FileResponse(made.authority, media_type="application/x-x509-ca-cert", filename="stopledger-authority.crt")


def _signed_in(request: Request, device: Device, token: str, there: str) -> Response:
    # Only a place of this house: never where somebody else's address points.
    own = there.startswith("/") and not there.startswith(("//", "/\\"))
    answer = RedirectResponse(f"/open/{device.live_page}" if device.live_page else there if own else "/", 303)
    answer.set_cookie(
        COOKIE, token, max_age=_KEEPS_S, httponly=True, samesite="lax", secure=request.url.scheme == "https"
    )
    return answer


def _sign_in_page(
    request: Request, services: Services, said: dict[str, str], problems: dict[str, str] | None = None
) -> Response:
    return whole_page(
        request,
        "sign_in.html",
        status=422 if problems else 200,
        lengths_in="",
        has_passphrase=services.devices.has_passphrase(),
        said=said,
        name=said.get("name") or _guessed_name(request),
        problems=problems or {},
        secure=request.url.scheme == "https",
    )


def _pair_page(request: Request, pairing: Pairing, said: dict[str, str] | None = None, problem: str = "") -> Response:
    return whole_page(
        request,
        "pair.html",
        status=422 if problem else 200,
        lengths_in="",
        code=pairing.code,
        about=_ROLE_WORDS[pairing.role],
        name=(said or {}).get("name") or _guessed_name(request),
        problem=problem,
        secure=request.url.scheme == "https",
    )


def _guessed_name(request: Request) -> str:
    """What the browser says it runs on, as a first name for it."""
    agent = request.headers.get("user-agent", "")
    on_phone = "Mobile" in agent or "Android" in agent
    return "phone at the set" if on_phone else "tablet at the set" if "Tablet" in agent else "browser"


def _page(
    request: Request,
    services: Services,
    asking: Identity,
    problems: dict[str, str] | None = None,
    pairing: Pairing | None = None,
) -> Response:
    with services.records.reading() as db:
        sessions = [(each.id, each.name) for each in shot_records.sessions(db)]
    made = certificates.of(services.settings.certificates)
    view = _pairing_view(request, services, pairing) if pairing else None
    if view and wants_partial(request):
        return Response(fragment("pairing.html", pairing=view), media_type="text/html", headers=PRIVATE)
    return whole_page(
        request,
        "devices.html",
        status=422 if problems else 200,
        devices=[_line(each, asking) for each in services.devices.all()],
        roles=[(each.value, _ROLE_WORDS[each]) for each in reversed(ROLES)],
        sessions=sessions,
        active=_active_session(services, {}),
        pairing=view,
        studio=services.doors.studio,
        outside=services.doors.outside,
        reached=bool(services.doors.studio) or not services.settings.is_loopback_alone,
        secure=services.doors.studio.startswith("https"),
        certificate=_until(made),
        has_passphrase=services.devices.has_passphrase(),
        problems=problems or {},
    )


def _until(made: certificates.Certificate | None) -> str:
    if made is None:
        return ""
    until = certificates.expires_at(made)
    return f"{until.day} {until:%B %Y}"


def _line(device: Device, asking: Identity) -> DeviceLine:
    role = Role(device.role)
    private = "" if device.sees_private or role is Role.VIEWER else " · no client names or session notes"
    return DeviceLine(
        device.id,
        device.name,
        f"{role}{private} · let in {_day(device.let_in_at)} · last seen {_day(device.last_seen_at)}",
        device.id == asking.device,
    )


def _day(at: dt.datetime) -> str:
    return f"{at.day} {at:%B, %H:%M} UTC"


def _pairing_view(request: Request, services: Services, pairing: Pairing) -> PairingView:
    address = f"{services.doors.studio or request.base_url}pair/{pairing.code}"
    left = max(0, round((pairing.until - now()).total_seconds()))
    return PairingView(
        pairing.code, address, qr_code(address), f"{_ROLE_WORDS[pairing.role]} · good once, for {left} s more", ""
    )
