"""Small pictures of single shapes, and how like the letters of an alphabet each is.

The judge is a network of one hidden layer, trained on open fonts and on pictures without letters (tests/train_lettering.py);
its numbers are in letter_weights.json.  It reads nothing aloud: it says how like a letter a shape is, which way up, and whether a
capital or a small one, so that a row of icons is not taken for a word.
"""

import base64
import functools
import json
from collections.abc import Sequence
from importlib import resources

import cv2
import numpy as np

cv2.setNumThreads(1)

SIDE = 20
_FINE = 3  # portraits are drawn so many times finer, then averaged
_SHIFT = 4
#: What a shape can be besides a letter: a picture's piece, a letter upside down, a piece of connected, Arabic or Han writing.
OTHERS = ("none", "flipped", "joined", "arabic", "cjk")


def portrait(rings: Sequence[np.ndarray]) -> np.ndarray:
    """A shape scaled to fill a square, as (SIDE * SIDE + 1) numbers: coverage from 0 to 1, row 0 lowest; then its slimness.

    Args:
        rings: (n, 2) arrays, along and up the baseline, any unit.
    """
    low, high = rings[0].min(0), rings[0].max(0)
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


def flipped(portraits: np.ndarray) -> np.ndarray:
    """The same portraits upside down (turned by half a turn)."""
    turned = portraits.copy()
    turned[:, :-1] = portraits[:, -2::-1]
    return turned


class Network:
    """A network of one hidden layer with rectifiers, its output as probabilities."""

    def __init__(self, layers: Sequence[np.ndarray], mean: np.ndarray, spread: np.ndarray):
        self.hidden, self.hidden_bias, self.out, self.out_bias = layers
        self.mean, self.spread = mean, spread

    def __call__(self, inputs: np.ndarray) -> np.ndarray:
        """Probabilities (n, classes) of (n, features)."""
        scaled = np.clip((inputs - self.mean) / self.spread, -5, 5)
        logits = np.maximum(scaled @ self.hidden + self.hidden_bias, 0) @ self.out + self.out_bias
        logits = np.exp(logits - logits.max(1, keepdims=True))
        return logits / logits.sum(1, keepdims=True)


@functools.cache
def weights() -> dict[str, object]:
    """The trained numbers, as the file holds them."""
    text = resources.files("preflight.measure").joinpath("letter_weights.json").read_text("utf-8")
    found: dict[str, object] = json.loads(text)
    return found


def network(name: str) -> Network:
    """One of the networks of the weights file ("portrait" or "line"); arrays are held as scaled bytes."""
    held = weights()[name]
    assert isinstance(held, dict)
    layers = [_array(held[key]) for key in ("hidden", "hidden_bias", "out", "out_bias")]
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
def _reader() -> tuple[Network, str, np.ndarray]:
    alphabet = str(weights()["alphabet"])
    capitals = np.array([char.isupper() or char.isdigit() for char in alphabet])
    return network("portrait"), alphabet, capitals


class Likeness:
    """How like letters a row of shapes is; one entry a shape.

    Attributes:
        letter: probability of any letter this way up.
        capital: share of that which falls to capitals and figures.
        others: (n, len(OTHERS)) probabilities of being something else.
        clear: probability of the likeliest single letter.
    """

    def __init__(self, portraits: np.ndarray):
        judge, alphabet, capitals = _reader()
        chances = judge(portraits)
        letters = chances[:, : len(alphabet)]
        self.letter = letters.sum(1)
        self.capital = letters[:, capitals].sum(1) / np.maximum(self.letter, 1e-9)
        self.others = chances[:, len(alphabet) :]
        self.clear = letters.max(1)
        self.best = [alphabet[i] for i in letters.argmax(1)]
