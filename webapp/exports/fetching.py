"""A bundle fetched from the link of another Stopledger.

Whoever pastes an address may have got it from anybody, and this server stands in the studio's network: so it asks over
http and https alone, follows few redirects and looks at each as at the first, reads no more and waits no longer than
bounded here, and goes to an address of its own network only where that is meant. A name is looked up once, and the
connection is made to the very address that was looked at, so that it cannot mean another one by then.
"""

from __future__ import annotations

import asyncio
import ipaddress
import re
import socket
import ssl
from typing import Final
from urllib.parse import SplitResult, urljoin, urlsplit

import httpx

from webapp.errors import InvalidValue

MOST_BYTES: Final = 60 << 20
"""A recipe with all the pictures that one may have is smaller."""
MOST_REDIRECTS: Final = 3
_MOST_ADDRESSES: Final = 4
_DEADLINE_S: Final = 60.0
_SILENCE_S: Final = 10.0
_LONGEST_ADDRESS: Final = 500
_LINK: Final = re.compile(r"(.*/shared/[\w-]{20,100})(?:/.*)?")
_ZIP: Final = "application/zip"
_NAT64: Final = ipaddress.ip_network("64:ff9b::/96")
_ANSWERS: Final = {
    404: "there is nothing at this address (any more), or the link carries no recipe for another Stopledger: whoever "
    "handed it out can tick that",
    429: "the server there is asked too often: try again in a minute",
}
Address = ipaddress.IPv4Address | ipaddress.IPv6Address


def fetch_bundle(address: str, *, own_network: bool = False) -> bytes:
    """The bundle behind the address of a link. `own_network`: it is meant that the address is one of this machine or of
    its network. Raises InvalidValue with what was wrong; nothing of what came is believed by it."""
    try:
        return asyncio.run(_within_deadline(_bundle_address(address.strip()), own_network))
    except TimeoutError as error:
        raise refused(f"it was not there within {_DEADLINE_S:g} seconds") from error


def refused(reason: str) -> InvalidValue:
    """Why nothing was fetched."""
    return InvalidValue("address", f"Nothing was imported: {reason}.")


def _bundle_address(address: str) -> str:
    """Where the bundle of a link lies."""
    parts = _checked(address)
    found = _LINK.fullmatch(parts.path)
    if found is None:
        raise refused("this is no link to a recipe, which has “/shared/” and a long row of letters in it")
    return parts._replace(path=f"{found[1]}/bundle", query="", fragment="").geturl()


def _checked(address: str) -> SplitResult:
    """An address that may be asked at all."""
    try:
        parts = urlsplit(address)
        host, _ = parts.hostname, parts.port
    except ValueError as error:
        raise refused("this is no address") from error
    if parts.scheme not in ("http", "https"):
        raise refused("an address begins with https:// or http://")
    if not host or len(address) > _LONGEST_ADDRESS or not address.isascii() or not address.isprintable():
        raise refused("this is no address of a server")
    if parts.username is not None or parts.password is not None:
        raise refused("there is a name or a password in the address")
    return parts


async def _within_deadline(address: str, own_network: bool) -> bytes:
    async with asyncio.timeout(_DEADLINE_S):
        limits = httpx.Timeout(_SILENCE_S)
        # Without the proxies of the environment: they would look a name up for themselves.
        async with httpx.AsyncClient(trust_env=False, timeout=limits, follow_redirects=False) as client:
            return await _followed(client, address, own_network)


async def _followed(client: httpx.AsyncClient, address: str, own_network: bool) -> bytes:
    for _ in range(MOST_REDIRECTS + 1):
        parts = _checked(address)
        response = await _answer(client, parts, own_network)
        try:
            if not response.is_redirect:
                return await _content(response)
            onward = urljoin(address, response.headers["location"])
        finally:
            await response.aclose()
        if parts.scheme == "https" and urlsplit(onward).scheme != "https":
            raise refused("it leads from a connection that nobody can read to one that anybody can")
        address = onward
    raise refused(f"it leads from one address to the next, more than {MOST_REDIRECTS} times")


