"""A second sheet of places, of shapes the first has none of: zigzags, waves, combs, branches, gears, flames, lattices."""

import math

import numpy as np
from shapely.geometry import LineString, Polygon

from boards.shapes import affinity, bar, disc, letters, pieces, rectangle, ring, star, unary_union
from boards.sheets import Board

#: The limit everything is drawn for, mm; other limits scale the whole.
LIMIT = 0.25


def stroke(points: object, width: float, join: str = "round", cap: str = "flat") -> Polygon:
    """A pen of even width along a line."""
    return LineString(points).buffer(width / 2, cap_style=cap, join_style=join, mitre_limit=10, quad_segs=32)


def wave(length: float, height: float, period: float, steps: int = 600) -> np.ndarray:
    """Points of a sine."""
    x = np.linspace(0, length, steps)
    return np.c_[x, height * np.sin(2 * math.pi * x / period)]


def zigzag(teeth: int, step: float, height: float) -> list[tuple[float, float]]:
    """Points of a zigzag."""
    return [(k * step, height * (k % 2)) for k in range(teeth + 1)]


def spiral(turns: float, pitch: float, start: float = 0.6) -> np.ndarray:
    """Points of a spiral that grows evenly."""
    t = np.linspace(0, 2 * math.pi * turns, int(200 * turns))
    r = start + pitch * t / (2 * math.pi)
    return np.c_[r * np.cos(t), r * np.sin(t)]


def arc(radius: float, width: float, degrees: float) -> Polygon:
    """A piece of a ring, its ends square."""
    t = np.linspace(0, math.radians(degrees), 200)
    return stroke(np.c_[radius * np.cos(t), radius * np.sin(t)], width)


def gear(teeth: int, radius: float, tooth: float) -> Polygon:
    """A wheel of teeth as wide as their gaps, slightly tapered."""
    t = np.arange(teeth) * 2 * math.pi / teeth
    step = 2 * math.pi / teeth
    angles = (t[:, None] + step * np.array([-0.27, -0.22, 0.22, 0.27])).ravel()
    r = np.tile([radius, radius + tooth, radius + tooth, radius], teeth)
    return Polygon(np.c_[r * np.cos(angles), r * np.sin(angles)])


def cloud(bumps: int, radius: float) -> Polygon:
    """Discs round a disc: sharp notches where two meet."""
    t = np.arange(bumps) * 2 * math.pi / bumps
    around = [disc(radius * math.cos(a), radius * math.sin(a), 1.3 * math.pi * radius / bumps) for a in t]
    return unary_union([disc(0, 0, radius), *around])


def leaf(length: float, breadth: float) -> Polygon:
    """Two arcs that meet in two tips."""
    radius = (length**2 / 4 + breadth**2 / 4) / breadth
    return disc(0, radius - breadth / 2, radius, 1e-5).intersection(
        disc(0, breadth / 2 - radius, radius, 1e-5)
    )


def drop(radius: float, length: float) -> Polygon:
    """A disc drawn out into a tip."""
    return unary_union([disc(0, 0, radius), Polygon([(length, 0), *_tangents(radius, length)])])


def _tangents(radius: float, length: float) -> list[tuple[float, float]]:
    a = math.acos(radius / length)
    return [(radius * math.cos(a), s * radius * math.sin(a)) for s in (1, -1)]


