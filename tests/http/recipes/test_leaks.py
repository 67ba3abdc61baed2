"""Nothing private in any byte that any link serves.

A house is filled with a marker of its own in every text field that a person or a camera can write, and everything is
fetched that a student's link, a client's link and an open page serve: pages, pictures, codes, worksheets, the stream,
headers. The markers are looked for in every spelling that bytes may give them, and the test shows beside it that they
are found in the house's own pages.
"""

from __future__ import annotations

import base64
import html
import io
import re
import struct
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import httpx2
import pytest
from PIL import Image, ImageCms
from sqlalchemy import update
from sqlmodel import SQLModel
from sqlmodel.sql.sqltypes import AutoString

from tests.http.running import Listener, running, wait_until
from webapp.records.columns import Document
from webapp.records.tables import (
    Arrival,
    ArrivalState,
    Device,
    FieldChange,
    Frame,
    FrameRevision,
    SavedMix,
    SetPhoto,
    Standing,
    WatchedFolder,
    now,
)

# What goes out on links by intent: words that are written to be read, and marks of dials.
PUBLISHED = {
    "shots": {"title", "subject", "subject_types", "surface", "look"},
    "live_pages": {"title"},
    "links": {"words", "keep", "reader"},
    "meter_readings": {"mark"},
    "cameras": {"sync_mark"},
    "frames": {"purpose", "verdict", "lit"},
    "recipe_versions": {"document", "differs"},
}
# What a person or a camera writes and no link tells; each is filled with a marker below.
PRIVATE = {
    "sessions": {"name", "place", "made_for", "brief", "used_for", "size", "crop", "must_match", "notes"},
    "cameras": {"name", "notes", "in_files"},
    "lenses": {"name", "notes"},
    "lights": {"name", "notes", "guide_reflector"},
    "modifiers": {"name", "notes"},
    "filters": {"name", "notes"},
    "frames": {"because", "notes", "logged_by", "not_written"},
    "frame_revisions": {"made_by"},
    "standing": {"because", "changes"},
    "devices": {"name"},
    "pictures": {"name"},
    "patches": {"name"},
    "saved_mixes": {"name"},
    "set_photos": {"name", "caption", "added_by"},
    "notices": {"text"},
    "watched_folders": {"path"},
    "watch_choice": {"folder"},
    "arrivals": {"path"},
    "vocabulary": {"term", "others"},
}
# Made by the program: ids, digests, words of a list, JSON of what stands in the sets above.
MADE = {
    "": {"id", "token", "key"},
    "sessions": {"zone", "origin"},
    "cameras": {"shutter_dial", "iso_dial", "origin"},
    "lenses": {"f_number_dial", "records", "origin"},
    "lights": {"kind", "form", "marking", "origin"},
    "modifiers": {"shape", "origin"},
    "filters": {"kind", "fits", "origin"},
    "learned": {"subject", "document"},
    "save_keys": {"body", "answer"},
    "vocabulary": {"facet"},
    "set_ups": {"digest", "document", "kit"},
    "frames": {"set_values", "file_values", "ledger", "evidence"},
    "frame_revisions": {"document", "what"},
    "shots": {"no_stacks", "figures_for"},
    "saved_mixes": {"saved_for", "levels", "frames"},
    "standing": {"set_up", "versions", "moves", "kept", "purpose", "says"},
    "pictures": {"digest", "kind", "facts", "exposure_key", "exposed_at", "preview", "trouble"},
    "picture_light": {"channels"},
    "readings": {"document", "trouble"},
    "readings_by_eye": {"document"},
    "arrivals": {"state", "why", "digest"},
    "recipes": {"identity"},
    "links": {"withdrawn_pictures"},
    "recipe_lines": {"title", "subject", "terms", "kit", "words", "marks", "picture", "vector"},
    "recipe_lights": {"letter", "role", "kind"},
    "frame_lines": {"shot", "said", "marks"},
    "recipe_facets": {"facet", "value"},
    "known_words": {"word"},
    "reshoots": {"target", "left_open"},
    "checklist_lines": {"heading", "words"},
    "devices": {"role", "live_page", "token_digest"},
    "passphrase": {"hash"},
    "set_photos": {"digest"},
}