async def _answer(client: httpx.AsyncClient, parts: SplitResult, own_network: bool) -> httpx.Response:
    """The answer of one hop, asked of an address that was looked at."""
    host = parts.hostname or ""
    problem: httpx.TransportError | None = None
    for each in await _looked_up(parts, own_network):
        literal = f"[{each}]" if each.version == 6 else str(each)
        there = parts._replace(netloc=literal if parts.port is None else f"{literal}:{parts.port}").geturl()
        headers = {"Host": parts.netloc, "Accept": _ZIP, "Accept-Encoding": "identity", "User-Agent": "Stopledger"}
        request = client.build_request("GET", there, headers=headers, extensions={"sni_hostname": host})
        try:
            return await client.send(request, stream=True)
        except httpx.ConnectError as error:
            problem = error
        except httpx.TimeoutException as error:
            raise refused(f"{host} does not answer") from error
        except (httpx.TransportError, ValueError) as error:
            raise refused(f"{host} does not answer as a server does") from error
    if _is_about_certificate(problem):
        raise refused(f"the certificate of {host} is not one that is trusted here") from problem
    raise refused(f"no connection to {host} could be made") from problem


def _is_about_certificate(error: BaseException | None) -> bool:
    while error is not None:
        if isinstance(error, ssl.SSLError):
            return True
        error = error.__cause__ or error.__context__
    return False


async def _looked_up(parts: SplitResult, own_network: bool) -> list[Address]:
    """The addresses behind a name that may be asked."""
    host = parts.hostname or ""
    port = parts.port or (443 if parts.scheme == "https" else 80)
    try:
        found = await asyncio.get_running_loop().getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError) as error:
        raise refused(f"there is no server named {host[:80]}") from error
    addresses = list(dict.fromkeys(ipaddress.ip_address(str(each[4][0]).partition("%")[0]) for each in found))
    allowed = [each for each in addresses if _may_be_asked(each, own_network)]
    if allowed:
        return allowed[:_MOST_ADDRESSES]
    if any(_may_be_asked(each, own_network=True) for each in addresses):
        raise refused(f"{host} is in your own network: tick that this is meant, if it is")
    raise refused(f"{host} is at an address that no server has")


def _may_be_asked(address: Address, own_network: bool) -> bool:
    """Whether a server may be asked at an address: one of the world, or one of the own network where that is meant.

    >>> [_may_be_asked(ipaddress.ip_address(each), False) for each in ("93.184.216.34", "192.168.1.7", "::1")]
    [True, False, False]
    >>> [_may_be_asked(ipaddress.ip_address(each), True) for each in ("192.168.1.7", "::1", "169.254.169.254", "0.0.0.0")]
    [True, True, False, False]
    >>> [_may_be_asked(ipaddress.ip_address(each), False) for each in ("::ffff:127.0.0.1", "64:ff9b::7f00:1")]
    [False, False]
    """
    if isinstance(address, ipaddress.IPv6Address) and (inner := _inside(address)) is not None:
        return _may_be_asked(inner, own_network)
    if address.is_loopback:
        return own_network
    if address.is_multicast or address.is_unspecified or address.is_link_local or address.is_reserved:
        return False
    return address.is_global or own_network


def _inside(address: ipaddress.IPv6Address) -> ipaddress.IPv4Address | None:
    """The address of version 4 that one of version 6 stands for: mapped, tunnelled or translated."""
    if address in _NAT64:
        return ipaddress.IPv4Address(int(address) & 0xFFFFFFFF)
    teredo = address.teredo
    return address.ipv4_mapped or address.sixtofour or (teredo[1] if teredo else None)


async def _content(response: httpx.Response) -> bytes:
    if response.status_code != 200:
        told = _ANSWERS.get(response.status_code, f"the server there answers with {response.status_code}")
        raise refused(told)
    kind = response.headers.get("content-type", "").partition(";")[0].strip()
    if kind != _ZIP or response.headers.get("content-encoding"):
        raise refused("what lies there is no bundle")
    content = bytearray()
    try:
        async for chunk in response.aiter_raw():
            content += chunk
            if len(content) > MOST_BYTES:
                raise refused(f"it is larger than the {MOST_BYTES >> 20} MB that are fetched")
    except httpx.TransportError as error:
        raise refused("the connection broke off before all of it was there") from error
    return bytes(content)
