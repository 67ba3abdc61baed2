"""Followers of an open page: what each hears, what it hears after it was away, and when its stream ends."""

from __future__ import annotations

import asyncio
import datetime as dt
import gc
import threading

from webapp.followers import Followers

GENEROUS_S = 10.0


async def heard(
    followers: Followers, last_seen: int, *, until_word: str, token: str = "page", until: dt.datetime | None = None
) -> str:
    """Everything that a follower hears up to a word."""
    seat = followers.seat(token)
    assert seat is not None
    stream = followers.stream(seat, last_seen, until)
    text = ""
    async with asyncio.timeout(GENEROUS_S):
        async for chunk in stream:
            text += chunk.decode()
            if until_word in text:
                break
    await stream.aclose()  # type: ignore[attr-defined]
    return text


def test_every_follower_hears_the_very_same_bytes() -> None:
    followers = Followers()
    start = followers.newest_id("page")

    async def together() -> list[str]:
        listening = [asyncio.create_task(heard(followers, start, until_word="<p>two</p>")) for _ in range(50)]
        await asyncio.sleep(0)
        followers.tell("page", "<p>one</p>")
        followers.tell("page", "<p>two</p>")
        return await asyncio.gather(*listening)

    told = asyncio.run(together())

    assert len(set(told)) == 1
    assert "<p>one</p>" in told[0]


def test_what_is_told_from_another_thread_wakes_a_waiting_follower() -> None:
    followers = Followers()
    start = followers.newest_id("page")

    async def waiting() -> str:
        task = asyncio.create_task(heard(followers, start, until_word="frame"))
        while not followers.anyone("page"):
            await asyncio.sleep(0)
        threading.Thread(target=followers.tell, args=("page", "frame")).start()
        return await task

    assert f"id: {start + 1}\ndata: frame\n\n" in asyncio.run(waiting())


def test_a_follower_that_was_away_hears_what_it_missed_and_no_more() -> None:
    followers = Followers()
    first = followers.newest_id("page") + 1
    for word in ("first", "second", "third"):
        followers.tell("page", word)

    text = asyncio.run(heard(followers, first, until_word="third"))

    assert "first" not in text
    assert text.index("second") < text.index("third")


def test_one_that_missed_more_than_is_kept_draws_the_page_anew() -> None:
    followers = Followers()
    start = followers.newest_id("page")
    for number in range(300):
        followers.tell("page", f"event {number}")

    assert "event: anew" in asyncio.run(heard(followers, start, until_word="anew"))


def test_a_change_that_was_not_drawn_makes_those_who_follow_draw_the_page_anew() -> None:
    followers = Followers()
    start = followers.newest_id("page")
    followers.skip("page")

    assert "event: anew" in asyncio.run(heard(followers, start, until_word="anew"))
    followers.tell("page", "drawn")
    assert "event: anew" not in asyncio.run(heard(followers, followers.newest_id("page") - 1, until_word="drawn"))


def test_a_page_of_an_earlier_run_is_drawn_anew() -> None:
    earlier = Followers().newest_id("page") - 60_000

    assert "event: anew" in asyncio.run(heard(Followers(), earlier, until_word="anew"))


def test_another_page_hears_nothing() -> None:
    followers = Followers(heartbeat_s=0.01)
    start = followers.newest_id("page")
    followers.tell("another", "not for here")

    assert "not for here" not in asyncio.run(heard(followers, start, until_word="still here"))


def test_withdrawal_ends_the_streams_that_are_open_and_those_that_come_later() -> None:
    followers = Followers()
    start = followers.newest_id("page")

    async def withdrawn() -> str:
        task = asyncio.create_task(heard(followers, start, until_word="never said"))
        while not followers.anyone("page"):
            await asyncio.sleep(0)
        followers.end("page")
        return await task

    assert asyncio.run(withdrawn()).endswith("event: ended\ndata:\n\n")
    assert asyncio.run(heard(followers, start, until_word="never said")).endswith("event: ended\ndata:\n\n")
    assert not followers.anyone("page")


def test_a_stream_ends_at_its_time() -> None:
    followers = Followers()
    soon = dt.datetime.now(dt.UTC) + dt.timedelta(milliseconds=50)

    text = asyncio.run(heard(followers, followers.newest_id("page"), until_word="never said", until=soon))

    assert text.endswith("event: ended\ndata:\n\n")
    assert dt.datetime.now(dt.UTC) >= soon


def test_going_down_ends_a_stream_without_saying_that_the_page_has_ended() -> None:
    followers = Followers()
    followers.close()

    assert "ended" not in asyncio.run(heard(followers, followers.newest_id("page"), until_word="never said"))


def test_there_are_so_many_places_and_one_that_is_left_is_free_again() -> None:
    followers = Followers(most=2)

    async def seats() -> tuple[bool, bool, bool]:
        one, two = followers.seat("page"), followers.seat("page")
        full = followers.seat("page") is None
        elsewhere = followers.seat("another") is not None
        assert one is not None
        stream = followers.stream(one, 0)
        await anext(stream)
        await stream.aclose()  # type: ignore[attr-defined]
        free_again = followers.seat("page") is not None
        assert two is not None
        return full, elsewhere, free_again

    assert asyncio.run(seats()) == (True, True, True)


def test_a_place_whose_stream_never_began_is_given_up() -> None:
    followers = Followers()

    async def left() -> None:
        seat = followers.seat("page")
        assert seat is not None
        followers.stream(seat, 0)

    asyncio.run(left())
    gc.collect()

    assert not followers.anyone("page")


def test_lines_of_html_stay_one_event() -> None:
    followers = Followers()
    start = followers.newest_id("page")
    followers.tell("page", "<p>\none</p>")

    assert "data: <p>\ndata: one</p>\n\n" in asyncio.run(heard(followers, start, until_word="one</p>"))
