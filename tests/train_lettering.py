"""Trains the two judges of found lettering on the half of the labelled set meant for it, and writes letter_weights.json.

    python tests/train_lettering.py

Never looks at the unseen half.  Plain gradient descent (Adam) in numpy: nothing is needed at run time but the numbers.
"""

import itertools
import json
import multiprocessing
import os
import random
import sys
import unicodedata
from pathlib import Path as File

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(File(__file__).parent.parent))

import numpy as np  # noqa: E402

import lettering_set as the_set  # noqa: E402
from preflight.measure import letter_found, letter_portrait  # noqa: E402
from preflight.measure.letter_chains import chains, without_patterns  # noqa: E402
from preflight.measure.letter_frame import fit  # noqa: E402
from preflight.measure.letter_portrait import OTHERS, Likeness, Network, flipped, packed, portrait  # noqa: E402
from preflight.measure.letter_shapes import plate_shapes, resolution  # noqa: E402

WEIGHTS = File(letter_portrait.__file__).parent / "letter_weights.json"
ALPHABET = (
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789&"
    "ΓΔΘΛΞΠΣΦΨΩαβγδεζηθικλμνξοπρσςτυφχψω"
    "БГДЖЗИЙЛПУФЦЧШЩЪЫЬЭЮЯбвгджзийклмнптфцчшщъыьэюя"
)


#: Letters that upside down are, or nearly are, themselves or another letter.
TURNS_INTO_A_LETTER = frozenset("HINOSXZosxzldpbqunMWmwVvUyi0869135ΦΘΞφθΛλενПИЖШЗЭЛжифпшзэлцηοιρσςС")


def letters_of(face, script: str, rng: random.Random, copies: int):
    """(label, portrait) of every letter of a face, slightly turned, slanted, stretched and coarsened."""
    type_ = the_set.typeface(face, script)
    for index, char in enumerate(ALPHABET):
        if ord(char) not in type_.map or face.capitals_only and char.islower():
            continue
        path = type_.path(char, (1, 0, 0, 1, 0, 0))
        if path is None:
            continue
        rings = path.polygons(type_.em / 500)
        for piece in _pieces(rings):
            for _ in range(copies):
                turn, slant, stretch = rng.gauss(0, 0.05), rng.gauss(0, 0.06), rng.gauss(1, 0.06)
                matrix = np.array(
                    [[np.cos(turn) * stretch, np.sin(turn)], [-np.sin(turn) + slant, np.cos(turn)]]
                )
                grain = type_.em / rng.choice([30, 50, 100, 400])
                moved = [np.round((ring @ matrix) / grain + rng.random()) * grain for ring in piece]
                yield index, portrait(moved)


def characters_of(face, rng: random.Random):
    """Portraits of the pieces of Han, kana and Hangul characters, or of Arabic letters."""
    ranges = {
        "cjk": [(0x4E00, 0x9FA5, 900), (0x3041, 0x30FA, 120), (0xAC00, 0xD7A3, 250)],
        "arabic": [(0xFE80, 0xFEFC, 120)],
    }
    type_ = the_set.typeface(face, face.scripts[0]) if face.kind in ranges else None
    for first, last, count in ranges.get(face.kind, ()):
        for code in rng.sample(range(first, last), min(count, last - first)):
            path = type_.path(chr(code), (1, 0, 0, 1, 0, 0))
            for piece in _pieces(path.polygons(type_.em / 500)) if path else ():
                turn = rng.gauss(0, 0.04)
                matrix = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
                yield portrait([ring @ matrix for ring in piece])


def _pieces(rings):
    """The connected parts of a glyph large enough to be met on their own: outer rings with their openings."""
    size = max(np.ptp(r[:, 1]) for r in rings)
    areas = [abs(the_set_area(r)) for r in rings]
    sign = np.sign(the_set_area(rings[int(np.argmax(areas))]))
    outer = [r for r in rings if np.sign(the_set_area(r)) == sign]
    for ring in outer:
        if np.ptp(ring[:, 1]) < 0.36 * size:
            continue
        low, high = ring.min(0), ring.max(0)
        yield [ring] + [
            r
            for r in rings
            if np.sign(the_set_area(r)) != sign and (r.min(0) >= low).all() and (r.max(0) <= high).all()
        ]


