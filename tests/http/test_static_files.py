"""Static files: named by what they hold and kept for good, or asked about each time."""

from __future__ import annotations

import gzip
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from webapp import static_files
from webapp.errors import NotFound
from webapp.paths import STATIC, TEMPLATES
from webapp.static_files import read_tree

_ADDRESS = re.compile(r'(?:href|src)="(/static/[^"]+)"')
PASSED = "0123456789abcdef"


def test_a_page_names_its_files_by_what_they_hold_and_they_are_kept_for_good(client: TestClient) -> None:
    addresses = _ADDRESS.findall(client.get("/").text)

    assert len(addresses) >= 6
    for address in addresses:
        assert re.match(r"/static/[0-9a-f]{16}/", address)
        answer = client.get(address)
        assert answer.status_code == 200
        assert answer.headers["cache-control"] == "public, max-age=31536000, immutable"


def test_every_file_answers_as_it_lies_on_the_disk(client: TestClient) -> None:
    kinds = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml", ".json": "application/json"}
    for path in (path for path in STATIC.rglob("*") if path.is_file()):
        name = path.relative_to(STATIC).as_posix()
        for encoding in ("gzip", "identity"):
            answer = client.get(static_files.address_of(name), headers={"Accept-Encoding": encoding})
            assert answer.content == path.read_bytes()
            assert answer.headers["content-type"].startswith(kinds.get(path.suffix, ""))
            assert "accept-encoding" in answer.headers["vary"].lower()


@pytest.mark.parametrize("version", ["", f"{PASSED}/"], ids=["unversioned", "passed"])
def test_an_address_without_the_present_version_has_the_present_file_and_is_asked_about_each_time(
    client: TestClient, version: str
) -> None:
    answer = client.get(f"/static/{version}stopledger.css")

    assert answer.status_code == 200
    assert answer.content == (STATIC / "stopledger.css").read_bytes()
    assert answer.headers["cache-control"] == "public, no-cache"
    again = client.get(f"/static/{version}stopledger.css", headers={"If-None-Match": answer.headers["etag"]})
    assert again.status_code == 304
    assert again.content == b""


@pytest.mark.parametrize(
    "path", ["none.css", f"{PASSED}/none.css", "..%2Fpyproject.toml", "%2e%2e/pyproject.toml", "/etc/hostname", ""]
)
def test_what_is_no_static_file_is_not_found_and_not_kept(client: TestClient, path: str) -> None:
    answer = client.get(f"/static/{path}")

    assert answer.status_code == 404
    assert "immutable" not in answer.headers.get("cache-control", "")


def test_no_template_names_a_static_file_without_its_version() -> None:
    # A document for a PDF takes its stylesheet from the disk.
    asked_for = [path for path in TEMPLATES.rglob("*.html") if path.name != "document.html"]
    assert not [path.name for path in asked_for if "/static/" in path.read_text()]


def test_a_name_that_is_no_file_has_no_address() -> None:
    with pytest.raises(NotFound):
        static_files.address_of("none.css")


def test_the_version_is_another_when_a_file_holds_something_else_or_has_another_name(tmp_path: Path) -> None:
    def version(**files: str) -> str:
        root = tmp_path / str(len(list(tmp_path.iterdir())))
        (root / "vendor").mkdir(parents=True)
        for name, content in files.items():
            (root / "vendor" / name).write_text(content)
        return read_tree(root).version

    first = version(a="x", b="y")
    assert version(a="x", b="y") == first
    assert len({first, version(a="x", b="z"), version(a="x", c="y"), version(a="x")}) == 4


def test_a_large_text_is_compressed_once_and_a_small_one_not(tmp_path: Path) -> None:
    (tmp_path / "large.css").write_text("a { color: red }\n" * 100)
    (tmp_path / "small.css").write_text("a { color: red }\n")

    files = read_tree(tmp_path).files

    compressed = files["large.css"].compressed
    assert compressed is not None
    assert len(compressed) < 200
    assert gzip.decompress(compressed) == (tmp_path / "large.css").read_bytes()
    assert files["small.css"].compressed is None


def test_the_worker_stands_at_the_root_is_asked_about_each_time_and_changes_with_any_file(client: TestClient) -> None:
    answer = client.get("/worker.js")

    assert answer.headers["content-type"].startswith("text/javascript")
    assert answer.headers["cache-control"] == "public, no-cache"
    assert "worker-src 'self'; manifest-src 'self'" in answer.headers["content-security-policy"]
    assert answer.text.startswith(f'const VERSION = "{static_files.tree().version}";\n')


def test_every_icon_of_the_manifest_is_a_file_beside_it(client: TestClient) -> None:
    address = static_files.address_of("stopledger.webmanifest")
    answer = client.get(address)

    assert answer.headers["content-type"].startswith("application/manifest+json")
    for icon in answer.json()["icons"]:
        assert client.get(address.rsplit("/", 1)[0] + "/" + icon["src"]).headers["content-type"] == icon["type"]
