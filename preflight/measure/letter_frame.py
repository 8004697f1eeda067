"""The frame of a line of lettering: how far along a straight or bent baseline a point lies, and how high above it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from preflight.measure.letter_shapes import Shape

cv2.setNumThreads(1)

#: Of so few shapes tops and feet alone do not tell the baseline: straight edges and how well they read help.
FEW = 6
#: So many baselines of one row are tried.
MOST_WAYS = 6
#: Edges are looked at in chords of this length against a shape's size; straight ones this near to upright or level count.
_CHORD, _NEAR_UPRIGHT = 0.12, math.radians(6)
#: A shape has stems if so much of its outline runs within _NEAR_UPRIGHT of one direction, or square to it.
_STEMS = 0.3
#: Three letters are tried on arcs on which the last is turned so much against the first, radians; and on so many baselines.
_BENDS, _MOST_WAYS_OF_THREE = (0.45, 0.95, -0.6), 9
#: Letters turned less than this from one end of a row to the other stand on a straight line, radians.
_LEAST_BEND = math.radians(8)


@dataclass(frozen=True, slots=True)
class Frame:
    """A baseline: a straight one through `origin`, or an arc about `origin` where `radius` is not zero.

    A straight one runs `along`.  Of an arc `along` points from the centre to the middle of the line, and `sense` is 1 where
    letters stand with their tops outward, -1 where inward.
    """

    origin: np.ndarray
    along: np.ndarray
    radius: float = 0.0
    sense: int = 1

    @property
    def arched(self) -> bool:
        """Is it bent?"""
        return self.radius > 0

    def place(self, points: np.ndarray) -> np.ndarray:
        """Points in mm of the art as (along the baseline, up from it), mm; reading direction runs right seen from below."""
        away = points - self.origin
        if not self.arched:
            ahead, below = self.along
            return away @ np.array([(ahead, below), (below, -ahead)])
        start = math.atan2(self.along[1], self.along[0])
        angle = (np.arctan2(away[:, 1], away[:, 0]) - start + math.pi) % (2 * math.pi) - math.pi
        return np.stack(
            [self.sense * angle * self.radius, self.sense * (np.hypot(away[:, 0], away[:, 1]) - self.radius)],
            1,
        )

    def flipped(self) -> Frame:
        """The same baseline read upside down."""
        if self.arched:
            return Frame(self.origin, self.along, self.radius, -self.sense)
        return Frame(self.origin, -self.along)


@dataclass(slots=True)
class Fit:
    """A chain of shapes in its frame.

    Attributes:
        spans: (n, 2) where each shape begins and ends along the baseline.
        levels: (n, 2) its bottom and top above the frame's baseline.
        height: median height from the common base to the tops.
        base: the common base in the frame.
        residual: how badly tops and bottoms align, in heights.
    """

    frame: Frame
    spans: np.ndarray
    levels: np.ndarray
    height: float
    base: float
    residual: float


def median(values: np.ndarray) -> float:
    """The median of a few numbers; numpy's own takes ten times as long about it."""
    ordered = np.sort(values)
    middle = len(ordered) // 2
    return float(ordered[middle] if len(ordered) % 2 else 0.5 * (ordered[middle - 1] + ordered[middle]))


def extents(members: Sequence[Shape], frame: Frame) -> tuple[np.ndarray, np.ndarray]:
    """Spans and levels of shapes in a frame."""
    counts = np.cumsum([0] + [len(shape.points) for shape in members])[:-1]
    placed = frame.place(np.vstack([shape.points for shape in members]))
    low, high = np.minimum.reduceat(placed, counts), np.maximum.reduceat(placed, counts)
    return np.stack([low[:, 0], high[:, 0]], 1), np.stack([low[:, 1], high[:, 1]], 1)


def fit(members: Sequence[Shape]) -> Fit:
    """The baseline, straight or bent, that a chain stands on (either way up)."""
    return next(fits(members))


def fits(members: Sequence[Shape], centres: Sequence[np.ndarray] = ()) -> Iterator[Fit]:
    """The baselines a chain may stand on, the best aligned first; none twice, and MOST_WAYS at most.

    Args:
        members: the shapes of the chain.
        centres: centres of arcs and rings elsewhere in the art, on which a short line may be bent too.
    """
    frames = _straight_frames(members)
    upright = by_stems(members, frames[0]) if 1 < len(members) <= FEW else []
    straight = [_measured(members, frame) for frame in [*frames, *upright] if not frame.arched]
    straight.sort(key=lambda one: one.residual)
    arcs = [_arc(members, centre) for centre in centres] + [one for one in upright if one.arched]
    if len(members) >= 4:
        arcs.append(_arc(members))
    elif len(members) == 3:
        arcs += _bends(members, frames[0])
    # By the size of the letters: what a straight line makes of more than half a ring is as tall as the ring.
    usual = median(np.array([shape.size for shape in members]))
    bent = [_measured(members, arc) for arc in arcs if usual < arc.radius < 50 * usual]
    bent = [one for one in bent if one.residual < 0.75 * straight[0].residual - 0.01 or len(members) < 4]
    found: list[Fit] = []
    for one in (
        [*sorted(bent, key=lambda one: one.residual), *straight] if len(members) >= 4 else [*straight, *bent]
    ):
        turned = [
            abs(float(one.frame.along @ other.frame.along)) for other in found if not other.frame.arched
        ]
        if one.frame.arched or all(turn < 0.9994 for turn in turned):
            found.append(one)
    for one in found[: MOST_WAYS if len(members) != 3 else _MOST_WAYS_OF_THREE]:
        yield settled(members, one.frame)


