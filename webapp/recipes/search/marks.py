"""What a question names: techniques, modifiers, roles, letters, ends of a dial, what is unknown, what is not to be there.
Pure."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import Final

from webapp.recipes.search import techniques
from webapp.recipes.search.question import TAKEN, Text, denied_from
from webapp.recipes.search.stated import About, Compare, Condition, Reach

COUNTED: Final = "so many"
"""The facet whose values say how many lights have a modifier of a family: "2 softbox"."""
_KIND_MARK: Final = "light"
_FORMAT_WORDS: Final = (
    (re.compile(r"(?<!\w)medium[ -]format\b"), ("medium format",)),
    (re.compile(r"(?<!\w)(?:full[ -]frame|35 ?mm format|small[ -]format)\b"), ("full frame",)),
    (re.compile(r"(?<!\w)(?:aps[ -]?c|crop(?:ped)?[ -]sensor)\b"), ("APS-C",)),
    (re.compile(r"(?<!\w)small(?:er)? sensors?\b"), ("APS-C", "small sensor")),
)
_CONTINUOUS: Final = re.compile(
    r"(?<!\w)(?:continuous(?: lights?| lighting)?|hot lights?|led (?:lights?|panels?))(?!\w)"
)
# These are asked for in so many other senses that they only count as a kind of light where they are denied.
_ONLY_DENIED: Final = (
    (
        re.compile(r"(?<!\w)(?:flash(?:es)?|strobes?)(?! \w*pow)(?!\w)"),
        About.KIND,
        ((_KIND_MARK, "flash head"), (_KIND_MARK, "ring light")),
    ),
    (re.compile(r"(?<!\w)rings?(?!\w)"), About.TECHNIQUE, (("technique", "ring light"),)),
    (re.compile(r"(?<!\w)grids?(?!\w)"), About.MODIFIER, (("family", "grid spot"),)),
    (re.compile(rf"(?<!\w)(?P<role>{'|'.join(techniques.ROLES)})(?!\w)"), About.ROLE, ()),
)
_ROLE_LIGHT: Final = re.compile(
    rf"(?<!\w)(?P<role>{'|'.join(techniques.ROLES)}|back ground)[ -]lights?(?: (?P<named>[a-z]))?(?!\w)"
)
_LETTERED: Final = re.compile(r"(?<!\w)(?:[Ll]ights?|[Hh]eads?|[Ll]amps?)\s+(?P<letter>[A-Z])(?![\w'’-])")
_SELECT: Final = (
    rf"(?:(?<![\w-])(?:(?P<any>an?|any|one|some|the)\s+)?(?P<heads>heads?|lights?|flash(?:es)?)(?:\s+(?P<letter>[a-z])(?!\w))?\s+"
    rf"|(?<![\w-])(?:the\s+)?(?P<role>{'|'.join(techniques.ROLES)})(?:\s+light)?\s+"
    r"|(?<![\w-])(?P<bare>[a-z])\s+(?=(?:is|was|at|on)\b))?"
)
_AT_AN_END: Final = re.compile(
    rf"{_SELECT}(?:(?:is|was|stood|stands|were|are|set|at|on|to)\s+)*(?:(?:its|the|their)\s+)?"
    r"(?:(?P<floor>lowest (?:setting|power|step|mark)|minimum(?: power| setting)?|min(?:imum)? power|(?<=its )floor|(?<=at the )floor|(?<=their )floor"
    r"|bottom of (?:its|the|their) (?:dial|range))"
    r"|(?P<ceiling>full power|full blast|highest (?:setting|power)|maximum(?: power| setting)?|max(?:imum)? power|(?<=its )ceiling|(?<=at the )ceiling"
    r"|(?<=their )ceiling|top of (?:its|the|their) (?:dial|range)))(?!\w)"
)
_UNKNOWN_WHAT: Final = r"(?P<what>distance|power|direction|magnification|reading|energy|energie)s?"
_UNKNOWN: Final = (
    re.compile(rf"(?<!\w)(?:unknown|unmeasured|missing)\s+{_UNKNOWN_WHAT}(?!\w)"),
    re.compile(
        rf"(?<!\w){_UNKNOWN_WHAT}\s+(?:is |are |was |were )?(?:unknown|not measured|unmeasured|missing|lost)(?!\w)"
    ),
)
_NOTHING_OPEN: Final = re.compile(
    r"(?<!\w)(?:(?:no|without(?: any)?) (?:open )?unknowns|nothing (?:unknown|open|missing)|fully measured|complete records?)(?!\w)"
)
_SOMETHING_OPEN: Final = re.compile(
    r"(?<!\w)(?:open unknowns?|unknowns|something (?:unknown|open)|anything unknown)(?!\w)"
)


def read_marks(text: Text) -> None:
    def marked(
        about: About, marks: Iterable[tuple[str, str]], *, only_denied: bool = False
    ) -> Callable[[re.Match[str]], Condition | None]:
        wanted = tuple(marks)

        def read(found: re.Match[str]) -> Condition | None:
            denied = denied_from(text, found.start())
            if only_denied and denied is None:
                return None
            role = found.groupdict().get("role")
            named = wanted or ((("role", role_named(role)),) if role else ())
            return Condition(
                about,
                "",
                found.start() if denied is None else denied,
                found.end(),
                marks=named,
                negated=denied is not None,
            )

        return read

    def open_count(compare: Compare) -> Callable[[re.Match[str]], Condition]:
        low, high = (1.0, None) if compare is Compare.AT_LEAST else (None, 0.0)
        said = Reach(compare, 1.0 if low else 0.0, None, low, high)
        return lambda found: Condition(About.UNKNOWNS, "", found.start(), found.end(), (said,))

    text.each(_NOTHING_OPEN, open_count(Compare.EXACTLY))
    for pattern in _UNKNOWN:
        text.each(pattern, lambda found: _unknown(found))
    text.each(_SOMETHING_OPEN, open_count(Compare.AT_LEAST))
    text.each(_AT_AN_END, lambda found: _at_an_end(text, found))
    _read_gels_by_role(text)
    for name, pattern in techniques.TECHNIQUES.items():
        text.each(pattern, marked(About.TECHNIQUE, (("technique", name),)))
    for name, pattern in techniques.FAMILIES.items():
        text.each(pattern, marked(About.MODIFIER, (("family", name),)))
    for pattern, formats in _FORMAT_WORDS:
        text.each(pattern, marked(About.FORMAT, (("format", each) for each in formats)))
    text.each(_CONTINUOUS, marked(About.KIND, ((_KIND_MARK, "continuous light"),)))
    text.each(_ROLE_LIGHT, marked(About.ROLE, ()))
    for pattern, about, marks in _ONLY_DENIED:
        text.each(pattern, marked(about, marks, only_denied=True))
    _read_letters(text)


def role_named(said: str) -> str:
    return "background" if said in ("back ground", "backdrop") else "rim" if said == "edge" else said


def _read_gels_by_role(text: Text) -> None:
    """ "A warm gel on the fill" says two things: a gel on the fill, and a warm one."""

    def read(found: re.Match[str]) -> Condition:
        denied = denied_from(text, found.start())
        mark = ("technique", techniques.gel_on(found.group("role")))
        # The colour before it is read by itself.
        start = found.start() if denied is None else denied
        return Condition(About.TECHNIQUE, "", start, found.end(), marks=(mark,), negated=denied is not None)

    text.each(_COLOURED_GEL_ON, lambda found: _coloured(text, found))
    for pattern in techniques.GEL_ON:
        text.each(pattern, read)


_COLOURED_GEL_ON: Final = re.compile(
    r"(?<![\w-])(?:(?P<warm>warm|orange|amber|straw|cto)|(?P<cool>cool|cold|blue|steel|ctb))(?=\s+gel(?:s|led)? (?:on|over|for) )"
)


def _coloured(text: Text, found: re.Match[str]) -> Condition | None:
    if denied_from(text, found.start()) is not None:
        return None
    name = "warm gel" if found.group("warm") else "cool gel"
    return Condition(About.TECHNIQUE, "", found.start(), found.end(), marks=(("technique", name),))


def _unknown(found: re.Match[str]) -> Condition:
    what = found.group("what")
    what = "power" if what.startswith("energ") else what
    mark = ("not measured", "incident reading" if what == "reading" else what)
    return Condition(About.UNKNOWN, "", found.start(), found.end(), marks=(mark,))


def _at_an_end(text: Text, found: re.Match[str]) -> Condition | None:
    parts = found.groupdict()
    end = "floor" if parts["floor"] else "ceiling"
    which = "any"
    if parts["letter"] or parts["bare"]:
        name = "letter" if parts["letter"] else "bare"
        which = text.said[found.start(name)]
        if which.islower() and (name == "bare" or which == "a"):
            which = "any" if name == "letter" else which
        which = which if which == "any" else which.upper()
    elif parts["role"]:
        which = role_named(parts["role"])
    denied = denied_from(text, found.start())
    start = found.start() if denied is None else denied
    return Condition(About.DIAL, "", start, found.end(), marks=((end, which),), negated=denied is not None)


def _read_letters(text: Text) -> None:
    for found in _LETTERED.finditer(text.said):
        if TAKEN in text.rest[found.start() : found.end()]:
            continue
        denied = denied_from(text, found.start())
        start = found.start() if denied is None else denied
        said = text.take(start, found.end())
        mark = ("letter", found.group("letter"))
        text.keep(Condition(About.LETTER, said, start, found.end(), marks=(mark,), negated=denied is not None))