def test_every_text_field_of_every_table_is_known_to_go_out_or_to_stay() -> None:
    """A new field fails here: say above whether it is published, private (then fill it below), or made."""
    unknown = [
        f"{table.name}.{column.name}"
        for table in SQLModel.metadata.sorted_tables
        for column in table.columns
        if isinstance(column.type, AutoString | Document)
        and not column.foreign_keys
        and column.name
        not in MADE[""] | set().union(*(each.get(table.name, set()) for each in (PUBLISHED, PRIVATE, MADE)))
    ]

    assert unknown == []


@dataclass
class Marked:
    """A house full of markers, and everything that was handed out of it."""

    client: httpx2.Client
    app: Any
    marks: dict[str, str] = field(default_factory=dict)
    session: str = ""
    shot: str = ""
    frame: str = ""
    recipe: str = ""
    listener: Listener | None = None
    seen_inside: set[str] = field(default_factory=set)

    def mark(self, what: str) -> str:
        """The marker of a field: no other field has it."""
        return self.marks.setdefault(what, f"Zq{len(self.marks):02d}xJv")

    def post(self, address: str, **said: str) -> httpx2.Response:
        answer = self.client.post(address, data=said)
        assert answer.status_code < 400, f"{address}: {re.findall('class=.problem[^>]*>([^<]+)', answer.text)}"
        return answer

    def keep(self, kind: str, **figures: str) -> str:
        """A piece of kit that is marked; the answer is its id."""
        known = set(re.findall(rf"/kit/{kind}/([\w-]{{36}})", self.client.get("/kit").text))
        said = {"name": self.mark(f"{kind}.name"), "notes": self.mark(f"{kind}.notes")}
        self.post(f"/kit/{kind}/new", **said, **figures)
        return (set(re.findall(rf"/kit/{kind}/([\w-]{{36}})", self.client.get("/kit").text)) - known).pop()

    def look(self, address: str) -> None:
        """Look for markers at an address inside of the house."""
        answer = self.client.get(address)
        self.seen_inside |= self.found_in(answer.content + str(answer.headers).encode())

    def found_in(self, content: bytes) -> set[str]:
        """The fields whose markers are in some bytes, however these spell them."""
        opened = [content, html.unescape(content.decode("utf-8", "replace")).encode()]
        return {
            what
            for what, marker in self.marks.items()
            for spelling in (marker.encode(), marker.encode("utf-16-le"), marker.encode("utf-16-be"))
            if any(spelling in each for each in opened)
        }


def marked_picture(marked: Marked, size: tuple[int, int] = (320, 214)) -> bytes:
    """A camera file with a marker in every kind of metadata: EXIF with owner, body, lens, maker note and place, XMP,
    IPTC, the colour profile, a comment, and bytes behind the end of the picture."""
    exif = Image.Exif()
    exif[0x010E], exif[0x013B], exif[0x8298] = (marked.mark(f"EXIF {each}") for each in ("title", "artist", "rights"))
    exif[0x010F], exif[0x0110] = marked.mark("EXIF maker"), marked.mark("EXIF model")
    camera = exif.get_ifd(0x8769)
    camera[0xA430], camera[0xA431], camera[0xA435] = (
        marked.mark(f"EXIF {each}") for each in ("owner", "serial number", "serial number of the lens")
    )
    camera[0x927C] = marked.mark("EXIF maker note").encode()
    camera[0x9286] = b"ASCII\0\0\0" + marked.mark("EXIF user comment").encode()
    camera.update({0x829D: 8.0, 0x829A: 1 / 125, 0x8827: 100})
    place = exif.get_ifd(0x8825)
    place[0x0001], place[0x0002] = "N", (48.0, 12.0, 31.5)
    place[0x001D], place[0x001B] = marked.mark("EXIF place date"), marked.mark("EXIF place method").encode()
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    rights = "No copyright, use freely".encode("utf-16-be")
    assert rights in profile
    profile = profile.replace(rights, marked.mark("ICC rights").ljust(24).encode("utf-16-be"))
    out = io.BytesIO()
    picture = Image.effect_noise(size, 40).convert("RGB")
    xmp = f"<x:xmpmeta>{marked.mark('XMP')}</x:xmpmeta>".encode()
    picture.save(
        out, "JPEG", exif=exif, xmp=xmp, icc_profile=profile, comment=marked.mark("JPEG comment").encode(), quality=92
    )
    keyword = marked.mark("IPTC keyword").encode()
    record = b"\x1c\x02\x19" + struct.pack(">H", len(keyword)) + keyword
    iptc = b"\xff\xed" + struct.pack(">H", len(record) + 2) + record
    whole = out.getvalue()
    return whole[:2] + iptc + whole[2:] + marked.mark("bytes behind the picture").encode()


