"""Ornaments, flags, frames and faces without a letter, for the labelled set: what is most easily taken for writing.

Each function draws into a box (x, y, w, h in mm of the page, y down) and returns painted objects.
"""

import math

import numpy as np

from lettering_plain import Item, _star, ellipse, joined, polygon, polyline, rectangle


def _curve(points, steps=12):
    """A smooth line through points (Catmull and Rom's spline)."""
    p = np.array([points[0], *points, points[-1]], float)
    t = np.linspace(0, 1, steps, endpoint=False)[:, None]
    parts = []
    for a, b, c, d in zip(p, p[1:], p[2:], p[3:], strict=False):
        parts.append(
            0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3)
        )
    return np.vstack([*parts, p[-1:]])


def _arc(cx, cy, r, first, last, steps=24):
    a = np.linspace(first, last, steps)
    return np.stack([cx + r * np.cos(a), cy + r * np.sin(a)], 1)


def _motif(rng, kind, cx, cy, r, turn=0.0):
    """One small closed shape."""
    if kind == "star":
        return _star(cx, cy, r, rng.choice([4, 5, 6]))
    if kind == "drop":
        a = np.linspace(0, 2 * math.pi, 24)
        pts = np.stack([0.55 * np.sin(a) * np.sin(a / 2), -np.cos(a)], 1)
    elif kind == "leaf":
        return ellipse(cx, cy, r, r * 0.4, turn)
    elif kind == "diamond":
        pts = np.array([(0, -1), (0.6, 0), (0, 1), (-0.6, 0)])
    elif kind == "triangle":
        pts = np.array([(0, 1), (0.9, -0.8), (-0.9, -0.8)])
    elif kind == "heart":
        a = np.linspace(0, 2 * math.pi, 28)
        pts = np.stack(
            [np.sin(a) ** 3, -(0.81 * np.cos(a) - 0.31 * np.cos(2 * a) - 0.125 * np.cos(3 * a))], 1
        )
    elif kind == "cross":
        pts = np.array([(-.3, -1), (.3, -1), (.3, -.3), (1, -.3), (1, .3), (.3, .3), (.3, 1), (-.3, 1), (-.3, .3),
                        (-1, .3), (-1, -.3), (-.3, -.3)])  # fmt: skip
    elif kind == "crescent":
        pts = np.vstack([_arc(0, 0, 1, 0.6, 2 * math.pi - 0.6), _arc(0.45, 0, 0.8, 2 * math.pi - 0.75, 0.75)])
    elif kind == "hook":
        pts = np.vstack([_arc(0, 0, 1, math.pi, 2 * math.pi), _arc(0.1, 0, 0.6, 2 * math.pi, math.pi)])
    elif kind == "fish":
        pts = np.vstack(
            [_curve([(-0.5, 0), (0.1, -0.5), (1, 0), (0.1, 0.5), (-0.5, 0)]), [(-1, 0.5), (-1, -0.5)]]
        )
    elif kind == "bow":
        pts = np.array([(-1, -.6), (0, 0), (1, -.6), (1, .6), (0, 0), (-1, .6)])  # fmt: skip
    elif kind == "picket":
        pts = np.array([(-.3, 1), (-.3, -.7), (0, -1), (.3, -.7), (.3, 1)])  # fmt: skip
    elif kind == "house":
        pts = np.array([(-.7, 1), (-.7, -.2), (0, -1), (.7, -.2), (.7, 1)])  # fmt: skip
    elif kind == "bar":
        return rectangle(cx - r * 0.25, cy - r, cx + r * 0.25, cy + r)
    else:  # a disc
        return ellipse(cx, cy, r * 0.7, r * 0.7)
    c, s = math.cos(turn), math.sin(turn)
    return polygon(pts * r @ np.array([[c, s], [-s, c]]) + (cx, cy))


MOTIFS = "star drop leaf diamond triangle heart cross crescent hook fish bow picket house bar disc".split()


