"""Style sheets and declarations: taken apart, matched to elements, their custom properties put in."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from lxml import etree

from preflight.load.svg_ledger import Ledger
from preflight.load.svg_limits import MAX_VALUE
from preflight.load.svg_syntax import local_name

#: Properties that decide what is reported and how far the drawing grows.
_TELLING = frozenset(
    {
        "display", "visibility", "font", "font-family", "font-weight", "font-style", "opacity", "filter", "mask",
        "clip-path", "mix-blend-mode", "fill", "stroke", "marker", "marker-start", "marker-mid", "marker-end", "href",
    }
)  # fmt: skip


def read_sheets(
    elements: "list[etree._Element]", ledger: Ledger
) -> "dict[etree._Element, list[tuple[str, dict[str, str]]]]":
    """Each style element's blocks, as selectors and declarations; custom properties are put in wherever they are used.

    `elements` are all of one drawing; their attributes are changed where these use a custom property.
    """
    sheets: dict[etree._Element, list[tuple[str, dict[str, str]]]] = {}
    declared_sets: list[dict[str, str]] = []
    variables: dict[str, set[str]] = {}
    for element in elements:
        if local_name(element) == "style":
            css = "".join(map(str, element.itertext())) if "css" in element.get("type", "text/css") else ""
            sheets[element] = [(who, declarations(body)) for who, body in _blocks(css, ledger)]
            for child in list(element):
                element.remove(child)
            declared_sets += [declared for _, declared in sheets[element]]
        elif "--" in (style := element.get("style", "")):
            declared_sets.append(declarations(style))
    for declared in declared_sets:
        for name, value in declared.items():
            if name.startswith("--"):
                variables.setdefault(name, set()).add(split_important(value)[0])
    for declared in declared_sets:
        for name, value in declared.items():
            if "var(" in value:
                declared[name] = _resolved(value, variables)
    for element in elements:
        for key, text in element.attrib.items():
            if "var(" in text:
                element.set(key, _resolved(str(text), variables))
    return sheets


def _resolved(value: str, variables: Mapping[str, set[str]]) -> str:
    """var(--x) replaced where the file gives --x one value only, or by its fallback (CSS Custom Properties 1)."""

    def known(match: "re.Match[str]") -> str:
        values = variables.get(match[1], set())
        if len(values) == 1:
            return next(iter(values))
        return match[2].strip() if not values and match[2] is not None else match[0]

    for _ in range(4):
        value = re.sub(r"var\(\s*(--[\w-]+)\s*(?:,([^()]*(?:\([^()]*\)[^()]*)?))?\)", known, value)[:100_000]
    return value


@dataclass
class Rule:
    """One selector with its declarations; only its last part (after blanks and > + ~) is matched, which errs to wide."""

    tag: str
    ids: frozenset[str]
    classes: frozenset[str]
    weight: tuple[int, int, int]
    declared: dict[str, str]

    def fits(self, tag: str, own_id: str, classes: frozenset[str]) -> bool:
        """Whether it may be meant for an element of this tag, id and classes."""
        return (
            (not self.tag or self.tag == tag)
            and self.classes <= classes
            and (not self.ids or self.ids == frozenset({own_id}))
        )


def _blocks(css: str, ledger: Ledger, depth: int = 0) -> list[tuple[str, str]]:
    """(selectors, declarations) of a style sheet; @media for screens and print are opened, other @-rules left out."""
    css = re.sub(r"/\*.*?(?:\*/|\Z)|<!--|-->", " ", css, flags=re.S)
    found, at = [], 0
    while match := re.compile(r"[{;}]").search(css, at):
        prelude, at = css[at : match.start()].strip(), match.end()
        if prelude.lower().startswith("@import"):
            ledger.note("removed link", "A style sheet outside the file is not read.")
        if match[0] != "{":
            continue
        if not prelude.startswith("@"):
            end = css.find("}", at)
            end = len(css) if end < 0 else end
            found.append((prelude, css[at:end]))
            at = end + 1
            continue
        start, level = at, 1
        while level and (brace := re.compile(r"[{}]").search(css, at)):
            level += 1 if brace[0] == "{" else -1
            at = brace.end()
        if level:
            break
        if re.match(r"@media\s+(?:only\s+)?(all|screen|print)\b[^,()]*$", prelude, re.I) and depth < 3:
            found += _blocks(css[start : at - 1], ledger, depth + 1)
    return found


def declarations(text: str) -> dict[str, str]:
    """Property to value; semicolons in quotes and brackets don't end a value."""
    parts, start, level, quote = [], 0, 0, ""
    for match in re.finditer(r"[;()\"']", text):
        sign = match[0]
        if quote:
            quote = "" if sign == quote else quote
        elif sign in "\"'":
            quote = sign
        elif sign == "(":
            level += 1
        elif sign == ")":
            level = max(0, level - 1)
        elif not level:
            parts.append(text[start : match.start()])
            start = match.end()
    declared = {}
    for part in (*parts, text[start:]):
        name, colon, value = part.partition(":")
        name = name.strip()
        if colon and re.fullmatch(r"-{0,2}[a-zA-Z_][\w-]{0,80}", name):
            declared[name if name.startswith("--") else name.lower()] = value.strip()
    return declared


