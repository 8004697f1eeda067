"""Drawings for inks, contrast, tints, gradients and backgrounds."""

import colorsys
from collections.abc import Sequence
from typing import Any

import shapely

from drawn.case import Drawn, draws, of
from drawn.paper import INKS, NAVY, Array, Dictionary, Name, Paper, capitals, hex_of
from preflight.charts import Chart, Entry
from preflight.colour import difference, hex_of_lab, lab_of
from preflight.rulebook import Rule

RED = "Poppy red"
COLOURS = [ink for ink in INKS if ink not in ("White", "Black", NAVY)]


def grey_of(ratio: float) -> Sequence[float]:
    """The grey whose WCAG 2.1 contrast with white is that: (1.05 / ratio - 0.05) back through the sRGB curve."""
    linear = 1.05 / ratio - 0.05
    part = 12.92 * linear if linear <= 0.0031308 else 1.055 * linear ** (1 / 2.4) - 0.055
    return (round(255 * part) / 255,) * 3


def apart(shade: Sequence[float], far: float) -> Sequence[float]:
    """A colour that far from another by CIEDE2000, made lighter or darker until it is (8 bits a part)."""
    hue, light, full = colorsys.rgb_to_hls(*shade)
    step = 1 if light < 0.5 else -1
    found = [
        [round(255 * part) / 255 for part in colorsys.hls_to_rgb(hue, light + step * n / 1000, full)]
        for n in range(300)
    ]
    own = lab_of(hex_of(shade))
    return min(found, key=lambda one: abs(difference(own, lab_of(hex_of(one))) - far))


def discs(inks: Sequence[str], shades: dict[str, Any] | None = None, **more: Any) -> Paper:
    """A row of discs, one an ink."""
    paper = Paper(8 + 9 * len(inks), 16, shades=dict(shades or {}), **more)
    for n, ink in enumerate(inks):
        paper.disc(8 + 9 * n, 8, 3.5, ink)
    return paper


@draws("inks.count", "ground.colours_on_it")
def inks(count: float, rule: Rule) -> Drawn:
    """So many inks."""
    return of(discs(COLOURS[: round(count)]), rule)


@draws("inks.unnamed")
def unnamed(count: float, rule: Rule) -> Drawn:
    """So many colours without a name, or named ones; black needs none."""
    return of(discs([*COLOURS[: round(count) or 2], "Black"], spot=not count), rule)


@draws("inks.too_close")
def alike(far: float, rule: Rule) -> Drawn:
    """Two inks so far from each other."""
    return of(
        discs(["Reef", "Reef light"], {"Reef": INKS["Sky blue"], "Reef light": apart(INKS["Sky blue"], far)}),
        rule,
    )


@draws("inks.metallic")
def metallic(count: float, rule: Rule) -> Drawn:
    """So many inks with a name that says metal."""
    names = ["Silver metallic", "Gold metallic", "Copper"][: round(count)]
    shades = {name: (0.6, 0.6 - 0.1 * n, 0.6 - 0.2 * n) for n, name in enumerate(names)}
    return of(discs([NAVY, *names], shades), rule)


@draws("inks.named_distance")
def named(far: float, rule: Rule) -> Drawn:
    """An ink, and in the order a colour so far from it."""
    shade = INKS["Reed green"]
    return of(discs(["Reed green"]), rule, colours=hex_of(apart(shade, far)))


@draws("inks.unmatched")
def unmatched(far: float, rule: Rule) -> Drawn:
    """An ink, and a chart whose nearest entry is so far from it."""
    shade = hex_of(apart(INKS["Reed green"], far))
    entries = (Entry("Marsh 12", lab_of(shade), shade), Entry("Marsh 40", lab_of("#ffd0d0"), "#ffd0d0"))
    assert hex_of_lab(entries[0].lab) == shade
    drawn = of(discs(["Reed green"]), rule)
    return Drawn(drawn.data, drawn.options, charts=(Chart("marsh book", entries),))


# ------------------------------------------------------------------ contrast


@draws("contrast.lettering")
def lettering_contrast(ratio: float, rule: Rule) -> Drawn:
    """Grey capitals on white goods."""
    paper = Paper(60, 20, shades={"Grey": grey_of(ratio)})
    return of(paper.fill(capitals("KITE FAIR", 4, 14, 8), "Grey"), rule)


@draws("contrast.shapes")
def shape_contrast(ratio: float, rule: Rule) -> Drawn:
    """A grey disc on white goods."""
    return of(discs(["Grey", NAVY], {"Grey": grey_of(ratio)}), rule)


