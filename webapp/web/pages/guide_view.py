"""The guide: its blocks in their order, and those of them that have the words that are looked for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from markupsafe import Markup

from webapp.web.drawings.terms import DRAWN
from webapp.web.pages.render import environment
from webapp.web.words.page_help import PAGES
from webapp.web.words.terms import TERMS


@dataclass(frozen=True, slots=True)
class Block:
    """A piece of the guide that is found by itself. `text` is what the search reads of it, in small letters."""

    key: str
    title: str
    html: Markup
    text: str


@dataclass(frozen=True, slots=True)
class Chapter:
    """Blocks under a heading; `kind` is "steps", "ideas", "pages" or "terms"."""

    kind: str
    title: str
    blocks: tuple[Block, ...]


_STEPS: Final = (
    ("begin", "Begin"),
    ("set_page", "Set the dials"),
    ("log", "Log the first frame"),
    ("change", "Change one thing, and read the balance"),
    ("judge", "Judge the frame, and measure it"),
    ("compare", "Compare"),
    ("plan", "Put it on the plan"),
    ("publish", "Publish a recipe, strike the set"),
)
_IDEAS: Final = (
    ("marks", "Why four stops are not five"),
    ("flash_and_ambient", "Flash and ambient light"),
    ("balances", "Entries and balances"),
    ("shares", "Shares"),
    ("proof", "The ambient check as proof"),
    ("readings", "Predicted and read"),
    ("unknown", "Unknown is a value"),
)


def found(question: str) -> tuple[Chapter, ...]:
    """The chapters with the blocks that have every word of a question, or all of them where none is asked. What has the
    words in its title comes first in its chapter."""
    words = question.lower().split()
    if not words:
        return _whole()
    chapters = []
    for each in _whole():
        blocks = [block for block in each.blocks if all(word in block.text for word in words)]
        blocks.sort(key=lambda block: not all(word in block.title.lower() for word in words))
        if blocks:
            chapters.append(Chapter(each.kind, each.title, tuple(blocks)))
    return tuple(chapters)


@lru_cache(maxsize=1)
def _whole() -> tuple[Chapter, ...]:
    drawn = environment().get_template("guide/blocks.html").module

    def told(listed: tuple[tuple[str, str], ...]) -> Iterator[Block]:
        for name, title in listed:
            yield _block(name.replace("_", "-"), title, getattr(drawn, name)())

    return (
        Chapter("steps", "A first shoot", tuple(told(_STEPS))),
        Chapter("ideas", "The ideas", tuple(told(_IDEAS))),
        Chapter(
            "pages",
            "What each page is for",
            tuple(_block(f"page-{each.key}", each.title, drawn.page(each)) for each in PAGES),  # type: ignore[attr-defined]
        ),
        Chapter(
            "terms",
            "Terms of the trade",
            tuple(
                _block(each.key, each.name, drawn.term(each, DRAWN[each.drawing]() if each.drawing else None))  # type: ignore[attr-defined]
                for each in sorted(TERMS, key=lambda each: each.name)
            ),
        ),
    )


def _block(key: str, title: str, html: str) -> Block:
    markup = Markup(html)
    return Block(key, title, markup, f"{title} {markup.striptags()}".lower())
