"""Trains the two judges of found lettering on the half of the labelled set meant for it, and writes letter_weights.json.

    python tests/train_lettering.py

Never looks at the unseen half.  Plain gradient descent (Adam) in numpy: nothing is needed at run time but the numbers.
"""

import json
import multiprocessing
import os
import random
import sys
import time
from pathlib import Path as File

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(File(__file__).parent.parent))

import numpy as np  # noqa: E402

import lettering_faces  # noqa: E402
import lettering_set as the_set  # noqa: E402
from preflight.measure import letter_found, letter_portrait  # noqa: E402
from preflight.measure.letter_chains import chains, without_patterns  # noqa: E402
from preflight.measure.letter_frame import fit  # noqa: E402
from preflight.measure.letter_portrait import OTHERS, Network, described, flipped, packed, portrait, windows  # noqa: E402
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
                drawn = piece
                if rng.random() < 0.4:
                    drawn, slant = _by_another_hand(piece, type_.em, rng), rng.gauss(0, 0.2)
                    if rng.random() < 0.3:
                        stretch = np.exp(rng.uniform(-1.0, 1.1))  # very narrow and very wide faces
                matrix = np.array(
                    [[np.cos(turn) * stretch, np.sin(turn)], [-np.sin(turn) + slant, np.cos(turn)]]
                )
                grain = type_.em / rng.choice([30, 50, 100, 400])
                moved = [np.round((ring @ matrix) / grain + rng.random()) * grain for ring in drawn]
                yield index, portrait(moved)


def _by_another_hand(piece, em: float, rng: random.Random):
    """The rings of a letter drawn unsteadily, and heavier or lighter: there are more drawn letters than fonts of them."""
    weight = rng.uniform(-0.008, 0.04) * em * (rng.random() < 0.6)
    sway = rng.uniform(0, 0.035) * em
    waves = [(rng.uniform(0.4, 1.6), rng.uniform(0.4, 1.6), rng.uniform(0, 6.3)) for _ in range(2)]
    out = []
    for number, ring in enumerate(piece):
        ring = _in_short_steps(ring, em / 20)
        if weight and len(ring) > 3:
            step = np.roll(ring, -1, 0) - np.roll(ring, 1, 0)
            normal = np.stack([step[:, 1], -step[:, 0]], 1) / np.maximum(np.hypot(*step.T), 1e-9)[:, None]
            # outward of the letter: out of its outline, into its openings
            ring = ring + normal * weight * (1 if (the_set_area(ring) > 0) == (number == 0) else -1)
        x, y = ring.T / em * 2 * np.pi
        shift = [sway * np.sin(across * x + up * y + start) for across, up, start in waves]
        out.append(ring + np.stack(shift, 1))
    return out


def _in_short_steps(ring, longest: float):
    """A ring with points added along its long edges."""
    ends = np.roll(ring, -1, 0)
    counts = np.maximum(1, np.ceil(np.hypot(*(ends - ring).T) / longest).astype(int))
    return np.concatenate(
        [a + (b - a) * np.arange(n)[:, None] / n for a, b, n in zip(ring, ends, counts, strict=True)]
    )


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


def train(inputs, labels, classes, hidden, rng, epochs=14, decay=3e-4, balance=None, dropout=0.1, rate=2e-3):
    """A network of rectifier layers by Adam on cross entropy; returns its arrays with mean and spread."""
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
            held, masks = [x[rows]], []
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
    scene, judge = args
    capitals = np.array([c.isupper() or c.isdigit() for c in ALPHABET])
    letter_portrait._reader = lambda: (judge, ALPHABET, capitals)
    return scene_rows(scene)


def letter_samples(faces, rng):
    """(label, portrait) of the letters of faces; those of MORE are in every one."""
    found = []
    for face in faces:
        for script in face.scripts if face.kind not in ("arabic", "cjk") else ():
            found += letters_of(face, script, rng, 3)
    return found


def character_samples(faces, rng):
    """(kind, portrait) of pieces of some characters of the Arabic and Han faces among faces."""
    found = []
    for face in faces:
        pieces = [(face.kind, one) for one in characters_of(face, rng)]
        found += rng.sample(pieces, min(250, len(pieces)))
    return found


def more_letters(rng):
    found = []
    for family in lettering_faces.MORE:
        files = lettering_faces.material() / f"node_modules/@fontsource/{family}/files"
        for script, subset in {"L": "latin", "C": "cyrillic", "G": "greek"}.items():
            for weight in ("400", "700"):
                if (files / f"{family}-{subset}-{weight}-normal.woff").exists():
                    found += letters_of(the_set.Face(f"{family} {weight}", "sans"), script, rng, 2)
    return found


def portrait_network(letters, others, noise, epochs):
    """The judge of single shapes, from letters and from pieces of everything else."""
    names = list(ALPHABET) + list(OTHERS)
    none = [e for e in others if e[0] == "none"]
    others = [e for e in others if e[0] != "none"] + random.Random(2).sample(none, min(len(none), 30000))
    upright, labels = np.array([p for _, p in letters]), [label for label, _ in letters]
    told_apart = [n for n, label in enumerate(labels) if ALPHABET[label] not in TURNS_INTO_A_LETTER]
    turned = flipped(upright[told_apart[::2]])
    pieces, kinds = np.array([p for _, p in others]), [names.index(k) for k, _ in others]
    inputs = described(np.vstack([upright, turned, pieces, flipped(pieces)]))
    wanted = np.array(labels + [names.index("flipped")] * len(turned) + kinds + kinds)
    balance = np.ones(len(names))
    balance[[names.index(k) for k in ("joined", "arabic", "cjk")]] = 2.5  # the rare ones
    arrays = train(inputs, wanted, len(names), (192, 96), noise, epochs, balance=balance, dropout=0.15)
    judge = Network(*arrays)
    right = np.mean(
        [
            judge(inputs[i : i + 4000]).argmax(1) == wanted[i : i + 4000]
            for i in range(0, len(wanted) - 4000, 4000)
        ]
    )
    print(f"portraits {inputs.shape}, right on its own {right:.4f}", time.process_time(), flush=True)
    return judge, arrays


