"""Drawings for widths: lines, gaps, dots, traps, solids, stitches, and how large the art is."""

import math

import shapely
from shapely.affinity import rotate

from drawn.case import Drawn, draws, of, order_for
from drawn.paper import NAVY, Paper, disc
from preflight.order import print_area
from preflight.rulebook import Rule

RED, GREEN = "Poppy red", "Reed green"
OVERPRINT = {"OP": True, "op": True, "OPM": 1}


@draws("strokes.lines", "contrast.lines_over_white")
def bar(width: float, rule: Rule) -> Drawn:
    """A filled bar."""
    paper = Paper(30, 26)
    paper.box(5, 5, width, 16).box(12, 5, 8, 16)
    return of(paper, rule)


@draws("strokes.lines")
def pen(width: float, rule: Rule) -> Drawn:
    """A bent line drawn with a pen, at an angle."""
    paper = Paper(40, 30)
    paper.stroke(shapely.LineString([(5, 6), (14, 8), (16, 22)]), width, more="1 j 1 J")
    paper.fill(rotate(shapely.box(22, 8, 30, 20), 20))
    return of(paper, rule)


@draws("strokes.lines")
def ring(width: float, rule: Rule) -> Drawn:
    """A ring: a disc with a disc knocked out of it."""
    paper = Paper(40, 30)
    paper.fill(disc(15, 15, 9).difference(disc(15, 15, 9 - width))).disc(15, 15, 4)
    return of(paper, rule)


@draws("strokes.lines")
def svg_line(width: float, rule: Rule) -> Drawn:
    """A line in an SVG, a bend in it."""
    paper = Paper(40, 30)
    paper.stroke(shapely.LineString([(5, 6), (14, 8), (16, 22)]), width).box(22, 8, 9, 14)
    return Drawn(paper.svg_file(sized=True), of(paper, rule).options)


@draws("strokes.lines")
def eps_line(width: float, rule: Rule) -> Drawn:
    """A bar in an EPS."""
    paper = Paper(40, 30)
    paper.fill(rotate(shapely.box(8, 6, 8 + width, 22), 12)).box(18, 8, 9, 14)
    return Drawn(paper.eps(), of(paper, rule).options)


@draws("gaps.gaps")
def svg_gap(width: float, rule: Rule) -> Drawn:
    """Two blocks side by side in an SVG."""
    paper = Paper(40, 24)
    paper.box(4, 4, 8, 14).box(12 + width, 4, 8, 14)
    return Drawn(paper.svg_file(sized=True), of(paper, rule).options)


@draws("strokes.specks")
def dot(size: float, rule: Rule) -> Drawn:
    """A lone dot beside a block."""
    paper = Paper(30, 20)
    paper.box(4, 4, 8, 8).disc(18, 8, size / 2)
    return of(paper, rule)


@draws("gaps.gaps")
def gap(width: float, rule: Rule) -> Drawn:
    """Two blocks side by side."""
    paper = Paper(40, 24)
    paper.box(4, 4, 10, 12).box(14 + width, 4, 10, 12)
    return of(paper, rule)


@draws("gaps.gaps")
def slot(width: float, rule: Rule) -> Drawn:
    """A white line knocked out of a block, not straight up."""
    paper = Paper(40, 30)
    paper.box(4, 4, 24, 18).fill(rotate(shapely.box(15, 6, 15 + width, 20), 30, origin=(15, 13)), None)
    return of(paper, rule)


@draws("gaps.between_inks")
def gap_between(width: float, rule: Rule) -> Drawn:
    """Two inks side by side."""
    paper = Paper(40, 24)
    paper.box(4, 4, 10, 12).box(14 + width, 4, 10, 12, RED)
    return of(paper, rule)


@draws("gaps.trap")
def trapped(width: float, rule: Rule) -> Drawn:
    """Two inks that overlap, the upper one overprinting."""
    paper = Paper(40, 24)
    paper.box(4, 4, 12 + width, 12).box(16, 4, 12, 12, RED, state=OVERPRINT)
    return of(paper, rule)


@draws("gaps.trap")
def trap_round_a_disc(width: float, rule: Rule) -> Drawn:
    """A disc in a hole of another ink, spread by a stroke that overprints."""
    paper = Paper(40, 30)
    paper.fill(shapely.box(4, 4, 30, 24).difference(disc(17, 14, 6))).disc(17, 14, 6, RED)
    paper.stroke(disc(17, 14, 6).exterior, 2 * width, RED, state=OVERPRINT)
    return of(paper, rule)


@draws("solids.largest")
def solid(area: float, rule: Rule) -> Drawn:
    """A square."""
    side = math.sqrt(area)
    paper = Paper(side + 10, side + 10, scale=0.5)
    paper.box(5, 5, side, side)
    return of(paper, rule)


