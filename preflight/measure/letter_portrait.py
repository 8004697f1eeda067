"""Small pictures of single shapes, and how like the letters of an alphabet each is.

The judges are two networks of two hidden layers, trained on open fonts and on pictures without letters
(tests/train_lettering.py); their numbers are in letter_weights.json.  They read nothing aloud: they say how like a letter a
shape is, which way up, and whether a capital or a small one, so that a row of icons is not taken for a word.
"""

import base64
import functools
import json
from collections.abc import Sequence
from importlib import resources
from typing import Any

import cv2
import numpy as np

cv2.setNumThreads(1)

SIDE = 20
#: Shapes wider than this against their height are also looked at window by window.
WIDE = 1.6
#: Nothing so many times wider than it is high is writing: a rule, or an outline without height.
_RULE = 1e4
_MOST_WINDOWS = 10
_FINE = 3  # portraits are drawn so many times finer, then averaged
_SHIFT = 4
#: Ranks run from minus this to this, about as far as numbers of unit spread do.
RANK = 1.7
#: What a shape can be besides a letter: a picture's piece, a letter upside down, a piece of connected, Arabic or Han writing.
OTHERS = ("none", "flipped", "joined", "arabic", "cjk")


def portrait(rings: Sequence[np.ndarray]) -> np.ndarray:
    """A shape scaled to fill a square, as (SIDE * SIDE + 1) numbers: coverage from 0 to 1, row 0 lowest; then its slimness.

    Args:
        rings: (n, 2) arrays, along and up the baseline, any unit; outlines of several pieces are drawn as one shape.
    """
    low = np.min([ring.min(0) for ring in rings], axis=0)
    high = np.max([ring.max(0) for ring in rings], axis=0)
    width, height = np.maximum(high - low, 1e-9)
    # From the middle of one pixel to the middle of another, so that a shape and the same upside down are drawn alike.
    inner = SIDE * _FINE - 2 * _FINE - 1
    scale = inner / max(width, height)
    shift = (SIDE * _FINE - 1 - (high + low) * scale) / 2
    corners = [np.round((ring * scale + shift) * (1 << _SHIFT)).astype(np.int32) for ring in rings]
    picture = np.zeros((SIDE * _FINE, SIDE * _FINE), np.uint8)
    cv2.fillPoly(picture, corners, 255, shift=_SHIFT)
    small = cv2.resize(picture, (SIDE, SIDE), interpolation=cv2.INTER_AREA)
    slim = float(np.clip(np.log(width / height), -2.5, 2.5)) / 1.5
    return np.append(small.ravel() / 255.0, slim).astype(np.float32)


def windows(rings: Sequence[np.ndarray]) -> np.ndarray:
    """Portraits of square windows along a wide shape, so that connected writing is looked at letter by letter.

    Args:
        rings: (n, 2) arrays, along and up the baseline, any unit.

    Returns:
        (k, SIDE * SIDE + 1), at most _MOST_WINDOWS of them; none of a shape that is not WIDE, or is a rule.
    """
    low, high = rings[0].min(0), rings[0].max(0)
    width, height = np.maximum(high - low, 1e-9)
    if not WIDE * height <= width < _RULE * height:
        return np.empty((0, SIDE * SIDE + 1), np.float32)
    side = SIDE * _FINE
    scale = (side - 2 * _FINE - 1) / height
    span = int(width * scale) + 2 * _FINE + 1
    count = min(_MOST_WINDOWS, round((span - side) / (0.7 * side)) + 1)
    starts = np.linspace(0, span - side, max(2, count)).astype(int)
    if span > 16 * side:  # a long line: only what is looked at is drawn
        starts = np.linspace(0, 16 * side - side, _MOST_WINDOWS).astype(int)
    shift = np.array([_FINE, (side - 1 - (high[1] + low[1]) * scale) / 2])
    corners = [
        np.round((ring * scale - (low[0] * scale, 0) + shift) * (1 << _SHIFT)).astype(np.int32)
        for ring in rings
    ]
    picture = np.zeros((side, min(span, 16 * side)), np.uint8)
    cv2.fillPoly(picture, corners, 255, shift=_SHIFT)
    found = np.zeros((len(starts), SIDE * SIDE + 1), np.float32)
    for row, start in enumerate(starts):
        small = cv2.resize(picture[:, start : start + side], (SIDE, SIDE), interpolation=cv2.INTER_AREA)
        found[row, :-1] = small.ravel() / 255.0
    return found


