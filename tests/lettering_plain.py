"""Art without a letter in it, for the labelled set: simple shapes, icons, textures, patterns, flags, frames, ornaments, faces.

Each function draws into a box (x, y, w, h in mm of the page, y down) and returns painted objects.
"""

import math
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path as File

import numpy as np
from fontTools.svgLib import SVGPath

from lettering_faces import Outline, material
from preflight.artwork import Path


@dataclass
class Item:
    """One painted object: a fill or a stroke in a colour, in mm of the page."""

    path: Path
    colour: str
    width: float | None = None  # of a stroke, mm


def joined(paths: list[Path]) -> Path:
    """Paths as one compound path."""
    return Path("".join(p.steps for p in paths), np.vstack([p.points for p in paths]))


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Path:
    return Path("mlllh", np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], float))


def ellipse(cx: float, cy: float, rx: float, ry: float, turn: float = 0.0) -> Path:
    k = 0.5522847498  # circle of four Bezier curves, from memory
    unit = [
        (1, 0),
        (1, k),
        (k, 1),
        (0, 1),
        (-k, 1),
        (-1, k),
        (-1, 0),
        (-1, -k),
        (-k, -1),
        (0, -1),
        (k, -1),
        (1, -k),
    ]
    points = np.array([*unit, (1, 0)]) * (rx, ry)
    c, s = math.cos(turn), math.sin(turn)
    return Path("mcccch", points @ np.array([[c, s], [-s, c]]) + (cx, cy))


def polygon(points) -> Path:
    points = np.array(points, float)
    return Path("m" + "l" * (len(points) - 1) + "h", points)


def polyline(points) -> Path:
    points = np.array(points, float)
    return Path("m" + "l" * (len(points) - 1), points)


# --------------------------------------------------------------------------------------------------- icons

_GOOD = re.compile(
    r"^(tree|flower|sun|moon|cloud|star|heart|house|home|gear|bug|bicycle|bike|bus|cup|egg|fire|flag|gem|gift|hammer|key|"
    r"lamp|magnet|mouse|music|palette|paint|piggy|puzzle|rocket|scissors|shield|shop|snow|speaker|suit|tools|trophy|"
    r"truck|tsunami|umbrella|wallet|water|wrench|anchor|award|ball-|basket|bell|bolt|bone|book|bottle|brush|building|"
    r"butterfly|cactus|candle|car|cat|chef|cherry|christmas|clover|compass|cookie|crown|diamond|dog|droplet|feather|"
    r"fish|flame|flask|garden|ghost|grain|guitar|ice-cream|leaf|lemon|mountain|mushroom|paw|pizza|plane|plant|"
    r"rainbow|ribbon|sailboat|seedling|skull|sword|tent|tornado|tractor|wave|windmill|lightning|balloon|backpack)"
)
_BAD = re.compile(
    r"code|text|letter|number|quest|exclam|plus|minus|dash|slash|check|-x|-off|percent|info|cc|qr|bar|-[a-z]$|\d|"
    r"-outline|sleep|sale|coin|brake|auto|shift|pattern|logo|alphabet|share|type|word|tags|currency|dollar|euro|bitcoin|cancel|question|alert|clipboard|-ai(-|$)"
)


_SETS = {
    ("tune", False): [
        "bootstrap-icons/icons",
        "@phosphor-icons/core/assets/fill",
        "@phosphor-icons/core/assets/bold",
        "ionicons/dist/svg",
        "@mdi/svg/svg",
        *(f"remixicon/icons/{group}" for group in ("Buildings", "Food", "Map", "Media", "Others", "Weather")),
        "boxicons/svg/solid",
    ],
    ("tune", True): [
        "@tabler/icons/icons/outline",
        "lucide-static/icons",
        "iconoir/icons/regular",
        "heroicons/24/outline",
    ],
    ("unseen", False): ["jam-icons/svg", "typicons.font/src/svg", "teenyicons/solid"],
    ("unseen", True): ["teenyicons/outline"],
}