@draws("strokes.widest")
def wide(width: float, rule: Rule) -> Drawn:
    """A disc."""
    paper = Paper(width + 20, width + 8)
    paper.disc(4 + width / 2, 4 + width / 2, width / 2).box(width + 8, 4, 5, 5)
    return of(paper, rule)


@draws("strokes.fine_detail_beside_solid")
def fine_by_solid(count: float, rule: Rule) -> Drawn:
    """A solid of 700 mm², and fine lines near it; of none, a line far away."""
    paper = Paper(60, 40)
    paper.box(4, 4, 28, 25)
    for n in range(round(count)):
        paper.box(33.2 + 1.5 * n, 4, 0.42, 20)
    paper.box(50, 4, 0.42, 20)
    return of(paper, rule)


@draws("stitches.estimate")
def sewn(stitches: float, rule: Rule) -> Drawn:
    """A filled slab: 1.86 stitches a mm² (common practice)."""
    height = 50.0
    width = stitches / 1.86 / height
    paper = Paper(width + 10, height + 10, scale=0.5)
    paper.box(5, 5, width, height)
    return of(paper, rule)


@draws("stitches.density")
def dense(density: float, rule: Rule) -> Drawn:
    """Satin columns side by side: 5.9 stitches a mm of column (common practice)."""
    pitch, count = 5.9 / density, 9
    paper = Paper(count * pitch + 10, 30)
    for n in range(count):
        paper.box(5 + n * pitch, 5, 1.2, 20)
    paper.fill(
        shapely.box(5 + count * pitch - 0.01, 5, 5 + count * pitch, 5.01)
    )  # the box reaches a whole pitch
    return of(paper, rule)


@draws("stitches.satin_width")
def satin(width: float, rule: Rule) -> Drawn:
    """A long column."""
    paper = Paper(width + 10, 4 * width + 10)
    paper.box(5, 5, width, 4 * width)
    return of(paper, rule)


# ------------------------------------------------------------------ how large


def frame(width: float, height: float) -> Paper:
    """A frame of these outer measures."""
    paper = Paper(width + 8, height + 8, scale=0.5)
    thick = min(width, height) / 5
    return paper.fill(
        shapely.box(4, 4, 4 + width, 4 + height).difference(
            shapely.box(4 + thick, 4 + thick, 4 + width - thick, 4 + height - thick)
        )
    )


@draws("extent.width", "extent.long_side")
def wide_art(width: float, rule: Rule) -> Drawn:
    """A frame that is wider than high."""
    return of(frame(width, 20), rule)


@draws("extent.height")
def high_art(height: float, rule: Rule) -> Drawn:
    """A frame as high as it has to be, ordered by its height."""
    return of(frame(30, height), rule, width=None, height=f"{height:.4f}")


@draws("extent.long_side")
def tall_art(height: float, rule: Rule) -> Drawn:
    """The same standing upright."""
    return of(frame(20, height), rule)


@draws("extent.short_side")
def short_side(side: float, rule: Rule) -> Drawn:
    """A frame a little longer than that."""
    return of(frame(side + 8, side), rule)


#: An article whose usual area the word list knows, by method.
AREAS = {
    "screen-print": {"item": "hoodie", "position": "sleeve"}, "heat-transfer": {"item": "hoodie", "position": "sleeve"},
    "embroidery": {"item": "hoodie", "position": "sleeve"}, "deboss": {"item": "notebook"}, "foil": {"item": "notebook"},
    "pad-print": {"item": "usb stick"}, "yag-laser": {"item": "usb stick"}, "co2-laser": {"item": "key ring", "material": "oak"},
    "uv-print": {"item": "usb stick"},
}  # fmt: skip


@draws("extent.area_used")
def area_used(share: float, rule: Rule) -> Drawn:
    """A frame that takes so much of the area, across and down: turning it is no help."""
    options = AREAS[rule.id.partition("/")[0]]
    area = print_area(order_for(rule, Drawn(b"", options)))
    assert area is not None
    return of(frame(share / 100 * area.width_mm, share / 100 * area.height_mm), rule, **options)


@draws("extent.marks")
def marks(count: float, rule: Rule) -> Drawn:
    """Something on the page, or nothing."""
    paper = Paper(30, 30)
    if count:
        paper.box(5, 5, 10, 10)
        return of(paper, rule)
    return Drawn(paper.pdf(), {"width": "20"})


@draws("curve.height_change")
def fall(change: float, rule: Rule) -> Drawn:
    """A print 24 mm wide on an article so thin that it falls away so far: D = s + (w / 2)² / s."""
    paper = Paper(40, 20)
    paper.box(5, 5, 24, 8)
    return of(paper, rule, item="mug", diameter=f"{change + 12**2 / change:.5f}")


__all__ = ["GREEN", "NAVY", "RED"]