def as_style(declared: Mapping[str, str]) -> str:
    """Declarations as the text of a style attribute or block."""
    return ";".join(f"{name}:{value}" for name, value in declared.items())


def split_important(value: str) -> tuple[str, str]:
    """A value without its `!important`, and that mark to be put back after it (or nothing)."""
    bare = value.strip()
    mark = re.search(r"!\s{0,9}important$", bare[-40:], re.I)
    return (bare[: len(bare) - len(mark[0])].strip(), " !important") if mark else (bare, "")


def font_longhands(value: str) -> dict[str, str]:
    """What a `font` value says property by property (CSS Fonts 4 section 2.7); nothing for a system font."""
    match = re.match(
        r"((?:[\w-]+\s+){0,4})([\d.]+(?:[a-z]{1,4}|%))(?:\s*/\s*[\w.%]+)?\s+(\S.*)", value, re.I | re.S
    )
    if not match:
        return {}
    longhands = {
        "font-style": "normal",
        "font-weight": "normal",
        "font-size": match[2],
        "font-family": match[3],
    }
    for word in match[1].lower().split():
        if word in ("italic", "oblique"):
            longhands["font-style"] = word
        elif word in ("bold", "bolder", "lighter") or word.isdigit():
            longhands["font-weight"] = word
    return longhands


def rules_of(selectors: str, declared: dict[str, str]) -> Iterator[Rule]:
    """The rules of one block, its selectors told apart (Selectors 3; attribute and pseudo parts are read past)."""
    telling = {name: split_important(value)[0] for name, value in declared.items() if name in _TELLING}
    if not telling:
        return
    for selector in selectors.split(","):
        if len(selector) > MAX_VALUE:
            continue
        last = re.split(r"[\s>+~]+", re.sub(r"\[[^\]]*\]|::?[\w-]+(\([^)]*\))?", "", selector).strip())[-1]
        match = re.fullmatch(r"(\*|[\w-]*)((?:[.#][\w-]+)*)", last)
        if match and last:
            ids = frozenset(re.findall(r"#([\w-]+)", match[2]))
            classes = frozenset(re.findall(r"\.([\w-]+)", match[2]))
            tag = "" if match[1] == "*" else match[1]
            yield Rule(tag, ids, classes, (selector.count("#"), selector.count("."), int(bool(tag))), telling)


class Index:
    """Style rules by what their last part names, so that each element meets only those that may fit."""

    def __init__(self, rules: list[Rule]) -> None:
        self.buckets: dict[str, list[Rule]] = {}
        for rule in rules:
            key = (
                next((f"#{i}" for i in rule.ids), "")
                or next((f".{c}" for c in rule.classes), "")
                or rule.tag
                or "*"
            )
            self.buckets.setdefault(key, []).append(rule)

    def declared(self, element: "etree._Element") -> dict[str, str]:
        """The telling properties of an element itself: attributes, then rules by weight, then its style (CSS cascade)."""
        own = {}
        for key, value in element.attrib.items():
            name = etree.QName(key).localname
            if name in _TELLING and (name != "href" or value[:1] == "#"):
                own[name] = str(value)
        if self.buckets:
            tag, own_id, classes = (
                local_name(element),
                element.get("id", ""),
                frozenset((element.get("class") or "").split()),
            )
            keys = ("*", tag, f"#{own_id}", *(f".{name}" for name in classes))
            fitting = [
                rule for key in keys for rule in self.buckets.get(key, ()) if rule.fits(tag, own_id, classes)
            ]
            for rule in sorted(fitting, key=lambda each: each.weight):
                own.update(rule.declared)
        for name, value in declarations(element.get("style", "")).items():
            if name in _TELLING:
                own[name] = split_important(value)[0]
        return own
