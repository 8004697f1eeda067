"""The job as ordered: method, size, article, ground and the rest, from options or from an orders file.

The words of an order are turned into tags ("textile", "cap", "never-laser" ...) by `rules/articles.toml`; rules choose by
them.  Text in an `Order` has been through `quantity.plain`: no control characters, one line.
"""

import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from preflight import orders_file
from preflight.articles import Area, Word, vocabulary
from preflight.errors import PreflightError
from preflight.quantity import length, plain

__all__ = [
    "METHODS",
    "Area",
    "Order",
    "OrderRow",
    "cloth_weight",
    "nearest",
    "order_from",
    "print_area",
    "read_orders",
    "tagged",
    "tags_of",
    "unknown_material",
    "unknown_words",
    "vocabulary",
    "words_tagged",
]

#: The methods in the order they are listed and advised.
METHODS = (
    "screen-print", "pad-print", "yag-laser", "co2-laser", "sticker", "dome", "heat-transfer", "uv-print", "deboss",
    "foil", "embroidery",
)  # fmt: skip
#: What the article is made of.  Said in the material column, it replaces what the item usually is.
SUBSTANCES = frozenset(
    {"textile", "metal", "wood", "leather", "faux-leather", "glass", "ceramic", "stone", "plastic", "paper"}
)
#: Tags that follow from the substance and go with it.
_OF_SUBSTANCE = SUBSTANCES | {"flat-goods", "no-yag", "no-co2", "clear"}
#: What a block can press and a needle sew, whatever such an article is made of otherwise.
_SOFT = frozenset({"textile", "leather", "faux-leather", "paper"})
_CLEAR = frozenset({"clear", "transparent", "see through", "translucent"})
_WEIGHT = re.compile(
    r"(?<![\d.,])(\d{2,4})(?:[.,]\d+)?\s*(?:g\s*/\s*(?:m2|m²|sqm|qm)|gsm|g/m\^2)(?!\w)", re.IGNORECASE
)
_WEIGHT_OZ = re.compile(r"(?<![\d.,])(\d{1,2}(?:\.\d+)?)\s*oz(?!\w)", re.IGNORECASE)
_LONGEST = 200  # letters of one text
_MOST = 10_000_000  # pieces


@dataclass(frozen=True, kw_only=True)
class Order:
    """One row of an orders file, or the options of one command.  Lengths in mm; None or "" where nobody said.

    Attributes:
        method: one of the method ids.
        ground: the article's colour as "#rrggbb", already looked up; None when not stated.
        ground_words: the same as the orderer wrote it.
        colours: the inks or threads the client named, in order.
        accepted: checks or rule ids that someone has answered.
        tags: what the words mean: "textile", "flat-goods", "cap", "metal", "dark-ground" ... (`tags_of`).
        charts: ink and thread charts of the shop, if any.
        machines: the shop's machines, method id -> heads, needles, stations, speed; empty where nobody said.
    """

    method: str = ""
    width_mm: float | None = None
    height_mm: float | None = None
    item: str = ""
    position: str = ""
    ground: str | None = None
    ground_words: str = ""
    material: str = ""
    colours: tuple[str, ...] = ()
    quantity: int | None = None
    diameter_mm: float | None = None
    page: int = 1
    customer: str = ""
    job: str = ""
    accepted: tuple[str, ...] = ()
    tags: frozenset[str] = field(default_factory=frozenset)
    charts: tuple[Any, ...] = ()
    machines: Mapping[str, Mapping[str, float]] = field(default_factory=dict, compare=False)

    @property
    def unknown_words(self) -> tuple[str, ...]:
        """Pieces of item and material that the word lists do not know."""
        return unknown_words(self)


# ------------------------------------------------------------------------------------------------ words -> tags


def tags_of(order: Order) -> frozenset[str]:
    """What the order's words mean.

    The material column wins over what the item usually is made of: a "bag" is cloth, a "bag" of "paper" is not.
    Further tags: "dark-ground" (L* under 60, common practice), "coloured-ground" (visibly not white),
    "inks-named", "chart", "substance-known", and "page-stated" from `order_from`.
    """
    item, material = _things(order)
    tags = {tag for word in item for tag in word.tags}
    said = {tag for word in material for tag in word.tags}
    if said & SUBSTANCES:
        tags -= _OF_SUBSTANCE
    tags |= said
    if tags & _SOFT and not any("hard" in word.tags and word.tags & SUBSTANCES for word in item + material):
        tags.discard("hard")  # a key fob of leather; a cap of five panels
    if "textile" in tags and "flat-goods" in tags:  # "cotton with a metal plate": the stricter limits
        tags.discard("flat-goods")
    if tags & SUBSTANCES and "textile" not in tags and not tags & {"leather", "faux-leather"}:
        tags.add("flat-goods")
    if tags & SUBSTANCES:
        tags.add("substance-known")
    places = vocabulary().places_in(order.position)
    if places:
        tags |= places[0].tags
    elif "cap" in tags:
        tags.add("cap-front")
    tags |= _ground_tags(order)
    if order.colours:
        tags.add("inks-named")
    if order.charts:
        tags.add("chart")
    return frozenset(tags)