#: Pens of the sets that are drawn with one, in the icons' own units.
_PENS = {"tabler": 2.0, "lucide": 2.0, "iconoir": 1.5, "heroicons": 1.5, "teenyicons/outline": 1.0}


@cache
def icons(half: str, stroked: bool) -> list[File]:
    """Icons of one half, generic things only and none with a letter on it."""
    sets = _SETS["unseen" if half == "unseen" else "tune", stroked]
    names = [n for s in sets for n in sorted((material() / "node_modules" / s).glob("*.svg"))]
    stems = [re.sub("^bxs-|-(fill|bold)$", "", n.stem) for n in names]
    good = [n for n, stem in zip(names, stems, strict=True) if _GOOD.match(stem) and not _BAD.search(stem)]
    # what fontTools does not turn, and lines among filled shapes, would not be drawn as they look
    return [
        n for n in good if "rotate(" not in (text := n.read_text()) and (stroked or "fill-none" not in text)
    ]


def icon(file: File, x: float, y: float, size: float, colour: str) -> list[Item]:
    """An icon in a square."""
    svg = re.sub(r'<path stroke="none"[^>]*/>|<!--.*?-->', "", file.read_text())
    box = [float(v) for v in re.search(r'viewBox="([^"]+)"', svg)[1].split()]
    k = size / box[2]
    pen = Outline(None, (k, 0, 0, k, x, y))
    SVGPath.fromstring(svg.encode()).draw(pen)
    if not pen.points:
        return []
    path = Path("".join(pen.steps), np.array(pen.points, float))
    pen = next((width for name, width in _PENS.items() if name in str(file)), None)
    return [Item(path, colour, pen and pen * k)]


# ------------------------------------------------------------------------------------------------- textures


def halftone(rng, x, y, w, h, colour) -> list[Item]:
    pitch = rng.uniform(0.8, 2.5)
    mode = rng.choice(["ramp", "flat", "radial"])
    dots = []
    for j in range(int(h / pitch)):
        for i in range(int(w / pitch)):
            u, v = i * pitch / w, j * pitch / h
            share = {"ramp": 1 - u, "flat": 0.6, "radial": max(0, 1 - 2 * math.hypot(u - 0.5, v - 0.5))}[mode]
            r = pitch * 0.48 * share
            if r > 0.06:
                dots.append(ellipse(x + (i + 0.5 * (j % 2) + 0.5) * pitch, y + (j + 0.5) * pitch, r, r))
    return [Item(joined(dots), colour)] if dots else []


def _blob(rng, cx, cy, r, n=9):
    return polygon(
        [
            (cx + r * rng.uniform(0.4, 1) * math.cos(a), cy + r * rng.uniform(0.4, 1) * math.sin(a))
            for a in (2 * math.pi * i / n for i in range(n))
        ]
    )


def texture(rng, x, y, w, h, colour) -> list[Item]:
    return [
        Item(
            joined(
                [
                    _blob(
                        rng,
                        x + rng.random() * w,
                        y + rng.random() * h,
                        rng.uniform(0.15, 1.2),
                        rng.randint(5, 10),
                    )
                    for _ in range(int(w * h / 12) + 1)
                ]
            ),
            colour,
        )
    ]


def _star(cx, cy, r, n=5, inner=0.42):
    return polygon(
        [
            (
                cx + (r if q % 2 == 0 else r * inner) * math.sin(q * math.pi / n),
                cy - (r if q % 2 == 0 else r * inner) * math.cos(q * math.pi / n),
            )
            for q in range(2 * n)
        ]
    )


