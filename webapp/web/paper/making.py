"""From the records to a sheet: loads what is to be printed, and draws the page's part or the PDF from it."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache, partial
from itertools import islice
from typing import Final, Literal

from webapp.errors import InvalidValue
from webapp.exports.pdf import LaidOut, laid_out, pdf_of
from webapp.kit import units
from webapp.recipes import publish
from webapp.recipes.publish import Published
from webapp.recipes.share import links as shared_links
from webapp.recipes.share.links import STUDENT, Choices
from webapp.records import recipes as recipe_records
from webapp.records import shots as shot_records
from webapp.records.tables import Link, Shot, now
from webapp.services import Services
from webapp.shoots import frames as ledger_frames
from webapp.web.pages.render import environment
from webapp.web.paper.contact_sheet import MOST_FRAMES, ContactSheet, Reader, Which, contact_sheet, is_chosen
from webapp.web.paper.giving_way import Step, first_on_one_page
from webapp.web.paper.set_up_sheet import MOST_LETTERS, SetUpSheet, set_up_sheet
from webapp.web.paper.sizes import PAPERS, PaperName
from webapp.web.words.outside import told_outside

KitTold = Literal["", "names", "figures"]
NO_CODE: Final = "none"
_PRINTED_PX: Final = 1000
_SMALL_PX: Final = 480
RECIPE_PICTURES: Final = "/recipes/pictures/"
FRAME_PICTURES: Final = "/pictures/"


@dataclass(frozen=True, slots=True)
class OfShot:
    """A shot's contact sheet with what it was made of."""

    shot: Shot
    from_frame: int
    which: Which
    reader: Reader
    sheet: ContactSheet


@dataclass(frozen=True, slots=True)
class OfRecipe:
    """A recipe's sheet with what it was made of. `links` are those that stand, of this version; `kit` says by what kit
    is told; `sheet_at` is the
    sheet at a step of giving way."""

    published: Published
    links: tuple[Link, ...]
    chosen: str
    kit: KitTold
    sheet_at: Callable[[Step], SetUpSheet]


def of_recipe(
    services: Services,
    recipe_id: str,
    number: int | None,
    *,
    paper: PaperName,
    link: str,
    base_url: str,
    kit: KitTold = "",
) -> OfRecipe:
    """The set-up sheet of a version, or of the newest. `link` is the token of the link whose code is printed; without
    one it is the newest that a student has, "none" for no code. Kit is told by its names or by its figures, as `kit`
    says; where it says nothing, as the printed link does, and without a link by its names. Raises InvalidValue for a
    link that does not stand."""
    published = publish.read(services.records, recipe_id, number)
    links = _standing_links(services, published)
    chosen = _chosen(links, link)
    address = f"{base_url}shared/{chosen}" if chosen else ""
    kit_names = _kit_names(kit, next((each for each in links if each.token == chosen), None))
    seen = shared_links.as_seen(services.records, recipe_id, published.number, Choices(STUDENT, kit_names=kit_names))
    result = published.recipe.result
    sheet_at = partial(
        set_up_sheet,
        told_outside(seen.recipe, kit_names=kit_names, named=seen.named),
        version=published.number,
        paper=PAPERS[paper],
        picture=f"{RECIPE_PICTURES}{result.digest}" if result else "",
        code=code_svg(address) if address else "",
        address=address,
        lengths=units.lengths(services.records),
    )
    return OfRecipe(published, links, chosen, "names" if kit_names else "figures", sheet_at)


def _kit_names(kit: KitTold, printed: Link | None) -> bool:
    return kit == "names" if kit else printed is None or printed.kit_names


def _standing_links(services: Services, published: Published) -> tuple[Link, ...]:
    with services.records.reading() as db:
        links = recipe_records.links_to(db, published.recipe_id)
    return tuple(
        link
        for link, number in links
        if number == published.number
        and link.withdrawn_at is None
        and (link.expires_at is None or link.expires_at > now())
    )


def _chosen(links: tuple[Link, ...], token: str) -> str:
    if token == NO_CODE:
        return ""
    if not token:
        return next((each.token for each in links if each.reader == "student"), "")
    if not any(each.token == token for each in links):
        raise InvalidValue("link", "There is no such link to this version (any more): choose another, or none.")
    return token


def code_svg(address: str) -> str:
    """An address as a QR code, black on white."""
    import segno

    out = io.BytesIO()
    segno.make(address, error="m").save(
        out, kind="svg", border=2, omitsize=True, xmldecl=False, svgns=True, light="#fff", title="QR code of the link"
    )
    return out.getvalue().decode()


def recipe_pdf(services: Services, made: OfRecipe) -> bytes:
    """The set-up sheet as PDF, given way until it is one page."""
    result = made.published.recipe.result
    pictures: dict[str, Callable[[], bytes]] = {}
    if result is not None:
        pictures[f"{RECIPE_PICTURES}{result.digest}"] = cache(partial(_for_print, services, result.digest))
    return on_one_page(made.sheet_at, pictures).pdf()


def on_one_page(sheet_at: Callable[[Step], SetUpSheet], pictures: Mapping[str, Callable[[], bytes]]) -> LaidOut:
    """The sheet laid out at the first step at which it is one page."""

    @cache
    def at(step: Step) -> LaidOut:
        return laid_out(sheet_document(sheet_at(step)), pictures)

    return at(first_on_one_page(lambda step: sheet_at(step).letters <= MOST_LETTERS and at(step).pages == 1))


def of_shot(
    services: Services,
    shot_id: str,
    *,
    paper: PaperName,
    from_frame: int = 1,
    which: Which = "all",
    reader: Reader = "studio",
) -> OfShot:
    """The contact sheet of a shot, from a frame on. What stands over a client's is what the picture is of."""
    with services.records.reading() as db:
        shot = shot_records.shot_of(db, shot_id)
        session = shot_records.session_of(db, shot.session_id)
    in_order = ledger_frames.in_order(services.records, shot_id, from_frame)
    frames = list(islice((each for each in in_order if is_chosen(each, which, reader)), MOST_FRAMES + 1))
    under = [] if reader == "client" else [f"Shot {shot.number} · {session.name} · {session.day.isoformat()}"]
    under += [shot.subject] if shot.subject else []
    sheet = contact_sheet(shot.title, under, frames, PAPERS[paper], reader, which)
    return OfShot(shot, from_frame, which, reader, sheet)


def shot_pdf(services: Services, made: OfShot) -> bytes:
    """The contact sheet as PDF."""
    digests = (entry.picture for row in made.sheet.rows for entry in row if entry.picture)
    pictures = {f"{FRAME_PICTURES}{digest}/small": partial(small_picture, services, digest) for digest in digests}
    return pdf_of(sheet_document(made.sheet), pictures)


def small_picture(services: Services, digest: str) -> bytes:
    """The picture of a frame, small enough to have many of them on a page. Raises NotFound where there is none yet."""
    return services.intake.small(services.intake.preview_path(digest), _SMALL_PX)


def _for_print(services: Services, digest: str) -> bytes:
    return services.intake.small(services.store.path_of(digest), _PRINTED_PX)


def sheet_document(sheet: SetUpSheet | ContactSheet) -> str:
    """A sheet as an HTML document of its own, for a PDF."""
    part = "set_up_sheet" if isinstance(sheet, SetUpSheet) else "contact_sheet"
    template = environment().get_template("paper/document.html")
    return template.render(
        sheet_template=f"paper/{part}.html", title=sheet.title, sheet=sheet, pictures_at=FRAME_PICTURES
    )