def _ground_tags(order: Order) -> set[str]:
    tags = {"clear"} if order.ground_words.casefold() in _CLEAR else set()
    if order.ground:
        from preflight.colour import is_dark, lab_of  # numpy: only when an order is read

        lightness, a, b = lab_of(order.ground)
        if is_dark(order.ground):
            tags.add("dark-ground")
        if lightness < 90 or max(abs(a), abs(b)) > 8:
            tags.add("coloured-ground")
    return tags


def _things(order: Order) -> tuple[list[Word], list[Word]]:
    item, _ = vocabulary().things_in(order.item)
    is_cloth = any({"garment", "cap", "textile"} & word.tags for word in item)
    material, _ = vocabulary().things_in(order.material, on_cloth=is_cloth)
    return item, material


def words_tagged(order: Order, tag: str) -> tuple[str, ...]:
    """The order's own words for a thing of this kind ("PVC"), each once, safe to print; none where the tag was overruled."""
    if tag not in tags_of(order):
        return ()
    item, material = _things(order)
    words = [word.written for word in material if tag in word.tags]
    overruled = tag in _OF_SUBSTANCE and any(word.tags & SUBSTANCES for word in material)
    if not overruled:
        words += [word.written for word in item if tag in word.tags]
    return tuple(dict.fromkeys(words))


def unknown_words(order: Order) -> tuple[str, ...]:
    """Pieces of item and material that the word lists do not know, each once, safe to print.

    An item that is understood may carry a model's name besides: "delta kite" is a kite.  In a material every piece counts.
    """
    known, pieces = vocabulary().things_in(order.item)
    return tuple(dict.fromkeys(([] if known else pieces) + vocabulary().things_in(order.material)[1]))


def unknown_material(order: Order) -> tuple[str, ...]:
    """Pieces of the material that the word lists do not know; all of it where nothing says what the article is made of."""
    pieces = tuple(dict.fromkeys(vocabulary().things_in(order.material)[1]))
    if order.material and not pieces and not order.tags & (SUBSTANCES | {"never-laser"}):
        return (order.material,)
    return pieces


def print_area(order: Order) -> Area | None:
    """The greatest area usually decorated on this article at this place; None where the word lists have none."""
    return next((area for area in vocabulary().areas if area.on <= order.tags), None)


def cloth_weight(order: Order) -> float | None:
    """The cloth's weight in g/m² where material or item state it ("180 g/m2", "180 gsm", "7 oz"); None otherwise.

    One ounce a square yard is 33.906 g/m² (28.3495 g / 0.836127 m²).
    """
    for text in (order.material, order.item):
        if match := _WEIGHT.search(text):
            return float(match[1])
        if "textile" in order.tags and (match := _WEIGHT_OZ.search(text)):
            return round(float(match[1]) * 33.906, 1)
    return None


def tagged(order: Order, *, charts: Iterable[Any] = (), tags: Iterable[str] = ()) -> Order:
    """The order with its tags worked out, and a shop's charts and own tags added."""
    order = replace(order, charts=tuple(charts) or order.charts)
    return replace(order, tags=tags_of(order) | frozenset(tags))


# ------------------------------------------------------------------------------------------------ options -> Order

_OPTIONS = (
    "method", "width", "height", "item", "position", "ground", "material", "colours", "quantity", "diameter", "page",
    "customer", "job", "accepted",
)  # fmt: skip


def order_from(
    options: Mapping[str, Any],
    *,
    charts: Iterable[Any] = (),
    tags: Iterable[str] = (),
    machines: Mapping[str, Mapping[str, float]] | None = None,
) -> Order:
    """An order from the options of a command or the cells of a row; missing and empty ones were not said.

    Args:
        options: names as on the command line ("width", "ground" ...) or as in an orders file ("width_mm"); values are
            text or numbers.
        charts: the shop's ink and thread charts, whose entries may be named as ground or colours.
        tags: further tags, of the shop.
        machines: the shop's machines.

    Raises:
        PreflightError: one plain line that says what is wrong and how to mend it.
    """
    said = {
        name.removesuffix("_mm"): value for name, value in options.items() if value not in (None, "", (), [])
    }
    strange = next((name for name in said if name not in _OPTIONS), None)
    if strange is not None:
        raise PreflightError(f"there is no option “{plain(str(strange))}”{nearest(str(strange), _OPTIONS)}")
    charts = tuple(charts)
    ground_words = _text("ground", said.get("ground"))
    page = _whole("page", said.get("page"), 100_000)
    order = Order(
        method=_method(said.get("method")),
        width_mm=_length("width", said.get("width")),
        height_mm=_length("height", said.get("height")),
        diameter_mm=_length("diameter", said.get("diameter")),
        item=_text("item", said.get("item")),
        position=_text("position", said.get("position")),
        ground=_ground(ground_words, charts),
        ground_words=ground_words,
        material=_text("material", said.get("material")),
        colours=_list("colours", said.get("colours")),
        quantity=_whole("quantity", said.get("quantity"), _MOST),
        page=page or 1,
        customer=_text("customer", said.get("customer")),
        job=_text("job", said.get("job")),
        accepted=_accepted(said.get("accepted")),
        charts=charts,
        machines=dict(machines or {}),
    )
    return tagged(order, tags=(*tags, "page-stated") if page else tags)


