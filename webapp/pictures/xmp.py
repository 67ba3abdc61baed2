"""An XMP packet to lie beside a picture file: its settings in the standard's properties, and the set-up in our own.

XMP data model, serialisation and the properties of Dublin Core, xmp, tiff and exif: ISO 16684-1 and CIPA DC-008
(numbers and types from memory). Nothing private is written: no place, no name of a person, no serial number, no name
of a piece of kit as somebody typed it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final
from xml.sax.saxutils import escape

OUR_NAMESPACE: Final = "urn:uuid:5d0f6a52-6f0e-7c1b-9a35-2f4c1de07b61#"
"""What the standard has no property for: PowerStops (0 is full, −5 is 1/32), distances, balances, letters."""
NAMESPACES: Final = {
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "dc": "http://purl.org/dc/elements/1.1/",
    "xmp": "http://ns.adobe.com/xap/1.0/",
    "tiff": "http://ns.adobe.com/tiff/1.0/",
    "exif": "http://ns.adobe.com/exif/1.0/",
    "stopledger": OUR_NAMESPACE,
}
# The standard's own marks of a packet; the byte order mark says that it is Unicode.
_BEGIN: Final = '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>'
_END: Final = '<?xpacket end="w"?>'
# Whatever XML 1.0 has no place for, even as a reference.
_NO_XML: Final = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True, slots=True)
class SidecarLight:
    """One light as it stood. None is unknown, and is not written."""

    letter: str
    role: str
    lit: bool
    power_stops: float | None = None
    distance_mm: float | None = None
    bearing_deg: float | None = None
    height_mm: float | None = None
    balance_stops: float | None = None
    balance_against: str = ""


@dataclass(frozen=True, slots=True)
class Sidecar:
    """What goes beside a picture. None and "" are unknown, and are not written. `taken_at` and `logged_at` are ISO
    8601; the first is the camera's own time, with its zone only where the camera said it."""

    title: str
    logged_at: str
    frame_number: int
    subjects: tuple[str, ...] = ()
    taken_at: str = ""
    camera: str = ""
    exposure_time_s: Fraction | None = None
    f_number: Fraction | None = None
    iso: int | None = None
    focal_length_mm: Fraction | None = None
    subject_distance_mm: Fraction | None = None
    flash_fired: bool | None = None
    width_px: int | None = None
    height_px: int | None = None
    purpose: str = ""
    verdict: str = ""
    is_reference: bool = False
    magnification: float | None = None
    pops: int = 1
    ambient_balance_stops: float | None = None
    lights: tuple[SidecarLight, ...] = ()


def packet(sidecar: Sidecar) -> str:
    """The packet as text, to be written as UTF-8."""
    spaces = " ".join(f'xmlns:{prefix}="{uri}"' for prefix, uri in NAMESPACES.items() if prefix != "rdf")
    lines = [
        _BEGIN,
        '<x:xmpmeta xmlns:x="adobe:ns:meta/">',
        f'<rdf:RDF xmlns:rdf="{NAMESPACES["rdf"]}">',
        f'<rdf:Description rdf:about="" {spaces}>',
        *_standard(sidecar),
        *_ours(sidecar),
        "</rdf:Description>",
        "</rdf:RDF>",
        "</x:xmpmeta>",
        _END,
    ]
    return "\n".join(lines) + "\n"


