"""A labelled set for lettering: generated lines in open fonts, and art without a letter, each with its truth.

The truth comes from the fonts' own outlines (fontTools), never from the code under test.  Fonts and icons are those of
tests/lettering_faces.py.  Two halves share no font and no icon: one to tune on, one to report.  A third part, "held", has fonts
of its own but the icons of the first: figures on it choose between ways of training.
"""

import io
import math
import random
import unicodedata
from dataclasses import dataclass, field

import cv2
import numpy as np
import pymupdf
import shapely
from PIL import Image, ImageFilter
from shapely.geometry import Polygon

from lettering_faces import FACES, Face, Typeface, typeface
from lettering_ornaments import face as animal
from lettering_ornaments import flag, frame, ornament
from lettering_plain import (
    Item,
    _blob,
    _star,
    ellipse,
    halftone,
    icon,
    icons,
    joined,
    pattern,
    rectangle,
    texture,
)  # fmt: skip
from lettering_redrawn import Redrawn
from preflight.artwork import Artwork, Box, Ink, Mark, Path, Pen, union
from preflight.colour import lab_of

#: Tracking, in ems, under which letters meet that were drawn to stand apart.
TIGHT = -0.02
_UNRULED = {"script", "arabic", "cjk"}


@dataclass
class Truth:
    """One line of the set: what is there and how tall it is, mm."""

    text: str
    face: Face
    script: str
    layout: str
    style: str
    shortest: float
    cap: float | None
    x_height: float | None
    stroke: float = 0.0
    letters: list[Box] = field(default_factory=list)  # box of each letter, mm of the page
    touching: float = 0.0  # share of neighbouring letters of a word whose outlines meet
    tight: bool = False  # set so closely that letters meet which were drawn to stand apart

    @property
    def writing(self) -> str:
        """What it is: "letters" that stand apart, "joined" writing, "half" of either, "arabic" or "cjk".

        A word in a hand or a display face is joined writing too where at least half of the neighbours meet as its maker
        spaced them; of two or three letters that says nothing.
        """
        drawn = self.face.kind in ("hand", "display") and len(self.letters) > 3
        if drawn and self.touching >= 0.5 and not self.tight:
            return "joined"
        if self.face.kind != "script":
            return self.face.kind if self.face.kind in _UNRULED else "letters"
        return "letters" if self.touching < 0.1 else "half" if self.touching < 0.5 else "joined"

    @property
    def ruled(self) -> bool:
        """Is it in a script and a face whose heights can be judged?"""
        return self.writing == "letters"


@dataclass
class Scene:
    """Painted objects on a white page with their truth."""

    width: float
    height: float
    items: list[Item]
    lines: list[Truth]
    kind: str = "lettering"
    bitmap: bool = False
    seed: int = 0


# ---------------------------------------------------------------------------------------------------- words

_LATIN = (
    "ba bel bro cal den dor el fen gar hol il jun kar lo mar nel or pex qua ri sol tam ul ver wex yo zan thi gly dra "
    "kite marsh salt wind reed tide fair gull"
).split()
_CYRILLIC = (
    "бар вел гон дар жи зор кла лен мир нод пра рус сел тир фом хор чал шун эль юр яга щи ёл цек".split()
)
_GREEK = "βαρ γον δελ ζορ θυμ κλα λεν μιρ νοδ προ ρισ σελ τορ φαν χορ ψιλ ωμα ξεν ηλι".split()
_ARABIC = "بركان سلمون درهال نورفا كلميد طابور جرداس مولين حصفان قطران".split()
_ARABIC_LETTERS = "اابتثجحخدذرزسشصضطظعغفقكلمنهوييلمنر"
_HAN = "山川風光海雲松竹梅花月星和平大工東西南北金銀木石門車馬鳥魚空森林田町村本店社製作所"
_HAN_OF = {
    "H": _HAN,
    "J": _HAN + "さくらかもめしおかぜたこあげサクラカモメシオカゼタコ",
    "K": "바람소금연갈매기물결하늘바다시장해변축제모래별빛새섬나무",
}
_X = set("acemnorsuvwxzαεικνοπστυωавгежзиклмнпстхшэюя")


_INITIALS = {"L": "ABCDEFGHJKLMNPQRSTUVWXYZ", "C": "АБВГДЕЖЗИКЛМНПРСТФЭЮЯ", "G": "ΑΒΓΔΕΖΗΘΚΛΜΝΞΠΡΣΤΦΨΩ"}


