"""Portraits of letters, and of pieces of Arabic and Han characters, that the judge of single shapes is trained on."""

import random
from dataclasses import replace

import numpy as np

import lettering_set as the_set
from lettering_redrawn import Redrawn
from preflight.measure.letter_portrait import portrait

ALPHABET = (
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789&"
    "ΓΔΘΛΞΠΣΦΨΩαβγδεζηθικλμνξοπρσςτυφχψω"
    "БГДЖЗИЙЛПУФЦЧШЩЪЫЬЭЮЯбвгджзийклмнптфцчшщъыьэюя"
)


#: Letters that upside down are, or nearly are, themselves or another letter.
TURNS_INTO_A_LETTER = frozenset("HINOSXZosxzldpbqunMWmwVvUyi0869135ΦΘΞφθΛλενПИЖШЗЭЛжифпшзэлцηοιρσςС")


def letters_of(face, script: str, rng: random.Random, copies: int):
    """(label, portrait) of every letter of a face, slightly turned, slanted, stretched and coarsened."""
    type_ = Redrawn(face, script) if face.hand else the_set.typeface(face, script)
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


def letter_samples(job):
    """(label, portrait) of the letters of a face of a script that is measured, as it is and redrawn."""
    number, face = job
    rng = random.Random(number)
    found = []
    for script in face.scripts if face.kind not in ("arabic", "cjk") else ():
        found += letters_of(face, script, rng, 2)
        found += letters_of(replace(face, hand=number + 1), script, rng, 1)
    return found


def character_samples(job):
    """(kind, portrait) of pieces of some characters of an Arabic or Han face."""
    number, face = job
    rng = random.Random(number)
    pieces = [(face.kind, one) for one in characters_of(face, rng)]
    return rng.sample(pieces, min(250, len(pieces)))
