"""Sheets of places: each stands in its own cell, and either has to be found or has to stay quiet."""

import math
from dataclasses import dataclass, field

import numpy as np

from boards.shapes import (
    affinity,
    bar,
    blob,
    curve,
    disc,
    letters,
    pieces,
    rectangle,
    ring,
    star,
    stem,
    swelling,
    unary_union,
    wedge,
)  # fmt: skip

Box = tuple[float, float, float, float]


@dataclass
class Place:
    """One cell: what is expected in it ((kind, width) each), or nothing."""

    box: Box
    note: str
    expected: tuple[tuple[str, float], ...] = ()


@dataclass
class Board:
    """Polygons by ink, and the places."""

    width: float
    height: float = 0.0
    apart: float = 1.7
    polygons: dict[int, list] = field(default_factory=dict)
    places: list[Place] = field(default_factory=list)
    _x: float = 3.0
    _y: float = 3.0
    _row: float = 0.0

    def put(self, shapes: object, note: str, *expected: tuple[str, float], ink: int = 0) -> None:
        """Lay shapes (of one ink, or a dict of them by ink) into the next free cell."""
        by_ink = shapes if isinstance(shapes, dict) else {ink: shapes}
        flat = {
            n: [p for s in (g if isinstance(g, list) else [g]) for p in pieces(s)] for n, g in by_ink.items()
        }
        x0, y0, x1, y1 = unary_union([p for g in flat.values() for p in g]).bounds
        if self._x + x1 - x0 > self.width - 2:
            self._x, self._y, self._row = 3.0, self._y + self._row + self.apart, 0.0
        dx, dy = self._x - x0, self._y - y0
        for n, group in flat.items():
            self.polygons.setdefault(n, []).extend(affinity.translate(p, dx, dy) for p in group)
        self.places.append(
            Place((x0 + dx - 0.1, y0 + dy - 0.1, x1 + dx + 0.1, y1 + dy + 0.1), note, expected)
        )
        self._x += x1 - x0 + self.apart
        self._row = max(self._row, y1 - y0)
        self.height = self._y + self._row + 3


