"""More of the labelled set: cut-outs with and without a halo, boxes, thin marks, hatching.

Each function draws one `tone_set.Sample` from what a `tone_set.Draw` gives.
"""

import numpy as np

from tone_art import Layout, compressed, countable, difference, hexed, labels, layout, render, scanned

#: Pixels a wand takes for paper differ from white by no more than this in any component.
WAND = 12
#: Strokes of thin marks, pixels.
THINNEST, WIDEST = 1.3, 3.2
#: Colours of thin marks lie this far from every other one, CIEDE2000.
THIN_APART = 25


def counted(draw, count: int) -> Layout:
    """Flat art in which the eye counts so many colours, the ground among them."""
    while True:
        art = layout(draw.rng, draw.width, count, draw.pool)
        if countable(labels(art), count):
            return art


def cut_out(draw, dirty: bool) -> tuple[np.ndarray, np.ndarray]:
    """Dark enough art cut from white: by a wand after compression, or cleanly.  Colours uint8 (h, w, 3) and alpha."""
    while True:
        art = counted(draw, int(draw.rng.integers(2, 6)))
        if difference(art.colours[1:], [(255, 255, 255)]).min() > 30:
            break
    if not dirty:
        art.ground = False
        picture = render(art.svg(), art.width)
        return picture[..., :3], picture[..., 3]
    art.fills[0] = "#ffffff"
    rgb = compressed(render(art.svg(), art.width)[..., :3], "jpeg", int(draw.rng.integers(60, 93)))
    far = (255 - rgb.astype(int)).max(2) >= WAND
    return rgb, np.where(far, 255, 0).astype(np.uint8)


def boxed(draw, white: bool) -> tuple[np.ndarray, list[tuple[int, int, int]]]:
    """Art in an opaque box, white or coloured: the picture and its colours."""
    while True:
        art = counted(draw, int(draw.rng.integers(2, 7)))
        far = difference(art.colours[:1], [(255, 255, 255)])[0, 0]
        if (far == 0) if white else (far > 4):
            return render(art.svg(), art.width)[..., :3], art.colours


def thin(draw, alone: bool, treatment: str) -> tuple[np.ndarray, list[tuple[int, int, int]]]:
    """Thin outlines and little marks in a colour that nothing else has, on a bare sheet or beside flat art."""
    rng = draw.rng
    art = counted(draw, 1 if alone else int(rng.integers(2, 4)))
    while True:
        colour = tuple(int(c) for c in rng.integers(0, 256, 3))
        if difference([colour], art.colours).min() > THIN_APART:
            break
    marks = ""
    for _ in range(int(rng.integers(6, 20))):
        side = art.width * rng.uniform(0.03, 0.12)
        x, y = rng.uniform(0, art.width - side), rng.uniform(0, art.height - side)
        stroke = rng.uniform(THINNEST, WIDEST) * 24 / side
        shape = rng.choice([
            '<circle cx="12" cy="12" r="10"/>', '<path d="M2 22L12 2L22 22Z"/>', '<path d="M2 12C6 2 10 2 12 12S18 22 22 12"/>',
            '<path d="M2 4V20M8 4H14M8 12H14M11 4V20M18 4L22 20"/>', '<rect x="2" y="5" width="20" height="14"/>',
        ])  # fmt: skip
        marks += (
            f'<g transform="translate({x:.2f} {y:.2f}) scale({side / 24:.4f})" fill="none" stroke="{hexed(colour)}" '
            f'stroke-width="{stroke:.3f}">{shape}</g>'
        )
    art.pieces.append(marks)
    art.fills.append(hexed(colour))
    rgb = render(art.svg(), art.width)[..., :3]
    if treatment == "scan":
        rgb = compressed(scanned(rng, rgb), "jpeg", int(rng.choice([50, 75])))
    elif treatment == "jpeg":
        rgb = compressed(rgb, "jpeg", int(rng.choice([60, 75, 90])))
    return rgb, [*art.colours, colour]


def hatched(draw) -> tuple[np.ndarray, list[tuple[int, int, int]]]:
    """Flat art one shape of which is hatched by fine lines, as wide as their gaps or not, without anti-aliasing or with."""
    rng = draw.rng
    art = counted(draw, int(rng.integers(3, 6)))
    while True:
        piece = 1 + int(rng.integers(0, len(art.colours) - 1))
        if (labels(art) == piece).mean() > 0.01:
            break
    step = float(rng.uniform(3, 7))
    art.defs = (
        f'<pattern id="fade" patternUnits="userSpaceOnUse" width="{step}" height="{step}" '
        f'patternTransform="rotate({rng.choice([0, 90, 45, float(rng.uniform(-60, 60))]):.1f})">'
        f'<rect width="100%" height="100%" fill="{art.fills[piece]}"/>'
        f'<rect width="{step * rng.uniform(0.35, 0.6)}" height="{step}" fill="{hexed(art.colours[0])}"/></pattern>'
    )
    art.defs += f'<mask id="piece"><g fill="#fff" color="#fff">{art.pieces[piece - 1]}</g></mask>'
    art.pieces[piece - 1] = '<rect width="100%" height="100%" fill="url(#fade)" mask="url(#piece)"/>'
    return render(art.svg(), art.width)[..., :3], art.colours
