"""Open pages: a class follows a session as it is logged, until its time or the photographer ends it."""

from __future__ import annotations

import datetime as dt
import html
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import httpx2
import pytest

from tests.http.recipes.conftest import marked_jpeg
from tests.http.running import Listener, running, wait_until
from webapp.live import Followed
from webapp.records.tables import LivePage


@dataclass
class Class:
    """A session with a shot, and the address at which a class follows it."""

    client: httpx2.Client
    app: Any
    session: str
    shot: str
    page: str

    def log(self, **words: str) -> str:
        self.client.post(f"{self.shot}/frames", data={"purpose": "test"} | words)
        return self.frames()[0]

    def frames(self) -> list[str]:
        return re.findall(r'href="(/frames/[^"]+)" aria-label="Frame', self.client.get(self.shot).text)

    def set_to(self, field: str, value: str) -> None:
        self.client.post(f"{self.shot}/standing", data={"field": field, "value": value})

    def news(self) -> str:
        """The address of the page's stream."""
        return html.unescape(re.findall(r'data-news="([^"]+)"', self.client.get(self.page).text)[0])

    def follow(self, **headers: str) -> Listener:
        listener = Listener(self.client, self.news(), headers)
        listener.wait_for("listening")
        return listener

    @property
    def token(self) -> str:
        return self.page.rsplit("/", 1)[1]


def open_up(client: httpx2.Client, session: str, **said: str) -> str:
    client.post(f"{session}/live-pages", data={"title": "Table A", "hours": "8"} | said)
    return re.findall(r'href="(/open/[\w-]+)"', client.get(session).text)[0]


@pytest.fixture(scope="module")
def services(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[httpx2.Client, Any]]:
    with running(tmp_path_factory.mktemp("house") / "data") as client_and_app:
        yield client_and_app


@pytest.fixture
def lesson(services: tuple[httpx2.Client, Any]) -> Class:
    client, app = services
    session = client.post("/sessions", data={"name": "bench day"}).headers["location"]
    shot = client.post(f"{session}/shots", data={"title": "enamel dial"}).headers["location"]
    client.post(f"{shot}/standing", data={"field": "f_number", "value": "8"})
    return Class(client, app, session, shot, open_up(client, session))


def test_a_frame_comes_to_those_who_follow_as_the_page_itself_has_it(lesson: Class) -> None:
    listener = lesson.follow()

    lesson.log()
    told = listener.wait_for("</article>")

    article = re.sub(r"^data: ?", "", told[told.index("data:") :], flags=re.M).strip()
    assert "f/8" in article
    # The page opens its newest frame; for those who follow, the script does.
    page = lesson.client.get(lesson.page).text.replace("<details open>", "<details>")
    assert re.sub(r"\s+", " ", article) in re.sub(r"\s+", " ", page)


def test_a_stack_is_one_line_and_the_newest_frame_stands_by_itself(lesson: Class) -> None:
    for _ in range(4):
        lesson.client.post(f"{lesson.shot}/frames", data={"purpose": "stack"})

    page = lesson.client.get(lesson.page).text

    assert "Frames 1 to 3 · stack of 3" in page
    folded = page.split("stack of 3")[1]
    assert re.findall(r'<article[^>]*data-number="(\d+)"', folded) == ["3", "2", "1"]
    assert re.findall(r'<article[^>]*data-number="(\d+)"', page) == ["4", "3", "2", "1"]


def test_what_changed_is_said_from_the_frame_that_it_counts_from_and_never_that_nothing_did_where_none_is(
    lesson: Class,
) -> None:
    def articles() -> dict[int, str]:
        found = re.findall(
            r'<article.*?data-number="(\d+)">(.*?)</article>', lesson.client.get(lesson.page).text, re.S
        )
        return {int(number): re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text)) for number, text in found}

    lesson.log()
    lesson.log()
    lesson.set_to("shutter", "1/60")
    lesson.log()
    lesson.client.post(f"{lesson.shot}/ambient-check")
    lesson.client.post(f"{lesson.shot}/frames", data={"purpose": "ambient check"})

    said = articles()
    assert "since" not in said[1].lower()
    assert "same settings" not in said[1]
    assert "The same settings as frame 1." in said[2]
    assert re.search(r"Changed since frame 2 .*shutter 1/125 to 1/60", said[3]), said[3]
    # It is compared with no frame, though shutter and lights are others.
    assert "1 s" in said[4]
    assert "same settings" not in said[4]