def nearest(word: str, words: Iterable[str]) -> str:
    """ "; did you mean “…”?" with the most similar valid name, or the list of them when none is near."""
    words = list(words)
    close = difflib.get_close_matches(word.strip().lower()[:60], words, n=1, cutoff=0.5)
    return f"; did you mean “{close[0]}”?" if close else f"; choose from {', '.join(words)}"


def _method(value: Any) -> str:
    text = _text("method", value).lower()
    if text and text not in METHODS:
        hyphened = re.sub(r"[\s_]+", "-", text)
        if hyphened in METHODS:
            return hyphened
        raise PreflightError(f"there is no method “{text}”{nearest(hyphened, METHODS)}")
    return text


def _text(name: str, value: Any) -> str:
    text = "" if value is None else str(value)
    if len(text) > _LONGEST:
        raise PreflightError(f"{name} is {len(text)} letters long; give at most {_LONGEST}")
    return plain(text)


def _length(name: str, value: Any) -> float | None:
    if value is None:
        return None
    try:
        return length(str(value))
    except ValueError as error:
        reason = str(error) if "out of range" in str(error) else f"{plain(repr(str(value)))} is no length"
        raise PreflightError(f"{name}: {reason}; write it like 80, 80mm, 8cm or 3.15in") from None


def _whole(name: str, value: Any, most: int) -> int | None:
    if value is None:
        return None
    text = str(value).strip()
    if not re.fullmatch(r"[0-9]{1,9}", text) or not 1 <= int(text) <= most:
        raise PreflightError(f"{name}: {plain(repr(text))} is not a whole number from 1 to {most}")
    return int(text)


def _list(name: str, value: Any) -> tuple[str, ...]:
    if value is None:
        return ()
    pieces = map(str, value) if isinstance(value, (list, tuple)) else re.split(r"[,;|]", str(value))
    words = tuple(dict.fromkeys(_text(name, piece) for piece in pieces if piece.strip()))
    if len(words) > 64:
        raise PreflightError(f"{name}: {len(words)} entries; give at most 64")
    return words


def _accepted(value: Any) -> tuple[str, ...]:
    from preflight.findings import Check  # the artwork model behind it needs numpy

    checks = [check.value for check in Check]
    names = tuple(name.lower() for name in _list("accepted", value))
    for name in names:
        if name not in checks and not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*/[a-z]+(-[a-z]+)*", name):
            raise PreflightError(f"accepted: “{name}” is no check and no rule{nearest(name, checks)}")
    return names


def _ground(words: str, charts: tuple[Any, ...]) -> str | None:
    """ "#rrggbb" of a ground colour: written so, a CSS name, an entry of a chart or of the workshop's own list."""
    if not words or words.casefold() in _CLEAR:
        return None
    from preflight.colour import named

    shade = named(words) or vocabulary().ground(words) or _entry(words, charts)
    if shade is None:
        raise PreflightError(
            f"ground: “{words}” is no colour we know; write it like #1d2b4f, as a CSS colour name such as navy, or as an "
            "entry of the shop's chart"
        )
    return shade


def _entry(words: str, charts: tuple[Any, ...]) -> str | None:
    """ "#rrggbb" of a chart's entry of that name."""
    found = next((entry for chart in charts if (entry := chart.find(words)) is not None), None)
    return None if found is None else str(found.hex)


# ------------------------------------------------------------------------------------------------ orders file

COLUMNS = ("file", "method", "job", "customer", "item", "position", "width_mm", "height_mm", "ground", "material",
           "colours", "quantity", "diameter_mm", "page", "accepted")  # fmt: skip
#: A row of an orders file and its order.
OrderRow = orders_file.Row[Order]


def read_orders(
    source: Path | str,
    folder: Path,
    *,
    defaults: Mapping[str, Any] | None = None,
    charts: Iterable[Any] = (),
    tags: Iterable[str] = (),
    machines: Mapping[str, Mapping[str, float]] | None = None,
) -> list[OrderRow]:
    """The rows of an orders file, bad ones with their error.

    Args:
        source: the file's path, or its text.
        folder: the inbox; no row's file may leave it.
        defaults: options that hold where a row says nothing.
        charts: of the shop, as for `order_from`.
        tags: the same.
        machines: the same.

    Raises:
        PreflightError: when the file itself cannot be used (encoding, header, size).
    """
    text = orders_file.read_text(source) if isinstance(source, Path) else source
    needed = ("file",) if (defaults or {}).get("method") else ("file", "method")
    delimiter, cells = orders_file.rows(text, COLUMNS, needed, nearest)
    charts, tags = tuple(charts), tuple(tags)

    def make(said: Mapping[str, Any]) -> Order:
        if not said.get("method"):
            raise PreflightError(f"the method is missing; choose from {', '.join(METHODS)}")
        return order_from(said, charts=charts, tags=tags, machines=machines)

    return [orders_file.order_row(row, delimiter, folder, defaults or {}, make) for row in cells]