def words(rng: random.Random, script: str, style: str) -> str:
    """A line of invented words: style U capitals, T title case, l lower case."""
    if script == "A":
        if rng.random() < 0.4:
            return rng.choice(_ARABIC)
        count = rng.choice([1, 1, 2])
        return " ".join(
            "".join(rng.choice(_ARABIC_LETTERS) for _ in range(rng.randint(3, 6))) for _ in range(count)
        )
    if script in "JHK":
        return "".join(rng.choice(_HAN_OF[script]) for _ in range(rng.randint(2, 6)))
    syllables = {"L": _LATIN, "C": _CYRILLIC, "G": _GREEK}[script]
    parts = [
        "".join(rng.choice(syllables) for _ in range(rng.randint(1, 3)))
        for _ in range(rng.choice([1, 1, 2, 2, 3]))
    ]
    parts = [p if len(p) > 2 else p + rng.choice(syllables) for p in parts]
    case = {"U": str.upper, "T": str.capitalize, "l": str.lower}[style]
    text = " ".join(case(p) for p in parts)
    if rng.random() < 0.03:
        return "".join(rng.choice(_INITIALS[script]) for _ in range(rng.choice([2, 3])))
    if script == "L":
        roll = rng.random()
        if roll < 0.12:
            text += f" {rng.randint(1900, 2026)}"
        elif roll < 0.18:
            text = text.replace(" ", " & ")
        elif roll < 0.24:
            text = text.replace("e", "é", 1).replace("E", "É", 1).replace("o", "ö", 1).replace("O", "Ö", 1)
        elif roll < 0.30:
            text = text.replace(" ", "-") + "."
        elif roll < 0.34:
            text = f"{rng.randint(100, 999)}-{rng.randint(1000, 9999)}"
        elif roll < 0.37:
            text = case(rng.choice(["est", "no", "the", "and", "co", "fly", "up", "sky"]))
    return text


def short_word(rng: random.Random, script: str, face: Face) -> str:
    """Two to five letters of an invented word."""
    style = "U" if face.capitals_only else rng.choice("UTTl")
    letters = "".join(c for c in words(rng, script, style) if c not in " -.&")[
        : rng.choice([2, 2, 3, 3, 3, 4, 5])
    ]
    return {"U": str.upper, "T": str.capitalize, "l": str.lower}[style](letters)


def _presented(text: str) -> str:
    """Arabic letters as their presentation forms, right to left."""
    forms: dict[tuple[str, str], str] = {}
    for code in range(0xFE70, 0xFEFF):
        parts = unicodedata.decomposition(chr(code)).split()
        if len(parts) == 2:
            forms[(chr(int(parts[1], 16)), parts[0])] = chr(code)
    out, joins = [], False
    for i, char in enumerate(text):
        more = i + 1 < len(text) and (text[i + 1], "<final>") in forms and (char, "<initial>") in forms
        form = {(0, 0): "<isolated>", (0, 1): "<initial>", (1, 0): "<final>", (1, 1): "<medial>"}[
            (joins, more)
        ]
        out.append(forms.get((char, form), char))
        joins = more
    return "".join(reversed(out))


# ------------------------------------------------------------------------------------------------- setting


@dataclass
class Set:
    """A line ready to be placed: glyphs with their places in font units."""

    truth: Truth
    face: Typeface
    glyphs: list[tuple[str, str, float, float]]  # drawn char, text char, x, advance
    scale: float
    width: float
    top: float
    bottom: float


def _heights(face: Typeface, text: str) -> tuple[float, float | None, float | None]:
    """Shortest letter, shortest capital, x-height in font units; accents and dots taken off."""
    every, capitals, lower = [], [], []
    for char in text:
        if unicodedata.category(char)[0] not in "LN":
            continue
        bare = {"i": "ı", "j": "ȷ"}.get(char, unicodedata.normalize("NFD", char)[0])
        box = face.bounds(bare) or (None if char in "ij" else face.bounds(char))
        if not box:
            continue
        height = box[3] - box[1]
        every.append(height)
        if char.isupper() or char.isdigit():
            capitals.append(height)
        elif bare in _X:
            lower.append(height)
    if not every:
        raise ValueError(text)
    return min(every), min(capitals, default=None), min(lower, default=None)