def fill(marked: Marked) -> None:
    """A shoot by somebody who writes into every field, published, and followed by a class."""
    camera = marked.keep("cameras", in_files=marked.mark("cameras.in_files"))
    lens = marked.keep("lenses", greatest_magnification="1")
    reflector = marked.mark("lights.guide_reflector")
    head = marked.keep(
        "lights", full_energy_j="400", marking="joules", guide_number_m="40", guide_reflector=reflector
    )
    modifier = marked.keep("modifiers", shape="disc", width_mm="60 cm", loss_stops="1.5", diffuses="true")
    sheet = marked.keep("filters", loss="1 stop", fits="both")
    marked.post(
        "/recipes/vocabulary",
        facet="look",
        term=marked.mark("vocabulary.term"),
        others=marked.mark("vocabulary.others"),
    )
    marked.post(
        f"/kit/lights/{head}/readings", modifier_id=modifier, f_number="11", power="full", distance_mm="900 cm"
    )

    watched = marked.app.state.services.settings.data.parent / marked.mark("watch_choice.folder")
    watched.mkdir()
    marked.post("/in-tray/folder", folder=str(watched))

    said = {name: marked.mark(f"sessions.{name}") for name in sorted(PRIVATE["sessions"])}
    marked.session = marked.post("/sessions", **said).headers["location"]
    marked.shot = marked.post(
        f"{marked.session}/shots", title="enamel dial", subject="dial, 4 cm", look="soft"
    ).headers["location"]
    marked.post(f"{marked.session}/live-pages", title="Table A", hours="8")
    page = re.findall(r'href="(/open/[\w-]+)"', marked.client.get(marked.session).text)[0]
    news = html.unescape(re.findall(r'data-news="([^"]+)"', marked.client.get(page).text)[0])
    marked.listener = Listener(marked.client, news)
    marked.listener.wait_for("listening")

    marked.post(f"{marked.shot}/frames", purpose="test", because="as it was found")
    changes = [
        ("camera", camera),
        ("lens", lens),
        ("magnification", "0.2"),
        ("lens_filters", f"+{sheet}"),
        ("lights.A.head", head),
        ("lights.A.modifier", modifier),
        ("lights.A.filters", f"+{sheet}"),
        ("lights.A.position", "90 cm; 45° left; 40 cm above; taped"),
        ("things.flag-1.there", "on"),
    ]
    for name, value in changes:
        marked.post(f"{marked.shot}/standing", field=name, value=value)
    marked.post(f"{marked.shot}/next", purpose="test", because=marked.mark("standing.because"))
    marked.look(marked.shot)
    picture = {"picture": (f"{marked.mark('pictures.name')}.jpg", marked_picture(marked), "image/jpeg")}
    words = {"purpose": "test", "because": marked.mark("frames.because")}
    marked.client.post(f"{marked.shot}/frames", data=words, files=picture)
    broken = {"picture": (f"{marked.mark('notices.text')}.jpg", b"no picture", "image/jpeg")}
    marked.client.post(f"{marked.shot}/frames", data={"purpose": "test"}, files=broken)
    marked.frame = re.findall(r'href="(/frames/[^"]+)" aria-label="Frame', marked.client.get(marked.shot).text)[0]
    wait_until(lambda: "/preview" in marked.client.get(marked.frame).text)
    marked.post(f"{marked.frame}/patches", name=marked.mark("patches.name"), x="20", y="20", width="30", height="30")
    marked.post(marked.frame, revision="1", notes=marked.mark("frames.notes"), verdict="stands")
    with marked.app.state.services.records.writing() as db:
        shot_id = marked.shot.rsplit("/", 1)[1]
        folder = marked.mark("watched_folders.path")
        db.add(WatchedFolder(path=folder))
        db.flush()
        file = marked.mark("arrivals.path")
        db.add(Arrival(folder=folder, path=file, size_bytes=1, changed_ns=1, state=ArrivalState.WAITING))
        db.add(Device(name=marked.mark("devices.name"), role="assistant", token_digest="none"))
        for table, by in ((Frame, "logged_by"), (FrameRevision, "made_by")):
            db.execute(update(table).values({by: marked.mark(f"{table.__tablename__}.{by}")}))
        tapped = {"iso": marked.mark("frames.not_written")}
        db.execute(update(Frame).values(not_written=tapped))
        change = FieldChange(now(), file=marked.mark("standing.changes"))
        db.execute(update(Standing).values(changes={"iso": change}))
        db.add(SavedMix(shot_id=shot_id, name=marked.mark("saved_mixes.name"), levels={"A": 0.0}, frames={}))

    photo = {"photo": (f"{marked.mark('set_photos.name')}.jpg", marked_picture(marked, (240, 320)), "image/jpeg")}
    marked.client.post(f"{marked.shot}/photos", files=photo)
    (added,) = marked.client.get(f"/api/v1{marked.shot}/set-photos").json()
    marked.post(f"/set-photos/{added['id']}", caption=marked.mark("set_photos.caption"))
    marked.post(f"/set-photos/{added['id']}/place", distance="150 cm", bearing="30 right")
    with marked.app.state.services.records.writing() as db:
        db.execute(update(SetPhoto).values(added_by=marked.mark("set_photos.added_by")))

    marked.look("/in-tray")
    marked.look("/devices")
    marked.look(f"/api/v1{marked.shot}/set-photos")
    marked.look(f"/kit/cameras/{camera}")
    # The name that the frames and the steps have copied is not the one that the kit has now.
    marked.look(f"/kit/modifiers/{modifier}")
    marked.post(
        f"/kit/modifiers/{modifier}", name="the box, renamed", shape="disc", width_mm="60 cm", loss_stops="1.5"
    )
    drafted = html.unescape(marked.client.get(f"{marked.frame}/recipe").text)
    steps = "".join(re.findall(r'<textarea[^>]*name="step-[^>]*>(.*?)</textarea>', drafted, re.S))
    assert marked.mark("lights.name") in steps
    assert marked.mark("frames.because") not in steps
    marked.recipe = marked.post(
        f"{marked.frame}/recipe", title="Enamel dial", why="soft from above", tags=marked.mark("tags")
    ).headers["location"]
    marked.post(
        f"{marked.recipe}/links",
        number="1",
        reader="student",
        days="6",
        words="Begin with the key.",
        with_bundle="true",
    )
    marked.post(f"{marked.recipe}/links", number="1", reader="client", figures="true", words="Expect a soft dial.")
    marked.post(f"{marked.recipe}/set-photos", photo=added["id"])
    marked.listener.wait_for("· keep")


