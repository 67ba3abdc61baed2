"""Addresses of the whole program, to be walked over."""

from __future__ import annotations

import json
import re
from collections import defaultdict
from html import unescape
from typing import Final
from urllib.parse import urljoin, urlsplit

import httpx

OF_EACH_KIND: Final = 2
_IDS: Final = re.compile(r"[0-9a-f]{8}-[0-9a-f-]{27}|[0-9a-f]{64}|\b\d+\b")
_LINKS: Final = re.compile(r'(?:href|src|hx-get)="([^"#]+)')


def pages_of(client: httpx.Client) -> list[str]:
    """Addresses of every kind of page that links lead to, so many of each kind, and those of the JSON interface whose
    ids are known from them."""
    seen, waiting, kinds = {"/"}, ["/"], defaultdict(list)
    while waiting:
        address = waiting.pop(0)
        kind = _IDS.sub("{}", urlsplit(address).path)
        if len(kinds[kind]) >= OF_EACH_KIND or kind.endswith(".pdf"):
            continue
        kinds[kind].append(address)
        answer = client.get(address)
        if not answer.headers.get("content-type", "").startswith("text/html"):
            continue
        for link in _LINKS.findall(answer.text):
            found = urljoin(address, unescape(link))
            if found.startswith("/") and not found.endswith("/events") and found not in seen:
                seen.add(found)
                waiting.append(found)
    addresses = [each for several in kinds.values() for each in several]
    ids = {
        kind: found for each in addresses for kind, found in re.findall(r"/(\w+)s/([0-9a-f]{8}-[0-9a-f-]{27})", each)
    }
    described = json.loads(client.get("/api/v1/openapi.json").text)["paths"]
    for path, item in described.items():
        wanted = [name.removesuffix("_id") for name in re.findall(r"{(\w+)}", path)]
        if "get" in item and not path.endswith("/events") and all(name in ids for name in wanted):
            addresses.append(re.sub(r"{(\w+)}", lambda name: ids[name[1].removesuffix("_id")], path))
    return addresses