def waves(rng, x, y, w, h, colour):
    """Lines of waves: even, breaking, of arcs, or as a ribbon."""
    items, rows = [], rng.choice([1, 1, 2, 3, 4])
    pitch = rng.uniform(2.5, 12)
    tall, pen = pitch * rng.uniform(0.12, 0.45), rng.uniform(0.3, 1.4)
    kind = rng.choice(["sine", "sine", "breaking", "arcs", "zigzag", "uneven"])
    for row in range(rows):
        level = y + h * (row + 1) / (rows + 1)
        t = np.arange(0, w, pitch / 24)
        phase = 2 * math.pi * t / pitch
        along, up = t, tall * np.sin(phase)
        if kind == "breaking":
            along, up = t + 0.32 * pitch * np.sin(phase), tall * np.cos(phase)
        elif kind == "arcs":
            up = -tall * np.abs(np.sin(phase / 2)) * 1.6
        elif kind == "zigzag":
            up = tall * (2 * np.abs(2 * (t / pitch % 1) - 1) - 1)
        elif kind == "uneven":
            up = tall * np.sin(phase) * (0.5 + 0.5 * np.sin(t / w * 3 + row)) + 0.3 * tall * np.sin(
                1.7 * phase
            )
        line = np.stack([x + along, level + up], 1)
        if rng.random() < 0.25:
            items.append(
                Item(polygon(np.vstack([line, line[::-1] + (0, rng.uniform(0.6, 1.5) * pen + tall)])), colour)
            )
        else:
            items.append(Item(polyline(line), colour, pen))
    return items


def bunting(rng, x, y, w, h, colour):
    """Pennants on a sagging string."""
    n = rng.randint(4, 14)
    sag, size = rng.uniform(0, 0.35) * h, w / n * rng.uniform(0.6, 1.0)
    t = np.linspace(0, 1, 40)
    string = np.stack([x + w * t, y + sag * 4 * t * (1 - t)], 1)
    items = [Item(polyline(string), colour, rng.uniform(0.25, 0.7))] if rng.random() < 0.8 else []
    form = rng.choice(["pennant", "square", "swallow", "pennant"])
    for i in range(n):
        u = (i + 0.5) / n
        cx, top = x + w * u, y + sag * 4 * u * (1 - u)
        tilt, deep = math.atan(sag * 4 * (1 - 2 * u) / w), size * rng.choice([0.9, 1.2])
        if form == "pennant":
            pts = [(-size / 2, 0), (size / 2, 0), (0, deep)]
        elif form == "square":
            pts = [(-size / 2, 0), (size / 2, 0), (size / 2, deep), (-size / 2, deep)]
        else:
            pts = [(-size / 2, 0), (size / 2, 0), (size / 2, deep), (0, deep * 0.7), (-size / 2, deep)]
        c, s = math.cos(tilt), math.sin(tilt)
        items.append(Item(polygon(np.array(pts) @ np.array([[c, s], [-s, c]]) + (cx, top)), colour))
    return items


def kite(rng, x, y, w, h, colour):
    """A kite with spars and a tail of bows."""
    s = min(w, h) * rng.uniform(0.3, 0.5)
    cx, cy = x + s * 0.7, y + s
    body = np.array([(0, -1), (0.65, -0.15), (0, 1), (-0.65, -0.15)]) * s + (cx, cy)
    filled = rng.random() < 0.6
    items = [Item(polygon(body), colour, None if filled else 0.6)]
    if not filled:
        items += [Item(polyline(body[[0, 2]]), colour, 0.5), Item(polyline(body[[1, 3]]), colour, 0.5)]
    n = rng.randint(3, 8)
    xs = np.linspace(cx, x + w - 2, n + 2)
    tail = [
        (px, cy + s + (h - 2 * s) * 0.5 * (1 - math.cos(i * 1.3)) * rng.uniform(0.4, 1))
        for i, px in enumerate(xs)
    ]
    line = _curve([(cx, cy + s), *tail[1:]])
    items.append(Item(polyline(line), colour, 0.5))
    kind = rng.choice(["bow", "bow", "diamond", "disc"])
    for px, py in tail[1:]:
        items.append(Item(_motif(rng, kind, px, py, max(1.0, s * 0.16), rng.uniform(-1, 1)), colour))
    return items


def modules(rng, x, y, w, h, colour):
    """Square modules at random with three corner squares, like a matrix code."""
    n = rng.choice([17, 21, 25])
    m = min(w, h) / n
    cells = np.array([[rng.random() < 0.5 for _ in range(n)] for _ in range(n)])
    for r0, c0 in ((0, 0), (0, n - 7), (n - 7, 0)):
        r1, c1 = max(0, r0 - 1), max(0, c0 - 1)
        cells[r1 : r0 + 8, c1 : c0 + 8] = False
        cells[r0 : r0 + 7, c0 : c0 + 7] = True
        cells[r0 + 1 : r0 + 6, c0 + 1 : c0 + 6] = False
        cells[r0 + 2 : r0 + 5, c0 + 2 : c0 + 5] = True
    round_ = rng.random() < 0.2
    boxes = []
    for r, c in zip(*np.nonzero(cells), strict=True):
        if round_:
            boxes.append(ellipse(x + (c + 0.5) * m, y + (r + 0.5) * m, 0.45 * m, 0.45 * m))
        else:
            boxes.append(rectangle(x + c * m, y + r * m, x + (c + 1) * m, y + (r + 1) * m))
    return [Item(joined(boxes), colour)] if rng.random() < 0.5 else [Item(b, colour) for b in boxes]