def set_line(
    rng: random.Random, face: Face, script: str, height: float, text: str = "", track: float = 0
) -> Set:
    """A line whose shortest letter is `height` mm tall."""
    type_ = Redrawn(face, script) if face.hand else typeface(face, script)
    for _ in range(60):
        style = "U" if face.capitals_only else rng.choice("UTTl" if face.kind != "script" else "TTl")
        line = text or words(rng, script, style)
        drawn = _presented(line) if script == "A" else line
        if type_.has(drawn):
            break
    else:
        raise ValueError(face.file)
    if script == "A":
        box = type_.bounds("ا")
        shortest, cap, lower = box[3], None, None
    else:
        shortest, cap, lower = _heights(type_, line)
    glyphs, x = [], 0.0
    for char, original in zip(drawn, line, strict=True):
        width = type_.advance(char)
        glyphs.append((char, original, x, width))
        x += width + track * type_.em
    scale = height / shortest
    boxes = [b for char, *_ in glyphs if (b := type_.bounds(char))]
    truth = Truth(
        line, face, script, "straight", "plain", height, cap and cap * scale, lower and lower * scale,
        tight=track < TIGHT,
    )  # fmt: skip
    return Set(
        truth,
        type_,
        glyphs,
        scale,
        (x - track * type_.em) * scale,
        max(b[3] for b in boxes) * scale,
        min(b[1] for b in boxes) * scale,
    )


def place(
    line: Set, cx: float, cy: float, angle: float = 0.0, radius: float | None = None, inner=False, lean=0.0
) -> list[Path]:
    """The glyphs' paths on the page, centred on (cx, cy) or set round it; fills `truth.letters`.

    `lean`: how far a point goes forward for every unit that it stands above the baseline, as in an oblique face.
    """
    paths, k = [], line.scale
    for char, original, x, advance in line.glyphs:
        middle = (x + advance / 2) * k - line.width / 2
        if radius is None:
            c, s = math.cos(angle), math.sin(angle)
            ox, oy = cx + middle * c, cy + middle * s
        else:
            turn = middle / radius
            if inner:
                turn = -turn
            a = -math.pi / 2 + turn if not inner else math.pi / 2 + turn
            ox, oy = cx + radius * math.cos(a), cy + radius * math.sin(a)
            t = a + math.pi / 2 if not inner else a - math.pi / 2
            c, s = math.cos(t), math.sin(t)
        shift = -advance / 2 * k
        up = (k * (s + lean * c), k * (lean * s - c))
        matrix = (k * c, k * s, *up, ox + shift * c, oy + shift * s)
        path = line.face.path(char, matrix)
        if path is None:
            continue
        paths.append(path)
        if unicodedata.category(original)[0] in "LN":
            line.truth.letters.append(path.box())
    if line.truth.face.kind in ("script", "hand", "display") and radius is None:
        line.truth.touching = _touching(paths, line.truth)
    return paths


def _touching(paths: list[Path], truth: Truth) -> float:
    """Share of neighbours within words whose outlines meet (shapely)."""

    def body(path):
        rings = [Polygon(r).buffer(0) for r in path.polygons(0.01) if len(r) > 3]
        return shapely.unary_union([r for r in rings if r.area > 1e-6])

    bodies = [body(path) for path in paths]
    gaps, at = set(), 0
    for char in truth.text:  # a space has no path: no neighbours across it
        if char == " ":
            gaps.add(at)
        else:
            at += 1
    pairs = [(a, b) for n, (a, b) in enumerate(zip(bodies, bodies[1:], strict=False), 1) if n not in gaps]
    return sum(a.intersects(b) for a, b in pairs) / len(pairs) if pairs else 0.0


def _welded(paths: list[Path]) -> Path:
    """Outlines that overlap made one, as connected writing is before it is cut (shapely)."""
    bodies = []
    for path in paths:
        rings = sorted(
            (Polygon(r).buffer(0) for r in path.polygons(0.005) if len(r) > 3), key=lambda p: -p.area
        )
        body = Polygon()
        for ring in rings:  # even-odd: an inner ring is an opening
            body = body.symmetric_difference(ring)
        bodies.append(body)
    whole = shapely.unary_union(bodies)
    rings = [
        r for p in getattr(whole, "geoms", [whole]) for r in (p.exterior, *p.interiors) if not p.is_empty
    ]
    points = [np.array(r.coords)[:-1] for r in rings]
    return Path("".join("m" + "l" * (len(p) - 1) + "h" for p in points), np.vstack(points))


#: Letters that a stencil needs bridges for: what they enclose would fall out.
_ENCLOSING = set("ABDOPQRabdegopq04689&ΑΒΔΘΟΡΦΩαβδθορφАБВДОРФЮЯЪЬЫабвдеорфэюяъьы")


