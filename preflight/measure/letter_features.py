"""What a row of shapes is judged by: how its shapes stand to each other, and how like letters they are."""

import math
from collections.abc import Sequence

import numpy as np

from preflight.measure.letter_frame import Fit
from preflight.measure.letter_portrait import Likeness
from preflight.measure.letter_shapes import Shape

FEATURES = (
    "log members", "bottoms aligned", "tops in two levels", "stroke/height", "stroke variation", "solidity",
    "with openings", "shape diversity", "gap variation", "gap", "aspect", "aspect variation", "height variation",
    "residual", "arched", "filled solidity", "crowding", "stroke from usual", "pair", "share of plate",
    "solid members", "single", "letter mean", "letter least", "letter quarter", "none mean", "flipped mean",
    "joined mean", "arabic mean", "cjk mean", "clear mean", "clear letters", "case agreement", "height mm", "open",
    "different letters",
)  # fmt: skip


def features(members: Sequence[Shape], line: Fit, likeness: Likeness, around: Sequence[Shape]) -> np.ndarray:
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
            *(float(v) for v in likeness.others.mean(0)),
            float(likeness.clear.mean()),
            float((likeness.clear > 0.6).sum()) ** 0.5,
            abs(2 * lean - 1),
            math.log(height),
            float(members[0].is_open),
            len(set(likeness.best)) / n,
        ]
    )


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