def ticks(rng, x, y, w, h, colour):
    """Marks round a dial or along a scale."""
    items, n = [], rng.choice([12, 24, 36, 60])
    if rng.random() < 0.6:
        r, cx, cy = min(w, h) / 2, x + w / 2, y + h / 2
        if rng.random() < 0.5:
            items.append(Item(ellipse(cx, cy, r, r), colour, 0.5))
        for i in range(n):
            a = 2 * math.pi * i / n
            inner = r * (0.8 if i % (n // 4) == 0 else 0.9)
            pts = np.array([(inner, 0), (r * 0.97, 0)]) @ np.array(
                [[math.cos(a), math.sin(a)], [-math.sin(a), math.cos(a)]]
            )
            items.append(Item(polyline(pts + (cx, cy)), colour, rng.choice([0.4, 0.6])))
        a = rng.uniform(0, 6)
        items.append(
            Item(polyline([(cx, cy), (cx + r * 0.6 * math.cos(a), cy + r * 0.6 * math.sin(a))]), colour, 0.8)
        )
        items.append(Item(ellipse(cx, cy, r * 0.08, r * 0.08), colour))
    else:
        for i in range(n):
            px = x + w * i / n
            items.append(Item(polyline([(px, y), (px, y + (4 if i % 5 else 7))]), colour, 0.4))
    return items


def scallops(rng, x, y, w, h, colour):
    """A scalloped edge, or rows of scales."""
    n = rng.randint(6, 18)
    r = w / n / 2
    items = []
    for row in range(rng.choice([1, 1, 3, 4])):
        for i in range(n):
            cx, cy = x + r * (2 * i + 1 + row % 2), y + 2 * r + row * r
            arc = _arc(cx, cy, r * 0.94, 0, math.pi)
            items.append(
                Item(polyline(arc), colour, rng.choice([0.4, 0.6]))
                if row
                else Item(polygon(arc), colour, None)
            )
    return items


def meander(rng, x, y, w, h, colour):
    """A key pattern, or battlements."""
    p = rng.uniform(3, 8)
    u = p / 5
    kind = rng.choice(["key", "wall", "spiral"])
    unit = {
        "key": [(0, 4), (0, 0), (4, 0), (4, 3), (2, 3), (2, 2), (3, 2), (3, 1), (1, 1), (1, 4)],
        "wall": [(0, 3), (0, 0), (2.5, 0), (2.5, 3)],
        "spiral": [(0, 4), (0, 0), (4, 0), (4, 4), (2, 4), (2, 2)],
    }[kind]
    step = {"key": 5, "wall": 5, "spiral": 6}[kind] * u
    n = max(2, int(w / step))
    if kind == "spiral" or rng.random() < 0.25:
        return [Item(polyline(np.array(unit) * u + (x + i * step, y)), colour, u * 0.6) for i in range(n)]
    return [
        Item(polyline(np.vstack([np.array(unit) * u + (x + i * step, y) for i in range(n)])), colour, u * 0.6)
    ]


def border(rng, x, y, w, h, colour):
    """Motifs repeated round a frame."""
    kind, p = rng.choice(MOTIFS), rng.uniform(2.5, 7)
    second = rng.choice(MOTIFS) if rng.random() < 0.4 else kind
    n, m = max(3, int(w / p)), max(3, int(h / p))
    spots = [(x + w * (i + 0.5) / n, y, 0.0) for i in range(n)] + [
        (x + w * (i + 0.5) / n, y + h, math.pi) for i in range(n)
    ]
    if rng.random() < 0.6:
        spots += [(x, y + h * (i + 0.5) / m, -math.pi / 2) for i in range(m)]
        spots += [(x + w, y + h * (i + 0.5) / m, math.pi / 2) for i in range(m)]
    turned = rng.random() < 0.6
    return [
        Item(_motif(rng, second if i % 2 else kind, cx, cy, p * 0.36, a if turned else 0), colour)
        for i, (cx, cy, a) in enumerate(spots)
    ]


def row(rng, x, y, w, h, colour):
    """A row of like or mixed motifs, straight or on an arc."""
    n = rng.randint(2, 10)
    r = min(w / n / 2, h / 2) * rng.uniform(0.5, 0.95)
    kinds = [rng.choice(MOTIFS)] * n if rng.random() < 0.5 else [rng.choice(MOTIFS) for _ in range(n)]
    bend = rng.choice([0, 0, w * rng.uniform(0.6, 1.5)])
    items = []
    for i, kind in enumerate(kinds):
        u = (i + 0.5) / n - 0.5
        cx, cy, a = x + w / 2 + u * w, y + h / 2, 0.0
        if bend:
            a = u * w / bend
            cx, cy = x + w / 2 + bend * math.sin(a), y + r + bend * (1 - math.cos(a))
        items.append(Item(_motif(rng, kind, cx, cy, r, a + rng.choice([0, 0, 0.3, -0.3])), colour))
    return items


def face(rng, x, y, w, h, colour):
    """The face of an animal or a person, of discs and arcs, drawn or left open in a disc."""
    r = min(w, h) * 0.42
    cx, cy = x + w / 2, y + h / 2
    solid = rng.random() < 0.4
    ink = "#ffffff" if solid else colour
    items = [
        Item(ellipse(cx, cy, r, r * rng.uniform(0.85, 1.1)), colour, None if solid else rng.uniform(0.5, 1.4))
    ]
    pen = r * rng.uniform(0.04, 0.1)
    for side in (-1, 1):
        if rng.random() < 0.6:
            ear = np.array([(-0.35, 0), (0.35, 0), (0.15 * side, -0.6)]) * r + (
                cx + side * 0.6 * r,
                cy - 0.75 * r,
            )
            items.append(Item(polygon(ear), colour, None if solid else pen))
        ex, ey = cx + side * 0.35 * r, cy - 0.15 * r
        eye = rng.choice(["disc", "ring", "arc"])
        if eye == "arc":
            items.append(Item(polyline(_arc(ex, ey, r * 0.15, math.pi, 2 * math.pi)), ink, pen))
        else:
            items.append(Item(ellipse(ex, ey, r * 0.12, r * 0.14), ink, pen if eye == "ring" else None))
        if rng.random() < 0.4:
            items += [
                Item(
                    polyline(
                        np.array([(0.3 * side, 0.25 + 0.08 * k), (1.1 * side, 0.15 + 0.15 * k)]) * r
                        + (cx, cy)
                    ),
                    ink,
                    pen * 0.6,
                )
                for k in range(3)
            ]
        if rng.random() < 0.3:
            items.append(Item(polyline(_arc(ex, ey, r * 0.24, 1.2 * math.pi, 1.8 * math.pi)), ink, pen))
    items.append(
        Item(_motif(rng, rng.choice(["triangle", "disc", "heart"]), cx, cy + 0.12 * r, r * 0.12), ink)
    )
    if rng.random() < 0.5:
        items.append(Item(polyline(_arc(cx, cy + 0.2 * r, r * 0.35, 0.2, math.pi - 0.2)), ink, pen))
    else:
        items += [
            Item(polyline(_arc(cx + s * 0.16 * r, cy + 0.28 * r, r * 0.16, 0, math.pi)), ink, pen)
            for s in (-1, 1)
        ]
    return items


def swirls(rng, x, y, w, h, colour):
    """Flourishes: smooth curls, spirals and loops that are no writing."""
    items = []
    for _ in range(rng.randint(1, 4)):
        pen = rng.uniform(0.4, 1.5)
        cx, cy, r = x + w * rng.random(), y + h * rng.random(), min(w, h) * rng.uniform(0.12, 0.4)
        kind = rng.choice(["spiral", "curl", "loops", "scroll"])
        if kind == "spiral":
            t = np.linspace(0.3, rng.uniform(2, 5) * math.pi, 90)
            k = r / t[-1]
            items.append(
                Item(polyline(np.stack([cx + k * t * np.cos(t), cy + k * t * np.sin(t)], 1)), colour, pen)
            )
        elif kind == "curl":
            n = rng.randint(4, 7)
            pts = [(x + w * i / n, cy + rng.uniform(-0.5, 0.5) * r * 2) for i in range(n)]
            items.append(Item(polyline(_curve(pts)), colour, pen))
        elif kind == "loops":
            t = np.linspace(0, rng.randint(2, 6) * 2 * math.pi, 160)
            lines = np.stack([cx + r * 0.25 * t + r * 0.6 * np.sin(t), cy + r * 0.6 * np.cos(t)], 1)
            items.append(Item(polyline(lines), colour, pen))
        else:
            for s in (-1, 1):
                t = np.linspace(0, 1.6 * math.pi, 40)
                k = r * (1 - 0.5 * t / t[-1])
                items.append(
                    Item(
                        polyline(np.stack([cx + s * (r + k * np.cos(t)), cy + k * np.sin(t)], 1)), colour, pen
                    )
                )
    return items


def grass(rng, x, y, w, h, colour):
    """Tufts of blades, reeds."""
    items = []
    for _ in range(rng.randint(1, 5)):
        cx, tall = x + w * rng.random(), h * rng.uniform(0.3, 0.9)
        for _ in range(rng.randint(3, 7)):
            lean, wide = rng.uniform(-0.5, 0.5) * tall, tall * rng.uniform(0.03, 0.08)
            top = (cx + lean, y + h - tall * rng.uniform(0.6, 1))
            left = _curve([(cx - wide, y + h), (cx - wide + lean * 0.3, y + h - tall * 0.5), top])
            right = _curve([top, (cx + wide + lean * 0.3, y + h - tall * 0.5), (cx + wide, y + h)])
            items.append(Item(polygon(np.vstack([left, right])), colour))
    return items


def reeds(rng, x, y, w, h, colour):
    """Stalks with leaves and heavy heads, standing apart or growing together."""
    items, n, thick = [], rng.randint(2, 6), h * rng.uniform(0.015, 0.04)
    pitch = rng.uniform(0.25, 0.6) * h / n
    for i in range(n):
        cx, tall = x + w / 2 + (i - n / 2) * pitch, h * rng.uniform(0.55, 1)
        lean, foot = rng.uniform(-0.12, 0.12) * tall, y + h
        stalk = _curve([(cx, foot), (cx + 0.3 * lean, foot - 0.5 * tall), (cx + lean, foot - tall)])
        items.append(Item(polyline(stalk), colour, thick))
        if rng.random() < 0.8:
            head = ellipse(cx + 0.9 * lean, foot - 0.86 * tall, thick * rng.uniform(1, 2), tall * 0.1)
            items.append(Item(head, colour))
        for _ in range(rng.randint(0, 3)):
            side, up = rng.choice([-1, 1]), foot - tall * rng.uniform(0, 0.5)
            reach, deep = side * tall * rng.uniform(0.1, 0.35), tall * rng.uniform(0.1, 0.4)
            tip = (cx + reach, up - deep)
            over = _curve([(cx, up), (cx + 0.4 * reach, up - 0.8 * deep), tip])
            under = _curve([tip, (cx + 0.5 * reach, up - 0.5 * deep), (cx, up + thick)])
            items.append(Item(polygon(np.vstack([over, under])), colour))
    return items


def wader(rng, x, y, w, h, colour):
    """A wading bird with a long bill, in one piece or legs and ground apart."""
    side, k = rng.choice([-1, 1]), min(w, h)

    def at(points):
        return [(x + w / 2 + side * a * k, y + h / 2 + b * k) for a, b in points]

    thick, bill = k * rng.uniform(0.015, 0.03), rng.uniform(0.2, 0.35)
    body = _curve(at([(-0.35, 0.02), (-0.1, -0.14), (0.15, -0.1), (0.12, 0.1), (-0.1, 0.12), (-0.35, 0.02)]))
    neck = _curve(at([(0.08, 0.02), (0.2, -0.12), (0.19, -0.28), (0.26, -0.33)]))
    beak = _curve(at([(0.24, -0.36), (0.26 + 0.6 * bill, -0.3), (0.26 + bill, -0.12), (0.24, -0.3)]))
    items = [Item(polygon(body), colour), Item(polyline(neck), colour, k * 0.08), Item(polygon(beak), colour)]
    for leg in (-0.04, 0.04):
        items.append(Item(polyline(np.array(at([(leg, 0.08), (leg + 0.02, 0.4)]))), colour, thick))
    if rng.random() < 0.5:
        items.append(Item(polyline(np.array(at([(-0.3, 0.4), (0.3, 0.4)]))), colour, thick))
    if rng.random() < 0.5:
        wing = _curve(at([(-0.25, 0.0), (-0.05, -0.06), (0.1, 0.0), (-0.05, 0.05), (-0.25, 0.0)]))
        items.append(Item(polygon(wing), "#ffffff"))
    return items


def birds(rng, x, y, w, h, colour):
    """Gulls of two arcs, in a flock or a row."""
    items, n, in_row = [], rng.randint(2, 9), rng.random() < 0.4
    for i in range(n):
        s = rng.uniform(1.5, 5)
        cx, cy = (
            (x + w * (i + 0.5) / n, y + h / 2) if in_row else (x + w * rng.random(), y + h * rng.random())
        )
        wing = _curve([(cx - s, cy - 0.2 * s), (cx - 0.5 * s, cy - 0.5 * s), (cx, cy)])
        other = _curve([(cx, cy), (cx + 0.5 * s, cy - 0.5 * s), (cx + s, cy - 0.2 * s)])
        items.append(Item(polyline(np.vstack([wing, other])), colour, s * rng.uniform(0.12, 0.25)))
    return items


def rays(rng, x, y, w, h, colour):
    """A sun, a wheel or a star of rays."""
    r, cx, cy, n = min(w, h) / 2, x + w / 2, y + h / 2, rng.choice([8, 12, 16, 20])
    half = rng.random() < 0.4
    items = []
    for i in range(n):
        a = (math.pi if half else 2 * math.pi) * (i + 0.5) / n + math.pi
        ray = np.array([(0.6, -0.05), (1.0, -0.02), (1.0, 0.02), (0.6, 0.05)])
        if rng.random() < 0.5:
            ray = np.array([(0.55, -0.09), (1.0, 0), (0.55, 0.09)])
        c, s = math.cos(a), math.sin(a)
        items.append(Item(polygon(ray * r @ np.array([[c, s], [-s, c]]) + (cx, cy)), colour))
    items.append(Item(polygon(_arc(cx, cy, r * 0.45, math.pi, 2 * math.pi if half else 3 * math.pi)), colour))
    return items


def ridge(rng, x, y, w, h, colour):
    """Mountains, dunes, roofs: a broken or smooth line over a base."""
    n = rng.randint(3, 9)
    pts = [(x + w * i / n, y + h * (0.3 + 0.6 * rng.random())) for i in range(n + 1)]
    line = _curve(pts) if rng.random() < 0.5 else np.array(pts)
    if rng.random() < 0.5:
        return [Item(polyline(line), colour, rng.uniform(0.5, 1.5))]
    return [Item(polygon(np.vstack([line, [(x + w, y + h), (x, y + h)]])), colour)]


def chain(rng, x, y, w, h, colour):
    """Links, a rope, a braid."""
    n = rng.randint(5, 16)
    p = w / n
    kind = rng.choice(["links", "rope", "braid"])
    items = []
    for i in range(n):
        cx, cy = x + (i + 0.5) * p, y + h / 2
        if kind == "links":
            items.append(Item(ellipse(cx, cy, p * 0.62, p * 0.35), colour, p * 0.12))
        elif kind == "rope":
            pts = _curve(
                [
                    (cx - 0.5 * p, cy + 0.4 * p),
                    (cx - 0.1 * p, cy + 0.1 * p),
                    (cx + 0.1 * p, cy - 0.1 * p),
                    (cx + 0.5 * p, cy - 0.4 * p),
                ]
            )
            items.append(Item(polyline(pts), colour, p * 0.22))
        else:
            for s in (-1, 1):
                pts = _curve([(cx - 0.5 * p, cy + s * 0.35 * p), (cx, cy), (cx + 0.5 * p, cy - s * 0.35 * p)])
                items.append(Item(polyline(pts), colour, p * 0.14))
    return items


def brush(rng, x, y, w, h, colour):
    """A dry brush stroke with splashes."""
    items = []
    for _ in range(rng.randint(4, 14)):
        cy, left, long = y + h * rng.random(), x + w * 0.3 * rng.random(), w * rng.uniform(0.2, 0.7)
        thick = rng.uniform(0.2, 1.6)
        n = 9
        top = [(left + long * i / n, cy - thick * rng.random()) for i in range(n)]
        low = [(left + long * i / n, cy + thick * rng.random()) for i in reversed(range(n))]
        items.append(Item(polygon(top + low), colour))
    for _ in range(rng.randint(0, 25)):
        r = math.exp(rng.uniform(-1.6, 0.5))
        items.append(
            Item(ellipse(x + w * rng.random(), y + h * rng.random(), r, r * rng.uniform(0.5, 1)), colour)
        )
    return items


def laurel(rng, x, y, w, h, colour):
    """A wreath of leaves."""
    r, cx, cy, n = min(w, h) * 0.42, x + w / 2, y + h / 2, rng.randint(6, 12)
    items = []
    for side in (-1, 1):
        for i in range(n):
            a = math.pi / 2 + side * (0.25 + 2.3 * i / n)
            turn = a + math.pi / 2 + side * 0.5
            items += [
                Item(_motif(rng, "leaf", cx + k * math.cos(a), cy + k * math.sin(a), r * 0.17, turn), colour)
                for k in ((r * 0.9, r * 1.1) if rng.random() < 0.5 else (r,))
            ]
    return items


def dashes(rng, x, y, w, h, colour):
    """Broken lines, a stitched ring, an arrow of dashes."""
    items = []
    if rng.random() < 0.5:
        r, cx, cy, n = min(w, h) / 2, x + w / 2, y + h / 2, rng.choice([16, 24, 40])
        for i in range(n):
            a = 2 * math.pi * i / n
            items.append(Item(polyline(_arc(cx, cy, r, a, a + 3.6 / n, 6)), colour, rng.choice([0.5, 0.9])))
        return items
    for line in range(rng.choice([1, 2, 4])):
        at, level = x, y + h * (line + 0.5) / 4
        while at < x + w:
            long = rng.choice([1.2, 1.2, 4.0])
            items.append(Item(rectangle(at, level, at + long, level + 0.9), colour))
            at += long + 1.2
    return items


def paws(rng, x, y, w, h, colour):
    """Footprints."""
    items, n = [], rng.randint(2, 6)
    for i in range(n):
        cx, cy, r = x + w * (i + 0.5) / n, y + h * (0.35 + 0.3 * (i % 2)), min(w / n, h) * 0.2
        items.append(Item(ellipse(cx, cy, r, r * 0.8), colour))
        items += [
            Item(
                ellipse(cx + (k - 1.5) * r * 0.7, cy - r * (1.2 if k in (1, 2) else 0.9), r * 0.3, r * 0.4),
                colour,
            )
            for k in range(4)
        ]
    return items


def skyline(rng, x, y, w, h, colour):
    """Houses, towers, bars of a chart side by side."""
    items, at = [], x
    while at < x + w - 2:
        wide, tall = rng.uniform(3, 8), h * rng.uniform(0.4, 1)
        items.append(Item(rectangle(at, y + h - tall, at + wide, y + h), colour))
        if rng.random() < 0.5:
            step = wide / 3
            items += [
                Item(
                    rectangle(
                        at + step * (0.4 + k),
                        y + h - tall + 1 + 1.6 * m,
                        at + step * (0.9 + k),
                        y + h - tall + 1.9 + 1.6 * m,
                    ),
                    "#ffffff",
                )
                for k in range(2)
                for m in range(int(tall / 1.6) - 1)
            ]
        at += wide + rng.choice([0, 0.8, 1.5])
    return items


def clouds(rng, x, y, w, h, colour):
    """Clouds with rain or lightning."""
    items, n = [], rng.randint(1, 4)
    for i in range(n):
        cx, cy, r = x + w * (i + 0.5) / n, y + h * rng.uniform(0.3, 0.5), min(w / n, h) * 0.2
        bumps = np.vstack(
            [
                _arc(cx + (k - 1) * r, cy, r * (0.7 if k != 1 else 1), math.pi, 2 * math.pi, 10)
                for k in range(3)
            ]
        )
        cloud = np.vstack([bumps, [(cx + 1.7 * r, cy + 0.5 * r), (cx - 1.7 * r, cy + 0.5 * r)]])
        items.append(Item(polygon(cloud), colour, rng.choice([None, 0.7])))
        kind = rng.choice(["drop", "bar", "none"])
        if kind != "none":
            items += [
                Item(_motif(rng, kind, cx + (k - 1) * r, cy + 1.3 * r, r * 0.3), colour) for k in range(3)
            ]
    return items


def flag(rng, x, y, w, h, colour):
    """A flag of bands, a cross, a disc, stars or a canton, in two inks, perhaps on a pole or waving."""
    second = rng.choice(["#e07b00", "#0b6b3a", "#5a2d82"])
    items = [Item(rectangle(x, y, x + w, y + h), colour, 0.5)]
    kind = rng.choice(["bands", "pales", "cross", "saltire", "disc", "stars", "canton", "chevron", "checks"])
    if kind in ("bands", "pales"):
        n = rng.choice([3, 3, 5, 9])
        for i in range(0, n, 2):
            at = (
                (x, y + h * i / n, x + w, y + h * (i + 1) / n)
                if kind == "bands"
                else (x + w * i / n, y, x + w * (i + 1) / n, y + h)
            )
            items.append(Item(rectangle(*at), colour if i % 4 == 0 else second))
    elif kind == "cross":
        t, at = h * rng.uniform(0.12, 0.25), rng.choice([0.35, 0.5])
        items += [
            Item(rectangle(x + w * at - t / 2, y, x + w * at + t / 2, y + h), colour),
            Item(rectangle(x, y + h / 2 - t / 2, x + w, y + h / 2 + t / 2), colour),
        ]
    elif kind == "saltire":
        items += [
            Item(polyline([(x, y), (x + w, y + h)]), colour, h * 0.15),
            Item(polyline([(x, y + h), (x + w, y)]), colour, h * 0.15),
        ]
    elif kind == "disc":
        items += [
            Item(rectangle(x, y, x + w, y + h), second),
            Item(ellipse(x + w / 2, y + h / 2, h * 0.3, h * 0.3), colour),
        ]
        items.append(
            Item(
                _motif(rng, rng.choice(["crescent", "star", "leaf"]), x + w / 2, y + h / 2, h * 0.2),
                "#ffffff",
            )
        )
    elif kind == "stars":
        n = rng.randint(3, 12)
        items.append(Item(rectangle(x, y, x + w, y + h), colour))
        spots = [
            (
                x + w / 2 + h * 0.32 * math.cos(2 * math.pi * i / n),
                y + h / 2 + h * 0.32 * math.sin(2 * math.pi * i / n),
            )
            for i in range(n)
        ]
        items += [Item(_star(cx, cy, h * 0.08), "#ffffff") for cx, cy in spots]
    elif kind == "canton":
        items += [
            Item(rectangle(x, y + h * i / 13, x + w, y + h * (i + 1) / 13), colour) for i in range(0, 13, 2)
        ]
        items.append(Item(rectangle(x, y, x + w * 0.4, y + h * 7 / 13), second))
        items += [
            Item(_star(x + w * 0.4 * (i + 0.5) / 5, y + h * 7 / 13 * (j + 0.5) / 4, h * 0.04), "#ffffff")
            for i in range(5)
            for j in range(4)
        ]
    elif kind == "chevron":
        items += [
            Item(polygon([(x, y), (x + h * 0.7, y + h / 2), (x, y + h)]), second),
            Item(rectangle(x + h * 0.8, y, x + w, y + h / 3), colour),
        ]
    else:
        items += [
            Item(rectangle(x + w * i / 6, y + h * j / 4, x + w * (i + 1) / 6, y + h * (j + 1) / 4), colour)
            for i in range(6)
            for j in range(4)
            if (i + j) % 2
        ]
    return items


def frame(rng, x, y, w, h, colour):
    """Frames: double lines, corners, tickets with notches, shields, ribbons, speech bubbles."""
    pen = rng.uniform(0.4, 1.5)
    items = [Item(rectangle(x, y, x + w, y + h), colour, pen)]
    kind = rng.choice(["double", "corners", "ticket", "ribbon", "oval", "fan"])
    if kind == "double":
        g = pen * rng.uniform(2, 4)
        items.append(Item(rectangle(x + g, y + g, x + w - g, y + h - g), colour, pen / 2))
    elif kind == "corners":
        s = min(w, h) * 0.18
        for sx, cx in ((1, x + s), (-1, x + w - s)):
            for sy, cy in ((1, y + s), (-1, y + h - s)):
                curl = np.stack([np.linspace(0, 1, 20), np.sin(np.linspace(0, 3, 20))], 1) * s * 0.6
                items.append(Item(polyline(curl * (sx, sy) + (cx, cy)), colour, pen * 0.7))
    elif kind == "ticket":
        items += [Item(ellipse(px, y + h / 2, h * 0.12, h * 0.12), colour, pen) for px in (x, x + w)]
        items += [Item(ellipse(x + w * 0.75, y + 1.5 + i * h / 10, 0.4, 0.4), colour) for i in range(9)]
    elif kind == "ribbon":
        items = [
            Item(
                polygon(
                    [
                        (x, y),
                        (x + w, y),
                        (x + w * 0.95, y + h / 2),
                        (x + w, y + h),
                        (x, y + h),
                        (x + w * 0.05, y + h / 2),
                    ]
                ),
                colour,
            )
        ]
        items.append(
            Item(polyline([(x + w * 0.08, y + h * 0.15), (x + w * 0.92, y + h * 0.15)]), "#ffffff", 0.6)
        )
    elif kind == "oval":
        items = [
            Item(ellipse(x + w / 2, y + h / 2, w / 2 - k, h / 2 - k), colour, pen / (1 + k)) for k in (0, 1.5)
        ]
    else:
        items += [Item(polyline([(x + w / 2, y + h), (x + w * i / 10, y)]), colour, 0.4) for i in range(11)]
    return items


ORNAMENTS = [
    waves, waves, waves, bunting, bunting, kite, modules, ticks, scallops, meander, meander, border, border, row, row, row,
    swirls, swirls, grass, reeds, reeds, wader, birds, birds, rays, ridge, chain, brush, laurel, dashes, paws, skyline, clouds,
]  # fmt: skip


def ornament(rng, x, y, w, h, colour) -> list[Item]:
    """One ornament of any kind."""
    return rng.choice(ORNAMENTS)(rng, x, y, w, h, colour)
