"""The fair's own figures, each round (0, 0), about 100 units high: kite, otter, curlew, reeds, waves, tide clock."""

import functools
import math

from shapes import Shape, cut, ellipse, grown, panel, polygon, ribbon, ring, smooth, together, union, within


def mirrored(shape: Shape) -> Shape:
    return shape.at(0, 0, mirror=True)


# ------------------------------------------------------------------------------------------------ kite


@functools.cache
def kite(gap: float = 3.0, bows: int = 3) -> tuple[Shape, Shape, Shape]:
    """A diamond kite: its two pairs of panels, which change colour like a chessboard, and its tail with bows.

    Without a gap the second shape is the whole sail, to be painted first.
    """
    sail = smooth(
        [(0, -50, 1), (17, -31), (35, -13, 1), (20, 20), (0, 52, 1), (-20, 20), (-35, -13, 1), (-17, -31)]
    )
    if not gap:
        first = within(sail, union(panel(-40, -60, 0, -13), panel(0, -13, 40, 60)))
        return first, sail, tail(bows)
    upright, cross = panel(-gap / 2, -60, gap / 2, 60), panel(-40, -13 - gap / 2, 40, -13 + gap / 2)
    whole = cut(sail, upright, cross)
    first = union(within(whole, panel(-40, -60, 0, -13)), within(whole, panel(0, -13, 40, 60)))
    second = union(within(whole, panel(0, -60, 40, -13)), within(whole, panel(-40, -13, 0, 60)))
    return first, second, tail(bows)


def tail(bows: int = 3) -> Shape:
    """A swinging tail from (0, 58) downwards with bows."""
    line = [(0, 56), (8, 66), (4, 80), (-8, 93), (-4, 108), (7, 118)]
    parts = [ribbon(line, [3.4, 3.4])]
    for x, y, turn in ((7.4, 71, 8), (-8, 93, -10), (4, 116, -38))[:bows]:
        parts += [bow().at(x, y, scale=0.72, turn=turn)]
    return union(*parts)


def bow() -> Shape:
    wing = smooth([(0, -1.8, 1), (11, -8.5, 1), (13, 0), (11, 8.5, 1), (0, 1.8, 1)])
    return union(wing, mirrored(wing), ellipse(0, 0, 3.6))


# ------------------------------------------------------------------------------------------------ otter


@functools.cache
def otter_head() -> Shape:
    """The outline of an otter's broad, flat face with its small ears set low."""
    right = [(0, -37), (18, -35), (34, -26), (44, -10), (50, 8), (46, 24), (32, 35), (14, 40), (0, 41)]
    head = smooth(right + [(-x, y) for x, y in right[-2:0:-1]])
    ear = smooth([(33, -24), (34, -33), (40, -38), (47, -35), (49, -27), (44, -18), (37, -17)])
    return union(head, ear, mirrored(ear))


@functools.cache
def otter(gap: float = 1.8, mouth: float = 2.4, whisker: float = 2.2) -> tuple[Shape, Shape, Shape, Shape]:
    """An otter's face seen from in front: the fur, the light muzzle, the nose, and the line of the mouth.

    Eyes, whiskers and mouth are left open; `gap` parts fur, muzzle and nose.
    """
    head = otter_head()
    right = [(0, -4), (13, -1), (25, 6), (32, 17), (29, 28), (16, 33.5), (0, 35)]
    muzzle = smooth(right + [(-x, y) for x, y in right[-2:0:-1]])
    right = [(0, -9.5), (9, -9), (15, -4.5), (12, 2.5), (5, 8), (0, 9.5)]
    nose = smooth(right + [(-x, y) for x, y in right[-2:0:-1]])
    smile = ribbon([(0, 16), (5, 22.5), (13, 23.5), (19, 19)], [mouth, mouth, mouth * 0.9])
    lips = union(ribbon([(0, 8), (0, 17)], [mouth, mouth]), smile, mirrored(smile))
    eye = cut(ellipse(25.5, -14, 7, 7.4), ellipse(25, -13.6, 3.6, 3.9))
    lines = []
    for start, bend, end in (
        ((28, 13), (43, 9.5), (56, 8)),
        ((28, 18.5), (44, 18.5), (57, 20.5)),
        ((26, 23), (42, 27.5), (55, 33)),
    ):
        if whisker:
            hair = ribbon([start, bend, end], [whisker, whisker, whisker * 0.8])
            lines += [hair, mirrored(hair)]
    inner = ellipse(41, -27.5, 3.6)
    fur = cut(head, grown(muzzle, gap), grown(nose, gap), eye, mirrored(eye), inner, mirrored(inner), *lines)
    face = cut(muzzle, grown(nose, gap), lips)
    return fur, face, nose, cut(lips, grown(nose, gap))


def otter_lines(stroke: float = 3.0) -> Shape:
    """The otter's face in lines of one width, its nose and pupils solid."""
    head = otter_head()
    rim = cut(head, grown(head, -stroke))
    fur, face, nose, _ = otter(gap=0)
    mouth = otter(gap=stroke * 0.9, mouth=stroke)[3]
    eye = ellipse(24, -12, 4.2, 4.8)
    hairs = []
    for start, bend, end in (((29, 11), (34, 10), (40, 9.5)), ((29, 20), (34, 20.5), (40, 22))):
        hair = ribbon([start, bend, end], [stroke, stroke])
        hairs += [hair, mirrored(hair)]
    return together([rim, nose, mouth, eye, mirrored(eye), *hairs])


# ------------------------------------------------------------------------------------------------ curlew


