"""Drawings for what the order says and how the file is built."""

from typing import Any

import shapely

from drawn.case import Drawn, draws, method_of, of
from drawn.paper import NAVY, PT, Array, Dictionary, Name, Paper, String, capitals, disc
from preflight.rulebook import Rule

RED = "Poppy red"
OVERPRINT = {"OP": True, "op": True, "OPM": 1}


def mark(**more: Any) -> Paper:
    """A plain mark: a disc and a bar."""
    return Paper(50, 30, **more).disc(14, 15, 9).box(28, 10, 16, 8)


def asking(missing: dict[str, Any], present: dict[str, Any]) -> Any:
    """A drawing whose order leaves something out when the value is 1."""

    def drawer(count: float, rule: Rule) -> Drawn:
        return of(mark(), rule, **(missing if count else present))

    return drawer


draws("request.no_size")(asking({"width": None}, {}))
draws("request.no_ground")(asking({"ground": None}, {"ground": "white"}))
draws("request.no_item")(asking({"item": None}, {}))
draws("request.no_position")(asking({"position": None}, {"position": "front"}))
draws("request.no_material")(asking({"item": "plaque", "material": None}, {"material": "flumpet"}))
draws("request.unknown_words")(asking({"item": "flumpet"}, {"item": "notebook"}))


@draws("request.proportions")
def proportions(count: float, rule: Rule) -> Drawn:
    """Width and height that fit the art, or do not."""
    paper = mark()
    width, height = paper.size()
    return of(paper, rule, height=f"{height * (1.3 if count else 1):.3f}")


@draws("request.no_inks")
def no_inks(count: float, rule: Rule) -> Drawn:
    """An ink that the file names, or does not."""
    return of(mark(spot=not count), rule)


# ------------------------------------------------------------------ materials


def made_of(bad: dict[str, Any], good: dict[str, Any]) -> Any:
    """A drawing whose order names such a material when the value is 1."""

    def drawer(count: float, rule: Rule) -> Drawn:
        return of(mark(), rule, **(bad if count else good))

    return drawer


STEEL, OAK = {"material": "stainless steel"}, {"material": "oak"}
draws("materials.maybe_laser")(made_of({"material": "painted metal"}, STEEL))
draws("materials.unknown")(made_of({"material": "flumpet"}, STEEL))
draws("materials.heat_tender")(
    made_of({"item": "jacket", "material": "nylon"}, {"item": "jacket", "material": "cotton"})
)
draws("materials.not_flat")(made_of({"item": "mug"}, {"item": "notebook"}))
draws("materials.unsuitable_for_thread")(
    made_of({"item": "wallet", "material": "leather"}, {"item": "hoodie", "material": "cotton"})
)
draws("materials.low_energy")(made_of({"material": "polypropylene"}, {"material": "ceramic"}))
draws("materials.hard")(
    made_of({"item": "wallet", "material": "steel"}, {"item": "notebook", "material": "leather"})
)
draws("materials.not_for_yag")(made_of(OAK, STEEL))
draws("materials.not_for_co2")(made_of(STEEL, OAK))
draws("materials.dye_bleed")(
    made_of({"item": "hoodie", "material": "polyester"}, {"item": "hoodie", "material": "cotton"})
)
draws("materials.clear")(made_of({"item": "plaque", "material": "clear acrylic"}, {"material": "ceramic"}))


@draws("materials.never_laser")
def never_laser(count: float, rule: Rule) -> Drawn:
    """Materials that must never be lasered: PVC where the rule is about that, else others."""
    if "pvc" in rule.when.split():
        return of(mark(), rule, material="PVC")
    return of(mark(), rule, material="carbon fibre" if count else "stainless steel")


@draws("materials.textile")
def textile(count: float, rule: Rule) -> Drawn:
    """Cloth, or something else of the kind the rule looks at."""
    cloth: dict[str, Any] = {"item": "hoodie", "material": "cotton"}
    other: dict[str, Any] = {"item": "plaque", "material": "ceramic"}
    if "waterproof" in rule.when.split():
        cloth, other = (
            {"item": "softshell jacket", "material": None},
            {"item": "plaque", "material": "steel, waterproof"},
        )
    elif "heat-careful" in rule.when.split():
        cloth, other = {"item": "scarf", "material": "wool"}, {"item": "notebook", "material": "faux leather"}
    return of(mark(), rule, **(cloth if count else other))


@draws("materials.cloth_weight")
def cloth(weight: float, rule: Rule) -> Drawn:
    """Cloth of a stated weight."""
    return of(mark(), rule, item="hoodie", material=f"cotton {weight:.0f} g/m2")


# ------------------------------------------------------------------ how the file is built


@draws("structure.bitmap")
def bitmap(count: float, rule: Rule) -> Drawn:
    """Outlines, or the same as pixels."""
    if not count:
        return of(mark(), rule)
    from drawn.drawn_pixels import png, rendered

    pixels, width = rendered(mark(), 600)
    return Drawn(png(pixels, 600), {"width": f"{width:.4f}"})