def _standard(of: Sidecar) -> Iterator[str]:
    yield f'<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{text(of.title)}</rdf:li></rdf:Alt></dc:title>'
    if of.subjects:
        yield _list("dc:subject", "Bag", [f"<rdf:li>{text(each)}</rdf:li>" for each in of.subjects])
    yield from _simple("xmp:CreatorTool", "Stopledger")
    yield from _simple("xmp:CreateDate", of.taken_at)
    yield from _simple("xmp:MetadataDate", of.logged_at)
    yield from _simple("tiff:Model", of.camera)
    yield from _simple("exif:DateTimeOriginal", of.taken_at)
    yield from _simple("exif:ExposureTime", rational(of.exposure_time_s))
    yield from _simple("exif:FNumber", rational(of.f_number))
    if of.iso is not None:
        yield _list("exif:ISOSpeedRatings", "Seq", [f"<rdf:li>{of.iso}</rdf:li>"])
    yield from _simple("exif:FocalLength", rational(of.focal_length_mm))
    distance = of.subject_distance_mm
    # The standard wants metres.
    yield from _simple("exif:SubjectDistance", rational(None if distance is None else distance / 1000))
    if of.flash_fired is not None:
        fields = {"Fired": of.flash_fired, "Function": False, "RedEyeMode": False}
        told = [f"<exif:{name}>{_boolean(value)}</exif:{name}>" for name, value in fields.items()]
        unknown = [f"<exif:{name}>0</exif:{name}>" for name in ("Return", "Mode")]
        yield f'<exif:Flash rdf:parseType="Resource">{"".join((*told, *unknown))}</exif:Flash>'
    yield from _simple("exif:PixelXDimension", "" if of.width_px is None else str(of.width_px))
    yield from _simple("exif:PixelYDimension", "" if of.height_px is None else str(of.height_px))


def _ours(of: Sidecar) -> Iterator[str]:
    yield from _simple("stopledger:FrameNumber", str(of.frame_number))
    yield from _simple("stopledger:Purpose", of.purpose)
    yield from _simple("stopledger:Verdict", of.verdict)
    yield from _simple("stopledger:IsReference", _boolean(of.is_reference))
    yield from _simple("stopledger:Magnification", real(of.magnification))
    yield from _simple("stopledger:Pops", str(of.pops))
    yield from _simple("stopledger:AmbientBalanceStops", real(of.ambient_balance_stops))
    if of.lights:
        members = [f'<rdf:li rdf:parseType="Resource">{"".join(_light(each))}</rdf:li>' for each in of.lights]
        yield _list("stopledger:Lights", "Seq", members)


def _light(light: SidecarLight) -> Iterator[str]:
    yield from _simple("stopledger:Letter", light.letter)
    yield from _simple("stopledger:Role", light.role)
    yield from _simple("stopledger:Lit", _boolean(light.lit))
    yield from _simple("stopledger:PowerStops", real(light.power_stops))
    yield from _simple("stopledger:DistanceMm", real(light.distance_mm))
    yield from _simple("stopledger:BearingDeg", real(light.bearing_deg))
    yield from _simple("stopledger:HeightMm", real(light.height_mm))
    yield from _simple("stopledger:BalanceStops", real(light.balance_stops))
    yield from _simple("stopledger:BalanceAgainst", light.balance_against)


def _simple(name: str, value: str) -> Iterable[str]:
    return [f"<{name}>{text(value)}</{name}>"] if value else []


def _list(name: str, kind: str, members: Sequence[str]) -> str:
    return f"<{name}><rdf:{kind}>{''.join(members)}</rdf:{kind}></{name}>"


def text(value: str) -> str:
    """Text as it stands in the packet. What XML cannot hold is told by the replacement character; a carriage return
    is written as a reference, since a reader would make a line feed of it.

    >>> text("f/8 < f/11 & more")
    'f/8 &lt; f/11 &amp; more'
    """
    return escape(_NO_XML.sub("\ufffd", value), {"\r": "&#13;"})


def rational(value: Fraction | None) -> str:
    """A number as the exif properties want it; empty where it is unknown.

    >>> rational(Fraction(1, 125)), rational(Fraction(8)), rational(None)
    ('1/125', '8/1', '')
    """
    return "" if value is None else f"{value.numerator}/{value.denominator}"


def real(value: float | None) -> str:
    """A number as the standard writes one: decimal digits and never an exponent; empty where it is unknown.

    >>> real(-5.0), real(1e-07), real(None)
    ('-5.0', '0.0000001', '')
    """
    return "" if value is None else format(Decimal(repr(value)), "f")


def _boolean(value: bool) -> str:
    return "True" if value else "False"