@pytest.fixture(scope="module")
def marked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Marked]:
    with running(tmp_path_factory.mktemp("marked") / "data") as (client, app):
        services = Marked(client, app)
        fill(services)
        yield services


def everything_served(marked: Marked, address: str, own: str) -> dict[str, httpx2.Response]:
    """An address and all that it leads to under the reader's own address or as a static file, with the headers."""
    served: dict[str, httpx2.Response] = {}
    to_do = [address]
    while to_do:
        each = to_do.pop()
        if each in served:
            continue
        served[each] = marked.client.get(each)
        assert served[each].status_code == 200, each
        found = re.findall(r'(?:src|href|action)="([^"]+)"', served[each].text)
        to_do += [html.unescape(one) for one in found if html.unescape(one).startswith((own, "/static/"))]
    return served


def links(marked: Marked) -> dict[str, str]:
    """Each kind of address that was handed out."""
    client, student = re.findall(r'href="(/shared/[\w-]+)"', marked.client.get(marked.recipe).text)
    page = re.findall(r'href="(/open/[\w-]+)"', marked.client.get(marked.session).text)[0]
    return {"student": student, "client": client, "open page": page}


def leaks(marked: Marked, served: dict[str, httpx2.Response]) -> dict[str, set[str]]:
    found = {each: marked.found_in(answer.content + str(answer.headers).encode()) for each, answer in served.items()}
    return {each: what for each, what in found.items() if what}


