"""What a row of shapes is judged by: how its shapes stand to each other, and how like letters they are."""

import math
from collections import Counter
from collections.abc import Sequence

import numpy as np

from preflight.measure.letter_frame import Fit
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
        ]
    )


def _evidence(likeness: Likeness) -> float:
    """How much all shapes together speak for letters rather than anything else, in natural logarithms, within bounds."""
    odds = np.log((likeness.letter + 0.02) / (likeness.others.sum(1) + 0.02))
    return float(np.clip(odds.sum(), -15, 15))


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
