"""One fault in a busy sheet: the emblem and its words are good, a single thing on it is past its limit."""

import math
from typing import Any

import shapely
from shapely.affinity import rotate

from drawn.paper import BOLD, NAVY, PLAIN, SERIF, Lettering, Paper, capitals, disc, height_of, lettering
from drawn.quiet import RED, Comfort, kite, middled, on_sheet, star, wave


def emblem(c: Comfort, *faults: tuple[Any, str | None]) -> Paper:
    """A ring, a star, words, a kite and a wave, all comfortable; and the faults, drawn last."""
    r = 7 * c.cap
    parts: list[tuple[Any, str | None]] = [
        (disc(0, 0, r).difference(disc(0, 0, r - 1.5 * c.line - 0.1 * c.cap)), NAVY), (star(0, -0.45 * r, 0.28 * r), NAVY),
        (middled("OTTER", 0, 0.25 * r, c, 1.3 * c.cap), NAVY), (kite(1.6 * r, -0.8 * r, r), RED),
        (wave(-r, 1.25 * r, 2.6 * r, 0.1 * r, 1.4 * c.line), NAVY),
    ]  # fmt: skip
    return on_sheet(*parts, *faults)


def below(c: Comfort) -> float:
    """A free place under the emblem: its y."""
    return 7 * c.cap * 1.5


def arched(text: str, height: float, radius: float, face: str = BOLD) -> Lettering:
    """Capitals on an arc over the middle."""
    em = height / height_of("H", face)
    wide = lettering(text, 0, 0, em, face, 0.08 * em).bounds[2]

    def bend(x: float, y: float) -> tuple[float, float]:
        turn = (x - wide / 2) / radius
        return (radius - y) * math.sin(turn), -(radius - y) * math.cos(turn)

    return lettering(text, 0, 0, em, face, 0.08 * em, bend)


def turned(text: str, height: float, y: float, angle: float, face: str = BOLD) -> Lettering:
    """Capitals on a slope."""
    em, a = height / height_of("H", face), math.radians(angle)
    return lettering(
        text,
        0,
        0,
        em,
        face,
        0.06 * em,
        lambda px, py: (px * math.cos(a) - py * math.sin(a), px * math.sin(a) + py * math.cos(a) + y),
    )


def small_arch(c: Comfort, height: float) -> Paper:
    """Small capitals on an arc inside the ring."""
    return emblem(c, (arched("SALT MARSH FAIR", height, 5.6 * c.cap), NAVY))


def small_slope(c: Comfort, height: float) -> Paper:
    """Small capitals on a slope."""
    return emblem(c, (turned("WEST WIND", height, below(c), 24), NAVY))


def small_line(c: Comfort, height: float) -> Paper:
    """A line of small capitals right under the words."""
    return emblem(
        c,
        (
            capitals(
                "EST MARSH",
                -2 * c.cap,
                0.25 * 7 * c.cap + 0.8 * c.cap + height,
                height,
                spacing=0.08 * height,
            ),
            NAVY,
        ),
    )


def small_serifs(c: Comfort, height: float) -> Paper:
    """The same with serifs."""
    return emblem(c, (capitals("TIDE MARSH", 0, below(c), height, SERIF), NAVY))


def small_open(c: Comfort, height: float) -> Paper:
    """Small white capitals in a disc."""
    word = capitals("KITES", 0, below(c) + 1.2 * height, height)
    x0, y0, x1, y1 = word.bounds
    return emblem(
        c,
        (shapely.box(x0 - 3 * height, y0 - 2 * height, x1 + 3 * height, y1 + 2 * height), NAVY),
        (word, None),
    )


def light_letters(c: Comfort, stroke: float) -> Paper:
    """Tall capitals in thin strokes: high enough, too thin."""
    ten = capitals("L", 0, 0, 10, PLAIN).shape  # its foot is the thinnest part of these letters
    x1 = ten.bounds[2] - 0.5
    foot = ten.intersection(shapely.LineString([(x1, -10), (x1, 1)])).length / (10 / height_of("H", PLAIN))
    em = stroke / foot
    return emblem(c, (capitals("LILLI", 0, below(c) + em, em * height_of("H", PLAIN), PLAIN), NAVY))


def hair_ring(c: Comfort, width: float) -> Paper:
    """A thin ring inside the thick one."""
    r = 6 * c.cap
    return emblem(c, (disc(0, 0, r).difference(disc(0, 0, r - width)), NAVY))


def thin_slope(c: Comfort, width: float) -> Paper:
    """A thin bar on a slope."""
    return emblem(c, (rotate(shapely.box(0, below(c), 8 * c.cap, below(c) + width), 33), NAVY))


def close_rings(c: Comfort, gap: float) -> Paper:
    """A disc in a ring, too near to it."""
    r, y = 2 * c.cap, below(c) + 2.5 * c.cap
    ring = disc(0, y, r).difference(disc(0, y, r - 1.5 * c.line))
    return emblem(c, (ring, NAVY), (disc(0, y, r - 1.5 * c.line - gap), NAVY))


def white_slope(c: Comfort, gap: float) -> Paper:
    """A thin white line over the kite."""
    r = 7 * c.cap
    return emblem(c, (rotate(shapely.box(1.6 * r - r, -0.35 * r, 1.6 * r + r, -0.35 * r + gap), 40), None))


def lone_dot(c: Comfort, size: float) -> Paper:
    """A dot among stars."""
    y = below(c)
    return emblem(
        c,
        (disc(0, y, 0.7 * c.cap), NAVY),
        (disc(2.5 * c.cap, y, size / 2), NAVY),
        (disc(5 * c.cap, y, 0.7 * c.cap), NAVY),
    )