@pytest.mark.parametrize("kind", ["student", "client", "open page"])
def test_no_private_marker_is_in_any_byte_of_a_link(marked: Marked, kind: str) -> None:
    address = links(marked)[kind]

    served = everything_served(marked, address, address)

    assert any(each.headers["content-type"] == "image/jpeg" for each in served.values())
    assert kind != "student" or "<h2>Plan</h2>" in served[address].text
    assert kind != "student" or any("/worksheets/" in each for each in served)
    assert (kind == "student") == any("/set/" in each for each in served)
    assert leaks(marked, served) == {}


def test_no_private_marker_is_in_the_kit_and_worksheets_of_a_student(marked: Marked) -> None:
    student = links(marked)["student"]
    kit = {
        "sensor_width_mm": "23.5",
        "f_number_A": "11",
        "power_A": "full",
        "distance_mm_A": "1000",
        "shape_A": "disc",
        "width_mm_A": "600",
    }

    answer = marked.client.get(f"{student}/kit", params=kit)

    assert "as written" in answer.text
    assert leaks(marked, {"kit": answer}) == {}


def test_no_private_marker_is_in_the_event_stream(marked: Marked) -> None:
    assert marked.listener is not None
    told = marked.listener.text

    assert "Frame 2" in told
    assert "disc 60 cm" in told
    assert marked.found_in(told.encode() + str(marked.listener.headers).encode()) == set()


def test_no_private_marker_is_in_a_code_or_a_preview(marked: Marked) -> None:
    addresses = [f"/links/{links(marked)[kind].rsplit('/', 1)[1]}/code.svg" for kind in ("student", "client")]
    addresses.append(f"/live-pages/{links(marked)['open page'].rsplit('/', 1)[1]}/code.svg")
    addresses += [f"{marked.recipe}/versions/1/as/{kind}" for kind in ("student", "client", "client?figures=true")]
    served = {each: marked.client.get(each) for each in addresses}
    followed = f"{marked.session}/as-followed"
    served |= everything_served(marked, followed, f"{followed}/")

    assert all(each.status_code == 200 for each in served.values())
    assert any(each.startswith(f"{followed}/pictures/") for each in served)
    assert leaks(marked, served) == {}


@pytest.mark.parametrize("who", ["student", "client", "client&figures=true"])
def test_no_private_marker_is_in_a_page_in_one_file_nor_in_a_picture_inside_it(marked: Marked, who: str) -> None:
    answer = marked.client.get(f"{marked.recipe}/versions/1/file?reader={who}&words=Begin+with+the+key.")
    inside = [base64.b64decode(each) for each in re.findall(r"base64,([A-Za-z0-9+/=]+)", answer.text)]

    assert answer.status_code == 200
    assert "Begin with the key." in answer.text
    assert any(each.startswith(b"\xff\xd8") for each in inside)
    assert who != "student" or '<article class="paper' in answer.text
    found = {"headers": marked.found_in(str(answer.headers).encode()), "page": marked.found_in(answer.content)}
    found |= {f"inside {place}": marked.found_in(each) for place, each in enumerate(inside)}
    assert {each: what for each, what in found.items() if what} == {}


