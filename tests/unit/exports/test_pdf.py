"""PDFs fetch nothing: our static files and the pictures in memory are all there is."""

from __future__ import annotations

import socket
from collections.abc import Iterator

import pytest
from PIL import ImageFile

from tests.pdfs import needs_pdf, page_count
from webapp.exports import pdf
from webapp.exports.pdf import pdf_of


@pytest.fixture
def listening() -> Iterator[socket.socket]:
    """A server that would be asked."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.0)
        yield server


@needs_pdf
def test_no_server_is_asked_for_anything(listening: socket.socket) -> None:
    address = f"http://127.0.0.1:{listening.getsockname()[1]}"
    document = (
        f'<link rel="stylesheet" href="{address}/a.css"><style>@import "{address}/b.css"; '
        f'p {{ background: url("{address}/c.png") }}</style><p>one<img src="{address}/d.jpg">'
        f'<svg><image href="{address}/e.png" width="9" height="9"/></svg>'
    )

    assert page_count(pdf_of(document, {})) == 1

    with pytest.raises(BlockingIOError):
        listening.accept()


@pytest.mark.parametrize(
    "address",
    [
        "file:///etc/hostname",
        "http://sheet.invalid/etc/hostname",
        "http://sheet.invalid/static/../pyproject.toml",
        "http://sheet.invalid/static/%2e%2e/pyproject.toml",
        "http://sheet.invalid/static//etc/hostname",
        "http://sheet.invalid.example.com/static/paper.css",
        "data:text/css,p{}",
    ],
)
def test_no_file_but_ours_is_read(address: str) -> None:
    with pytest.raises(ValueError, match=r"fetches nothing|There is no"):
        pdf._served(address, {})


def test_our_own_files_and_pictures_are_served() -> None:
    assert pdf._served("http://sheet.invalid/static/paper.css", {})[1] == "text/css"
    assert pdf._served("http://sheet.invalid/pictures/a/small", {"/pictures/a/small": lambda: b"jpeg"})[0] == b"jpeg"


@needs_pdf
def test_making_a_pdf_does_not_fill_the_log(caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level("INFO"):
        pdf_of("<p style='no-such-property: 1'>one</p>", {})

    assert caplog.records == []


@needs_pdf
def test_a_sheet_leaves_pictures_that_are_cut_short_refused() -> None:
    pdf_of("<p>one", {})

    assert not ImageFile.LOAD_TRUNCATED_IMAGES
