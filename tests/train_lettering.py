"""Trains the two judges of found lettering on the half of the labelled set meant for it, and writes letter_weights.json.

    python tests/train_lettering.py

Never looks at the unseen half.  Plain gradient descent (Adam) in numpy: nothing is needed at run time but the numbers.
Needs the Debian packages of tests/lettering_more_faces.py too, and about an hour of one core.  With KEEP set to a folder,
what was gathered is kept there and used again, so that a change of the last steps does not cost the time of the first ones.
"""

import json
import multiprocessing
import os
import pickle
import random
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path as File

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(File(__file__).parent.parent))

import numpy as np  # noqa: E402

import lettering_faces  # noqa: E402
import lettering_set as the_set  # noqa: E402
from lettering_samples import ALPHABET, TURNS_INTO_A_LETTER, character_samples, letter_samples  # noqa: E402
from preflight.measure import letter_found, letter_portrait  # noqa: E402
from preflight.measure.letter_chains import chains, without_patterns  # noqa: E402
from preflight.measure.letter_frame import fit  # noqa: E402
from preflight.measure.letter_portrait import (  # noqa: E402
    OTHERS,
    Network,
    described,
    flipped,
    packed,
    portrait,
    windows,
    with_ranks,
)
from preflight.measure.letter_shapes import plate_shapes, resolution  # noqa: E402

TUNE = lettering_faces.FACES["tune"]
#: Of those, the ones drawn with a will of their own.
DRAWN = lettering_faces.DRAWN
#: Numbers of scenes that a draw of them has to itself.
DRAW = 10_000_000
#: Draws that the judges of rows learn from: there are far fewer rows than single shapes.
DRAWS = 3
#: Judges of rows, and the knots of their ranks.
JUDGES, KNOTS = 5, 24
WEIGHTS = File(letter_portrait.__file__).parent / "letter_weights.json"


def owner(scene, shape, offset):
    """The truth line whose letter a shape is, or None."""
    x, y = shape.centre[0] + offset[0], shape.centre[1] + offset[1]
    for truth in scene.lines:
        for box in truth.letters:
            pad = 0.1 * truth.shortest
            if box[0] - pad <= x <= box[2] + pad and box[1] - pad <= y <= box[3] + pad:
                size = max(box[2] - box[0], box[3] - box[1])
                if not truth.ruled or 0.5 * size <= shape.size <= 1.5 * size:
                    return truth
    return None


def scene_portraits(scene):
    """(kind, portrait) of the shapes of a scene that are no letter of a ruled script, and of windows along the wide ones."""
    art = the_set.art_of(scene)
    window = (-1.0, -1.0, art.width_mm + 1, art.height_mm + 1)
    scale = resolution(art)
    out = []
    for ink in art.inks:
        shapes = plate_shapes(art.coverage(ink, window, scale), window[:2], scale, ink.number)
        for is_open in (False, True):
            group = without_patterns([s for s in shapes if s.is_open == is_open])
            rows = chains(group)
            used = {id(s) for row in rows for s in row}
            rows += [[s] for s in group if id(s) not in used]
            for row in rows[:40]:
                frame = fit(row).frame
                for shape in row[:30]:
                    truth = owner(scene, shape, art.offset)
                    if truth is not None and truth.ruled:
                        continue
                    kind = "none" if truth is None else {"half": "joined"}.get(truth.writing, truth.writing)
                    if truth is not None and is_open and truth.style != "knocked out":
                        kind = "none"
                    rings = [frame.place(ring) for ring in shape.rings]
                    out.append((kind, portrait(rings)))
                    out += [(kind, one) for one in windows(rings)[:6]]
    return out


def scene_rows(scene):
    """(label, features) of every candidate row of a scene."""
    art = the_set.art_of(scene)
    found, _ = letter_found.rows_of(art)
    labels = [label_of(scene, one, art.offset) for one in found]
    return [(letter_found.KINDS.index(k), one.features) for k, one in zip(labels, found, strict=True) if k]


def label_of(scene, one, offset) -> str:
    """What a candidate row is, by the truth; "" where nothing is to be learnt from it."""
    own = [t for s in one.members if (t := owner(scene, s, offset)) is not None]
    if len(one.members) == 1:
        return _label_of_single(scene, one.members[0], offset)
    if len(own) <= 0.5 * len(one.members):
        return "none"
    line = max(own, key=lambda t: sum(o is t for o in own))
    label = {"half": "joined"}.get(line.writing, line.writing)
    # Openings in printed letters are no letters.  Letters that another ink fills, or that an outline goes round, look
    # just like knocked-out ones: they are told apart elsewhere, and teach nothing here.
    if one.members[0].is_open and line.style != "knocked out":
        return "none" if float(one.likeness.letter.mean()) < 0.4 else ""
    # A row over letters that is not the letters: the openings in them, or a contour round them.
    if label == "letters" and not 0.7 < one.heights.shortest / line.shortest < 1.6:
        return "none"
    return label