def pattern(rng, x, y, w, h, colour) -> list[Item]:
    kind = rng.choice(
        "chevrons stars lines checks waves rosette beads leaves bars ruler arrows rings mixed triangles knots".split()
    )
    items: list[Item] = []
    pitch = rng.uniform(3, 7)
    columns, rows = max(1, int(w / pitch)), max(1, int(h / pitch))
    if kind in ("chevrons", "waves"):
        for j in range(rows):
            top = y + (j + 0.5) * pitch
            points = [
                (x + i * pitch / 2, top + (pitch * 0.2 if i % 2 else -pitch * 0.2))
                for i in range(2 * columns)
            ]
            if len(points) > 1:
                items.append(Item(polyline(points), colour, pitch * 0.2))
    elif kind in ("stars", "beads", "leaves", "rings", "triangles", "arrows", "knots", "mixed"):
        one_row = rng.random() < 0.5
        for j in range(1 if one_row else rows):
            for i in range(columns):
                cx, cy, r = x + (i + 0.5) * pitch, y + (j + 0.5) * pitch, pitch * 0.38
                shape = rng.choice(["stars", "beads", "leaves", "triangles"]) if kind == "mixed" else kind
                if shape == "stars":
                    items.append(
                        Item(_star(cx, cy, r, rng.choice([5, 5, 6]) if kind == "mixed" else 5), colour)
                    )
                elif shape == "beads":
                    items.append(Item(rectangle(cx - r, cy - r * 0.7, cx + r, cy + r * 0.7), colour))
                elif shape == "leaves":
                    items.append(Item(ellipse(cx, cy, r, r * 0.35, rng.uniform(0, 3.1)), colour))
                elif shape == "rings":
                    items.append(Item(ellipse(cx, cy, r, r), colour, r * rng.choice([0.2, 0.35])))
                elif shape == "triangles":
                    items.append(Item(polygon([(cx - r, cy + r), (cx + r, cy + r), (cx, cy - r)]), colour))
                elif shape == "arrows":
                    items.append(
                        Item(
                            polygon(
                                [
                                    (cx - r, cy - r * 0.3),
                                    (cx, cy - r * 0.3),
                                    (cx, cy - r * 0.8),
                                    (cx + r, cy),
                                    (cx, cy + r * 0.8),
                                    (cx, cy + r * 0.3),
                                    (cx - r, cy + r * 0.3),
                                ]
                            ),
                            colour,
                        )
                    )
                else:
                    items.append(Item(ellipse(cx - r / 2, cy, r / 2, r * 0.6), colour, r * 0.2))
                    items.append(Item(ellipse(cx + r / 2, cy, r / 2, r * 0.6), colour, r * 0.2))
    elif kind == "lines":
        p = rng.uniform(1, 4)
        thick = p * rng.uniform(0.2, 0.6)
        items = [Item(rectangle(x, y + j * p, x + w, y + j * p + thick), colour) for j in range(int(h / p))]
    elif kind == "bars":
        at = x
        while at < x + w:
            thick = rng.choice([0.4, 0.8, 1.2, 1.6])
            items.append(Item(rectangle(at, y, at + thick, y + min(h, 14)), colour))
            at += thick + rng.choice([0.4, 0.8, 1.2])
    elif kind == "ruler":
        p = rng.uniform(1, 3)
        for i in range(int(w / p)):
            tall = 6 if i % 10 == 0 else 4.5 if i % 5 == 0 else 3
            items.append(Item(rectangle(x + i * p, y, x + i * p + p * 0.15, y + tall), colour))
    elif kind == "checks":
        for j in range(rows):
            for i in range(columns):
                if (i + j) % 2:
                    items.append(
                        Item(
                            rectangle(
                                x + i * pitch,
                                y + j * pitch,
                                x + i * pitch + pitch * 0.96,
                                y + j * pitch + pitch * 0.96,
                            ),
                            colour,
                        )
                    )
    else:
        n, cx, cy, r = rng.choice([12, 16, 24]), x + w / 2, y + h / 2, min(w, h) / 2
        for i in range(n):
            a = 2 * math.pi * i / n
            items.append(
                Item(
                    ellipse(cx + r * 0.7 * math.cos(a), cy + r * 0.7 * math.sin(a), r * 0.25, r * 0.08, a),
                    colour,
                )
            )
            items.append(
                Item(
                    ellipse(cx + r * 0.4 * math.cos(a), cy + r * 0.4 * math.sin(a), r * 0.04, r * 0.04),
                    colour,
                )
            )
    return items
