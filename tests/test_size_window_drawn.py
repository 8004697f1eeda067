"""The size window of real art, held against the job itself: just inside each end nothing fails, outside the named limit does.

The window is computed from one measurement at one size; here the whole job is run again at the widths it names.
"""

import functools
from dataclasses import dataclass, field
from typing import Any

import pytest
import shapely

from drawn import quiet
from drawn.case import by_cut
from drawn.drawn_cut import sticker
from drawn.drawn_pixels import jpeg, photo, png, rendered
from drawn.drawn_words import code
from drawn.paper import PLAIN, Paper, capitals, disc, height_of, live, rounded
from drawn.quiet import Comfort
from preflight import job
from preflight.findings import Severity
from preflight.methods import methods
from preflight.order import order_from

#: Inside an end by 3 % nothing may fail; outside by 10 % (more than the tolerance of 5 %) the limit has to.
INSIDE, OUTSIDE = 0.03, 0.10


@dataclass(frozen=True)
class Sized:
    """Art, an order, and which checks should bound its size: the lower end, the upper."""

    name: str
    method: str
    make: Any
    lower: str | None
    upper: str | None = None
    order: dict[str, Any] = field(default_factory=dict)
    form: str = "pdf"


def paper(*parts: Any, **more: Any) -> Paper:
    """Shapes on a sheet."""
    return quiet.on_sheet(*((part, quiet.NAVY) for part in parts), **more)


def fine_line() -> Paper:
    return paper(quiet.wave(0, 0, 40, 3, 0.5), shapely.box(10, 6, 30, 12))


def slots() -> Paper:
    return paper(*(shapely.box(n * 4.6, 0, n * 4.6 + 4, 14) for n in range(6)))


def small_words() -> Paper:
    return quiet.on_sheet(
        (capitals("SALT MARSH", 0, 0, 4, spacing=0.8), quiet.NAVY), (disc(20, 14, 9), quiet.NAVY)
    )


def tall_words() -> Paper:
    """Capitals of 4 mm under a kite 60 mm high."""
    return quiet.on_sheet(
        (capitals("TIDE", 0, 0, 4, spacing=0.8), quiet.NAVY), (quiet.kite(7, -66, 60), quiet.NAVY)
    )


def live_words() -> tuple[bytes, float]:
    em = 6 / height_of("H", PLAIN)
    words = capitals("MITE HALL", 4, 12, 6, PLAIN)
    return live("MITE HALL", 4, 12, em, width=words.bounds[2] + 4, height=18), words.bounds[2] - words.bounds[
        0
    ]


def kite_on_pad() -> Paper:
    return quiet.on_sheet((quiet.wave(0, 0, 30, 2, 0.4), quiet.NAVY), (rounded(5, 4, 20, 6, 2), quiet.NAVY))


def picture() -> tuple[bytes, float]:
    pixels = photo(420, 300)
    return jpeg(pixels, 300), 420 / 300 * 25.4


def pixels() -> tuple[bytes, float]:
    found, width = rendered(quiet.three_inks(Comfort(0.5, 0.6, 4.0, 0)), 450)
    return png(found, 72), width


def lined_sticker() -> Paper:
    return sticker(bleed=5).stroke(shapely.LineString([(20, 34), (40, 34)]), 0.2, "Poppy red")


def thin_dome() -> Paper:
    return sticker(bleed=8, radius=3)


def film() -> Paper:
    shape = rounded(5, 5, 30, 12, 3).union(rounded(33, 9.9, 20, 2.2, 1.1))
    return Paper(60, 24).fill(shape).cut(shape)


CAP = {"item": "cap", "position": None}
CASES = [
    Sized("fine line", "screen-print", fine_line, "line-width"),
    Sized("slots", "screen-print", slots, "gap-width"),
    Sized("slots on a plaque", "screen-print", slots, "gap-width", order={"item": "plaque", "position": None}),
    Sized("fine line", "pad-print", kite_on_pad, "line-width", "art-size"),
    Sized("as an SVG", "pad-print", kite_on_pad, "line-width", "art-size", form="svg"),
    Sized("slots", "co2-laser", slots, "gap-width"),
    Sized("fine line", "yag-laser", fine_line, "line-width"),
    Sized("slots", "deboss", slots, "gap-width"),
    Sized("fine line", "foil", fine_line, "line-width"),
    Sized("small words", "embroidery", small_words, "lettering-height", order={"position": "left chest"}),
    Sized("live words on a cap", "embroidery", live_words, "lettering-height", "art-size", order=CAP),
    Sized("photograph on a mug", "uv-print", picture, None, "art-size", order={"item": "mug", "diameter": "82"}, form="jpg"),
    Sized("photograph", "uv-print", picture, None, "resolution", form="jpg"),
    Sized("pixels", "heat-transfer", pixels, None, "resolution", form="png"),
    Sized("cut film", "heat-transfer", film, "cut-shape", order={"material": "cotton, flex film"}),
    Sized("code", "uv-print", lambda: code(0.6, quiet=5), "code-legibility"),
    Sized("dome", "dome", thin_dome, "cut-shape"),
    Sized("sticker", "sticker", lined_sticker, "line-width"),
]  # fmt: skip
IMPOSSIBLE = [
    Sized("small words on tall art", "embroidery", tall_words, "lettering-height", "art-size", order=CAP),
    Sized("fine lines on a wide pad", "pad-print",
          lambda: paper(quiet.wave(0, 0, 150, 3, 0.2), shapely.box(10, 6, 140, 12)), "line-width", "art-size"),
    Sized("fine line in few pixels", "heat-transfer", lambda: _few_pixels(), "line-width", "resolution", form="png"),
]  # fmt: skip


