"""What the words of an order mean: `rules/articles.toml` read, and a text looked up in it.

The file is the workshop's to extend.  It holds things (articles, materials, surfaces), places, usual print areas,
spellings and words that change nothing; a word that stands nowhere in it is unknown, and is asked about.
"""

import functools
import re
import tomllib
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from importlib import resources
from typing import Any

from preflight.errors import PreflightError
from preflight.quantity import length, plain

_WORD = re.compile(r"[^\W_]+(?:['’][^\W_]+)?")
_SIZE = re.compile(r"\s*([0-9.]+)\s*x\s*([0-9.]+)\s*mm\s*")
#: A part of a word list never has more words than this.
LONGEST = 5
_NEEDED = {
    "thing": {"words", "tags"},
    "place": {"words", "tags"},
    "area": {"on", "size", "called"},
}
_OPTIONAL = {"thing": {"on_cloth"}, "place": set[str](), "area": {"turns"}}
_TABLES = {"spelling", "ignored", "grounds"}


@dataclass(frozen=True)
class Word:
    """A name found in an order: as the orderer wrote it, and what it means."""

    written: str
    tags: frozenset[str]


@dataclass(frozen=True)
class Area:
    """The greatest area usually decorated at a place of an article, mm; `turns`: art may be laid the other way."""

    on: frozenset[str]
    width_mm: float
    height_mm: float
    called: str
    turns: bool = False

    @property
    def words(self) -> str:
        """For a sentence: "the usual area on a left chest, 100 × 100 mm"."""
        return f"the usual area on {self.called}, {self.width_mm:g} × {self.height_mm:g} mm"


@dataclass(frozen=True)
class Vocabulary:
    """The word lists, ready to look up: names are tuples of single words in their plain form."""

    things: Mapping[tuple[str, ...], frozenset[str]]
    on_cloth: Mapping[tuple[str, ...], frozenset[str]]
    places: Mapping[tuple[str, ...], frozenset[str]]
    areas: tuple[Area, ...]
    spelling: Mapping[str, str]
    ignored: frozenset[str]
    grounds: Mapping[str, str]

    def things_in(self, text: str, *, on_cloth: bool = False) -> tuple[list[Word], list[str]]:
        """The things a text names, and the pieces of it that no list knows (both safe to print)."""
        names = {**self.things, **self.on_cloth} if on_cloth else self.things
        return self._found(text, names)

    def places_in(self, text: str) -> list[Word]:
        """The places a text names; other words in it are left alone."""
        return self._found(text, self.places)[0]

    def ground(self, text: str) -> str | None:
        """ "#rrggbb" of a ground colour in the workshop's own list, None when it is not there."""
        return self.grounds.get(_joined(text))

    def _found(
        self, text: str, names: Mapping[tuple[str, ...], frozenset[str]]
    ) -> tuple[list[Word], list[str]]:
        written = _words(text)
        plain_forms = [self._plain_form(word.casefold()) for word in written]
        found, unknown, at = [], [], 0
        while at < len(written):
            for count in range(min(LONGEST, len(written) - at), 0, -1):
                tags = names.get(tuple(plain_forms[at : at + count]))
                if tags is not None:
                    found.append(Word(plain(" ".join(written[at : at + count])), tags))
                    at += count
                    break
            else:
                if not self._changes_nothing(written[at], plain_forms[at]):
                    unknown.append(plain(written[at]))
                at += 1
        return found, unknown

    def _changes_nothing(self, written: str, plain_form: str) -> bool:
        return (
            plain_form in self.ignored
            or written.casefold() in self.ignored
            or any(char.isdigit() for char in written)
        )

    def _plain_form(self, word: str) -> str:
        return _singular(self.spelling.get(word, word), self.spelling)


def _words(text: str) -> list[str]:
    """The single words of a text, without a possessive 's, as they were written."""
    found = _WORD.findall(unicodedata.normalize("NFKC", text[:1000]))
    return [re.sub(r"['’][sS]$", "", word) for word in found]


def _joined(text: str) -> str:
    return " ".join(_words(text)).casefold()


def _singular(word: str, spelling: Mapping[str, str]) -> str:
    """A rough singular: both the lists and the orders go through it, so it need only be the same for both."""
    if len(word) > 4 and word.endswith("ies"):
        word = word[:-3] + "y"
    elif len(word) > 4 and word.endswith(("ches", "shes", "xes", "sses")):
        word = word[:-2]
    elif len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")):
        word = word[:-1]
    return spelling.get(word, word)


@functools.cache
def vocabulary() -> Vocabulary:
    """The workshop's word lists, read once.

    Raises:
        PreflightError: when `rules/articles.toml` is damaged; it says where.
    """
    text = resources.files("rules").joinpath("articles.toml").read_text("utf-8")
    return read(text)


def read(text: str) -> Vocabulary:
    """A vocabulary from the text of such a file.

    Raises:
        PreflightError: in one plain line.
    """
    try:
        data = tomllib.loads(text)
        _check_keys(data)
        spelling = {str(k): str(v) for k, v in data.get("spelling", {}).items()}
        return Vocabulary(
            things=_names(data.get("thing", ()), "tags", spelling),
            on_cloth=_names((t for t in data.get("thing", ()) if "on_cloth" in t), "on_cloth", spelling),
            places=_names(data.get("place", ()), "tags", spelling),
            areas=tuple(_area(block) for block in data.get("area", ())),
            spelling=spelling,
            ignored=frozenset(_singular(w, spelling) for w in data.get("ignored", {}).get("words", ())),
            grounds={_joined(k): str(v) for k, v in data.get("grounds", {}).items()},
        )
    except (tomllib.TOMLDecodeError, ValueError, TypeError, AttributeError) as error:
        raise PreflightError(f"rules/articles.toml cannot be used: {plain(str(error))}") from None


def _check_keys(data: Mapping[str, Any]) -> None:
    strange = set(data) - _NEEDED.keys() - _TABLES
    if strange:
        raise ValueError(f"there is no table called {min(strange)!r} in it")
    for kind, needed in _NEEDED.items():
        for block in data.get(kind, ()):
            if not needed <= set(block) <= needed | _OPTIONAL[kind]:
                wrong = sorted(set(block) ^ needed - _OPTIONAL[kind])
                raise ValueError(
                    f"a [[{kind}]] block needs {', '.join(sorted(needed))}; look at {wrong[0]!r}"
                )


def _names(
    blocks: Iterable[Mapping[str, Any]], key: str, spelling: Mapping[str, str]
) -> dict[tuple[str, ...], frozenset[str]]:
    names: dict[tuple[str, ...], frozenset[str]] = {}
    for block in blocks:
        for words in block["words"]:
            name = tuple(_singular(spelling.get(w, w), spelling) for w in _words(words.casefold()))
            if not 0 < len(name) <= LONGEST:
                raise ValueError(f"{words!r} should have one to {LONGEST} words")
            if names.get(name, frozenset(block[key])) != frozenset(block[key]):
                raise ValueError(f"{words!r} stands in two lists with different tags")
            names[name] = frozenset(block[key])
    return names


def _area(block: Mapping[str, Any]) -> Area:
    match = _SIZE.fullmatch(str(block["size"]))
    if not match:
        raise ValueError(f'an area is written "110 x 54 mm", not {block["size"]!r}')
    return Area(
        frozenset(block["on"]),
        length(match[1]),
        length(match[2]),
        str(block["called"]),
        bool(block.get("turns", False)),
    )