def test_no_private_marker_is_in_what_another_house_takes_in(marked: Marked) -> None:
    answer = marked.client.get(f"{links(marked)['student']}/bundle")
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        inside = {name: marked.found_in(archive.read(name)) for name in archive.namelist()}

    assert {name.partition("/")[0] for name in inside} == {"recipe.json", "sheet.txt", "pictures"}
    # The result's own caption is published with it.
    assert {name: what for name, what in inside.items() if what - {"frames.because"}} == {}
    assert marked.found_in(str(answer.headers).encode()) == set()


@pytest.mark.parametrize("kind", ["student", "client"])
def test_no_private_marker_is_on_the_sheet_that_has_the_code_of_a_link(marked: Marked, kind: str) -> None:
    token = links(marked)[kind].rsplit("/", 1)[1]

    sheet = marked.client.get(f"{marked.recipe}/sheet?link={token}").text.partition("<article")[2]

    assert "<h2>Steps</h2>" in sheet
    assert marked.found_in(sheet.encode()) == set()
    assert marked.found_in(marked.client.get(f"{marked.recipe}/sheet?link=none").content) >= {"lights.name"}


def test_an_address_that_is_none_tells_nothing(marked: Marked) -> None:
    for each in ("/shared/" + "A" * 43, "/open/" + "A" * 43, "/open/" + "A" * 43 + "/news"):
        answer = marked.client.get(each)
        assert answer.status_code == 404
        assert marked.found_in(answer.content) == set()


def test_names_go_out_where_the_photographer_lets_them(marked: Marked) -> None:
    named = marked.client.get(f"{marked.recipe}/versions/1/as/student?kit_names=true")
    handed_over = marked.client.get(f"{marked.recipe}/versions/1/file?reader=student&kit_names=true")
    followed = marked.client.get(f"{marked.session}/as-followed?kit_names=true&because=true")

    for each in (named, handed_over):
        assert {"lights.name", "modifiers.name", "filters.name"} <= marked.found_in(each.content)
    assert {"lights.name", "modifiers.name", "frames.because"} <= marked.found_in(followed.content)
    assert "frames.notes" not in marked.found_in(followed.content)


def test_the_markers_are_there_to_be_found(marked: Marked) -> None:
    """The tests above could not fail if the markers were nowhere: each is found in what the house itself shows, or in
    the camera's own file."""
    original = re.findall(r"/pictures/\w+", marked.client.get(marked.frame).text)[0]
    kit = re.findall(r'href="(/kit/[\w/-]+)"', marked.client.get("/kit").text)
    inside = [marked.session, marked.shot, marked.frame, marked.recipe, "/kit", "/recipes/vocabulary", *kit]
    inside += [f"{original}/original", f"{marked.shot}/remix", f"{marked.recipe}/rewrite"]
    for each in inside:
        marked.look(each)

    # A saved mix is listed only where each light was lit alone, and who changed a field is told only to a tap that clashes;
    # both lie in the records all the same.
    assert set(marked.marks) - marked.seen_inside <= {"saved_mixes.name", "standing.changes"}
    assert {f"{table}.{column}" for table, columns in PRIVATE.items() for column in columns} <= set(marked.marks)


def test_a_marker_is_found_however_it_is_spelt(marked: Marked) -> None:
    marker = marked.mark("sessions.name")
    spelt = [marker.encode(), marker.encode("utf-16-le"), "".join(f"&#{ord(each)};" for each in marker).encode()]

    assert all(marked.found_in(b"..." + each + b"...") == {"sessions.name"} for each in spelt)
