"""What frames are for: a stack or a comparison stays the purpose until the set-up changes, and a stack is offered."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from tests.http.pages.walk import HTMX, begin, element, log, set_field
from tests.http.test_in_tray import frames
from tests.made_pictures import jpeg_bytes, rational


def next_purpose(client: TestClient, shot: str) -> str:
    return re.findall(r"<option selected>([^<]+)</option>", client.get(shot).text)[0]


def sentence(client: TestClient, shot: str) -> str:
    return re.findall(r'<p class="sentence[^"]*">([^<]+)', client.get(shot).text)[0]


def purposes(client: TestClient, shot: str) -> list[str]:
    return [each["purpose"] for each in frames(client, shot)]


@pytest.mark.parametrize("purpose", ["stack", "comparison"])
def test_a_stack_or_comparison_stays_until_the_set_up_changes_and_then_it_is_told(
    client: TestClient, purpose: str
) -> None:
    shot = begin(client)
    log(client, shot)
    set_field(client, shot, "f_number", "11")
    client.post(f"{shot}/next", data={"purpose": purpose, "because": ""})
    # One that is not begun yet waits for its first frame.
    set_field(client, shot, "f_number", "16")
    assert next_purpose(client, shot) == purpose

    log(client, shot, purpose=purpose)
    log(client, shot, purpose=next_purpose(client, shot))
    assert next_purpose(client, shot) == purpose
    set_field(client, shot, "f_number", "8")

    assert next_purpose(client, shot) == "test"
    assert f"Set-up changed, so the {purpose} is over: frame 4 is a test." in sentence(client, shot)
    assert purposes(client, shot) == ["test", purpose, purpose]


def test_any_other_purpose_is_for_one_frame_and_an_ambient_check_leaves_a_stack_going(client: TestClient) -> None:
    shot = begin(client)
    log(client, shot, purpose="final")
    assert next_purpose(client, shot) == "test"
    log(client, shot, purpose="stack")

    client.post(f"{shot}/ambient-check")
    log(client, shot, purpose="ambient check")

    assert next_purpose(client, shot) == "stack"


def focused(number: int, focus_mm: int, f_number: float = 8) -> dict[str, Any]:
    """A camera file that tells how far the focus was."""
    codes = np.random.default_rng(number).integers(0, 255, (20, 30, 3), dtype=np.uint8)
    settings = {
        0x829A: rational("1/125"),
        0x829D: rational(f_number),
        0x8827: 100,
        0x9206: rational(f"{focus_mm}/1000"),
        0x9003: f"2026:11:24 10:{number:02d}:00",
    }
    return {"picture": (f"a_{number}.jpg", jpeg_bytes(codes, settings=settings), "image/jpeg")}


def shoot(client: TestClient, shot: str, *focus_mm: int) -> None:
    for number, each in enumerate(focus_mm, start=1 + len(frames(client, shot))):
        client.post(f"{shot}/frames", data={"purpose": next_purpose(client, shot)}, files=focused(number, each))


def offered(client: TestClient, shot: str) -> list[str]:
    return re.findall(r"<p>(Frames [^<]+ a stack\?)</p>", client.get(shot).text)


def first(client: TestClient, shot: str) -> str:
    return re.findall(r'name="first" value="([^"]+)"', client.get(shot).text)[0]


def test_frames_whose_focus_moves_are_offered_as_a_stack_and_one_press_marks_them(client: TestClient) -> None:
    shot = begin(client)
    shoot(client, shot, 330, 300, 302, 304, 306, 308)
    assert offered(client, shot) == ["Frames 2 to 6: a stack?"]

    answer = client.post(f"{shot}/stacks", data={"first": first(client, shot), "answer": "stack"}, headers=HTMX)

    assert "a stack?" not in answer.text
    assert purposes(client, shot) == ["test", *["stack"] * 5]
    assert "Frames 2 to 6 · stack of 5" in client.get(shot).text
    # It goes on: nothing was changed since.
    assert next_purpose(client, shot) == "stack"
    shoot(client, shot, 310)
    assert "Frames 2 to 7 · stack of 6" in client.get(shot).text


def test_a_no_is_remembered_though_the_run_goes_on(client: TestClient) -> None:
    shot = begin(client)
    shoot(client, shot, 300, 302, 304, 306)

    client.post(f"{shot}/stacks", data={"first": first(client, shot), "answer": "none"})
    shoot(client, shot, 308)

    assert offered(client, shot) == []
    assert purposes(client, shot) == ["test"] * 5
    assert client.post(f"{shot}/stacks", data={"first": "gone", "answer": "none"}).status_code == 409


def test_frames_that_follow_each_other_quickly_are_offered_with_the_frame_that_makes_them_four(
    client: TestClient,
) -> None:
    shot = begin(client)
    for _ in range(3):
        log(client, shot)
    assert offered(client, shot) == []

    answer = client.post(f"{shot}/frames", data={"purpose": "test"}, headers=HTMX).text

    assert "Frames 1 to 4: a stack?" in element(answer, f"stack-offers-{shot.rsplit('/', 1)[1]}")
    set_field(client, shot, "f_number", "11")
    log(client, shot)
    assert offered(client, shot) == ["Frames 1 to 4: a stack?"]


def test_a_file_with_another_setting_ends_the_stack_and_is_a_test(client: TestClient) -> None:
    shot = begin(client)
    client.post(f"{shot}/next", data={"purpose": "stack", "because": ""})
    services = client.app.state.services  # type: ignore[attr-defined]
    folder = services.settings.data.parent
    for number, f_number in ((1, 8), (2, 8), (3, 11)):
        path = folder / f"a_{number}.jpg"
        path.write_bytes(focused(number, 300, f_number)["picture"][1])
        services.intake.arrived(path)

    assert purposes(client, shot) == ["stack", "stack", "test"]
    assert "so the stack is over: frame 3 is a test" in sentence(client, shot)