def _few_pixels() -> tuple[bytes, float]:
    found, width = rendered(paper(shapely.box(0, 0, 30, 0.4), shapely.box(10, 3, 26, 10), scale=1.0), 200)
    return png(found, 72), width


@functools.cache
def _file(art: Sized) -> tuple[bytes, float]:
    made = art.make()
    if not isinstance(made, Paper):
        return made
    width = made.size(by_cut(methods()[art.method].rules[0]))[0]
    return (made.svg_file(sized=True) if art.form == "svg" else made.pdf()), width


Sized.__hash__ = lambda self: hash((self.name, self.method))  # type: ignore[method-assign]


@functools.cache
def checked(art: Sized, width: float) -> Any:
    """The report of the art at a width."""
    said = {
        **{"item": "hoodie", "ground": "white", "position": "front", "material": None},
        **_usual(art.method),
        **art.order,
    }
    order = order_from({"width": f"{width:.4f}", **{k: v for k, v in said.items() if v is not None}})
    return job.check(_file(art)[0], f"art.{art.form}", order, methods()[art.method]).report


def _usual(method: str) -> dict[str, Any]:
    hard = {"item": "plaque", "position": None, "material": "ceramic"}
    return {
        "pad-print": hard, "uv-print": hard, "yag-laser": {**hard, "material": "stainless steel"},
        "co2-laser": {**hard, "material": "oak"},
        "sticker": {"item": "sticker"}, "dome": {"item": "sticker"}, "deboss": {"item": "notebook", "material": "leather"},
        "foil": {"item": "notebook", "material": "paper"}, "heat-transfer": {"material": "cotton"},
        "embroidery": {"material": "cotton"},
    }.get(method, {})  # fmt: skip


def musts(report: Any) -> dict[str, str]:
    """What fails: check -> sentence."""
    return {f.check.value: f"{f.rule}: {f.says}" for f in report.findings if f.severity is Severity.MUST}


def window(art: Sized) -> Any:
    found = checked(art, round(_file(art)[1], 4)).size_window
    assert found is not None
    return found


ids = pytest.mark.parametrize
named = lambda art: f"{art.method}: {art.name}"  # noqa: E731


@pytest.mark.parametrize("art", CASES, ids=named)
def test_the_window_is_bounded_by_what_should_bound_it(art):
    found = window(art)
    assert found.possible, found
    assert (found.min_width_mm is not None) or art.lower is None, found
    assert (found.max_width_mm is not None) == (art.upper is not None), found
    wanted = tuple(dict.fromkeys(check for check in (art.lower, art.upper) if check))
    if art.lower is not None:
        assert found.because[: len(wanted)] == wanted, found
    else:
        assert found.because[-1] == art.upper or art.upper in found.because, found


@pytest.mark.parametrize("art", CASES, ids=named)
def test_just_inside_each_end_nothing_fails(art):
    found = window(art)
    for end, sign in ((found.min_width_mm, 1), (found.max_width_mm, -1)):
        if end is not None:
            width = end * (1 + sign * INSIDE)
            assert musts(checked(art, width)) == {}, (found, width)


@pytest.mark.parametrize("art", CASES, ids=named)
def test_outside_each_end_the_named_limit_fails(art):
    found = window(art)
    for end, sign, check in ((found.min_width_mm, -1, art.lower), (found.max_width_mm, 1, art.upper)):
        if end is not None and check is not None:
            width = end * (1 + sign * OUTSIDE)
            assert check in musts(checked(art, width)), (found, width, musts(checked(art, width)))


@pytest.mark.parametrize("art", CASES[:2] + CASES[9:10], ids=named)
def test_the_window_is_the_same_at_whatever_size_it_was_measured(art):
    one, other = window(art), checked(art, round(1.7 * _file(art)[1], 4)).size_window
    for a, b in ((one.min_width_mm, other.min_width_mm), (one.max_width_mm, other.max_width_mm)):
        assert (a is None) == (b is None), (one, other)
        if a is not None:
            assert a == pytest.approx(b, rel=0.02, abs=0.11), (one, other)


@pytest.mark.parametrize("art", IMPOSSIBLE, ids=named)
def test_an_impossible_window_names_the_two_that_clash(art):
    found = window(art)
    assert not found.possible, found
    assert found.because[:2] == (art.lower, art.upper), found
    if found.min_width_mm is not None:  # where the one is well, the other fails
        assert art.upper in musts(checked(art, found.min_width_mm * (1 + INSIDE)))
    if found.max_width_mm is not None:
        assert art.lower in musts(checked(art, found.max_width_mm * (1 - INSIDE)))