def the_set_area(ring) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


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
    """(kind, portrait) of the shapes of a scene that are no letter of a ruled script."""
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
                    kind = (
                        "none"
                        if truth is None
                        else {"script": "joined"}.get(truth.face.kind, truth.face.kind)
                    )
                    if truth is not None and is_open and scene.lines and truth.style != "knocked out":
                        kind = "none"
                    out.append((kind, portrait([frame.place(ring) for ring in shape.rings])))
    return out


def scene_rows(scene):
    """(label, features) of every candidate row of a scene."""
    art = the_set.art_of(scene)
    found, _ = letter_found.candidates(art)
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
    label = {"script": "joined", "arabic": "arabic", "cjk": "cjk"}.get(line.face.kind, "letters")
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
            return {"arabic": "arabic", "cjk": "cjk"}.get(truth.face.kind, "joined")
    return "none"


def train(inputs, labels, classes, hidden, rng, epochs=14, decay=3e-4, balance=None):
    """A network of one hidden layer by Adam on cross entropy; returns its four arrays with mean and spread."""
    mean, spread = inputs.mean(0), inputs.std(0) + 0.05
    x = np.clip((inputs - mean) / spread, -5, 5).astype(np.float32)
    weight = np.ones(classes) if balance is None else np.asarray(balance, float)
    layers = [
        rng.normal(0, (2 / x.shape[1]) ** 0.5, (x.shape[1], hidden)).astype(np.float32),
        np.zeros(hidden, np.float32),
        rng.normal(0, (1 / hidden) ** 0.5, (hidden, classes)).astype(np.float32),
        np.zeros(classes, np.float32),
    ]
    first, second = [np.zeros_like(a) for a in layers], [np.zeros_like(a) for a in layers]
    step, batch = 0, 128
    total = epochs * (len(x) // batch + 1)
    for _ in range(epochs):
        order = rng.permutation(len(x))
        for at in range(0, len(x), batch):
            step += 1
            rate = 2e-3 * 0.5 * (1 + np.cos(np.pi * step / total)) + 1e-5
            rows = order[at : at + batch]
            given, wanted = x[rows], labels[rows]
            active = np.maximum(given @ layers[0] + layers[1], 0)
            kept = (rng.random(active.shape) > 0.1) / 0.9
            active = active * kept
            logits = active @ layers[2] + layers[3]
            logits = np.exp(logits - logits.max(1, keepdims=True))
            slope = logits / logits.sum(1, keepdims=True)
            slope[np.arange(len(rows)), wanted] -= 1
            slope *= (weight[wanted] / len(rows))[:, None]
            back = (slope @ layers[2].T) * (active > 0) * kept
            slopes = [given.T @ back, back.sum(0), active.T @ slope, slope.sum(0)]
            for i, (layer, g) in enumerate(zip(layers, slopes, strict=True)):
                g = g.astype(np.float32)
                first[i] = 0.9 * first[i] + 0.1 * g
                second[i] = 0.999 * second[i] + 0.001 * g * g
                layer -= rate * (first[i] / (1 - 0.9**step)) / (np.sqrt(second[i] / (1 - 0.999**step)) + 1e-7)
                if layer.ndim == 2:
                    layer *= 1 - decay * rate * 100
    return layers, mean, spread


def stored(layers, mean, spread):
    names = ("hidden", "hidden_bias", "out", "out_bias")
    return {
        **{name: packed(layer) for name, layer in zip(names, layers, strict=True)},
        "mean": [round(float(v), 5) for v in mean],
        "spread": [round(float(v), 5) for v in spread],
    }


def _rows_with(args):
    """Rows of scenes judged by a portrait network that never saw their fonts."""
    scene, judge = args
    capitals = np.array([c.isupper() or c.isdigit() for c in ALPHABET])
    letter_portrait._reader = lambda: (judge, ALPHABET, capitals)
    return scene_rows(scene)


def _kept_for(scene, faces, part: int) -> bool:
    """May a portrait network that must not see the other half of the faces see this scene?"""
    if not scene.lines:
        return scene.seed // 2 % 2 != part
    return scene.lines[0].face in faces or not scene.lines[0].ruled


def portrait_samples(faces, extra, rng, copies=3):
    labels, pictures = [], []
    for face in faces:
        if face.kind in the_set._UNRULED:
            continue
        for script in face.scripts:
            for index, picture in letters_of(face, script, rng, copies):
                labels.append(index)
                pictures.append(picture)
    for family in the_set.MORE:
        files = the_set.material() / f"node_modules/@fontsource/{family}/files"
        for script, subset in the_set._SUBSETS.items():
            for weight in ("400", "700"):
                if (files / f"{family}-{subset}-{weight}-normal.woff").exists():
                    for index, picture in letters_of(
                        the_set.Face(f"{family} {weight}", "sans"), script, rng, 1
                    ):
                        labels.append(index)
                        pictures.append(picture)
    upright = np.array(pictures)
    names = list(ALPHABET) + list(OTHERS)
    told_apart = [n for n, label in enumerate(labels) if ALPHABET[label] not in TURNS_INTO_A_LETTER]
    turned = flipped(upright[told_apart[::2]])
    labels += [names.index("flipped")] * len(turned)
    others = [p for _, p in extra]
    labels += [names.index(k) for k, _ in extra]
    return np.vstack([upright, turned, np.array(others), flipped(np.array(others))]), np.array(
        labels + [names.index(k) for k, _ in extra]
    )


def main():
    the_set.install()
    count, plain = int(os.environ.get("ARTS", "16")), int(os.environ.get("PLAIN", "440"))
    scenes = list(the_set.scenes("tune", count, plain))
    unruled = [f for f in the_set.TUNE if f.kind in the_set._UNRULED]
    more = []
    for number, face in enumerate(unruled * 26):
        rng = random.Random(number + 99_000_000)
        scene = the_set.lettering_scene(rng, "tune", face)
        if max(scene.width, scene.height) < 260:
            scene.seed, scene.bitmap = number, rng.random() < 0.3
            more.append(scene)
    scenes += more
    with multiprocessing.Pool(2) as pool:
        gathered = pool.map(scene_portraits, scenes[::2], chunksize=8)
    print("portraits gathered", flush=True)
    halves = [the_set.TUNE[0::2], the_set.TUNE[1::2]]
    rng, noise = random.Random(1), np.random.default_rng(1)
    names = list(ALPHABET) + list(OTHERS)

    def portrait_network(faces, keep):
        extra = [e for scene, part in zip(scenes[::2], gathered, strict=True) if keep(scene) for e in part]
        none = [e for e in extra if e[0] == "none"]
        extra = [e for e in extra if e[0] != "none"] + random.Random(2).sample(none, min(len(none), 24000))
        inputs, labels = portrait_samples(faces, extra, rng)
        print("portraits", inputs.shape, flush=True)
        layers, mean, spread = train(
            inputs, labels, len(names), 88, noise, epochs=int(os.environ.get("EPOCHS", "12"))
        )
        judge = Network(layers, mean, spread)
        chances = judge(inputs)
        print("  right on its own", (chances.argmax(1) == labels).mean().round(4), flush=True)
        return judge, (layers, mean, spread)

    def main_face(scene):
        return scene.lines[0].face if scene.lines else None

    if "--portraits" in sys.argv:  # only the judge of single letters
        held = json.loads(WEIGHTS.read_text())
        held |= {"alphabet": ALPHABET, "portrait": stored(*portrait_network(the_set.TUNE, lambda s: True)[1])}
        WEIGHTS.write_text(json.dumps(held))
        return
    jobs = []
    for part in (0, 1):
        other = halves[1 - part]
        judge, _ = portrait_network(other, lambda s, other=other, part=part: _kept_for(s, other, part))
        jobs += [
            (s, judge)
            for s in scenes
            if (main_face(s) in halves[part] if s.lines else s.seed // 2 % 2 == part)
        ]
    with multiprocessing.Pool(2) as pool:
        rows = list(itertools.chain.from_iterable(pool.map(_rows_with, jobs, chunksize=8)))
    _, arrays = portrait_network(the_set.TUNE, lambda s: True)
    labels, inputs = np.array([r[0] for r in rows]), np.array([r[1] for r in rows])
    print("rows", np.bincount(labels), flush=True)
    np.savez(os.environ.get("ROWS", "rows.npz"), labels=labels, inputs=inputs)
    # The rarer kinds weigh more: taking them for nothing would pass them in silence.
    rare = [1, 1, 1, 1.3, 1.3]
    line = train(inputs, labels, len(letter_found.KINDS), 24, noise, epochs=60, decay=5e-4, balance=rare)
    chances = Network(*line)(inputs)
    print("rows right", (chances.argmax(1) == labels).mean().round(4))
    held = {"alphabet": ALPHABET, "portrait": stored(*arrays), "line": stored(*line)}
    WEIGHTS.write_text(json.dumps(held))
    print("written", WEIGHTS.stat().st_size, "bytes")


if __name__ == "__main__":
    main()
    _ = (Likeness, unicodedata)