def _bridges(line: "Set", paths: list[Path]) -> Path:
    """Bars through the middle of each letter that encloses something, upright on the line: the bridges of a stencil."""
    drawn = [c for c, original, *_ in line.glyphs if line.face.bounds(c) is not None]
    bars = []
    for char, path in zip(drawn, paths, strict=True):
        if char not in _ENCLOSING:
            continue
        matrix = (line.face.em, 0, 0, line.face.em, 0, 0)
        still = line.face.path(char, matrix).points
        # the map from the font to the page, from three points of the glyph
        a = np.c_[still, np.ones(len(still))]
        to_page = np.linalg.lstsq(a, path.points, rcond=None)[0]
        low, high = still.min(0), still.max(0)
        middle, half = (low[0] + high[0]) / 2, 0.045 * (high[1] - low[1])
        over = 0.05 * (high[1] - low[1])
        corners = [(middle - half, low[1] - over), (middle + half, low[1] - over),
                   (middle + half, high[1] + over), (middle - half, high[1] + over)]  # fmt: skip
        bars.append(Path("mlllh", np.c_[corners, np.ones(4)] @ to_page))
    return joined(bars) if bars else rectangle(-1, -1, -0.9, -0.9)


COLOURS = ["#000000", "#1b2a6b", "#b3121d", "#0b6b3a", "#5a2d82", "#e07b00", "#333333"]


def _height(rng) -> float:
    return rng.uniform(3, 8) if rng.random() < 0.55 else math.exp(rng.uniform(math.log(1.6), math.log(14)))


