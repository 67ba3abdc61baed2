"""A server in a process of its own, that can be killed."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlencode, urlsplit

from webapp.settings import PREFIX

ROOT = Path(__file__).parents[2]
PROGRAM = ("-m", "webapp")
FORM, PARTS = "application/x-www-form-urlencoded", "multipart/form-data; boundary=part"
_BOUNDARY, _SLICE_BYTES = b"--part", 16_384


@dataclass
class Served:
    url: str
    process: subprocess.Popen[str]


def begun(*arguments: str | Path, code: Path = ROOT, cwd: Path | None = None) -> subprocess.Popen[str]:
    """A Python with the package found under `code`, and no setting of the environment, where those of the tests stand;
    what it says is read from its `stdout`."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith(PREFIX)}
    return subprocess.Popen(
        [sys.executable, *map(str, arguments)],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**environment, "PYTHONPATH": str(code), "PYTHONSAFEPATH": "1"},
        cwd=cwd,
    )


def killed(process: subprocess.Popen[str]) -> None:
    process.kill()
    process.wait()
    assert process.stdout is not None
    process.stdout.close()


def address_of(process: subprocess.Popen[str]) -> str:
    """Where a server that was just begun listens."""
    assert process.stdout is not None
    said = ""
    for line in process.stdout:
        said += line
        if found := re.search(r"http://[\d.]+:\d+", line):
            return found.group(0)
    raise AssertionError(f"the server did not start: {said}")


@contextmanager
def served(
    data: Path,
    *arguments: str,
    code: Path = ROOT,
    cwd: Path | None = None,
    program: Sequence[str | Path] = PROGRAM,
) -> Iterator[Served]:
    """`python -m webapp serve` (or another `program` that does as this one) started from `cwd`."""
    asked = (*program, "serve", "--port", "0", "--data", data, *arguments)
    process = begun(*asked, code=code, cwd=cwd or data.parent)
    try:
        yield Served(address_of(process), process)
    finally:
        killed(process)


# --- asked over a plain connection, as many saves a second as the server answers ------------------------------------


def connection(url: str) -> HTTPConnection:
    return HTTPConnection(urlsplit(url).netloc, timeout=60)


def form(**said: str) -> bytes:
    return urlencode(said).encode()


def parts(name: str, file: str, content: bytes, said: Mapping[str, str] = {}) -> bytes:
    fields = [(f'name="{each}"', value.encode()) for each, value in said.items()]
    fields.append((f'name="{name}"; filename="{file}"\r\nContent-Type: application/octet-stream', content))
    lines = [b"%s\r\nContent-Disposition: form-data; %s\r\n\r\n%s" % (_BOUNDARY, a.encode(), b) for a, b in fields]
    return b"\r\n".join([*lines, _BOUNDARY + b"--\r\n"])


def ask(http: HTTPConnection, path: str, body: bytes, content_type: str = FORM) -> tuple[int, Mapping[str, str]]:
    """In slices, so that a server can be killed in an upload."""
    http.putrequest("POST", path)
    http.putheader("Content-Type", content_type)
    http.putheader("Content-Length", str(len(body)))
    http.endheaders()
    for at in range(0, len(body), _SLICE_BYTES):
        http.send(body[at : at + _SLICE_BYTES])
    answer = http.getresponse()
    answer.read()
    return answer.status, {name.lower(): value for name, value in answer.getheaders()}