def situations(limit: float = 0.25, seed: int = 2, turned: float = 0.0) -> Board:
    """Everything a sheet of artwork may hold, at one limit; `turned` degrees turns each place."""
    random = np.random.default_rng(seed)
    k = limit / 0.25
    board = Board(170.0, apart=1.7 * max(1.0, k))

    def put(shapes: object, note: str, *expected: tuple[str, float]) -> None:
        group = shapes if isinstance(shapes, list) else [shapes]
        jitter = turned + (random.uniform(-3, 3) if turned else 0.0)
        placed = [
            affinity.rotate(affinity.scale(s, k, k, origin=(0, 0)), jitter, origin=(0, 0)) for s in group
        ]
        board.put(placed, note, *((kind, width * k) for kind, width in expected))

    lim = 0.25
    widths = (
        np.round(random.uniform(0.05, 0.42, 12), 3)
        if seed != 2
        else (0.05, 0.08, 0.1, 0.15, 0.2, 0.22, 0.28, 0.3, 0.4)
    )
    for w in widths:
        w = float(w if abs(w - lim) > 0.012 else lim - 0.02)
        for angle in (0, 33, 45, 80) if seed == 2 else random.uniform(0, 180, 4):
            thin = w < lim
            a = float(angle)
            put(bar(0, 0, w, 3, a), f"bar {w} at {a:.0f}", *([("line", w)] if thin else []))
            put(bar(0, 0, w, 3.05 * w, a), f"bar 3:1 {w} at {a:.0f}", *([("line", w)] if thin else []))
            put(
                rectangle(-2, -2, 2, 2).difference(bar(0, 0, w, 2, a)),
                f"slot {w} at {a:.0f}",
                *([("gap", w)] if thin else []),
            )
            put(
                rectangle(-1.5, -1.5, 1.5, 1.5).difference(bar(0, 0, w, 3.05 * w, a)), f"slot 3:1 {w} at {a:.0f}",
                *([("gap", w)] if thin else []),
            )  # fmt: skip
    for w in (0.1, 0.2, 0.3):
        thin = w < lim
        put(ring(0, 0, 1.5, w), f"ring {w}", *([("line", w)] if thin else []))
        put([disc(0, 0, 1), ring(0, 0, 2 + w, 1)], f"ring gap {w}", *([("gap", w)] if thin else []))
        bridge = unary_union(
            [rectangle(-3, -1, -1, 1), rectangle(1, -1, 3, 1), rectangle(-1, -w / 2, 1, w / 2)]
        )
        put(bridge, f"bridge {w}", *([("line", w)] if thin else []))
        ribbon = curve(np.array([(0, 0), (3, -4), (3, 4), (7, 0)], float), w)
        put(ribbon, f"ribbon {w}", *([("line", w)] if thin else []))
    for points in (4, 5, 6, 8, 12, 16):
        for depth in (0.4, 0.6, 0.8):
            put(star(0, 0, 3, 3 * depth, points, random.uniform(0, 6)), f"star of {points}, {depth}")
    for degrees in (7, 8, 10, 15, 20, 30, 45, 60, 90, 120):
        length = min(4.0, 1.6 / math.tan(math.radians(degrees / 2))) if degrees > 20 else 5.0
        put(wedge(degrees, length, random.uniform(0, 360)), f"wedge {degrees}")
        cut = wedge(degrees, length)
        x0, y0, x1, y1 = cut.bounds
        put(rectangle(x0 - 1, y0 - 1, x1, y1 + 1).difference(cut), f"wedge cut out {degrees}")
    for name in ("DejaVuSans", "LiberationSans-Regular", "DejaVuSans-Bold"):
        for char in "AVWMNKXZijS4":
            put(letters(char, 5.5, name), f"{name} {char} 5.5")
    for char in "EITLHi":
        put(letters(char, 16, "LiberationSerif-Bold"), f"serif {char}")
    for name in ("DejaVuSans", "LiberationSans-Regular"):
        put(letters("l", 1.8, name), f"{name} l 1.8", ("line", stem(name) * 1.8))
    for least in (0.08, 0.15, 0.2):
        put(swelling(least, 0.6), f"swelling {least}", ("line", least))
    put([rectangle(i, j, i + 1, j + 1) for i in range(4) for j in range(4) if (i + j) % 2 == 0], "checker")
    put([bar(0, 0.5 * i, 0.2, 6) for i in range(9)], "field 0.2/0.3", ("line", 0.2))
    put([bar(0, 0.5 * i, 0.3, 6) for i in range(9)], "field 0.3/0.2", ("gap", 0.2))
    put([bar(0, 0.8 * i, 0.4, 6) for i in range(6)], "field 0.4/0.4")
    put([disc(0, 0, 2), disc(4, 0, 2)], "tangent discs")
    put(unary_union([disc(0, 0, 2), rectangle(-3, 2, 3, 3)]), "disc on a bar")
    put(disc(0, 0, 2).difference(disc(0.5, 0, 1.5)), "crescent")
    put(unary_union([disc(0, 0, 0.6), disc(1.18, 0, 0.6)]), "short neck 0.2")
    neck = unary_union([rectangle(0, 0, 2, 2), rectangle(2, 0.9, 2.15, 1.1), rectangle(2.15, 0, 4, 2)])
    put(neck, "neck 0.2 x 0.15", ("gap", 0.15))
    put([disc(0, 0, 2), disc(4.1, 0, 2)], "discs 0.1 apart", ("gap", 0.1))
    for d in (0.05, 0.1, 0.2):
        put(disc(0, 0, d / 2), f"speck {d}", ("speck", d))
        put(rectangle(0, 0, d, 2 * d), f"bar 2:1 {d}", ("speck", d))
        put(rectangle(-1, -1, 1, 1).difference(disc(0, 0, d / 2)), f"pinhole {d}", ("hole", d))
    for d in (0.3, 0.5):
        put(disc(0, 0, d / 2), f"dot {d}")
        put(rectangle(-1, -1, 1, 1).difference(disc(0, 0, d / 2)), f"hole {d}")
    put([rectangle(0, 0, 2, 2), rectangle(2, 0, 4, 2)], "seam")
    put(
        [
            affinity.rotate(rectangle(0, 0, 2, 2), 17, (2, 0)),
            affinity.rotate(rectangle(2, 0, 4, 2), 17, (2, 0)),
        ],
        "slanting seam",
    )
    put(blob(4, 4, 3, 2500, seed), "traced blob")
    return board
