"""Those who follow an open page: what each hears, what it hears after it was away, and when its stream ends."""

from __future__ import annotations

import asyncio
import datetime as dt
import gc
import threading

from webapp.live import Followed, Live

GENEROUS_S = 10.0
PAGE = Followed("live page", "a token")
SESSION = Followed("session", "a session")
NEWEST = 1_000


def a_hub(newest: int = NEWEST, *, most: int = 250, heartbeat_s: float = 15.0) -> Live:
    """A hub of records whose last change has a number; what is told in these tests is later."""
    numbers = iter([newest])
    return Live(lambda: next(numbers, newest + 10_000), most, heartbeat_s)


async def heard(
    live: Live,
    last_seen: int,
    *,
    until_word: str,
    followed: Followed = PAGE,
    page: str = "",
    until: dt.datetime | None = None,
) -> str:
    """Everything that a follower hears up to a word."""
    seat = live.seat(followed, page)
    assert seat is not None
    stream = live.stream(seat, last_seen, until)
    text = ""
    async with asyncio.timeout(GENEROUS_S):
        async for chunk in stream:
            text += chunk.decode()
            if until_word in text:
                break
    await stream.aclose()  # type: ignore[attr-defined]
    return text


def test_every_follower_hears_the_very_same_bytes() -> None:
    live = a_hub()

    async def together() -> list[str]:
        listening = [asyncio.create_task(heard(live, NEWEST, until_word="<p>two</p>")) for _ in range(50)]
        await asyncio.sleep(0)
        live.tell(PAGE, NEWEST + 1, "<p>one</p>")
        live.tell(PAGE, NEWEST + 2, "<p>two</p>")
        return await asyncio.gather(*listening)

    told = asyncio.run(together())

    assert len(set(told)) == 1
    assert "<p>one</p>" in told[0]


def test_what_is_told_from_another_thread_wakes_a_waiting_follower() -> None:
    live = a_hub()

    async def waiting() -> str:
        task = asyncio.create_task(heard(live, NEWEST, until_word="frame"))
        while not live.anyone(PAGE):
            await asyncio.sleep(0)
        threading.Thread(target=live.tell, args=(PAGE, NEWEST + 1, "frame")).start()
        return await task

    assert f"id: {NEWEST + 1}\ndata: frame\n\n" in asyncio.run(waiting())


def test_a_page_of_the_house_hears_what_others_did_and_not_what_it_did_itself() -> None:
    live = a_hub()
    live.tell(SESSION, NEWEST + 1, "by one", by="one")
    live.tell(SESSION, NEWEST + 2, "by two", by="two")

    text = asyncio.run(heard(live, NEWEST, until_word="by two", followed=SESSION, page="one"))

    assert "by one" not in text


def test_a_follower_that_was_away_hears_what_it_missed_and_no_more() -> None:
    live = a_hub()
    for number, word in enumerate(("first", "second", "third"), NEWEST + 1):
        live.tell(PAGE, number, word)

    text = asyncio.run(heard(live, NEWEST + 1, until_word="third"))

    assert "first" not in text
    assert text.index("second") < text.index("third")


def test_a_page_that_was_drawn_after_a_change_is_not_told_of_it() -> None:
    live = a_hub(heartbeat_s=0.01)
    live.tell(SESSION, NEWEST + 4, "it has this already")

    text = asyncio.run(heard(live, NEWEST + 5, until_word="still here", followed=SESSION))

    assert "already" not in text
    assert "draw-anew" not in text


def test_what_is_told_after_a_later_change_is_heard_all_the_same() -> None:
    """The answer to a request may be sent before that to one whose change came earlier."""
    live = a_hub()
    live.tell(SESSION, NEWEST + 2, "the later change")
    live.tell(SESSION, NEWEST + 1, "the earlier change")

    assert "the earlier change" in asyncio.run(
        heard(live, NEWEST + 2, until_word="the earlier change", followed=SESSION)
    )


def test_one_that_missed_more_than_is_kept_draws_the_page_anew() -> None:
    live = a_hub()
    for number in range(300):
        live.tell(PAGE, NEWEST + 1 + number, f"event {number}")

    assert "event: draw-anew" in asyncio.run(heard(live, NEWEST, until_word="anew"))
    assert "event: draw-anew" in asyncio.run(heard(live, NEWEST + 6, until_word="anew"))


def test_large_events_are_kept_for_less_long() -> None:
    live = a_hub()
    for number in range(50):
        live.tell(PAGE, NEWEST + 1 + number, f"{number} " + "x" * 100_000)

    assert "event: draw-anew" in asyncio.run(heard(live, NEWEST, until_word="anew"))
    assert "event: draw-anew" not in asyncio.run(heard(live, NEWEST + 45, until_word="49 x"))


def test_a_change_that_was_not_drawn_makes_those_who_follow_draw_the_page_anew() -> None:
    live = a_hub()
    live.skip(PAGE, NEWEST + 1)

    assert "event: draw-anew" in asyncio.run(heard(live, NEWEST, until_word="anew"))
    live.tell(PAGE, NEWEST + 2, "drawn")
    assert "event: draw-anew" not in asyncio.run(heard(live, NEWEST + 1, until_word="drawn"))


