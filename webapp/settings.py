"""Everything that can be set, in one place: from the environment (STOPLEDGER_…) and over it the command line."""

from __future__ import annotations

import ipaddress
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import platformdirs

from webapp.errors import CannotStart

PREFIX = "STOPLEDGER_"


@dataclass(frozen=True, slots=True)
class Settings:
    """What the server was started with."""

    data: Path
    host: str = "127.0.0.1"
    port: int = 8000
    lan: bool = False
    names: frozenset[str] = frozenset()
    public_host: str = "127.0.0.1"
    public_port: int | None = None
    public_address: str = ""
    proxy: tuple[str, ...] = ()
    watch: Path | None = None
    demo: bool = False
    largest_upload_mb: int = 600
    backup_to: Path | None = None
    backup_every_hours: int = 24

    @property
    def pictures(self) -> Path:
        return self.data / "pictures"

    @property
    def previews(self) -> Path:
        return self.data / "previews"

    @property
    def certificates(self) -> Path:
        return self.data / "certificates"

    @property
    def is_loopback_alone(self) -> bool:
        """Whether the machine's own door can be reached from nowhere else."""
        return self.host == "localhost" or ipaddress.ip_address(self.host).is_loopback

    @property
    def demo_to_publish(self) -> Path:
        """What of the demo is to be published once its pictures are read; gone when that is done."""
        return self.data / "demo-to-publish.json"


# Every setting: its name on the command line, and what the README and --help say of it.
DESCRIPTIONS: Mapping[str, str] = {
    "host": "address to listen on; one that other machines reach asks for the passphrase",
    "port": "port to listen on",
    "lan": "also listen on the studio's network, where a phone is let in by a code that is shown here",
    "names": "further names that the server is reached by, with commas between them",
    "public_port": "port of the door for links and live pages, which leads to nothing else",
    "public_host": "address that the door for links listens on",
    "public_address": "address that links begin with, such as https://recipes.example",
    "proxy": "addresses of the proxies in front of the server, with commas between them; no other is believed",
    "data": "directory of the records and pictures",
    "watch": "folder in which new camera files become frames of the shot that is on the set",
    "demo": "fill an empty data directory with the demo shoots",
    "largest_upload_mb": "largest picture file that is taken over the page, in megabytes",
    "backup_to": "directory that is backed up to while the server runs; best on another disk, or a mounted share",
    "backup_every_hours": "hours from one backup to the next",
}


SWITCHES: frozenset[str] = frozenset({"lan", "demo"})


def read(environment: Mapping[str, str] = os.environ, **over: str | bool | None) -> Settings:
    """Read the settings once. `over` are the command line's, by name; None is not given.

    Raises CannotStart, naming the setting, its value and the accepted form.
    """
    given: dict[str, str | bool] = {
        name: environment[PREFIX + name.upper()] for name in DESCRIPTIONS if PREFIX + name.upper() in environment
    }
    given |= {name: value for name, value in over.items() if value is not None}
    unknown = [
        name for name in environment if name.startswith(PREFIX) and name[len(PREFIX) :].lower() not in DESCRIPTIONS
    ]
    if unknown:
        raise CannotStart(
            f"{unknown[0]} is no setting; there are {', '.join(PREFIX + name.upper() for name in DESCRIPTIONS)}."
        )
    data = (
        Path(str(given["data"])) if given.get("data") else platformdirs.user_data_path("stopledger", appauthor=False)
    )
    watch, backup_to = (
        Path(str(given[each])).expanduser() if given.get(each) else None for each in ("watch", "backup_to")
    )
    if watch is not None and not watch.is_dir():
        raise CannotStart(f"watch: {watch} is no folder; make it, or name another.")
    return Settings(
        data=data.expanduser(),
        host=_host("host", given.get("host", "127.0.0.1")),
        port=_whole_number("port", given.get("port", "8000"), 0, 65535),
        lan=_switch("lan", given.get("lan", False)),
        names=frozenset(each.lower() for each in _list(given.get("names", ""))),
        public_host=_host("public_host", given.get("public_host", "127.0.0.1")),
        public_port=(
            _whole_number("public_port", given["public_port"], 0, 65535) if given.get("public_port") else None
        ),
        public_address=_address(str(given.get("public_address", ""))),
        proxy=tuple(_host("proxy", each) for each in _list(given.get("proxy", ""))),
        watch=watch,
        demo=_switch("demo", given.get("demo", False)),
        largest_upload_mb=_whole_number("largest_upload_mb", given.get("largest_upload_mb", "600"), 1, 4000),
        backup_to=backup_to,
        backup_every_hours=_whole_number("backup_every_hours", given.get("backup_every_hours", "24"), 1, 720),
    )


def _host(name: str, value: str | bool) -> str:
    host = str(value)
    try:
        if host != "localhost":
            ipaddress.ip_address(host)
    except ValueError:
        raise CannotStart(f"{name}: {host} is no address of a machine, such as 127.0.0.1 or 192.168.1.20.") from None
    return host


def _list(value: str | bool) -> list[str]:
    return [each.strip() for each in str(value).split(",") if each.strip()]


def _address(text: str) -> str:
    if not text:
        return ""
    parts = urlsplit(text)
    if parts.scheme not in ("http", "https") or not parts.hostname or parts.path.strip("/") or parts.query:
        raise CannotStart(f"public_address: {text} is no address such as https://recipes.example.")
    return f"{parts.scheme}://{parts.netloc}/"


def _whole_number(name: str, value: str | bool, lowest: int, highest: int) -> int:
    text = str(value)
    if not text.isdecimal() or not lowest <= int(text) <= highest:
        raise CannotStart(f"{name}: {text} is no whole number from {lowest} to {highest}.")
    return int(text)


def _switch(name: str, value: str | bool) -> bool:
    text = str(value).lower()
    if text not in ("1", "true", "yes", "on", "0", "false", "no", "off", ""):
        raise CannotStart(f"{name}: {value} is neither yes nor no; write 1 or 0.")
    return text in ("1", "true", "yes", "on")