@functools.cache
def curlew(feather: float = 2.2) -> Shape:
    """A curlew walking to the right, its wing feathers left open."""
    body = smooth(
        [(-37, 14, 1), (-22, 0), (-4, -9), (9, -14), (16, -25), (21, -38), (29, -45), (37, -43), (40.5, -36.5),
         (37, -30), (32, -22), (28, -8), (20, 9), (4, 18), (-14, 18), (-26, 17)]
    )  # fmt: skip
    bill = ribbon([(37, -39), (50, -39), (63, -33.5), (71, -22)], [5.6, 4.0, 3.0, 2.0])
    legs = [
        ribbon([(3, 14), (5, 28), (1, 34), (4, 52)], [5, 3, 3.2, 2.8]),
        ribbon([(-8, 15), (-12, 28), (-10, 34), (-18, 50)], [5, 3, 3.2, 2.8]),
        ribbon([(-3, 53.5), (4, 52), (13, 53.5)], [2.4, 2.8, 2.2]),
        ribbon([(-25, 51.5), (-18, 50), (-9, 51.5)], [2.4, 2.8, 2.2]),
    ]
    whole = union(body, bill, *legs)
    openings = [
        ellipse(32.5, -38.2, 1.9),
        ribbon([(15, -9), (11, 2), (-3, 8), (-22, 10)], [feather, feather, feather * 0.8]),
        ribbon([(6, -5), (0, 0), (-10, 3), (-24, 5)], [feather, feather, feather * 0.8]),
    ]
    return cut(whole, *openings)


# ------------------------------------------------------------------------------------------------ reeds and water


@functools.cache
def reeds(stroke: float = 2.6, mace: float = 1.0, leaves: int = 0, blade: float = 1.0) -> Shape:
    """A tuft of reed mace: three stems with their seed heads and bent leaves, rooted at (0, 50).

    `mace` is the thickness of the heads, `blade` that of the leaves; `leaves` more stand upright between the stems.
    """
    parts = [
        ribbon([(0, 50), (1, 0), (0, -36)], [stroke * 1.3, stroke, stroke]),
        ribbon([(-7, 50), (-12, 15), (-22, -16)], [stroke * 1.3, stroke, stroke]),
        ribbon([(7, 50), (13, 20), (20, -4)], [stroke * 1.3, stroke, stroke]),
        head(mace).at(0, -30, turn=-1),
        head(mace).at(-21, -10, scale=0.86, turn=-19),
        head(mace).at(19.5, -1, scale=0.8, turn=17),
        leaf([(-3, 50), (-16, 28), (-33, 14), (-45, 14)], blade),
        leaf([(3, 50), (17, 34), (33, 22), (44, 26)], blade),
    ]
    upright = (
        [(4, 50), (9, 10), (17, -32)],
        [(-4, 50), (-8, 12), (-11, -38)],
        [(-2, 50), (-18, 20), (-36, -8)],
        [(2, 50), (20, 16), (36, -14)],
    )
    return union(*parts, *(leaf(spine, blade) for spine in upright[:leaves]))


def head(mace: float = 1.0) -> Shape:
    return union(panel(-4 * mace, -12, 4 * mace, 12, 4 * mace), ribbon([(0, -12), (0, -22)], [2.4, 2]))


def leaf(spine: list[tuple[float, float]], blade: float = 1.0) -> Shape:
    return ribbon(spine, [width * blade for width in (4.2, 4.6, 3.6, 1.4)])


def swell(
    x0: float, x1: float, y: float, height: float, length: float, deep: float, shift: float = 0.0
) -> Shape:
    """Water from a row of rolling crests at `y` down to `deep`."""
    count = math.ceil((x1 - x0) / length) + 2
    start = x0 - length + (shift % 1) * length  # `shift` in wave lengths, from x0
    points: list[tuple[float, ...]] = []
    for i in range(count + 1):
        x = start + i * length
        points += [(x, y), (x + length * 0.5, y - height)]
    crest = [(points[0][0], deep, 1), *[(px, py) for px, py in points], (points[-1][0], deep, 1)]
    crest[1] = (*crest[1][:2], 1)
    crest[-2] = (*crest[-2][:2], 1)
    return within(smooth(crest), panel(x0, y - height * 2, x1, deep))


# ------------------------------------------------------------------------------------------------ tide clock


def tide_clock(stroke: float = 3.0) -> Shape:
    """A dial with twelve marks, a hand and the tide standing in its lower half."""
    marks = []
    for hour in range(12):
        long = hour % 3 == 0
        marks.append(
            panel(-1.1 * stroke / 2, -39, 1.1 * stroke / 2, -30 if long else -34, stroke / 2).at(
                0, 0, turn=hour * 30
            )
        )
    hand = smooth([(0, -29, 1), (3.6, -12), (3, 2), (0, 5), (-3, 2), (-3.6, -12)]).at(0, -4, turn=38)
    pointer = cut(union(hand, ellipse(0, -4, 5)), ellipse(0, -4, 2))
    dial = ellipse(0, 0, 26.5)
    water = cut(within(swell(-40, 40, 12, 4, 17.7, 40), dial), swell(-40, 40, 19, 4, 17.7, 40, 0.5))
    under = within(swell(-40, 40, 21.5, 4, 17.7, 40, 0.5), dial)
    return together([ring(0, 0, 50, 50 - stroke * 1.5), *marks, pointer, water, under])


def star(points: int, outer: float, inner: float) -> Shape:
    return polygon(
        [
            (
                (outer if i % 2 == 0 else inner) * math.sin(math.pi * i / points),
                -(outer if i % 2 == 0 else inner) * math.cos(math.pi * i / points),
            )
            for i in range(2 * points)
        ]
    )