def lettering_scene(
    rng: random.Random, half: str, face: Face, tight: bool = False, short: bool = False, lean: float = 0.0
) -> Scene:
    """Art with one to three lines of lettering, its main one in `face`, with icons, frames and textures round it.

    `tight`: set so closely that letters, each drawn on its own, touch.  `short`: a word of two to five letters.
    `lean`: the main line made oblique, as in `place`.
    """
    plain = [f for f in FACES[half] if f.kind in ("sans", "serif", "condensed") and "L" in f.scripts]
    script = rng.choice(face.scripts)
    unruled = face.kind in _UNRULED
    layout = rng.choice(
        ["straight", "straight", "rotated"]
        if unruled
        else ["straight", "straight", "rotated", "arched", "emblem"]
    )
    style = rng.choices(
        ["plain", "knocked out", "outline", "contour", "shadow", "rough", "bridged"],
        [0.44, 0.25, 0.07, 0.08, 0.06, 0.07, 0 if unruled else 0.03],
    )[0]
    style = rng.choice(["plain", "knocked out"]) if tight else style
    colour = rng.choice(COLOURS)
    second = rng.choice([c for c in COLOURS if c != colour])
    height = _height(rng)
    track = 0 if unruled else rng.choice([0, 0, 0, 0.05, 0.12, -0.015])
    track = rng.uniform(-0.1, -0.05) if tight else track
    text = short_word(rng, script, face) if short else ""
    main = set_line(rng, face, script, height, text, track=track)
    under: list[Item] = []
    placed: list[tuple[Set, list[Path]]] = []
    filled, stroked = icons(half, False), icons(half, True)
    ink = rng.choice(["#ffffff", "#ffffff", "#f5c400"]) if style == "knocked out" else colour

    def an_icon(x, y, size):
        file = rng.choice(filled if rng.random() < 0.6 else stroked)
        return icon(file, x, y, size, ink if style == "knocked out" else second)

    if layout in ("arched", "emblem"):
        radius = max(main.width / rng.uniform(1.2, 3.6), 2.2 * main.top)
        width = tall = 2 * (radius + main.top) + 20
        cx = cy = width / 2
        placed.append((main, place(main, cx, cy, radius=radius, lean=lean)))
        rim = radius + main.top
        if layout == "emblem":
            below = set_line(rng, rng.choice(plain), "L", height * rng.uniform(0.6, 1))
            low = radius + below.top
            if below.width < low * 2.2:
                placed.append((below, place(below, cx, cy, radius=low, inner=True)))
                rim = max(rim, low - below.bottom)
            across = set_line(rng, rng.choice(plain), "L", height * rng.uniform(0.5, 1.2))
            if across.width < 1.5 * (radius - 2 + main.bottom):
                placed.append((across, place(across, cx, cy)))
            elif radius > 6:
                under += an_icon(cx - radius * 0.4, cy - radius * 0.4, radius * 0.8)
            under.append(Item(ellipse(cx, cy, rim + 1.5, rim + 1.5), ink, 0.8))
        elif radius > 8 and rng.random() < 0.7:
            under += an_icon(cx - radius * 0.35, cy - radius * 0.45, radius * 0.7)
    else:
        lines = [main]
        if rng.random() < 0.4:
            lines.append(set_line(rng, rng.choice(plain), "L", max(1.2, height * rng.uniform(0.4, 0.9))))
        angle = (
            0.0 if layout == "straight" else math.radians(rng.choice([-90, 90, *(rng.uniform(-40, 40),) * 2]))
        )
        across = max(line.width for line in lines)
        stack = sum(line.top - line.bottom for line in lines) + 0.5 * height * (len(lines) - 1)
        size = stack * rng.uniform(0.8, 1.4) if rng.random() < 0.45 else 0.0
        whole = across + (size + 2 if size else 0)
        c, s = math.cos(angle), math.sin(angle)
        width = abs(whole * c) + abs(max(stack, size) * s) + 16
        tall = abs(whole * s) + abs(max(stack, size) * c) + 16
        cx, cy = width / 2, tall / 2
        off, level = (size + 2) / 2 if size else 0.0, -stack / 2
        for line in lines:
            base = level + line.top
            placed.append(
                (
                    line,
                    place(
                        line,
                        cx + off * c - base * s,
                        cy + off * s + base * c,
                        angle,
                        lean=lean if line is main else 0.0,
                    ),
                )
            )
            level = base - line.bottom + 0.5 * height
        if size:
            at = (-whole / 2 + size / 2) * np.array([c, s]) + (cx, cy)
            under += an_icon(at[0] - size / 2, at[1] - size / 2, size)
        if rng.random() < 0.25:
            under.append(Item(rectangle(1.2, 1.2, width - 1.2, tall - 1.2), ink, 0.7))
    items: list[Item] = []
    if style == "knocked out":
        shape = rng.choice(["sheet", "panel", "disc"])
        if layout in ("arched", "emblem") or shape == "disc":
            spread = 0.5 if layout in ("arched", "emblem") else 0.72
            items.append(Item(ellipse(cx, cy, width * spread, tall * spread), colour))
        else:
            inset = 0 if shape == "sheet" else 1
            items.append(Item(rectangle(inset, inset, width - inset, tall - inset), colour))
    items += under
    if style != "knocked out" and rng.random() < 0.22:
        deep = rng.uniform(8, 16)
        items += rng.choice([halftone, pattern, texture])(rng, 2, tall + 1, width - 4, deep, second)
        tall += deep + 3
    elif style != "knocked out" and rng.random() < 0.3:
        deep = rng.uniform(6, 18)
        make = rng.choice([ornament, ornament, ornament, flag, animal])
        items += make(rng, 3, tall + 1, max(12, width - 6), deep, rng.choice([colour, second]))
        tall += deep + 6
    truths = []
    for line, paths in placed:
        truth = line.truth
        bent = layout in ("arched", "emblem") and not (
            layout == "emblem"
            and truth is placed[-1][0].truth
            and len(placed) > 1
            and not _on_arc(truth, cx, cy)
        )
        truth.layout = "arched" if bent else ("rotated" if layout == "rotated" else "straight")
        truth.style = style
        shapes = [joined(paths)] if rng.random() < 0.5 else paths
        if truth.face.kind == "script" and rng.random() < 0.4:
            shapes = [_welded(paths)]
        h = truth.shortest
        if style == "outline":
            pen = 0.06 * h
            items += [Item(p, ink, pen) for p in shapes]
            truth.shortest += pen
            truth.cap = truth.cap and truth.cap + pen
            truth.x_height = truth.x_height and truth.x_height + pen
        elif style == "contour":
            items += [i for p in shapes for i in (Item(p, second, 0.32 * h), Item(p, second))]
            items += [Item(p, ink) for p in shapes]
        elif style == "shadow":
            items += [Item(p.moved(1, 0.09 * h, 0.09 * h), second) for p in shapes]
            items += [Item(p, ink) for p in shapes]
        else:
            items += [Item(p, ink) for p in shapes]
        if style == "rough":
            box = union(truth.letters)
            bits = [
                _blob(
                    rng,
                    rng.uniform(box[0], box[2]),
                    rng.uniform(box[1], box[3]),
                    h * rng.uniform(0.015, 0.06),
                    6,
                )
                for _ in range(int(6 * line.width / h))
            ]
            if bits:
                items.append(Item(joined(bits), "#ffffff"))
        if style == "bridged":
            items.append(Item(_bridges(line, paths), "#ffffff"))
        truths.append(truth)
    return Scene(width, tall, items, truths, layout)