@draws("contrast.vanishing")
def vanishing(ratio: float, rule: Rule) -> Drawn:
    """A disc in nearly the white of the goods, standing alone."""
    return of(discs(["Pale", NAVY], {"Pale": grey_of(ratio)}), rule)


@draws("contrast.needs_white")
def needs_white(count: float, rule: Rule) -> Drawn:
    """So many colours on navy goods; white itself needs no white."""
    return of(discs(["White", *COLOURS[1 : 1 + round(count)]]), rule, ground="#1d2b4f")


# ------------------------------------------------------------------ tones


@draws("tone.tints", "tone.darkest_tint")
def tint(strength: float, rule: Rule) -> Drawn:
    """A solid and a tint of the same ink."""
    paper = Paper(40, 20).box(4, 4, 10, 10)
    paper.box(18, 4, 10, 10, tint=min(strength, 100) / 100)
    return of(paper, rule)


@draws("tone.continuous")
def gradient(count: float, rule: Rule) -> Drawn:
    """Shadings, so many; else flat art."""
    paper = Paper(60, 30).box(4, 4, 10, 10)

    def adds(pdf: Any, found: Any) -> None:
        function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0.8, 0.1, 0.2], C1=[0.1, 0.2, 0.8], N=1)
        found.Shading = Dictionary(S0=Dictionary(ShadingType=2, ColorSpace=Name.DeviceRGB, Coords=[18, 0, 40, 0],
                                                 Function=function,
                                                 Extend=Array([True, True])))  # fmt: skip

    paper.resources.append(adds)
    for n in range(round(count)):
        paper.say(f"q 18 {4 + 9 * n} 22 7 re W n /S0 sh Q", shapely.box(18, 4 + 9 * n, 40, 11 + 9 * n))
    return of(paper, rule)


@draws("tone.continuous")
def svg_gradient(count: float, rule: Rule) -> Drawn:
    """A gradient in an SVG."""
    paper = Paper(60, 30).box(4, 4, 40, 10)
    data = paper.svg_file(sized=True)
    if count:
        data = data.replace(b"</svg>", b'<radialGradient id="g"><stop stop-color="#f2bf0d"/>'
                            b'<stop offset="1" stop-color="#c7172b"/>'
                            b'</radialGradient><circle cx="20" cy="20" r="5" fill="url(#g)"/></svg>')  # fmt: skip
    return Drawn(data, of(paper, rule).options)


@draws("tone.continuous")
def soft_shadow(count: float, rule: Rule) -> Drawn:
    """A shadow that a soft mask fades out."""
    paper = Paper(60, 30).box(4, 4, 16, 16)

    def adds(pdf: Any, found: Any) -> None:
        function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0], C1=[1], N=1)
        shading = Dictionary(
            ShadingType=2,
            ColorSpace=Name.DeviceGray,
            Coords=[24, 0, 44, 0],
            Function=function,
            Extend=Array([True, True]),
        )
        form = pdf.make_stream(
            b"q 24 4 20 16 re W n /S0 sh Q", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 60, 30],
            Group=Dictionary(S=Name.Transparency, CS=Name.DeviceGray), Resources=Dictionary(Shading=Dictionary(S0=shading)),
        )  # fmt: skip
        found.ExtGState["/Soft"] = Dictionary(SMask=Dictionary(S=Name.Luminosity, G=form))

    if count:
        paper.resources.append(adds)
        paper.say("q /Soft gs 0.1 0.1 0.1 rg 24 4 20 16 re f Q", shapely.box(24, 4, 44, 20))
    return of(paper, rule)


@draws("tone.continuous")
def photograph(count: float, rule: Rule) -> Drawn:
    """A photograph in a PDF."""
    from drawn.drawn_pixels import pasted, photo

    if not count:
        return gradient(0, rule)
    return Drawn(pasted(photo(300, 200), 30, 20), {"width": "30"})


@draws("tone.levels")
def levels(count: float, rule: Rule) -> Drawn:
    """So many tones: one ink, and tints of it."""
    paper = Paper(60, 20)
    for n in range(round(count)):
        paper.box(4 + 12 * n, 4, 10, 10, tint=1 - 0.3 * n)
    return of(paper, rule)


@draws("ground.boxes")
def background(count: float, rule: Rule) -> Drawn:
    """Art with a filled box behind it, or without."""
    paper = Paper(60, 40)
    if count:
        paper.box(4, 4, 50, 30, "Foam")
    return of(paper.disc(20, 19, 9).box(34, 14, 12, 9, RED), rule)


__all__ = ["RED"]
