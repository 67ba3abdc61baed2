"""A recipe in one file: an HTML page with everything in it, for a photographer without a server to show.

It opens in any browser without a network and without a script, and is small enough to be sent by mail. It is made
from the list of allowed fields that a link is made from (`web.words.shared`), its pictures anew from their pixels. On
paper a student's is the set-up sheet.
"""

from __future__ import annotations

import hashlib
import re
from base64 import b64encode
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial
from typing import Final

from markupsafe import Markup

from webapp.errors import InvalidValue
from webapp.paths import STATIC
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.recipes.document import PicturePart
from webapp.recipes.share.links import STUDENT, Opened
from webapp.services import Services
from webapp.web.pages.recipe_view import PictureShown, levels_of, steps_of
from webapp.web.pages.render import environment
from webapp.web.paper.set_up_sheet import SetUpSheet, set_up_sheet
from webapp.web.paper.sizes import PAPERS, PaperName
from webapp.web.words.outside import told_outside
from webapp.web.words.shared import shown_at

MOST_BYTES: Final = 2_000_000
"""What every mailbox takes, with room to spare; common practice."""
_STYLES: Final = ("stopledger.css", "shared.css", "recipes.css")
_PAPER_STYLES: Final = ("paper.css", "one_file.css")
_FONT: Final = re.compile(r'url\("(vendor/[\w-]+\.woff)"\)')
# From the largest on, until the file is small enough; at the last the comparisons and the workings stay out as well.
_LONGEST_PX: Final = (1600, 1200, 900, 640)
_ON_THE_SHEET_PX: Final = 640
_Picture = Callable[[PicturePart], str]


@dataclass(frozen=True, slots=True)
class OneFile:
    """The file, and what it is called."""

    name: str
    content: bytes


def one_file(
    services: Services, opened: Opened, *, version: int, paper: PaperName = "a4", lengths: Lengths = CENTIMETRES
) -> OneFile:
    """What this reader sees of a version, as a page in one file, its pictures as large as `MOST_BYTES` allow. Raises
    InvalidValue where its texts alone are too long."""

    @cache
    def picture(longest_px: int, part: PicturePart) -> str:
        return _data("image/jpeg", services.intake.small(services.store.path_of(part.digest), longest_px))

    sheet = _sheet(opened, version, paper, lengths, partial(picture, _ON_THE_SHEET_PX))
    for longest_px, is_whole in (*((each, True) for each in _LONGEST_PX), (_LONGEST_PX[-1], False)):
        page = _page(opened, version, lengths, sheet, partial(picture, longest_px), is_whole=is_whole)
        content = page.encode()
        if len(content) <= MOST_BYTES:
            return OneFile(_name(opened.recipe.title), content)
    raise InvalidValue("recipe", f"This recipe says more than one file of {MOST_BYTES // 10**6} MB can hold.")


def _sheet(opened: Opened, version: int, paper: PaperName, lengths: Lengths, picture: _Picture) -> SetUpSheet | None:
    """What a student's file is on paper. Nothing of it is shortened: a long recipe takes a second page."""
    if opened.reader != STUDENT:
        return None
    recipe = told_outside(opened.recipe, kit_names=opened.kit_names, named=opened.named)
    at = picture(recipe.result) if recipe.result else ""
    return set_up_sheet(recipe, version=version, paper=PAPERS[paper], picture=at, lengths=lengths)


def _page(
    opened: Opened,
    version: int,
    lengths: Lengths,
    sheet: SetUpSheet | None,
    picture: _Picture,
    *,
    is_whole: bool,
) -> str:
    shared = shown_at(opened, lengths)
    style = _style((*_STYLES, *_PAPER_STYLES) if sheet else _STYLES)
    pictures = shared.pictures if is_whole else shared.pictures[:1]
    return (
        environment()
        .get_template("paper/one_file.html")
        .render(
            title=shared.title,
            shared=shared,
            pictures=[PictureShown(picture(each), each.words) for each in pictures],
            levels=levels_of(shared),
            steps=steps_of(shared.workings) if is_whole else (),
            sheet=sheet,
            version=version,
            made_on=opened.recipe.made_on,
            is_whole=is_whole,
            style=Markup(style),
            style_digest=b64encode(hashlib.sha256(style.encode()).digest()).decode(),
        )
    )


@cache
def _style(names: tuple[str, ...]) -> str:
    """Stylesheets in one, with their typefaces in them."""
    text = "\n".join((STATIC / name).read_text() for name in names)
    return _FONT.sub(lambda found: f'url("{_data("font/woff", (STATIC / found[1]).read_bytes())}")', text)


def _data(kind: str, content: bytes) -> str:
    return f"data:{kind};base64,{b64encode(content).decode()}"


def _name(title: str) -> str:
    """What the file is called: its title in letters that every system takes.

    >>> _name("Enamel dial, 2nd"), _name("№")
    ('enamel-dial-2nd.html', 'recipe.html')
    """
    plain = re.sub(r"[^a-z0-9]+", "-", title.casefold())[:60].strip("-")
    return f"{plain or 'recipe'}.html"
