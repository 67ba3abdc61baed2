"""XMP packets read back by a general-purpose RDF parser: every property as it was given, and nothing besides."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rdflib import RDF, Graph, Literal, Namespace, URIRef
from rdflib.container import Container
from rdflib.term import Node

from webapp.pictures.xmp import NAMESPACES, Sidecar, SidecarLight, packet, real

DC, XMP, TIFF, EXIF, OURS = (Namespace(NAMESPACES[each]) for each in ("dc", "xmp", "tiff", "exif", "stopledger"))
THE_FILE = URIRef("http://example.com/picture.jpg")
FRAME = Sidecar(
    title="Enamel dial",
    logged_at="2026-11-24T09:31:12+00:00",
    frame_number=7,
    subjects=("watch dial", "gloss"),
    taken_at="2026-11-24T10:31:07.12+01:00",
    camera="studio body",
    exposure_time_s=Fraction(1, 125),
    f_number=Fraction("5.6"),
    iso=100,
    focal_length_mm=Fraction(100),
    subject_distance_mm=Fraction(775),
    flash_fired=True,
    width_px=6000,
    height_px=4000,
    lights=(SidecarLight("A", "key", True, power_stops=-5.0, distance_mm=800.0, balance_stops=0.25),),
)


def graph_of(sidecar: Sidecar) -> Graph:
    """The packet as statements about the picture: what lies between its marks, as any reader takes it."""
    whole = packet(sidecar)
    assert ET.fromstring(whole).find(f"{{{NAMESPACES['rdf']}}}RDF") is not None
    rdf = whole[whole.index("<rdf:RDF") : whole.index("</rdf:RDF>")] + "</rdf:RDF>"
    graph = Graph()
    graph.parse(data=rdf, format="xml", publicID=str(THE_FILE))
    return graph


def value(graph: Graph, name: URIRef, of: Node = THE_FILE) -> str | None:
    found = graph.value(of, name)
    return None if found is None else str(found)


def members(graph: Graph, name: URIRef) -> list[Node]:
    found = graph.value(THE_FILE, name)
    return [] if found is None else list(Container(graph, found).items())  # type: ignore[no-untyped-call]


def test_the_settings_stand_in_the_properties_of_the_standard() -> None:
    graph = graph_of(FRAME)

    assert value(graph, EXIF.ExposureTime) == "1/125"
    assert value(graph, EXIF.FNumber) == "28/5"
    assert value(graph, EXIF.FocalLength) == "100/1"
    # In metres.
    assert value(graph, EXIF.SubjectDistance) == "31/40"
    assert [str(each) for each in members(graph, EXIF.ISOSpeedRatings)] == ["100"]
    assert value(graph, EXIF.DateTimeOriginal) == "2026-11-24T10:31:07.12+01:00"
    assert value(graph, TIFF.Model) == "studio body"
    flash = graph.value(THE_FILE, EXIF.Flash)
    assert flash is not None
    assert value(graph, EXIF.Fired, flash) == "True"
    assert members(graph, DC.title) == [Literal("Enamel dial", lang="x-default")]
    assert [str(each) for each in members(graph, DC.subject)] == ["watch dial", "gloss"]


def test_each_kind_of_list_is_the_one_that_the_standard_wants() -> None:
    graph = graph_of(FRAME)

    for name, kind in ((DC.title, RDF.Alt), (DC.subject, RDF.Bag), (EXIF.ISOSpeedRatings, RDF.Seq)):
        held = graph.value(THE_FILE, name)
        assert (held, RDF.type, kind) in graph


def test_a_light_is_told_in_stops_from_full_and_millimetres() -> None:
    graph = graph_of(FRAME)

    (light,) = members(graph, OURS.Lights)

    assert value(graph, OURS.Letter, light) == "A"
    assert value(graph, OURS.PowerStops, light) == "-5.0"
    assert value(graph, OURS.DistanceMm, light) == "800.0"
    assert value(graph, OURS.BalanceStops, light) == "0.25"
    # Unknown is not written, and never zero.
    assert value(graph, OURS.HeightMm, light) is None


def test_what_is_unknown_has_no_property() -> None:
    graph = graph_of(Sidecar(title="dial", logged_at="2026-11-24T09:31:12+00:00", frame_number=1))

    assert not [name for name in graph.predicates(THE_FILE) if str(name).startswith(NAMESPACES["exif"])]


def test_only_namespaces_of_the_standard_and_our_own_are_used() -> None:
    for name in graph_of(FRAME).predicates():
        assert str(name).startswith(tuple(NAMESPACES.values()))


def test_the_packet_has_the_marks_of_one_and_is_utf_8() -> None:
    content = packet(FRAME).encode()

    assert content.startswith('<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>'.encode())
    assert content.rstrip().endswith(b'<?xpacket end="w"?>')


# What XML can hold, line ends and all; the rest is looked at below.
texts = st.text(st.characters(blacklist_categories=("Cs", "Cc"), blacklist_characters="\ufffe\uffff")) | st.text(
    "<>&\"'\r\n\t ]]>é"
)


@given(texts, texts, st.lists(texts, max_size=5))
def test_texts_come_back_as_they_were(title: str, camera: str, subjects: list[str]) -> None:
    graph = graph_of(replace(FRAME, title=title, camera=camera, subjects=tuple(subjects)))

    assert [str(each) for each in members(graph, DC.title)] == [title]
    assert (value(graph, TIFF.Model) or "") == camera
    assert [str(each) for each in members(graph, DC.subject)] == subjects


numbers = st.none() | st.floats(-1e9, 1e9, allow_subnormal=False)


@given(numbers, numbers, numbers, st.booleans())
def test_numbers_come_back_to_the_last_digit(
    power: float | None, distance: float | None, balance: float | None, lit: bool
) -> None:
    light = SidecarLight("A", "", lit, power_stops=power, distance_mm=distance, balance_stops=balance)
    graph = graph_of(replace(FRAME, lights=(light,)))

    (read,) = members(graph, OURS.Lights)

    for name, given_value in ((OURS.PowerStops, power), (OURS.DistanceMm, distance), (OURS.BalanceStops, balance)):
        said = value(graph, name, read)
        assert (None if said is None else float(said)) == given_value
    assert value(graph, OURS.Lit, read) == str(lit)


@given(st.fractions(min_value=0, max_value=10**6, max_denominator=10**6))
def test_a_rational_is_two_whole_numbers(time_s: Fraction) -> None:
    said = value(graph_of(replace(FRAME, exposure_time_s=time_s)), EXIF.ExposureTime)

    assert said is not None
    above, below = said.split("/")
    assert Fraction(int(above), int(below)) == time_s


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_number_is_written_without_an_exponent(number: float) -> None:
    said = real(number)

    assert "e" not in said.lower()
    assert float(Decimal(said)) == number


@pytest.mark.parametrize("control", ["\x00", "\x08", "\x1f", "\ufffe"])
def test_what_xml_cannot_hold_is_told_and_breaks_nothing(control: str) -> None:
    graph = graph_of(replace(FRAME, title=f"enamel{control}dial"))

    assert [str(each) for each in members(graph, DC.title)] == ["enamel\ufffddial"]