def _on_arc(truth: Truth, cx: float, cy: float) -> bool:
    ys = [(b[1] + b[3]) / 2 for b in truth.letters]
    return max(ys) - min(ys) > 1.5 * truth.shortest or abs(sum(ys) / len(ys) - cy) > 2.5 * truth.shortest


PLAIN_KINDS = (
    "icon icon row row grid stroked halftone texture pattern pattern badge ornament ornament ornament ornament emblem face "
    "flag frame"
).split()


def _recoloured(item: Item, ground: str) -> Item:
    """A white item for a ground of its own colour, and the other way round."""
    return Item(item.path, "#ffffff" if item.colour == ground else ground, item.width)


def plain_scene(rng: random.Random, half: str, number: int) -> Scene:
    """Art without a letter: icons alone, in rows and grids, emblems, halftones, textures, patterns."""
    kind = PLAIN_KINDS[number % len(PLAIN_KINDS)]
    colour = rng.choice(COLOURS)
    width, tall = rng.uniform(30, 90), rng.uniform(25, 60)
    filled, stroked = icons(half, False), icons(half, True)
    items: list[Item] = []
    if kind in ("icon", "stroked"):
        size = min(width, tall) - 8
        items = icon(
            rng.choice(filled if kind == "icon" else stroked),
            (width - size) / 2,
            (tall - size) / 2,
            size,
            colour,
        )
    elif kind in ("row", "grid"):
        n = rng.randint(3, 8)
        pitch = (width - 8) / n
        size = pitch * 0.8
        files = rng.choice([filled, stroked])
        rows = max(1, int((tall - 6) / pitch)) if kind == "grid" else 1
        ground = kind == "row" and rng.random() < 0.3
        if ground:
            items.append(Item(rectangle(0, 0, width, pitch + 6), colour))
        for j in range(rows):
            for i in range(n):
                items += icon(
                    rng.choice(files), 4 + i * pitch, 3 + j * pitch, size, "#ffffff" if ground else colour
                )
    elif kind == "badge":
        r = min(width, tall) / 2 - 2
        cx, cy = width / 2, tall / 2
        items.append(Item(ellipse(cx, cy, r, r), colour, 0.8))
        size = rng.uniform(2, 5)
        for i in range(rng.randint(3, 9)):
            a = math.pi + 0.3 + i * rng.choice([1.6, 2.2]) * size / r
            x, y = cx + (r - size) * math.cos(a), cy + (r - size) * math.sin(a)
            items.append(Item(_star(x, y, size * 0.45), colour))
        items += icon(rng.choice(filled), cx - r * 0.4, cy - r * 0.4, r * 0.8, colour)
    elif kind == "emblem":
        r = min(width, tall) / 2 - 2
        cx, cy, solid = width / 2, tall / 2, rng.random() < 0.4
        items.append(Item(ellipse(cx, cy, r, r), colour, None if solid else 0.8))
        ink = "#ffffff" if solid else colour
        for k in range(rng.choice([1, 2, 3])):
            h = r * rng.uniform(0.25, 0.5)
            items += ornament(rng, cx - r * 0.6, cy - r * 0.6 + k * r * 0.45, r * 1.2, h, ink)
        if rng.random() < 0.5:
            items += icon(rng.choice(rng.choice([filled, stroked])), cx - r * 0.4, cy - r * 0.4, r * 0.8, ink)
    else:
        make = {
            "halftone": halftone, "texture": texture, "pattern": pattern, "ornament": ornament, "face": animal, "flag": flag,
            "frame": frame,
        }[kind]  # fmt: skip
        items = make(rng, 3, 3, width - 6, tall - 6, colour)
        if kind in ("ornament", "face") and rng.random() < 0.25:
            ground = colour
            items = [Item(rectangle(0, 0, width, tall), ground), *(_recoloured(i, colour) for i in items)]
    return Scene(width, tall, items or [Item(_star(10, 10, 8), colour)], [], kind)


# --------------------------------------------------------------------------------------------------- artwork


def _content(items: list[Item], height: float, colour_of) -> bytes:
    """A PDF content stream in mm, y down."""
    k = 72 / 25.4
    out = [f"{k:.6f} 0 0 {-k:.6f} 0 {height * k:.4f} cm 1 j 1 J"]
    for item in items:
        shade = " ".join(f"{v:.4f}" for v in colour_of(item))
        operator = "g" if " " not in shade else "rg"
        out.append(f"{shade} {operator.upper() if item.width else operator}")
        if item.width:
            out.append(f"{item.width:.4f} w")
        at = 0
        for step in item.path.steps:
            count = {"m": 1, "l": 1, "c": 3, "h": 0}[step]
            numbers = " ".join(f"{v:.4f}" for v in item.path.points[at : at + count].ravel())
            out.append(f"{numbers} {step}")
            at += count
        out.append("S" if item.width else "f")
    return "\n".join(out).encode()