_TURNS = np.arange(8) * np.pi / 4
_ACROSS, _ALONG = np.cos(_TURNS).astype(np.float32), np.sin(_TURNS).astype(np.float32)
#: (pixels, 5 x 5 cells): which cell each pixel of a portrait lies in.
_CELLS = np.kron(np.eye(5), np.ones((SIDE // 5, 1)))
_CELLS = np.kron(_CELLS, _CELLS).astype(np.float32)


def described(portraits: np.ndarray) -> np.ndarray:
    """Portraits as the judge takes them: coarse coverage, edges by their direction in 5 x 5 cells, slimness.

    Histograms of directions tell letters of unseen fonts better than bare pixels (Dalal and Triggs 2005, CVPR 886-893).
    """
    n = len(portraits)
    pictures = portraits[:, :-1].reshape(n, SIDE, SIDE)
    padded = np.zeros((n, SIDE + 2, SIDE + 2), np.float32)
    padded[:, 1:-1, 1:-1] = pictures
    dx = padded[:, 1:-1, 2:] - padded[:, 1:-1, :-2]
    dy = padded[:, 2:, 1:-1] - padded[:, :-2, 1:-1]
    edges = np.empty((n, len(_TURNS), SIDE, SIDE), np.float32)
    for turn, (across, along) in enumerate(zip(_ACROSS, _ALONG, strict=True)):
        np.multiply(dx, across, out=edges[:, turn])
        edges[:, turn] += dy * along
    edges -= (0.3 * np.hypot(dx, dy))[:, None]
    np.maximum(edges, 0, out=edges)
    summed = edges.reshape(-1, SIDE * SIDE) @ _CELLS  # a sum over two axes takes numpy three times as long
    cells = (
        summed.reshape(n, len(_TURNS), _CELLS.shape[1])
        .transpose(0, 2, 1)
        .reshape(n, _CELLS.shape[1] * len(_TURNS))
    )
    coarse = pictures.reshape(n, SIDE // 2, 2, SIDE).sum(2).reshape(n, SIDE // 2, SIDE // 2, 2).sum(3) / 4
    return np.concatenate([coarse.reshape(n, SIDE**2 // 4), np.sqrt(cells), portraits[:, -1:]], 1)


def flipped(portraits: np.ndarray) -> np.ndarray:
    """The same portraits upside down (turned by half a turn)."""
    turned = portraits.copy()
    turned[:, :-1] = portraits[:, -2::-1]
    return turned


def with_ranks(inputs: np.ndarray, knots: np.ndarray) -> np.ndarray:
    """(n, 2 features) inputs and, beside them, where each stands among those that were learnt from: −RANK to RANK.

    Args:
        inputs: (n, features).
        knots: (k, features) values of each feature that part those learnt from into equal shares, rising.
    """
    places = np.linspace(-RANK, RANK, len(knots))
    ranks = [np.interp(own, steps, places) for own, steps in zip(inputs.T, knots.T, strict=True)]
    return np.hstack([inputs, np.stack(ranks, 1)])


class Network:
    """Layers of rectifiers, the last one as probabilities."""

    def __init__(self, layers: Sequence[np.ndarray], mean: np.ndarray, spread: np.ndarray):
        self.layers = list(zip(layers[::2], layers[1::2], strict=True))
        self.mean, self.spread = np.asarray(mean, np.float32), np.asarray(spread, np.float32)

    def __call__(self, inputs: np.ndarray) -> np.ndarray:
        """Probabilities (n, classes) of (n, features)."""
        held = np.clip((inputs - self.mean) / self.spread, -5, 5)
        for weight, bias in self.layers[:-1]:
            held = np.maximum(held @ weight + bias, 0)
        weight, bias = self.layers[-1]
        logits = held @ weight + bias
        logits = np.exp(logits - logits.max(1, keepdims=True))
        return logits / logits.sum(1, keepdims=True)


@functools.cache
def weights() -> dict[str, object]:
    """The trained numbers, as the file holds them."""
    text = resources.files("preflight.measure").joinpath("letter_weights.json").read_text("utf-8")
    found: dict[str, object] = json.loads(text)
    return found


class Panel:
    """Several networks that were trained on the same, their judgements averaged: steadier than any one of them.

    With `knots` the networks take their inputs `with_ranks`.
    """

    def __init__(self, judges: Sequence[Network], knots: np.ndarray | None = None):
        self.judges, self.knots = judges, knots

    def __call__(self, inputs: np.ndarray) -> np.ndarray:
        """Probabilities (n, classes) of (n, features)."""
        taken = inputs if self.knots is None else with_ranks(inputs, self.knots)
        return np.mean([judge(taken) for judge in self.judges], axis=0)


def panel(name: str) -> Panel:
    """The networks of the weights file by their name, "portrait" (two) or "line" (five)."""
    held, knots = weights()[name], weights().get(f"{name} knots")
    assert isinstance(held, list)
    return Panel([_network(one) for one in held], None if knots is None else np.array(knots))


def _network(held: dict[str, Any]) -> Network:
    """A network from the weights file; arrays are held as scaled bytes."""
    layers = [_array(one) for one in held["layers"]]
    return Network(layers, np.array(held["mean"]), np.array(held["spread"]))


def packed(array: np.ndarray) -> dict[str, object]:
    """An array as the weights file holds it: a scale, a shape, and 16-bit numbers in base 64."""
    top = max(float(np.abs(array).max()), 1e-9)
    whole = np.round(array / top * 32767).astype("<i2")
    return {
        "shape": list(array.shape),
        "scale": top / 32767,
        "data": base64.b64encode(whole.tobytes()).decode(),
    }


def _array(held: dict[str, object]) -> np.ndarray:
    whole = np.frombuffer(base64.b64decode(str(held["data"])), "<i2")
    shape = held["shape"]
    assert isinstance(shape, list)
    return whole.reshape(shape).astype(np.float32) * float(str(held["scale"]))


@functools.cache
def _reader() -> tuple[Panel, str, np.ndarray]:
    alphabet = str(weights()["alphabet"])
    capitals = np.array([char.isupper() or char.isdigit() for char in alphabet])
    return panel("portrait"), alphabet, capitals


def likelihoods(portraits: np.ndarray) -> np.ndarray:
    """(n, letters and OTHERS) probabilities of portraits."""
    return _reader()[0](described(portraits))


def letters(portraits: np.ndarray) -> np.ndarray:
    """(n,) how likely each portrait is that of any letter this way up."""
    return likelihoods(portraits)[:, : len(_reader()[1])].sum(1)


class Likeness:
    """How like letters a row of shapes is; one entry a shape.

    Attributes:
        portraits: of the shapes, as they were judged.
        letter: probability of any letter this way up.
        capital: share of that which falls to capitals and figures.
        others: (n, len(OTHERS)) probabilities of being something else.
        pieces: (k, 1 + len(OTHERS)) of any letter and of something else, of the shapes and of windows along the wide ones.
        windows: portraits of the pieces.
        clear: probability of the likeliest single letter.
        apart: probability of any letter, of shapes that are neither Arabic nor Han.
    """

    def __init__(
        self, portraits: np.ndarray, pieces: np.ndarray | None = None, chances: np.ndarray | None = None
    ):
        """Judge portraits of shapes and of the pieces they are looked at in (the same where there are none of their own)."""
        _, alphabet, capitals = _reader()
        n = len(portraits)
        if chances is None:
            chances = likelihoods(portraits if pieces is None else np.concatenate([portraits, pieces]))
        self.portraits, self.windows = portraits, portraits if pieces is None else pieces
        looked = chances if pieces is None else chances[n:]
        self.pieces = np.hstack(
            [looked[:, : len(alphabet)].sum(1, keepdims=True), looked[:, len(alphabet) :]]
        )
        chances = chances[:n]
        letters = chances[:, : len(alphabet)]
        self.letter = letters.sum(1)
        self.capital = letters[:, capitals].sum(1) / np.maximum(self.letter, 1e-9)
        self.others = chances[:, len(alphabet) :]
        self.clear = letters.max(1)
        self.apart = self.letter / np.maximum(1 - self.others[:, 3:].sum(1), 1e-9)
        self.best = [alphabet[i] for i in letters.argmax(1)]