def training_scenes(count: int, plain: int):
    """The scenes of the half to tune on, with more of the scripts that are asked about."""
    scenes = list(the_set.scenes("tune", count, plain))
    unruled = [f for f in the_set.TUNE if f.kind in the_set._UNRULED]
    for number, face in enumerate(unruled * (2 * count)):
        rng = random.Random(number + 99_000_000)
        try:
            scene = the_set.lettering_scene(rng, "tune", face)
        except ValueError:
            continue
        if max(scene.width, scene.height) < 260:
            scene.seed, scene.bitmap = number, rng.random() < 0.3
            scenes.append(scene)
    # Words of two to five letters, which are the hardest to tell from icons.
    ruled = [f for f in the_set.TUNE if f.kind not in the_set._UNRULED]
    for number, face in enumerate(ruled * max(1, count * 2 // 3)):
        rng = random.Random(number + 93_000_000)
        lean = rng.uniform(0.1, 0.3) if number % 3 == 0 else 0.0
        try:
            scene = the_set.lettering_scene(rng, "tune", face, short=True, lean=lean)
        except ValueError:
            continue
        if max(scene.width, scene.height) < 220:
            scene.seed, scene.bitmap = number, rng.random() < 0.3
            scenes.append(scene)
    # Letters of the ruled scripts that touch although each was drawn on its own: touching alone is no connected writing.
    apart = [f for f in the_set.TUNE if f.kind in ("sans", "serif", "display", "condensed")]
    for number, face in enumerate(apart * 2):
        rng = random.Random(number + 98_000_000)
        scene = the_set.lettering_scene(rng, "tune", face, tight=True, short=number % 3 == 0)
        if max(scene.width, scene.height) < 260:
            scene.seed = number
            scenes.append(scene)
    return scenes


def part_of(scene) -> int:
    """Which of two halves of the training half a scene is in: by its main face, bare ones by turns."""
    return the_set.TUNE.index(scene.lines[0].face) % 2 if scene.lines else scene.seed // 2 % 2


def _portraits_of(scene):
    return part_of(scene), scene_portraits(scene)


def main():
    lettering_faces.install("tune")
    count, plain = int(os.environ.get("ARTS", "3")), int(os.environ.get("PLAIN", "1400"))
    epochs = int(os.environ.get("EPOCHS", "9"))
    scenes = training_scenes(count, plain)
    rng = random.Random(1)
    halves = [letter_samples(the_set.TUNE[part::2], rng) for part in (0, 1)]
    characters = [character_samples(the_set.TUNE[part::2], rng) for part in (0, 1)]
    more = more_letters(rng)
    with multiprocessing.Pool(2) as pool:
        pieces = pool.map(_portraits_of, scenes[::2], chunksize=8)
    print(len(scenes), "scenes, portraits gathered", time.process_time(), flush=True)
    judges = []
    for part in (0, 1):
        others = [e for p, found in pieces if p != part for e in found] + characters[1 - part]
        letters = halves[1 - part] + more
        judges.append(portrait_network(letters, others, np.random.default_rng(1 + part), epochs)[0])
    with multiprocessing.Pool(2) as pool:
        jobs = [(scene, judges[part_of(scene)]) for scene in scenes]
        rows = [row for found in pool.map(_rows_with, jobs, chunksize=8) for row in found]
    everything = [e for _, p in pieces for e in p] + characters[0] + characters[1]
    _, arrays = portrait_network(halves[0] + halves[1] + more, everything, np.random.default_rng(3), epochs)
    labels, inputs = np.array([r[0] for r in rows]), np.array([r[1] for r in rows])
    if "ROWS" in os.environ:
        np.savez(os.environ["ROWS"], labels=labels, inputs=inputs)
    print("rows", np.bincount(labels), time.process_time(), flush=True)
    held = {
        "alphabet": ALPHABET,
        "portrait": [stored(*arrays)],
        "line": line_networks(labels, inputs),
    }
    WEIGHTS.write_text(json.dumps(held))
    print("written", WEIGHTS.stat().st_size, "bytes")


def line_networks(labels, inputs):
    """The judges of rows.  The rarer kinds weigh more: taking them for nothing would pass them in silence."""
    held, judged = [], []
    for seed in range(5):
        noise = np.random.default_rng(seed)
        balance = [1.2, 1.1, 2.2, 1.8, 1.5]
        line = train(
            inputs,
            labels,
            len(letter_found.KINDS),
            (96,),
            noise,
            45,
            decay=3e-3,
            balance=balance,
            dropout=0.3,
        )
        held.append(stored(*line))
        judged.append(Network(*line)(inputs))
    print("rows right", (np.mean(judged, axis=0).argmax(1) == labels).mean().round(4))
    return held


if __name__ == "__main__":
    main()