def _rgb(colour: str):
    return tuple(int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))


def pdf(scene: Scene, streams: list[bytes] | None = None) -> bytes:
    """The scene as a PDF of one page (or of one page a stream)."""
    document = pymupdf.open()
    k = 72 / 25.4
    for stream in streams or [_content(scene.items, scene.height, lambda item: _rgb(item.colour))]:
        page = document.new_page(width=scene.width * k, height=scene.height * k)
        number = document.get_new_xref()
        document.update_object(number, "<<>>")
        document.update_stream(number, stream)
        page.set_contents(number)
    return document.tobytes()


#: What is covered where a green channel is so bright: colour management turns black to 7 of 255.
_COVERED = np.minimum(np.rint((255.0 - np.arange(256)) * 255 / 248), 255).astype(np.uint8)


class DrawnPlates:
    """Exact plates: the scene drawn once an ink, that ink black and everything else white."""

    def __init__(self, scene: Scene, colours: list[str]):
        def stream(wanted):
            return _content(scene.items, scene.height, lambda i: (0, 0, 0) if wanted(i.colour) else (1, 1, 1))

        pages = [stream(lambda c: c != "#ffffff")] + [stream(lambda c, one=one: c == one) for one in colours]
        pages.append(_content(scene.items, scene.height, lambda item: _rgb(item.colour)))
        self.document = pymupdf.open("pdf", pdf(scene, pages))
        self.lists = [page.get_displaylist() for page in self.document]

    def coverage(self, ink, box, pixels_per_mm):
        return _COVERED[self._drawn(self.lists[0 if ink is None else ink + 1], box, pixels_per_mm)[:, :, 1]]

    def picture(self, box, pixels_per_mm, ground):
        if ground != (255, 255, 255):
            raise ValueError(f"these scenes are drawn on white paper, not on {ground}")
        return self._drawn(self.lists[-1], box, pixels_per_mm)

    def _drawn(self, drawing, box, pixels_per_mm):
        k = pixels_per_mm * 25.4 / 72
        width, height = round((box[2] - box[0]) * pixels_per_mm), round((box[3] - box[1]) * pixels_per_mm)
        matrix = pymupdf.mupdf.FzMatrix(k, 0, 0, k, -box[0] * pixels_per_mm, -box[1] * pixels_per_mm)
        picture = pymupdf.Pixmap(pymupdf.csRGB, pymupdf.IRect(0, 0, width, height), False)
        picture.clear_with(255)
        device = pymupdf.mupdf.fz_new_draw_device(pymupdf.mupdf.FzMatrix(), picture.this)
        whole = pymupdf.mupdf.FzRect(0, 0, width, height)
        pymupdf.mupdf.fz_run_display_list(drawing.this, device, matrix, whole, pymupdf.mupdf.FzCookie())
        pymupdf.mupdf.fz_close_device(device)
        samples = np.frombuffer(picture.samples, np.uint8).reshape(height, picture.stride)
        return samples[:, : 3 * width].reshape(height, width, 3)


class PicturePlates:
    """Plates of a bitmap: each pixel shared between the two colours nearest to it."""

    def __init__(self, picture: np.ndarray, pixels_per_mm: float, colours: list[str]):
        self.scale, self.pixels = pixels_per_mm, picture
        shades = np.array(
            [[int(c[i : i + 2], 16) for i in (1, 3, 5)] for c in ["#ffffff", *colours]], np.float32
        )
        distance = np.sqrt(((picture[:, :, None].astype(np.float32) - shades) ** 2).sum(3))
        nearest = np.sort(distance, 2)
        share = np.clip(1 - distance / np.maximum(nearest[:, :, :1] + nearest[:, :, 1:2], 1e-6), 0, 1)
        share[distance > nearest[:, :, 1:2] + 1e-6] = 0
        self.plates = (share * 255).astype(np.uint8)

    def coverage(self, ink, box, pixels_per_mm):
        plate = 255 - self.plates[:, :, 0] if ink is None else self.plates[:, :, ink + 1]
        return self._window(plate, box, pixels_per_mm, 0)

    def picture(self, box, pixels_per_mm, ground):
        return self._window(self.pixels, box, pixels_per_mm, ground)

    def _window(self, plate, box, pixels_per_mm, beyond):
        k = pixels_per_mm / self.scale
        width, height = round((box[2] - box[0]) * pixels_per_mm), round((box[3] - box[1]) * pixels_per_mm)
        # The middle of pixel (0, 0) stays half a pixel from the corner.
        matrix = np.array(
            [[k, 0, (k - 1) / 2 - box[0] * pixels_per_mm], [0, k, (k - 1) / 2 - box[1] * pixels_per_mm]]
        )
        return cv2.warpAffine(
            np.ascontiguousarray(plate), matrix, (width, height), flags=cv2.INTER_CUBIC, borderValue=beyond
        )


