"""Which modules five journeys pass, in the order in which each is first entered. Prints the table of DEVELOPERS.md.

Run it from the top of a checkout: `python -m tests.journeys`. Only functions that run count; imports and the making of
classes do not.
"""

from __future__ import annotations

import io
import re
import sys
import tempfile
import threading
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

from PIL import Image
from starlette.testclient import TestClient

import webapp
from webapp.app import create_app
from webapp.settings import Settings

PACKAGE = Path(webapp.__file__).parent


class Trail:
    """The modules of the package that were entered since it was begun."""

    def __init__(self) -> None:
        self.passed: dict[str, None] = {}
        self._on = False

    def watch(self, frame: FrameType, event: str, _arg: object) -> None:
        if not self._on or event != "call" or frame.f_code.co_name == "<module>":
            return
        path = Path(frame.f_code.co_filename)
        if path.is_relative_to(PACKAGE):
            self.passed.setdefault(".".join(path.relative_to(PACKAGE).with_suffix("").parts))

    def of(self, journey: Callable[[], Any]) -> list[str]:
        self.passed, self._on = {}, True
        journey()
        self._on = False
        return list(self.passed)


def jpeg() -> bytes:
    out = io.BytesIO()
    Image.effect_noise((240, 160), 40).convert("RGB").save(out, "JPEG")
    return out.getvalue()


def main() -> None:
    trail = Trail()
    threading.setprofile(trail.watch)
    sys.setprofile(trail.watch)
    with (
        tempfile.TemporaryDirectory() as folder,
        TestClient(
            create_app(Settings(data=Path(folder) / "data")), base_url="http://localhost", follow_redirects=False
        ) as client,
    ):
        app: Any = client.app
        services = app.state.services
        session = client.post("/sessions", data={"name": "day"}).headers["location"]
        shot = client.post(f"{session}/shots", data={"title": "dial"}).headers["location"]
        place = {"field": "lights.A", "distance": "80", "bearing": "45 left", "height": "40"}
        client.post(f"{shot}/plan", data=place)
        client.post(f"{shot}/frames", data={"purpose": "test"}, files={"picture": ("a.jpg", jpeg(), "image/jpeg")})
        frame = re.findall(r'href="(/frames/[^"]+)"', client.get(shot).text)[0]
        services.intake.finish()
        recipe = client.post(f"{frame}/recipe", data={"title": "Dial", "why": "soft", "step-90-words": "key first"})
        recipe_page = recipe.headers["location"]
        client.post(f"{recipe_page}/links", data={"number": "1", "reader": "student"})
        shared = re.findall(r'href="(/shared/[\w-]+)"', client.get(recipe_page).text)[0]
        arriving = Path(folder) / "b.jpg"
        arriving.write_bytes(jpeg())
        part = {"HX-Request": "true"}
        journeys: dict[str, Callable[[], Any]] = {
            "a dial change": lambda: client.post(
                f"{shot}/standing", data={"field": "f_number", "value": "11"}, headers=part
            ),
            "a file from the folder to a frame": lambda: (
                services.intake.arrived(arriving),
                services.intake.finish(),
            ),
            "a search": lambda: client.get("/recipes", params={"q": "soft dial at f/8"}),
            "a student's link": lambda: client.get(shared),
            "a drag on the plan": lambda: client.post(
                f"{shot}/plan", data=place | {"bearing": "50 left"}, headers=part
            ),
        }
        print("| journey | modules | in order |\n|---|---|---|")
        for name, journey in journeys.items():
            passed = trail.of(journey)
            print(f"| {name} | {len(passed)} | {', '.join(passed)} |")
    sys.setprofile(None)
    threading.setprofile(None)  # type: ignore[arg-type]


if __name__ == "__main__":
    main()