def _label_of_single(scene, shape, offset) -> str:
    """A shape on its own is writing only if it holds a good part of a line."""
    x0, y0, x1, y1 = np.array(shape.box) + [*offset, *offset]
    for truth in scene.lines:
        middles = [((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) for b in truth.letters]
        held = sum(x0 <= x <= x1 and y0 <= y <= y1 for x, y in middles)
        close = min(x1 - x0, y1 - y0) < 4 * truth.shortest and shape.area < 0.8 * (x1 - x0) * (y1 - y0)
        if held >= max(2, 0.3 * len(middles)) and close and shape.is_open == (truth.style == "knocked out"):
            return {"letters": "joined", "half": "joined"}.get(truth.writing, truth.writing)
    return "none"


def train(
    inputs,
    labels,
    classes,
    hidden,
    rng,
    epochs=14,
    decay=3e-4,
    balance=None,
    dropout=0.1,
    rate=2e-3,
    forget=0.0,
):
    """A network of rectifier layers by Adam on cross entropy; returns its arrays with mean and spread.

    `forget` is the share of its inputs that each step does without.
    """
    mean, spread = inputs.mean(0), inputs.std(0) + 0.05
    x = np.clip((inputs - mean) / spread, -5, 5).astype(np.float32)
    weight = np.ones(classes, np.float32) if balance is None else np.asarray(balance, np.float32)
    sizes = [x.shape[1], *hidden, classes]
    layers = []
    for n_in, n_out in zip(sizes, sizes[1:], strict=False):
        layers += [
            rng.normal(0, (2 / n_in) ** 0.5, (n_in, n_out)).astype(np.float32),
            np.zeros(n_out, np.float32),
        ]
    first, second = [np.zeros_like(a) for a in layers], [np.zeros_like(a) for a in layers]
    step, batch = 0, 128
    total = epochs * (len(x) // batch + 1)
    for _ in range(epochs):
        order = rng.permutation(len(x))
        for at in range(0, len(x), batch):
            step += 1
            pace = rate * 0.5 * (1 + np.cos(np.pi * step / total)) + 1e-5
            rows = order[at : at + batch]
            wanted = labels[rows]
            given = x[rows]
            if forget:
                given = given * (rng.random(given.shape, np.float32) > forget) / np.float32(1 - forget)
            held, masks = [given], []
            for w, b in zip(layers[:-2:2], layers[1:-2:2], strict=True):
                out = held[-1] @ w + b
                mask = ((out > 0) * (rng.random(out.shape, np.float32) > dropout)).astype(np.float32) / (
                    1 - dropout
                )
                masks.append(mask)
                held.append(out * mask)
            slope = held[-1] @ layers[-2] + layers[-1]
            slope = np.exp(slope - slope.max(1, keepdims=True))
            slope /= slope.sum(1, keepdims=True)
            slope[np.arange(len(rows)), wanted] -= 1
            slope *= (weight[wanted] / len(rows))[:, None]
            slopes = []
            for k in range(len(held) - 1, -1, -1):
                slopes = [held[k].T @ slope, slope.sum(0), *slopes]
                if k:
                    slope = (slope @ layers[2 * k].T) * masks[k - 1]
            for i, (layer, g) in enumerate(zip(layers, slopes, strict=True)):
                first[i] += 0.1 * (g - first[i])
                second[i] += 0.001 * (g * g - second[i])
                layer -= pace * (first[i] / (1 - 0.9**step)) / (np.sqrt(second[i] / (1 - 0.999**step)) + 1e-7)
                if layer.ndim == 2:
                    layer *= 1 - decay * pace * 100
    return layers, mean, spread


def stored(layers, mean, spread):
    return {
        "layers": [packed(layer) for layer in layers],
        "mean": [round(float(v), 5) for v in mean],
        "spread": [round(float(v), 5) for v in spread],
    }


def _rows_with(args):
    """Rows of scenes judged by a portrait network that never saw their fonts."""
    spec, judge = args
    capitals = np.array([c.isupper() or c.isdigit() for c in ALPHABET])
    letter_portrait._reader = lambda: (judge, ALPHABET, capitals)
    scene = spec.scene()
    return scene_rows(scene) if scene else []


def portrait_network(letters, others, nones, noise, epochs):
    """The judge of single shapes, from letters and from pieces of everything else."""
    names = list(ALPHABET) + list(OTHERS)
    none = [e for e in others if e[0] == "none"]
    others = [e for e in others if e[0] != "none"] + random.Random(2).sample(none, min(len(none), nones))
    upright, labels = np.array([p for _, p in letters]), [label for label, _ in letters]
    told_apart = [n for n, label in enumerate(labels) if ALPHABET[label] not in TURNS_INTO_A_LETTER]
    turned = flipped(upright[told_apart[::2]])
    pieces, kinds = np.array([p for _, p in others]), [names.index(k) for k, _ in others]
    inputs = described(np.vstack([upright, turned, pieces, flipped(pieces)]))
    wanted = np.array(labels + [names.index("flipped")] * len(turned) + kinds + kinds)
    balance = np.ones(len(names))
    balance[[names.index(k) for k in ("joined", "arabic", "cjk")]] = 2.5  # the rare ones
    arrays = train(inputs, wanted, len(names), (448, 192), noise, epochs, balance=balance, dropout=0.2)
    judge = Network(*arrays)
    right = np.mean(
        [
            judge(inputs[i : i + 4000]).argmax(1) == wanted[i : i + 4000]
            for i in range(0, len(wanted) - 4000, 4000)
        ]
    )
    print(f"portraits {inputs.shape}, right on its own {right:.4f}", time.process_time(), flush=True)
    return arrays


@dataclass(frozen=True)
class Spec:
    """What a scene is drawn from; `face` None for art without lettering."""

    number: int
    face: the_set.Face | None = None
    short: bool = False
    tight: bool = False
    lean: float = 0.0

    def scene(self):
        """The scene; None where the face has not the letters, or the art would be too large."""
        if self.face is None:
            rng = random.Random(self.number)
            scene = the_set.plain_scene(rng, "tune", self.number)
            scene.seed, scene.bitmap = self.number, rng.random() < 0.3
            return scene
        for attempt in range(6):
            rng = random.Random(self.number * 8 + attempt)
            try:
                scene = the_set.lettering_scene(rng, "tune", self.face, self.tight, self.short, self.lean)
            except ValueError:
                continue
            if max(scene.width, scene.height) < 260:
                scene.seed, scene.bitmap = self.number, not self.tight and rng.random() < 0.3
                return scene
        return None

    @property
    def part(self) -> int:
        """Which of two halves of the training half it is in: by its main face, bare ones by turns."""
        return TUNE.index(replace(self.face, hand=0)) % 2 if self.face else self.number // 2 % 2


def specs(plain: int, draw: int = 0) -> list[Spec]:
    """What the judges learn from: every face as it is and redrawn, more of the scripts that are asked about, bare art.

    Each draw has words, sizes and settings of its own.
    """
    rng = random.Random(5 + draw)
    unruled = [f for f in TUNE if f.kind in the_set._UNRULED]
    ruled = [f for f in TUNE if f.kind not in the_set._UNRULED]
    apart = [f for f in ruled if f.kind in ("sans", "serif", "display", "condensed")]
    found: list[Spec] = []

    def add(face, redrawn=False, **how):
        number = DRAW * draw + len(found) + 1
        found.append(Spec(number, replace(face, hand=number) if redrawn else face, **how))

    for face in ruled:
        add(face)
        add(face, redrawn=True)
    # Words of two to five letters, which are the hardest to tell from icons.
    for number, face in enumerate(ruled):
        add(face, redrawn=number % 2 == 0, short=True, lean=rng.uniform(0.1, 0.3) if number % 3 == 0 else 0.0)
    # Letters of the ruled scripts that touch although each was drawn on its own: touching alone is no connected writing.
    for number, face in enumerate(apart[::2]):
        add(face, tight=True, short=number % 3 == 0)
    # The scripts that are asked about have fewer fonts: each is met oftener, or their rows would be lost among the others.
    for turn in range(7):
        for face in unruled:
            add(face, redrawn=turn > 3)
    return found + [Spec(900_000 + DRAW * draw + number) for number in range(plain)]


def kept(name: str, gather: Callable):
    """What a step gathered, from the folder KEEP if it is there already."""
    if "KEEP" not in os.environ:
        return gather()
    file = File(os.environ["KEEP"]) / f"{name}.pickle"
    if not file.exists():
        file.write_bytes(pickle.dumps(gather()))
    return pickle.loads(file.read_bytes())


def _portraits_of(spec):
    scene = spec.scene()
    return scene_portraits(scene) if scene else []


_HELD: dict = {}  # what each network learns from, by its seed: forked workers read it here


def _network_of(job):
    seed, nones, epochs = job
    return portrait_network(*_HELD[seed], nones, np.random.default_rng(seed), epochs)


def main():
    lettering_faces.install("tune")
    workers = int(os.environ.get("WORKERS", "2"))
    plain = int(os.environ.get("PLAIN", "1400"))
    every = specs(plain)
    numbered = list(enumerate(TUNE))

    def mapped(task, jobs):
        with multiprocessing.Pool(workers) as pool:
            return pool.map(task, jobs, chunksize=8)

    letters = kept("letters", lambda: mapped(letter_samples, numbered))
    characters = kept("characters", lambda: mapped(character_samples, numbered))
    pieces = kept("pieces", lambda: mapped(_portraits_of, every[::2]))
    print(len(every), "scenes, portraits gathered", time.process_time(), flush=True)

    def networks():
        jobs = []
        # The judge of a part learns from the other one.  The last two are kept, their judgements averaged: one learns from
        # both parts, one from those without the faces drawn with a will of their own, whose letters stand as they like.
        plainer = [n for n, face in enumerate(TUNE) if face not in DRAWN]
        every_face = list(range(len(TUNE)))
        for seed, faces, nones, epochs in (
            (2, every_face[1::2], 30_000, 11),
            (1, every_face[::2], 30_000, 11),
            (3, every_face, 60_000, 14),
            (4, plainer, 60_000, 14),
        ):
            part = {2: 0, 1: 1}.get(seed)
            others: list = []
            for spec, found in zip(every[::2], pieces, strict=True):
                drawn = spec.face is not None and replace(spec.face, hand=0) in DRAWN
                if spec.part != part and not (seed == 4 and drawn):
                    others += found
            others += [e for n in faces for e in characters[n]]
            _HELD[seed] = [e for n in faces for e in letters[n]], others
            jobs.append((seed, nones, epochs))
        with multiprocessing.Pool(workers) as pool:
            return pool.map(_network_of, jobs, chunksize=1)

    arrays = kept("networks", networks)
    judges = [Network(*one) for one in arrays]
    rows = []
    for draw in range(DRAWS):
        drawn = specs(plain, draw)
        found = kept(
            f"rows {draw}", lambda drawn=drawn: mapped(_rows_with, [(s, judges[s.part]) for s in drawn])
        )
        rows += [row for of_scene in found for row in of_scene]
    labels, inputs = np.array([r[0] for r in rows]), np.array([r[1] for r in rows])
    print("rows", np.bincount(labels), time.process_time(), flush=True)
    lines, knots = line_networks(labels, inputs, workers)
    held = {
        "alphabet": ALPHABET,
        "portrait": [stored(*arrays[3]), stored(*arrays[2])],
        "line": lines,
        "line knots": knots,
    }
    WEIGHTS.write_text(json.dumps(held))
    print("written", WEIGHTS.stat().st_size, "bytes")


def line_networks(labels, inputs, workers=1):
    """The judges of rows, and the knots of their ranks.  The rarer kinds weigh more: taking them for nothing would pass them
    in silence."""  # noqa: D209
    knots = np.quantile(inputs, np.linspace(0, 1, KNOTS), axis=0) + np.arange(KNOTS)[:, None] * 1e-7
    knots = np.round(knots, 7)
    _HELD["rows"] = with_ranks(inputs, knots), labels
    with multiprocessing.Pool(workers) as pool:
        found = pool.map(_line_network, range(JUDGES), chunksize=1)
    judged = [Network(*one)(_HELD["rows"][0]) for one in found]
    print("rows right", (np.mean(judged, axis=0).argmax(1) == labels).mean().round(4))
    return [stored(*one) for one in found], knots.tolist()


def _line_network(seed):
    ranked, labels = _HELD["rows"]
    balance = [1.2, 1.2, 1.7, 1.4, 1.1]
    noise = np.random.default_rng(seed)
    return train(
        ranked, labels, len(letter_found.KINDS), (256, 128), noise, 25,
        decay=1e-3, balance=balance, dropout=0.3, forget=0.1,
    )  # fmt: skip


if __name__ == "__main__":
    main()