def test_a_change_that_nobody_else_followed_makes_every_page_but_its_own_draw_itself_anew() -> None:
    live = a_hub(heartbeat_s=0.01)
    live.skip(SESSION, NEWEST + 1, by="mine")
    live.skip(SESSION, NEWEST + 2, by="mine")

    assert "draw-anew" in asyncio.run(heard(live, NEWEST, until_word="anew", followed=SESSION, page="other"))
    assert "draw-anew" not in asyncio.run(heard(live, NEWEST, until_word="still here", followed=SESSION, page="mine"))
    live.skip(SESSION, NEWEST + 3, by="other")
    live.skip(SESSION, NEWEST + 4, by="mine")
    assert "draw-anew" in asyncio.run(heard(live, NEWEST, until_word="anew", followed=SESSION, page="mine"))


def test_a_page_of_an_earlier_run_is_drawn_anew() -> None:
    assert "event: draw-anew" in asyncio.run(heard(a_hub(), NEWEST - 60_000, until_word="anew"))


def test_another_page_hears_nothing() -> None:
    live = a_hub(heartbeat_s=0.01)
    live.tell(Followed("live page", "another"), NEWEST + 1, "not for here")
    live.tell(Followed("session", PAGE.id), NEWEST + 1, "not for here")

    assert "not for here" not in asyncio.run(heard(live, NEWEST, until_word="still here"))


def test_every_page_of_every_session_is_told_to_draw_anew_and_then_hears_on() -> None:
    async def listen() -> str:
        live = a_hub()
        task = asyncio.create_task(heard(live, NEWEST, until_word="after", followed=SESSION, page="page"))
        while not live.anyone(SESSION):
            await asyncio.sleep(0)
        live.draw_anew(NEWEST + 1)
        await asyncio.sleep(0.01)
        live.tell(SESSION, NEWEST + 2, "after")
        return await task

    text = asyncio.run(listen())

    assert text.count("event: draw-anew") == 1
    assert text.index("draw-anew") < text.index("after")


def test_drawing_anew_is_for_pages_of_the_house_that_were_drawn_before() -> None:
    live = a_hub(heartbeat_s=0.01)
    live.draw_anew(NEWEST + 1)

    assert "draw-anew" in asyncio.run(heard(live, NEWEST, until_word="anew", followed=SESSION))
    assert "draw-anew" not in asyncio.run(heard(live, NEWEST + 1, until_word="still here", followed=SESSION))
    assert "draw-anew" not in asyncio.run(heard(live, NEWEST, until_word="still here"))


def test_withdrawal_ends_the_streams_that_are_open_and_those_that_come_later() -> None:
    live = a_hub()

    async def withdrawn() -> str:
        task = asyncio.create_task(heard(live, NEWEST, until_word="never said"))
        while not live.anyone(PAGE):
            await asyncio.sleep(0)
        live.end(PAGE)
        return await task

    assert asyncio.run(withdrawn()).endswith("event: ended\ndata:\n\n")
    assert asyncio.run(heard(live, NEWEST, until_word="never said")).endswith("event: ended\ndata:\n\n")
    assert not live.anyone(PAGE)


def test_a_stream_ends_at_its_time() -> None:
    soon = dt.datetime.now(dt.UTC) + dt.timedelta(milliseconds=50)

    text = asyncio.run(heard(a_hub(), NEWEST, until_word="never said", until=soon))

    assert text.endswith("event: ended\ndata:\n\n")
    assert dt.datetime.now(dt.UTC) >= soon


def test_going_down_ends_a_stream_without_saying_that_the_page_has_ended() -> None:
    live = a_hub()
    live.close()

    assert "ended" not in asyncio.run(heard(live, NEWEST, until_word="never said"))


def test_there_are_so_many_places_and_one_that_is_left_is_free_again() -> None:
    live = a_hub(most=2)

    async def seats() -> tuple[bool, bool, bool]:
        one, two = live.seat(PAGE), live.seat(PAGE)
        full = live.seat(PAGE) is None
        elsewhere = live.seat(SESSION) is not None
        assert one is not None
        stream = live.stream(one, 0)
        await anext(stream)
        await stream.aclose()  # type: ignore[attr-defined]
        free_again = live.seat(PAGE) is not None
        assert two is not None
        return full, elsewhere, free_again

    assert asyncio.run(seats()) == (True, True, True)


def test_a_place_whose_stream_never_began_is_given_up() -> None:
    live = a_hub()

    async def left() -> None:
        seat = live.seat(PAGE)
        assert seat is not None
        live.stream(seat, 0)

    asyncio.run(left())
    gc.collect()

    assert not live.anyone(PAGE)


def test_it_is_known_whether_anyone_follows_besides_a_page() -> None:
    live = a_hub()

    async def seated() -> tuple[bool, bool, list[str]]:
        seat = live.seat(SESSION, "mine")
        assert seat is not None
        return live.anyone(SESSION), live.anyone(SESSION, but="mine"), live.sessions()

    assert asyncio.run(seated()) == (True, False, [SESSION.id])
    assert not live.knows_any("live page")


def test_lines_of_html_stay_one_event() -> None:
    live = a_hub()
    live.tell(PAGE, NEWEST + 1, "<p>\none</p>")

    assert "data: <p>\ndata: one</p>\n\n" in asyncio.run(heard(live, NEWEST, until_word="one</p>"))