def ornaments(limit: float = LIMIT, seed: int = 1, turned: float = 0.0) -> Board:
    """All of them at one limit, each turned by `turned` degrees and a little more."""
    random = np.random.default_rng(seed)
    k = limit / LIMIT
    board = Board(150.0 * max(1.0, k), apart=2.2 * max(1.0, k))

    def put(shapes: object, note: str, *expected: tuple[str, float]) -> None:
        group = shapes if isinstance(shapes, list) else [shapes]
        turn = turned + random.uniform(-4, 4)
        placed = [affinity.rotate(affinity.scale(s, k, k, origin=(0, 0)), turn, origin=(0, 0)) for s in group]
        board.put(placed, note, *((kind, width * k) for kind, width in expected))

    def both(shape: Polygon, note: str, width: float) -> None:
        """The shape, and the same cut out of a solid."""
        thin = width < LIMIT
        put(shape, note, *([("line", width)] if thin else []))
        x0, y0, x1, y1 = shape.bounds
        solid = rectangle(x0 - 1.5, y0 - 1.5, x1 + 1.5, y1 + 1.5)
        put(solid.difference(shape), f"{note}, cut out", *([("gap", width)] if thin else []))

    for w in np.round([*random.uniform(0.06, 0.235, 2), random.uniform(0.27, 0.4)], 3).tolist():
        both(stroke(zigzag(7, 1.1, 1.5), w, "mitre"), f"zigzag {w}", w)
        both(stroke(zigzag(6, 1.6, 1.0), w), f"round zigzag {w}", w)
        both(stroke(wave(7, 0.8, 2.2), w), f"wave {w}", w)
        both(stroke(wave(6, 1.2, 3.0), w, cap="round"), f"wave with round ends {w}", w)
        both(arc(random.uniform(0.8, 4), w, random.uniform(60, 300)), f"arc {w}", w)
        both(affinity.scale(disc(0, 0, 1), 2.4, 1.4).exterior.buffer(w / 2), f"ellipse {w}", w)
        both(rectangle(0, 0, 4, 2.6).buffer(0.5).exterior.buffer(w / 2), f"round frame {w}", w)
        both(stroke(spiral(2.2, 1.3), w), f"spiral {w}", w)
        both(unary_union([bar(0, 0, w, 4), bar(0, 0, w, 4, 90)]), f"plus {w}", w)
        both(unary_union([bar(0, 0, w, 4, a) for a in (0, 60, 120)]), f"asterisk {w}", w)
        both(unary_union([bar(0, 0, 0.7, 4), bar(0.6, 1.5, w, 3, 90)]), f"branch {w}", w)
        thin = [("line", w)] if w < LIMIT else []
        narrow = [("gap", w)] if w < LIMIT else []
        put(unary_union([disc(0, 0, 1.2), bar(1.15 + 2.5 * w, 0, w, 5 * w)]), f"hair on a disc {w}", *thin)
        comb = unary_union(
            [rectangle(0, 0, 6, 1), *(rectangle(0.3 + n, 0.9, 0.3 + n + w, 2.5) for n in range(6))]
        )
        put(comb, f"comb {w}", *thin)
        teeth = [rectangle(n * (0.6 + w), 0.9, n * (0.6 + w) + 0.6, 2.5) for n in range(6)]
        put(
            unary_union([rectangle(0, 0, 5 * (0.6 + w) + 0.6, 1), *teeth]),
            f"comb with narrow gaps {w}",
            *narrow,
        )
        put(ring(0, 0, 1.8, 0.7).difference(bar(1.5, 0, w, 2, 0)), f"slit ring {w}", *narrow)
        put([disc(0, 0, 1.2), ring(0, 0, 1.2 + w + 0.5, 0.5)], f"target {w}", *narrow)
        lattice = [bar(0, n * 0.9, w, 5, 90 * t) for n in (-2, -1, 0, 1, 2) for t in (0,)]
        lattice += [affinity.rotate(one, 90, origin=(0, 0)) for one in lattice]
        both(unary_union(lattice), f"lattice {w}", w)
        chevrons = [stroke([(0, n), (1.0, n + 0.8), (2, n)], w, "mitre") for n in range(3)]
        put(chevrons, f"chevrons {w}", *thin)
    for d in np.round([*random.uniform(0.06, 0.23, 3), 0.3, 0.42], 3).tolist():
        ellipse = affinity.rotate(affinity.scale(disc(0, 0, d / 2), 1.6, 1), random.uniform(0, 180))
        even = d * math.sqrt(1.6)
        short = min(d, even)
        small = [("speck", short)] if short < LIMIT else []
        put(ellipse, f"oval {d}", *small)
        put(bar(0, 0, d, 1.4 * d, random.uniform(0, 90)), f"bar 1.4:1 {d}", *small)
        pentagon = star(0, 0, d / 2, d / 2 * math.cos(math.pi / 5), 5, 0.3)
        across = 2 * math.sqrt(pentagon.area / math.pi)
        put(pentagon, f"pentagon {d}", *([("speck", across)] if across < LIMIT else []))
        solid = rectangle(-1.5, -1.5, 1.5, 1.5)
        put(solid.difference(ellipse), f"oval hole {d}", *([("hole", short)] if small else []))
    for teeth in (9, 14, 20):
        put(gear(teeth, 2.4, 0.6), f"gear of {teeth}")
    for bumps in (5, 8, 12):
        put(cloud(bumps, 2), f"cloud of {bumps}")
        put(rectangle(-4, -4, 4, 4).difference(cloud(bumps, 2)), f"cloud of {bumps}, cut out")
    for length, breadth in ((4, 1.2), (4, 2), (6, 1.5), (3, 1)):
        put(leaf(length, breadth), f"leaf {length} x {breadth}")
        put(rectangle(-4, -2, 4, 2).difference(leaf(length, breadth)), f"leaf {length} x {breadth}, cut out")
    for length in (2.0, 3.0, 5.0):
        put(drop(0.9, length), f"drop {length}")
    for points, inner in ((24, 0.8), (36, 0.85), (7, 0.5)):
        put(star(0, 0, 3, 3 * inner, points, random.uniform(0, 6)), f"burst of {points}")
    arrow = Polygon([(0, -0.3), (3, -0.3), (3, -1), (5, 0), (3, 1), (3, 0.3), (0, 0.3)])
    put(arrow, "arrow")
    bolt = Polygon([(0, 0), (1.6, -3), (1.1, -1.3), (2.3, -1.3), (0.3, 2), (0.9, 0)])
    put(bolt, "bolt")
    heart = unary_union(
        [disc(-0.9, 0, 1), disc(0.9, 0, 1), Polygon([(-1.75, 0.5), (0, -0.2), (1.75, 0.5), (0, 2.8)])]
    )
    put(heart, "heart")
    moon = disc(0, 0, 2).difference(disc(0.9, 0.3, 1.7))
    put(moon, "moon")
    put([disc(0, 0, 0.3), *(disc(n, 0, 0.3) for n in (1, 2, 3))], "row of dots")
    put([ring(0, 0, r, 0.4) for r in (0.9, 1.8, 2.7)], "rings 0.4/0.5")
    cells = [(0.8 * x, 0.8 * y) for x in range(5) for y in range(4)]
    put([rectangle(x, y, x + 0.4, y + 0.4) for x, y in cells], "chequered 0.4/0.4")
    weave = [bar(0, n * 0.8, 0.4, 5) for n in range(-2, 3)]
    put(unary_union([*weave, *(affinity.rotate(one, 90, origin=(0, 0)) for one in weave)]), "lattice 0.4/0.4")
    for text in ("kite", "Flo", "S8&"):
        put(
            [p for s in letters(text, 7, "DejaVuSans-Bold", tracking=0.3) for p in pieces(s)], f"heavy {text}"
        )
    return board
