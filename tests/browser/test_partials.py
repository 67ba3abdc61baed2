"""The parts that many pages share, in all their states: on a laptop and a phone, by day and dim."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests import partials
from tests.browser.conftest import LAPTOP, PHONE, Desk, Server
from tests.browser.test_access import needs_axe, violations
from webapp.paths import TEMPLATES

OUTSIDE = """() => [...document.querySelectorAll("main *")]
  .filter(each => each.checkVisibility() && !each.closest(".unseen, .scroll") && each.getBoundingClientRect().right > innerWidth + 1)
  .map(each => each.outerHTML.slice(0, 90))"""


def test_no_server_of_the_program_has_the_page(client: TestClient) -> None:
    assert client.get(partials.ADDRESS).status_code == 404


def test_each_is_a_partial_and_none_names_what_it_was_not_given() -> None:
    assert {Path(f"{name}.html") for name in partials.STATES} <= {
        path.relative_to(TEMPLATES / "partials") for path in (TEMPLATES / "partials").glob("*.html")
    }
    assert partials.page().count('class="state') == sum(map(len, partials.STATES.values()))


@needs_axe
@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_all_states_pass_axe_and_stay_on_the_page(
    open_desk: Callable[..., Desk], server: Server, viewport: dict[str, int], theme: str
) -> None:
    partials.add_to(server.app)
    desk = open_desk(viewport, theme=theme)
    desk.open(partials.ADDRESS)

    for summary in desk.page.locator("main summary:visible").all():
        summary.click()
    assert desk.page.evaluate(OUTSIDE) == []
    assert violations(desk) == []
