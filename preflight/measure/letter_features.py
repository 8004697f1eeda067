"""What a row of shapes is judged by: how its shapes stand to each other, and how like letters they are."""

import math
from collections import Counter
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from preflight.measure.letter_frame import Fit, uprightness
from preflight.measure.letter_objects import Objects
from preflight.measure.letter_portrait import SIDE, WIDE, Likeness
from preflight.measure.letter_shapes import Shape

FEATURES = (
    "log members", "bottoms aligned", "tops in two levels", "stroke/height", "stroke variation", "solidity",
    "with openings", "shape diversity", "gap variation", "gap", "aspect", "aspect variation", "height variation",
    "residual", "arched", "filled solidity", "crowding", "stroke from usual", "pair", "share of plate",
    "solid members", "single", "letter mean", "letter least", "letter quarter", "none mean", "flipped mean",
    "joined mean", "arabic mean", "cjk mean", "clear mean", "clear letters", "case agreement", "height mm", "open",
    "different letters", "evidence", "second least letter", "pieces none", "pieces letter", "wide members", "repetition",
    "runs across", "runs variation", "runs along", "openings a height", "outlines known", "objects whole", "drawn in order",
    "all inks", "open in one", "size of what is open", "stroke of what is open",
    "touching", "strokes", "most strokes", "strokes along", "upright edges", "dots above", "dots below", "stacked",
)  # fmt: skip


def features(
    members: Sequence[Shape], line: Fit, likeness: Likeness, around: Sequence[Shape], objects: Objects | None
) -> np.ndarray:
    """What a row is judged by, in the order of FEATURES; lengths in heights of the line."""
    n = len(members)
    tall = line.levels[:, 1] - line.levels[:, 0]
    height = max(float(np.percentile(tall, 85)), 1e-6)
    strokes = np.array([s.stroke for s in members])
    wide = line.spans[:, 1] - line.spans[:, 0]
    order = np.argsort(line.spans.mean(1))
    gaps = line.spans[order][1:, 0] - line.spans[order][:-1, 1] if n > 1 else np.zeros(1)
    tops = line.levels[:, 1] - line.base
    near = np.abs(tops[:, None] - tops[None]) < 0.07 * height
    best = int(near.sum(1).argmax())
    rest = ~near[best]
    two = near[best].mean() + ((near & rest[None]).mean(1)[rest].max() if rest.any() else 0.0)
    stroke = float(np.median(strokes)) / height
    aspect = wide / np.maximum(tall, 1e-6)
    kinds = {
        (round(float(a) / 0.15), round(s.solidity / 0.06), round(s.openings / 0.1))
        for a, s in zip(aspect, members, strict=True)
    }
    letter = likeness.letter
    weight = letter / max(float(letter.sum()), 1e-9)
    lean = float((likeness.capital * weight).sum())
    return np.array(
        [
            math.log(n),
            float(np.mean(np.abs(line.levels[:, 0] - line.base) < 0.09 * height)),
            float(two),
            stroke,
            float(strokes.std() / max(strokes.mean(), 1e-9)),
            float(np.mean([s.solidity for s in members])),
            float(np.mean([s.openings > 0.01 for s in members])),
            len(kinds) / n,
            float(gaps.std() / height),
            float(np.median(gaps) / height),
            float(np.median(aspect)),
            float(aspect.std()),
            float(tall.std() / height),
            line.residual,
            float(line.frame.arched),
            float(np.mean([s.filled for s in members])),
            _crowding(members, around, height),
            abs(math.log(max(0.01, stroke) / 0.12)),
            float(n == 2),
            n / max(n, len(around)),
            float(np.mean([s.solidity > 0.93 for s in members])),
            float(n == 1),
            float(letter.mean()),
            float(letter.min()),
            float(np.percentile(letter, 25)),
            float(likeness.others[:, 0].mean()),
            float(likeness.others[:, 1].mean()),
            *(float(v) for v in likeness.pieces[:, 3:].mean(0)),
            float(likeness.clear.mean()),
            float((likeness.clear > 0.6).sum()) ** 0.5,
            abs(2 * lean - 1),
            math.log(height),
            float(members[0].is_open),
            len(set(likeness.best)) / n,
            _evidence(likeness),
            float(np.sort(letter)[min(1, n - 1)]),
            float(likeness.pieces[:, 1].mean()),
            float(likeness.pieces[:, 0].mean()),
            float(np.mean(aspect > WIDE)),
            _repetition(likeness.portraits),
            *_runs(likeness.windows),
            sum(len(s.rings) - 1 for s in members) * height / max(float(wide.sum()), 1e-6),
            *(objects.told(members, line.spans.mean(1)) if objects else (0.0, 0.0, 0.0)),
            float(members[0].ink is None),
            *_ground(members, height),
            *_strokes_met(members, line),
            *_beside(members, line, around, height),
        ]
    )


def _evidence(likeness: Likeness) -> float:
    """How much all shapes together speak for letters rather than anything else, in natural logarithms, within bounds."""
    odds = np.log((likeness.letter + 0.02) / (likeness.others.sum(1) + 0.02))
    return float(np.clip(odds.sum(), -15, 15))


#: Heights at which the strokes of a shape are counted, shares of its own; and of so many shapes.
_LEVELS = np.array([0.2, 0.35, 0.5])
_MOST_COUNTED = 16


