"""Drawings for the cut: bleed, margin, frame, corners, tongues, pieces."""

import shapely

from drawn.case import Drawn, draws, of
from drawn.paper import NAVY, Paper, disc, rounded, smooth
from preflight.rulebook import Rule

RADIUS = 5.0


def sticker(bleed: float = 4.0, radius: float = RADIUS, outline: bool = True) -> Paper:
    """A coloured sticker of 40 x 30 mm with its cut line."""
    paper = Paper(60, 50)
    shape = rounded(10, 10, 40, 30, radius)
    paper.fill(smooth(shape, bleed))
    paper.disc(30, 25, 7, None)
    return paper.cut(shape) if outline else paper


def plain(shape: shapely.Geometry) -> Paper:
    """A cut line of any shape round one small mark, on white film."""
    x0, y0, x1, y1 = shape.bounds
    paper = Paper(x1 + 6, y1 + 6)
    spot = shape.representative_point()
    return paper.disc(spot.x, spot.y, 1.2).cut(shape)


@draws("cut.bleed")
def bleed(width: float, rule: Rule) -> Drawn:
    """Colour that runs so far past the cut."""
    return of(sticker(width), rule)


@draws("cut.margin")
def margin(width: float, rule: Rule) -> Drawn:
    """A dot so far inside the cut."""
    paper = Paper(60, 50).disc(30, 25, 6).disc(10 + width + 1.5, 25, 1.5)
    return of(paper.cut(rounded(10, 10, 40, 30, RADIUS)), rule)


@draws("cut.border")
def border(width: float, rule: Rule) -> Drawn:
    """A frame of even width along the cut, with bleed."""
    paper = Paper(60, 50)
    shape = rounded(10, 10, 40, 30, RADIUS)
    inner = shape.buffer(-width, quad_segs=64)
    paper.fill(smooth(shape, 3).difference(inner)).disc(30, 25, 5, "Poppy red")
    return of(paper.cut(shape), rule)


@draws("cut.corner_radius")
def corner(radius: float, rule: Rule) -> Drawn:
    """A cut line with such corners."""
    return of(sticker(4, radius), rule)


@draws("cut.neck")
def tongue(width: float, rule: Rule) -> Drawn:
    """Two lobes joined by a strip, its mouths rounded."""
    lobes = (
        disc(20, 20, 12).union(disc(56, 20, 12)).union(shapely.box(20, 20 - width / 2, 56, 20 + width / 2))
    )
    shape = lobes.buffer(3, quad_segs=32).buffer(-3, quad_segs=32)
    paper = Paper(76, 40).disc(20, 20, 5).disc(56, 20, 5).cut(shape)
    return of(paper, rule)


@draws("cut.outline")
def outline(count: float, rule: Rule) -> Drawn:
    """A sticker with or without its cut line."""
    return of(sticker(outline=bool(count)), rule)


@draws("cut.holes")
def holes(count: float, rule: Rule) -> Drawn:
    """A cut line with holes in it."""
    shape = rounded(6, 6, 44, 30, RADIUS)
    for n in range(round(count)):
        shape = shape.difference(disc(16 + 12 * n, 20, 3))
    paper = Paper(60, 44).disc(42, 21, 4).cut(shape)
    return of(paper, rule)


@draws("cut.least_side")
def least_side(width: float, rule: Rule) -> Drawn:
    """A capsule so wide over all."""
    return of(plain(rounded(5, 5, 30, width, width / 2)), rule)


@draws("cut.pieces")
def pieces(count: float, rule: Rule) -> Drawn:
    """So many squares of film."""
    paper = Paper(80, 80)
    for n in range(round(count)):
        paper.box(4 + 10 * (n % 7), 4 + 10 * (n // 7), 6, 6)
    return of(paper, rule)


@draws("cut.feature")
def feature(width: float, rule: Rule) -> Drawn:
    """A star of film with a bar so thin, its cut line along it."""
    shape = rounded(5, 5, 30, 12, 3).union(rounded(33, 11 - width / 2, 20, width, width / 2))
    paper = Paper(60, 24).fill(shape).cut(shape)
    return of(paper, rule)


__all__ = ["NAVY"]