@draws("structure.hidden_layers")
def hidden_layer(count: float, rule: Rule) -> Drawn:
    """A layer, switched off or on."""
    paper = mark()
    paper.say("/OC /L0 BDC").fill(shapely.box(30, 20, 40, 25), RED).say("EMC")

    def adds(pdf: Any, found: Any) -> None:
        layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String("Second thoughts")))
        found.Properties = Dictionary(L0=layer)
        off = Array([layer]) if count else Array([])
        pdf.Root.OCProperties = Dictionary(OCGs=Array([layer]), D=Dictionary(Order=Array([layer]), OFF=off))

    paper.resources.append(adds)
    return of(paper, rule)


@draws("structure.hidden_objects")
def off_page(count: float, rule: Rule) -> Drawn:
    """Something beside the page."""
    paper = mark()
    if count:
        paper.say("0.8 0 0 rg -30 -30 10 10 re f")
    return of(paper, rule)


@draws("structure.extra_pages")
def extra_page(count: float, rule: Rule) -> Drawn:
    """One page, or more."""
    paper = mark()
    return Drawn(paper.pdf(pages=1 + round(count)), of(paper, rule).options)


@draws("structure.annotations")
def annotation(count: float, rule: Rule) -> Drawn:
    """A comment on the page."""
    paper = mark()
    if count:
        paper.page_keys["/Annots"] = lambda pdf: Array([pdf.make_indirect(Dictionary(
            Type=Name.Annot, Subtype=Name.Text, Rect=[10, 10, 30, 30], Contents=String("A little larger, please")))])  # fmt: skip
    return of(paper, rule)


@draws("structure.transparency")
def see_through(count: float, rule: Rule) -> Drawn:
    """A disc one can see through, or not."""
    paper = mark()
    paper.fill(disc(20, 15, 5), RED, state={"ca": 0.5} if count else None)
    return of(paper, rule)


@draws("structure.overprint")
def overprint(count: float, rule: Rule) -> Drawn:
    """A coloured disc that prints over another ink, or cuts it."""
    paper = mark()
    paper.fill(disc(16, 15, 5), RED, state=OVERPRINT if count else None)
    return of(paper, rule)


@draws("structure.white_overprint")
def white_overprint(count: float, rule: Rule) -> Drawn:
    """White letters in CMYK that overprint, or do not: in mode 1 they leave every plate uncut (ISO 32000-2, 8.6.7)."""
    return of(white_words("0 0 0 0 k", count), rule)


@draws("structure.white_overprint")
def grey_white_overprint(count: float, rule: Rule) -> Drawn:
    """The same in DeviceGray: a spot colour under it is left uncut (ISO 32000-1:2008, table 148)."""
    return of(white_words("1 g", count), rule)


def white_words(paint: str, count: float) -> Paper:
    """A mark with white words on it, set to overprint when the value is 1."""
    paper = mark()
    paper.states["W"] = OVERPRINT if count else {"op": False}
    words = capitals("TIDE", 9, 17, 4)
    return paper.say(f"q /W gs {paint} {words.operators} f Q", words.shape)


@draws("structure.rendering")
def rendering(count: float, rule: Rule) -> Drawn:
    """An SVG with a gradient that repeats, which drawing programs show differently; or without."""
    extra = (
        '<linearGradient id="g" x1="0.4" x2="0.5" spreadMethod="repeat"><stop stop-color="#f00"/>'
        '<stop offset="1" stop-color="#00f"/>'
        '</linearGradient><rect x="4" y="20" width="40" height="8" fill="url(#g)"/>'
    )
    paper = mark()
    data = paper.svg_file(sized=True)
    if count:
        data = data.replace(b"</svg>", extra.encode() + b"</svg>")
    return Drawn(data, {"width": f"{paper.size()[0]:.4f}"})


@draws("structure.unread")
def unread(count: float, rule: Rule) -> Drawn:
    """An SVG with a picture that lies elsewhere, or without."""
    paper = mark()
    data = paper.svg_file(sized=True)
    if count:
        data = data.replace(
            b"</svg>",
            b'<image x="30" y="2" width="9" height="6" href="https://kite-fair.invalid/reed.png"/></svg>',
        )
    return Drawn(data, {"width": f"{paper.size()[0]:.4f}"})


@draws("inks.registration_colour")
def registration(count: float, rule: Rule) -> Drawn:
    """Something in the colour of register marks."""
    from drawn.paper import INKS

    paper = mark()
    if count:
        paper.shades["All"] = (0, 0, 0)
        paper.fill(shapely.box(30, 20, 40, 23), "All")
    assert "All" not in INKS
    return of(paper, rule)


__all__ = ["NAVY", "PT", "method_of"]