def _strokes_met(members: Sequence[Shape], line: Fit) -> tuple[float, float, float, float, float]:
    """How connected a row is, and its strokes: a letter has four abreast at most, a word of connected writing many.

    Returns:
        share of neighbours that were drawn apart but touch; strokes abreast in a shape, on average and most (square roots);
        strokes abreast over the height that the shapes are wide; share of the outlines that run upright or level.
    """
    order = np.argsort(line.spans.mean(1))
    row = [members[i] for i in order]
    touching = sum(a.whole is not None and a.whole is b.whole for a, b in pairwise(row)) / max(
        len(row) - 1, 1
    )
    counts, along, across = [], 0.0, 0.0
    for i in order[np.linspace(0, len(order) - 1, min(len(order), _MOST_COUNTED)).astype(int)]:
        rings = [line.frame.place(ring[:: max(1, len(ring) // 400)]) for ring in members[i].rings]
        levels = line.levels[i, 0] + _LEVELS * (line.levels[i, 1] - line.levels[i, 0])
        above = [ring[:, 1, None] > levels for ring in rings]
        counts.append(float(np.median(sum((a != np.roll(a, 1, 0)).sum(0) for a in above))) / 2)
        near, all_of_it = uprightness(rings)
        along, across = along + near, across + all_of_it
    wide = float((line.spans[:, 1] - line.spans[:, 0]).mean())
    return (
        touching,
        float(np.mean(counts)) ** 0.5,
        float(np.max(counts)) ** 0.5,
        float(np.mean(counts)) * line.height / max(wide, 1e-6),
        along / max(across, 1e-9),
    )


def _beside(
    members: Sequence[Shape], line: Fit, around: Sequence[Shape], height: float
) -> tuple[float, float, float]:
    """Of a row: dots above and below it a shape, as Arabic has, and the share of shapes with others over or under them."""
    own = {id(s) for s in members}
    low, high = line.spans[:, 0].min(), line.spans[:, 1].max()
    middles, sizes = [], []
    for other in around:
        if id(other) not in own and 0.05 * height < other.size < 1.5 * height:
            middles.append(other.centre)
            sizes.append(other.size / height)
    placed = line.frame.place(np.array(middles).reshape(-1, 2))
    at, up, size = placed[:, 0], (placed[:, 1] - line.base) / height, np.array(sizes)
    near = (at > low) & (at < high) & (up > -0.7) & (up < 1.7)
    dots = near & (size < 0.35)
    above, below = float((dots & (up >= 0.4)).sum()), float((dots & (up < 0.4)).sum())
    tops, feet = line.levels[:, 1], line.levels[:, 0]
    each = line.spans.mean(1)
    centre_up = ((tops + feet) / 2 - line.base) / height
    at = np.concatenate([at[near & (size >= 0.25)], each])
    up = np.concatenate([up[near & (size >= 0.25)], centre_up])
    over = (at > line.spans[:, :1]) & (at < line.spans[:, 1:]) & (np.abs(up - centre_up[:, None]) > 0.25)
    n = len(members)
    return min(above / n, 3.0), min(below / n, 3.0), float(over.any(1).mean())


def _ground(members: Sequence[Shape], height: float) -> tuple[float, float, float]:
    """Of openings: the share that lies in one and the same shape, and its size and stroke, in heights (logarithms).

    Letters knocked out share a panel; counters lie each in its own letter; bodies of outlined letters in thin lines.
    """
    if not members[0].is_open:
        return 0.0, 0.0, 0.0
    around = Counter(id(s.around) for s in members if s.around is not None)
    if not around:
        return 1.0, 3.0, 1.0
    commonest, count = around.most_common(1)[0]
    panel = next(s.around for s in members if id(s.around) == commonest)
    assert panel is not None
    return (
        count / len(members),
        math.log(max(panel.size / height, 0.3)),
        math.log(max(panel.stroke / height, 0.01)),
    )


def _repetition(portraits: np.ndarray) -> float:
    """How like its likest neighbour each shape is (cosine, mean): ornaments repeat, words hardly."""
    if len(portraits) < 2:
        return 0.0
    flat = portraits[:30, :-1] - portraits[:30, :-1].mean(1, keepdims=True)
    flat = flat / np.maximum(np.linalg.norm(flat, axis=1, keepdims=True), 1e-6)
    alike = flat @ flat.T
    np.fill_diagonal(alike, -1)
    return float(alike.max(1).mean())


def _runs(pictures: np.ndarray) -> tuple[float, float, float]:
    """Strokes met across the pieces of a row: mean over three levels, its spread from piece to piece; and met upward."""
    inked = pictures[:, :-1].reshape(-1, SIDE, SIDE) > 0.5
    levels = inked[:, [6, 10, 14], :]
    across = (levels[:, :, 1:] & ~levels[:, :, :-1]).sum(2) + levels[:, :, 0]
    columns = inked[:, :, [6, 10, 14]]
    upward = (columns[:, 1:] & ~columns[:, :-1]).sum(1) + columns[:, 0]
    each = across.mean(1)
    return float(each.mean()), float(each.std()), float(upward.mean())


def _crowding(members: Sequence[Shape], around: Sequence[Shape], height: float) -> float:
    """Share of the members that have shapes of their size beside them which are not in the row."""
    own = {id(s) for s in members}
    others = [s for s in around if id(s) not in own]
    if not others:
        return 0.0
    centres = np.array([s.centre for s in others])
    sizes = np.array([s.size for s in others])
    close = 0
    for shape in members:
        away = np.hypot(*(centres - shape.centre).T)
        close += bool(((away < 1.5 * height) & (sizes > 0.6 * shape.size) & (sizes < 1.7 * shape.size)).any())
    return close / len(members)
