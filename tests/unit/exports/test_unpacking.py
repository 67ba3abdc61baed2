"""What a stranger's bundle may hold, and what it may cost."""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import zipfile
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from tests.unit.exports.test_bundle import FIRST, jpeg, spoiled, whole, with_picture, zipped
from webapp.errors import InvalidValue
from webapp.exports import unpacking
from webapp.exports.unpacking import unpacked, unpacked_apart
from webapp.recipes.document import Recipe


def document(text: str) -> bytes:
    return zipped({"recipe.json": text.encode()})


def refusal(content: bytes) -> str:
    with pytest.raises(InvalidValue, match="refused, and nothing was changed") as problem:
        unpacked(content)
    return str(problem.value)


# --- cost -----------------------------------------------------------------------------------------------------------


def versions_of(said: str) -> str:
    return f'{{"format":"stopledger-bundle/2","versions":{said}}}'


def many(value: str, count: int) -> str:
    return f"[{','.join([value] * count)}]"


def fields(count: int) -> str:
    return ",".join(f'"{n:x}":0' for n in range(count))


LIGHTS = f'{{"recipe":{{"lights":{many("{}", 40)}}}}}'
COSTLY = {
    "four million values that are no version": versions_of(many("0", 4_000_000)),
    "two million empty versions": versions_of(many("{}", 2_700_000)),
    "a million unknown fields": versions_of(f"[],{fields(750_000)}"),
    "the same field a hundred thousand times": versions_of("[]" + ',"a":0' * 100_000),
    "more fields than a part has": versions_of(f"[],{fields(300)}"),
    "more versions than are taken": versions_of(many("{}", 1_001)),
    "nine hundred versions, each of forty lights": versions_of(many(LIGHTS, 900)),
    "a text of eight million letters": versions_of(f'["{"x" * 8_000_000}"]'),
    "a list in a list, a hundred thousand deep": versions_of("[" * 100_000 + "]" * 100_000),
    "a list in a list, fifty deep": versions_of("[" * 50 + "]" * 50),
    "a number of a million digits": versions_of("9" * 1_000_000),
}


@pytest.mark.parametrize("kind", COSTLY)
def test_a_document_that_is_made_to_cost_is_refused_for_the_first_that_is_wrong(kind: str) -> None:
    assert len(refusal(document(COSTLY[kind]))) < 600


def test_a_process_that_needs_more_memory_than_it_may_have_costs_only_the_bundle(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(unpacking, "_MEMORY_LIMIT_MB", 1)

    with pytest.raises(InvalidValue, match="refused, and nothing was changed"):
        unpacked_apart(document(COSTLY["a text of eight million letters"]))


def test_a_process_that_takes_too_long_costs_only_the_bundle(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(unpacking, "_TIME_LIMIT_S", 0.01)

    with pytest.raises(InvalidValue, match="took too long"):
        unpacked_apart(zipped({"recipe.json": json.dumps(whole()).encode()}))


# --- values ---------------------------------------------------------------------------------------------------------

NO_NUMBERS = ("NaN", "Infinity", "-Infinity", "1e999", "-1e999", "1e400", "9" * 400, '"NaN"', '"inf"', '"1e999"')


@pytest.mark.parametrize("number", NO_NUMBERS)
def test_what_is_no_number_is_refused(number: str) -> None:
    told = json.dumps(whole()).replace('"subject_distance_mm": 775.0', f'"subject_distance_mm": {number}')
    assert number in told

    refusal(document(told))


@pytest.mark.parametrize("address", ["javascript:alert(1)", "data:text/html,<script>alert(1)</script>"])
@pytest.mark.parametrize("command", ["href", "url", "style", "class", "text", "includegraphics"])
def test_a_formula_takes_no_address_and_no_style(command: str, address: str) -> None:
    refusal(with_formula(rf"\{command}{{{address}}}{{x}}"))


def with_formula(latex: str) -> bytes:
    working = {
        "result": "x",
        "value": 1.0,
        "unit": "",
        "formula": "x = 1",
        "latex": latex,
        "given": [],
        "source": "s",
    }
    return spoiled(*FIRST, "workings", to=[working])


@pytest.mark.parametrize(
    "latex",
    [
        "{",
        "}",
        r"\frac{1}",
        r"\frac{1}{",
        r"\left(",
        r"\left( x",
        r"\right)",
        "x^",
        "_",
        "x^2^3",
        r"\sqrt{x",
        "",
        " ",
    ],
)
def test_a_formula_that_is_not_balanced_is_refused(latex: str) -> None:
    assert "workings.0.latex" in refusal(with_formula(latex))


def test_a_formula_that_is_nested_deeply_or_long_is_refused() -> None:
    assert "deep" in refusal(with_formula("{" * 200 + "x" + "}" * 200))
    refusal(with_formula("x" * 601))


def test_a_formula_is_taken_as_it_was_written() -> None:
    bundle, _ = unpacked(with_formula(r"x = \frac{1}{2} \left| a_{1} - b \right|"))

    assert bundle.versions[0].recipe.workings[0].latex == r"x = \frac{1}{2} \left| a_{1} - b \right|"


@pytest.mark.parametrize("field", ["title", "subject", "why", "background"])
@pytest.mark.parametrize("markup", ["<svg onload=alert(1)>", "</p>", "<!-- x", "<?xml?>", "a<b"])
def test_a_text_with_markup_is_refused(field: str, markup: str) -> None:
    refusal(spoiled(*FIRST, field, to=markup))


@pytest.mark.parametrize("markup", ["<svg onload=alert(1)>", "<a href=javascript:alert(1)>"])
def test_a_caption_with_markup_is_refused(markup: str) -> None:
    refusal(with_picture(jpeg(), markup))


# --- pictures -------------------------------------------------------------------------------------------------------


def picture_with_metadata(**over: Any) -> bytes:
    image = Image.linear_gradient("L").resize((80, 60)).convert("RGB")
    exif = Image.Exif()
    exif[0x013B] = "XLEAKX artist"
    exif.get_ifd(0x8825)[0x0002] = (48.0, 12.0, 30.0)
    exif.get_ifd(0x8825)[0x001D] = "XLEAKX"
    said: dict[str, Any] = {
        "exif": exif,
        "comment": b"XLEAKX comment",
        "xmp": b"<x:xmpmeta>XLEAKX</x:xmpmeta>",
    } | over
    out = io.BytesIO()
    image.save(out, "JPEG", quality=95, **said)
    return out.getvalue()


def only_picture(content: bytes) -> tuple[Recipe, bytes]:
    bundle, pictures = unpacked(content)
    (picture,) = pictures.values()
    recipe = bundle.versions[0].recipe
    assert recipe.result is not None
    assert recipe.result.digest == hashlib.sha256(picture).hexdigest()
    assert pictures.keys() == {recipe.result.digest}
    return recipe, picture


def test_what_a_picture_says_of_its_place_and_its_maker_is_left_behind() -> None:
    recipe, picture = only_picture(with_picture(picture_with_metadata(), "the result"))

    assert b"XLEAKX" not in picture
    with Image.open(io.BytesIO(picture)) as image:
        assert not image.getexif()
        assert image.size == (80, 60)
        assert image.info.keys() <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert recipe.result is not None
    assert recipe.result.words == "the result"


@pytest.mark.parametrize("behind", [b"XLEAKX", b"<svg><script>alert(1)</script></svg>", zipped({"a": b"x"})])
def test_nothing_rides_along_behind_a_picture(behind: bytes) -> None:
    _, picture = only_picture(with_picture(jpeg() + behind))

    assert behind not in picture


def test_a_picture_of_nothing_but_pixels_is_taken_byte_by_byte() -> None:
    for content in (jpeg(), picture_with_metadata(exif=b"", comment=b"", xmp=None, progressive=True)):
        assert only_picture(with_picture(content))[1] == content


def picture_as(kind: str) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (20, 20)).save(out, kind)
    return out.getvalue()


WRONG_PICTURES = {
    "SVG": b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
    "PNG": picture_as("PNG"),
    "TIFF": picture_as("TIFF"),
    "GIF": picture_as("GIF"),
    "cut short": jpeg()[:-200],
    "its head alone": jpeg()[:20],
    "sixty-five thousand pixels square": jpeg().replace(b"\x00\x20\x00\x30", b"\xff\xff\xff\xff", 1),
}


@pytest.mark.parametrize("kind", WRONG_PICTURES)
def test_what_is_no_picture_of_a_bundle_is_refused(kind: str) -> None:
    assert "picture" in refusal(with_picture(WRONG_PICTURES[kind]))


# --- any text, any bytes --------------------------------------------------------------------------------------------

scalars = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=30)
anything = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=12), inner, max_size=4),
    max_leaves=12,
)