def test_a_correction_a_frame_taken_back_and_another_reference_are_told(lesson: Class) -> None:
    lesson.log()
    second = lesson.log()
    listener = lesson.follow()

    lesson.client.post(second, data={"revision": "1", "f_number": "16"})
    listener.wait_for("f/16")
    lesson.client.post(f"{second}/take-back")
    told = listener.wait_for("excluded")
    lesson.client.post(f"{second}/bring-back")
    lesson.client.post(f"{second}/reference")

    # One frame goes out by itself; where the others read otherwise too, the sheet of the shot does.
    assert 'id="shot-1"' not in told
    assert "Frame 2" in listener.wait_for('id="shot-1"')


def test_the_reading_and_the_picture_are_told_when_they_are_there(lesson: Class) -> None:
    listener = lesson.follow()
    picture = {"picture": ("one.jpg", marked_jpeg(), "image/jpeg")}

    lesson.client.post(f"{lesson.shot}/frames", data={"purpose": "test"}, files=picture)
    told = listener.wait_for("/pictures/")

    address = re.findall(r'src="([^"]+)"', told)[-1]
    answer = lesson.client.get(address)
    assert answer.headers["content-type"] == "image/jpeg"
    assert "Read" in told


def test_a_follower_that_lost_its_line_catches_up(lesson: Class) -> None:
    follower = lesson.follow()
    lesson.log()
    last = re.findall(r"^id: (\d+)$", follower.wait_for("</article>"), re.M)[-1]
    lesson.set_to("f_number", "22")
    lesson.log()
    follower.wait_for("f/22")

    back = Listener(lesson.client, f"{lesson.page}/news", {"Last-Event-ID": last})

    assert "Frame 1 " not in back.wait_for("f/22")


def test_what_came_while_nobody_followed_makes_a_page_draw_itself_anew(lesson: Class) -> None:
    news = lesson.news()
    lesson.log()
    live = lesson.app.state.services.live
    wait_until(lambda: live.newest_of(Followed("live page", lesson.token)) > int(news.rsplit("=", 1)[1]))

    assert "event: draw-anew" in Listener(lesson.client, news).wait_for("anew")
    assert "Frame 1" in lesson.client.get(lesson.page).text


def test_withdrawal_ends_the_page_and_its_streams_at_once(lesson: Class) -> None:
    listener = lesson.follow()
    news = lesson.news()

    lesson.client.post(f"/live-pages/{lesson.token}/withdraw")

    assert listener.wait_for_the_end().endswith("event: ended\ndata:\n\n")
    assert lesson.client.get(lesson.page).status_code == 404
    assert lesson.client.get(news).status_code == 404
    assert "withdrawn on" in lesson.client.get(lesson.session).text


def test_a_stream_ends_when_the_time_of_its_page_is_over(lesson: Class) -> None:
    address = lesson.news()
    # Longer each time, until there was time to begin to follow it.
    for seconds in (0.5, 5.0, 50.0):
        with lesson.app.state.services.records.writing() as db:
            row = db.get(LivePage, lesson.token)
            row.expires_at = dt.datetime.now(dt.UTC) + dt.timedelta(seconds=seconds)
            db.add(row)
        listener = Listener(lesson.client, address)
        heard = listener.wait_for_the_end()
        if listener.status == 200:
            break

    assert heard.endswith("event: ended\ndata:\n\n")
    assert lesson.client.get(lesson.page).status_code == 404


def test_expired_withdrawn_and_guessed_pages_look_the_same(lesson: Class) -> None:
    expired, withdrawn = lesson.page, open_up(lesson.client, lesson.session)
    with lesson.app.state.services.records.writing() as db:
        row = db.get(LivePage, lesson.token)
        row.expires_at = dt.datetime.now(dt.UTC) - dt.timedelta(seconds=1)
        db.add(row)
    lesson.client.post(f"/live-pages/{withdrawn.rsplit('/', 1)[1]}/withdraw")

    for part in ("", "/news", "/shots/1?before=9", "/pictures/1/1/0"):
        answers = [lesson.client.get(f"{each}{part}") for each in (expired, withdrawn, "/open/" + "A" * 43)]
        assert [each.status_code for each in answers] == [404, 404, 404]
        bodies = {re.sub(r"/open/[^\"<]*|[0-9a-f-]{36}", "", each.text) for each in answers}
        assert len(bodies) == 1