def _visible(scene: Scene) -> Box:
    boxes = []
    for item in scene.items:
        if item.colour != "#ffffff":
            b, w = item.path.box(), (item.width or 0) / 2
            boxes.append((b[0] - w, b[1] - w, b[2] + w, b[3] + w))
    return union(boxes)


def pixels(scene: Scene, rng: random.Random) -> tuple[np.ndarray, float]:
    """The scene as a soft JPEG picture and its resolution in pixels per mm."""
    scale = rng.uniform(8, 14)
    page = pymupdf.open("pdf", pdf(scene))[0]
    k = scale * 25.4 / 72
    picture = page.get_pixmap(matrix=pymupdf.Matrix(k, k), alpha=False)
    image = Image.frombytes("RGB", (picture.width, picture.height), picture.samples)
    image = image.filter(ImageFilter.GaussianBlur(rng.uniform(0.3, 0.8)))
    held = io.BytesIO()
    image.save(held, "JPEG", quality=rng.randint(70, 92))
    return np.asarray(Image.open(held).convert("RGB")), scale


def artwork(scene: Scene, picture: tuple[np.ndarray, float] | None = None) -> Artwork:
    """The scene as the model the measurements read; with a picture, as bitmap art."""
    colours = [c for c in dict.fromkeys(i.colour for i in scene.items) if c != "#ffffff"]
    left, top, right, bottom = _visible(scene)
    number = {c: n for n, c in enumerate(colours)}
    marks = []
    for item in scene.items:
        path = item.path.moved(1, -left, -top)
        b, w = path.box(), (item.width or 0) / 2
        marks.append(
            Mark(
                "stroke" if item.width else "fill",
                (b[0] - w, b[1] - w, b[2] + w, b[3] + w),
                number.get(item.colour),
                path,
                Pen(item.width, item.width) if item.width else None,
                item.colour,
            )
        )
    plates = PicturePlates(*picture, colours) if picture else DrawnPlates(scene, colours)
    return Artwork(
        format="png" if picture else "pdf",
        kind="bitmap" if picture else "vector",
        page=1,
        pages=1,
        width_mm=right - left,
        height_mm=bottom - top,
        file_width_mm=scene.width,
        file_height_mm=scene.height,
        ground="#ffffff",
        inks=tuple(Ink(n, c, "rgb", c, lab_of(c)) for c, n in number.items()),
        marks=() if picture else tuple(marks),
        text=(),
        pictures=(),
        fonts=(),
        fades=(),
        facts=(),
        plates=plates,
        composite=bool(picture),
        plate_ppi=picture[1] * 25.4 if picture else None,
        offset=(left, top),
    )


def scenes(half: str, lines_each: int, plain: int, seed: int = 7):
    """The scenes of a part ("tune", "held" or "unseen"): so many arts a face, then so many without lettering."""
    faces = FACES[half]
    number = seed * 1_000_000 + {"tune": 0, "held": 250_000, "unseen": 500_000}[half]
    for _ in range(lines_each):
        for face in faces:
            for _ in range(6):
                number += 1
                rng = random.Random(number)
                try:
                    scene = lettering_scene(rng, half, face)
                except ValueError:
                    continue
                if max(scene.width, scene.height) < 260:
                    scene.bitmap, scene.seed = rng.random() < 0.3, number
                    yield scene
                    break
    for i in range(plain):
        number += 1
        rng = random.Random(number)
        scene = plain_scene(rng, half, i)
        scene.bitmap, scene.seed = rng.random() < 0.3, number
        yield scene


def art_of(scene: Scene) -> Artwork:
    """The artwork of a scene, as a bitmap where it says so."""
    return artwork(scene, pixels(scene, random.Random(scene.seed + 1)) if scene.bitmap else None)
