"""Typefaces redrawn by other hands: bolder, wider, slanted, unsteady, rounder.  There are more drawn letters than open fonts.

Only to train the judges on; nothing is reported on them.
"""

import math
import random
from functools import cache

import numpy as np
import shapely
from shapely.geometry import Polygon

from lettering_faces import Face, Typeface, typeface
from preflight.artwork import Path


class Redrawn(Typeface):
    """A typeface as another hand would draw it: one manner for all letters, and a little chance for each."""

    def __init__(self, face: Face, script: str):
        own = typeface(Face(face.file, face.kind, face.scripts, face.capitals_only), script)
        self.font, self.glyphs, self.map, self.em, self._own = own.font, own.glyphs, own.map, own.em, own
        rng, self._hand = random.Random(face.hand), face.hand
        printed = face.kind not in ("script", "arabic", "cjk")
        self.weight = (
            rng.uniform(-0.25, 0.6) if rng.random() < 0.6 else 0.0
        )  # of the stroke, on its either side half
        self.join = rng.choice(["round", "mitre"])
        self.slant = rng.gauss(0, 0.15) if rng.random() < 0.5 else 0.0
        self.stretch = math.exp(rng.uniform(-0.6, 0.7)) if rng.random() < 0.5 else 1.0
        self.sway = rng.uniform(0, 0.03) * self.em if rng.random() < 0.6 else 0.0
        self.waves = [(rng.uniform(0.4, 1.6), rng.uniform(0.4, 1.6)) for _ in range(2)]
        loose = printed and rng.random() < 0.45
        self.bounce, self.turn, self.growth = (
            (rng.uniform(0, 0.04), rng.uniform(0, 0.07), rng.uniform(0, 0.05)) if loose else (0.0, 0.0, 0.0)
        )
        self.grain = (
            self.em / rng.choice([28, 40]) if printed and rng.random() < 0.07 else 0.0
        )  # drawn in squares

    def advance(self, char: str) -> float:
        return self._own.advance(char) * self.stretch + self._heavier(char)

    def _heavier(self, char: str) -> float:
        drawn = self._drawn(char)
        return drawn[1] if drawn else 0.0

    def bounds(self, char: str):
        drawn = self._drawn(char)
        if not drawn:
            return None
        points = drawn[0].points
        return (*points.min(0), *points.max(0))

    def path(self, char: str, matrix) -> Path | None:
        drawn = self._drawn(char)
        if not drawn:
            return None
        a, b, c, d, e, f = matrix
        return Path(drawn[0].steps, drawn[0].points @ np.array([[a, b], [c, d]]) + (e, f))

    @cache  # noqa: B019 - as long as the scene that it is drawn for
    def _drawn(self, char: str) -> tuple[Path, float] | None:
        """A letter in font units, and what it gained in width."""
        path = self._own.path(char, (1, 0, 0, 1, 0, 0))
        rings = [r for r in path.polygons(self.em / 400) if len(r) > 2] if path else []
        body = Polygon()
        for ring in sorted((Polygon(r).buffer(0) for r in rings), key=lambda p: -p.area):
            body = body.symmetric_difference(ring)  # even-odd: an inner ring is an opening
        if body.is_empty or not body.length:
            return None
        grown = 0.5 * self.weight * 2 * body.area / body.length
        bolder = body.buffer(grown, quad_segs=4, join_style=self.join, mitre_limit=2.5)
        # A stroke that would vanish or break stays as it was.
        body = bolder if len(_parts(bolder)) == len(_parts(body)) else body
        points, steps = [], ""
        for part in _parts(body):
            for ring in (part.exterior, *part.interiors):
                corners = self._moved(np.array(ring.segmentize(self.em / 18).coords)[:-1], char)
                if len(corners) > 2:
                    points.append(corners)
                    steps += "m" + "l" * (len(corners) - 1) + "h"
        return (Path(steps, np.vstack(points)), 2 * grown) if points else None

    def _moved(self, ring: np.ndarray, char: str) -> np.ndarray:
        rng = random.Random(f"{self._hand} {char}")
        phases = [rng.uniform(0, 6.3) for _ in self.waves]
        turn, up, size = (rng.gauss(0, one) for one in (self.turn, self.bounce, self.growth))
        x, y = ring.T * (2 * np.pi / self.em)
        ring = ring + np.stack(
            [
                self.sway * np.sin(a * x + b * y + start)
                for (a, b), start in zip(self.waves, phases, strict=True)
            ],
            1,
        )
        c, s = math.cos(turn) * (1 + size), math.sin(turn) * (1 + size)
        matrix = np.array([[c, s], [-s, c]]) @ np.array([[self.stretch, 0], [self.slant, 1]])
        ring = ring @ matrix + (0, up * self.em)
        return np.round(ring / self.grain) * self.grain if self.grain else ring


def _parts(body) -> list[Polygon]:
    return [
        p
        for p in getattr(body, "geoms", [body])
        if isinstance(p, shapely.Polygon) and not p.is_empty and p.area > 0
    ]