def test_every_place_is_given_once_and_the_next_is_told_so(lesson: Class, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lesson.app.state.services.live, "_most", 3)
    listeners = [lesson.follow() for _ in range(3)]

    refused = lesson.client.get(lesson.news())

    assert refused.status_code == 503
    assert refused.headers["retry-after"] == "60"
    lesson.log()
    for each in listeners:
        each.wait_for("</article>")


def test_another_session_and_the_house_are_not_told_of(lesson: Class) -> None:
    listener = lesson.follow()
    other = lesson.client.post("/sessions", data={"name": "other day"}).headers["location"]
    other_shot = lesson.client.post(f"{other}/shots", data={"title": "secret lamp"}).headers["location"]
    lesson.client.post(f"{other_shot}/frames", data={"purpose": "test"})
    lesson.set_to("f_number", "16")
    lesson.log()

    told = listener.wait_for("</article>")

    assert "secret lamp" not in told
    assert "hx-" not in told
    assert "/frames/" not in told
    assert "secret lamp" not in lesson.client.get(lesson.page).text


def test_views_are_counted_though_many_come_at_once(lesson: Class) -> None:
    for _ in range(7):
        lesson.client.get(lesson.page)

    wait_until(lambda: "7 views" in lesson.client.get(lesson.session).text)


def test_a_page_reads_without_scripts_and_stays_below_100_kilobytes(lesson: Class) -> None:
    for _ in range(45):
        lesson.client.post(f"{lesson.shot}/frames", data={"purpose": "test"})

    page = lesson.client.get(lesson.page)

    assert len(page.content) < 100_000
    assert "Reload" in page.text
    older = html.unescape(re.findall(r'href="(/open/[^"]+/shots/1[^"]+)"', page.text)[0])
    assert "Frame 5 " in lesson.client.get(older).text


def test_a_page_is_white_or_dim_by_its_address(lesson: Class) -> None:
    assert 'data-theme="white"' in lesson.client.get(f"{lesson.page}?theme=white").text
    assert 'data-theme="dim"' in lesson.client.get(f"{lesson.page}?theme=dim").text
    assert "data-theme" not in lesson.client.get(f"{lesson.page}?theme=%22%3E").text


def test_what_cannot_be_kept_is_said_and_stays_as_typed(lesson: Class) -> None:
    answer = lesson.client.post(
        f"{lesson.session}/live-pages", data={"title": "Table <B>", "hours": "soon", "because": "true"}
    )

    assert answer.status_code == 422
    assert "“soon” is no whole number of hours" in answer.text
    assert "Table &lt;B&gt;" in answer.text
    assert 'name="because" value="true" checked' in answer.text
    assert len(re.findall(r'href="/open/', lesson.client.get(lesson.session).text)) == 1


def test_a_page_is_seen_before_it_is_opened(lesson: Class) -> None:
    lesson.log(because="to begin with")

    plain = lesson.client.get(f"{lesson.session}/as-followed").text
    let_out = lesson.client.get(f"{lesson.session}/as-followed?because=true&kit_names=true").text

    assert "not shared yet" in plain
    assert "to begin with" not in plain
    assert "monolight 400 J" not in plain
    assert "to begin with" in let_out
    assert "monolight 400 J" in let_out


def test_the_session_tells_the_code_the_machine_and_how_long(lesson: Class) -> None:
    page = lesson.client.get(lesson.session).text

    code = lesson.client.get(f"/live-pages/{lesson.token}/code.svg")
    assert code.headers["content-type"] == "image/svg+xml"
    assert "7 more hours" in page
    assert "Only this computer can open links" in page


def test_a_session_without_shots_takes_its_open_pages_along_when_it_is_deleted(lesson: Class) -> None:
    session = lesson.client.post("/sessions", data={"name": "called off"}).headers["location"]
    page = open_up(lesson.client, session)

    assert lesson.client.post(f"{session}/delete").status_code == 303
    assert lesson.client.get(page).status_code == 404