def _measured(members: Sequence[Shape], frame: Frame) -> Fit:
    spans, levels = extents(members, frame)
    base, height = _base(levels)
    usual = max(median(levels[:, 1] - levels[:, 0]), 1e-6)
    return Fit(frame, spans, levels, height, base, _misalignment(levels, usual))


def _straight_frames(members: Sequence[Shape]) -> list[Frame]:
    """Through the middles of the shapes, and along the long edges of the hull of them all: their common feet or tops."""
    first = _straight(np.array([shape.centre for shape in members]))
    if len(members) == 1:
        return [first, *_own_axis(members[0])]
    if len(members) > 30:
        return [first]
    hull = cv2.convexHull(np.vstack([shape.hull for shape in members]).astype(np.float32))[:, 0].astype(float)
    edges = np.roll(hull, -1, 0) - hull
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    reach = float(np.ptp(hull @ first.along))
    frames = [first]
    for i in np.argsort(-lengths)[:4]:
        along = edges[i] / max(lengths[i], 1e-9)
        along = along * np.sign(along @ first.along)
        if lengths[i] > 0.3 * reach and along @ first.along > 0.86:
            frames.append(Frame(first.origin, along))
    return frames


def chords(ring: np.ndarray, size: float) -> np.ndarray:
    """Chords along an outline, each about _CHORD of a shape's size long; (n, 2)."""
    step = np.hypot(*(np.roll(ring, -1, 0) - ring).T).mean()
    ahead = max(1, min(len(ring) // 4, round(_CHORD * size / max(step, 1e-9))))
    thin = max(1, ahead // 4)
    return (np.roll(ring, -ahead, 0) - ring)[::thin]


def uprightness(rings: Sequence[np.ndarray]) -> tuple[float, float]:
    """Length of the outlines of a shape in its frame that runs upright or level, weighted by how nearly; and of all of it."""
    size = float(np.ptp(rings[0], axis=0).max())
    away = np.concatenate([chords(ring, size) for ring in rings])
    lengths = np.hypot(away[:, 0], away[:, 1])
    turn = np.arctan2(away[:, 1], away[:, 0]) % (math.pi / 2)
    near = np.maximum(0, 1 - np.minimum(turn, math.pi / 2 - turn) / _NEAR_UPRIGHT)
    return float((near * lengths).sum()), float(lengths.sum())


def by_stems(members: Sequence[Shape], first: Frame) -> list[Frame]:
    """Baselines square to the straight strokes of a few letters: one all are turned alike on, and an arc if they differ.

    Letters bent round something are turned each by its place: where the turn grows along the row, that is the bend.
    """
    start = math.atan2(first.along[1], first.along[0])
    found = []
    for shape in members:
        away = np.concatenate([chords(ring, shape.size) for ring in shape.rings])
        lengths = np.hypot(away[:, 0], away[:, 1])
        turn = (np.arctan2(away[:, 1], away[:, 0]) - start + math.pi / 4) % (math.pi / 2)
        steps = np.bincount((turn / math.radians(1)).astype(int), lengths, 91)
        wide = np.convolve(np.concatenate([steps[85:90], steps[:90], steps[:5]]), [0.4, 0.7, 1, 0.7, 0.4])[
            7:97
        ]
        peak = int(wide.argmax())
        if wide[peak] > _STEMS * lengths.sum():
            near = np.abs(turn - math.radians(peak + 0.5)) < math.radians(3)
            found.append(
                (float((turn * lengths)[near].sum() / lengths[near].sum()) - math.pi / 4, shape, wide[peak])
            )
    if not found:
        return []
    turns, places = (
        np.array([one[0] for one in found]),
        np.array([one[1].centre @ first.along for one in found]),
    )
    weights = np.array([one[2] for one in found])
    middle = np.mean([shape.centre for shape in members], axis=0)
    frames = []
    usual = float(np.average(turns, weights=weights))
    if abs(usual) < 0.6:
        frames.append(Frame(middle, np.array([math.cos(start + usual), math.sin(start + usual)])))
    reach = float(np.ptp(places))
    if len(found) >= 2 and reach > 0.3 * median(np.array([shape.size for shape in members])):
        bend = float(np.polyfit(places - middle @ first.along, turns, 1, w=weights)[0])
        if _LEAST_BEND < abs(bend) * reach < 1.6:
            # The art's y runs down: turning clockwise along the line means a centre below it.
            below = np.array([-first.along[1], first.along[0]])
            frames.append(_arc(members, middle + below / bend))
    return frames


def _bends(members: Sequence[Shape], first: Frame) -> list[Frame]:
    """Arcs that three letters may stand on, tops outward: from hardly bent to a good part of a ring, both ways."""
    middle = np.mean([shape.centre for shape in members], axis=0)
    reach = float(np.ptp([shape.centre @ first.along for shape in members]))
    below = np.array([-first.along[1], first.along[0]])
    return [_arc(members, middle + below * reach / bend) for bend in _BENDS] if reach > 0 else []


def _own_axis(shape: Shape) -> list[Frame]:
    """Along the main axis of a slim shape that lies askew: a word of connected writing that is turned."""
    spread = np.linalg.eigh(np.cov(shape.hull.T))
    if len(shape.hull) < 4 or spread[0][1] < 2.2 * spread[0][0]:
        return []
    along = spread[1][:, 1]
    along = along * (np.sign(along[0]) if abs(along[0]) > 0.25 else -np.sign(along[1]))
    return [Frame(shape.centre, along)] if abs(float(along[0])) < 0.99 else []


def settled(members: Sequence[Shape], frame: Frame) -> Fit:
    """The frame drawn to the feet of its letters, by least squares over those that share a base."""
    for _ in range(3):
        spans, levels = extents(members, frame)
        base, height = _base(levels)
        feet = np.abs(levels[:, 0] - base) < 0.18 * height
        middle = spans.mean(1)
        if not frame.arched:
            if feet.sum() < 3 or np.ptp(middle[feet]) < 1e-6:
                break
            tilt = math.atan(float(np.polyfit(middle[feet], levels[feet, 0], 1)[0]))
            if abs(tilt) > 0.2:
                break
            up = np.array([frame.along[1], -frame.along[0]])
            frame = Frame(frame.origin, frame.along * math.cos(tilt) + up * math.sin(tilt))
        else:
            if feet.sum() < (4 if len(members) > 3 else 3):
                break
            start = math.atan2(frame.along[1], frame.along[0])
            angle = start + frame.sense * middle[feet] / frame.radius
            reach = frame.radius + frame.sense * levels[feet, 0]
            points = frame.origin + np.stack([reach * np.cos(angle), reach * np.sin(angle)], 1)
            centre, radius = _circle(points)
            if abs(radius - frame.radius) > 0.5 * frame.radius:
                break
            if np.hypot(*(centre - frame.origin)) > 0.5 * frame.radius:
                break
            frame = Frame(centre, frame.along, radius, frame.sense)
    spans, levels = extents(members, frame)
    base, height = _base(levels)
    return Fit(frame, spans, levels, height, base, _misalignment(levels, height))


def _base(levels: np.ndarray) -> tuple[float, float]:
    """Where most letters stand: the level that most bottoms share; and the median height above it."""
    bottoms = levels[:, 0]
    height = max(median(levels[:, 1] - bottoms), 1e-6)
    near = np.abs(bottoms[:, None] - bottoms[None]) < 0.08 * height
    best = near[int(near.sum(1).argmax())] if len(bottoms) > 2 else np.ones(len(bottoms), bool)
    base = median(bottoms[best])
    return base, max(median(levels[:, 1] - base), 1e-6)


def _misalignment(levels: np.ndarray, height: float) -> float:
    spread = [median(np.abs(side - median(side))) for side in levels.T]
    return (min(spread) + 0.3 * max(spread)) / height


def _straight(centres: np.ndarray) -> Frame:
    middle = centres.mean(0)
    along = np.linalg.svd(centres - middle)[2][0] if len(centres) > 1 else np.array([1.0, 0.0])
    # Lines read left to right; steep ones from bottom to top.
    along = along * (np.sign(along[0]) if abs(along[0]) > 0.25 else -np.sign(along[1]))
    return Frame(middle, along)


def _arc(members: Sequence[Shape], centre: np.ndarray | None = None) -> Frame:
    centres = np.array([shape.centre for shape in members])
    if centre is None:
        centre, radius = _circle(centres)
    else:
        radius = median(np.hypot(*(centres - centre).T))
    away = (centres - centre).mean(0)
    length = max(float(np.hypot(*away)), 1e-9)
    return Frame(centre, away / length, radius, 1 if away[1] <= 0.2 * length else -1)


def _circle(points: np.ndarray) -> tuple[np.ndarray, float]:
    """Centre and radius of the circle nearest to points (algebraic least squares, Kasa's fit)."""
    shift = points.mean(0)
    local = points - shift
    found = np.linalg.lstsq(np.c_[2 * local, np.ones(len(local))], (local**2).sum(1), rcond=None)[0]
    centre = found[:2]
    return centre + shift, math.sqrt(max(1e-9, float(found[2] + centre @ centre)))