def places(value: Any, here: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    below = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [here, *(place for key, each in below for place in places(each, (*here, key)))]


PLACES = places(whole())[1:]


@given(st.sampled_from(PLACES), anything)
def test_any_value_at_any_place_is_taken_or_refused(place: tuple[Any, ...], value: Any) -> None:
    with contextlib.suppress(InvalidValue):
        unpacked(spoiled(*place, to=value))


@given(anything)
def test_any_document_is_taken_or_refused(value: Any) -> None:
    refusal(document(json.dumps(value)))


PICTURED = with_picture(jpeg())


@given(st.data())
def test_a_bundle_with_some_bytes_exchanged_is_taken_or_refused(data: st.DataObject) -> None:
    content = bytearray(PICTURED)
    for _ in range(data.draw(st.integers(1, 4))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
    with contextlib.suppress(InvalidValue):
        unpacked(bytes(content))


# --- what is older --------------------------------------------------------------------------------------------------

OF_FORMAT_2 = """{"format": "stopledger-bundle/2", "identity": "0190f3c2-0000-7000-8000-000000000001", "versions": [{
  "number": 1, "published_at": "2025-02-02T12:00:00Z", "differs": [], "recipe": {
    "format": "stopledger-recipe/2", "title": "Scent bottle", "made_on": "2025-02-02",
    "settings": {"f_number": {"text": "11", "stops": 7.0, "dial": "full"}, "magnification": 0.2},
    "lights": [{"letter": "A", "role": "key", "power_stops": -2.0, "power_mark": "1/4",
      "head": {"name": "head", "kind": "flash", "form": "head", "lowest_power_stops": -6.0, "step_stops": 0.1}}],
    "steps": ["prove black"], "tolerances": [{"what": "distances", "within": 10.0, "unit": "mm"}]}}]}"""


def test_a_bundle_of_format_2_is_taken_in() -> None:
    bundle, pictures = unpacked_apart(document(OF_FORMAT_2))

    recipe = bundle.versions[0].recipe
    assert (recipe.title, recipe.f_number, pictures) == ("Scent bottle", pytest.approx(2**3.5), {})
    assert recipe.lights[0].power_stops == -2.0


def test_a_zip_that_unpacks_to_gigabytes_is_read_no_further_than_a_document_reaches() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive, archive.open("recipe.json", "w") as file:
        for _ in range(200):
            file.write(b" " * (1 << 20))

    assert "8 MB" in refusal(out.getvalue())
