"""How well lettering is found and measured, on the half of the labelled set that nothing was tuned on.

    python tests/eval_lettering.py            the whole unseen half: over 2,000 lines, over 300 arts without one
    python tests/eval_lettering.py --quick    a quarter of it

Prints one table; the whole takes about ten minutes of one core.  A line is found when at least half of its letters lie in
lettering the program reports with certainty 0.5 or more; a reported line is right when at least half of its letters are
letters of the truth.  Bounds are 95 % (Wilson's score interval).  Verdicts are on "the shortest letter is under 5 mm", lines
within 5 % of it left out; a missed line is a wrong verdict.
"""

import argparse
import math
import multiprocessing
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path as File

sys.path.insert(0, str(File(__file__).parent.parent))
import conftest  # noqa: E402, F401, I001  one thread, before anything loads numpy

import numpy as np  # noqa: E402

import lettering_faces  # noqa: E402
import lettering_set as the_set  # noqa: E402
from preflight.measure import lettering  # noqa: E402

LIMIT_MM = 5.0
DRAWN = ("hand", "display")


@dataclass
class Seen:
    """What became of one line of truth."""

    script: str
    kind: str
    layout: str
    style: str
    bitmap: bool
    found: bool
    asked: bool
    height: float | None
    truth: float
    cap: tuple[float | None, float | None]
    text: str
    seed: int
    face: str
    writing: str = "letters"
    knocked: bool | None = None
    touching: float = 0.0


@dataclass
class Result:
    """What became of one art."""

    kind: str
    seed: int
    bitmap: bool
    lines: list[Seen]
    right: int
    false: int
    right_sure: int
    false_sure: int
    asked_false: int
    seconds: float
    false_kinds: list = field(default_factory=list)


def inside(points, boxes, pad):
    """Which points lie in any of the boxes."""
    if not len(points) or not len(boxes):
        return np.zeros(len(points), bool)
    p, b = np.array(points)[:, None], np.array(boxes)[None]
    return ((p >= b[..., :2] - pad) & (p <= b[..., 2:] + pad)).all(2).any(1)


def middles(boxes):
    b = np.array(boxes).reshape(-1, 4)
    return np.stack([(b[:, 0] + b[:, 2]) / 2, (b[:, 1] + b[:, 3]) / 2], 1)


def look(scene) -> Result:
    """Measure one scene and hold it against its truth."""
    art = the_set.art_of(scene)
    art.coverage(None, art.box, 20)  # drawing is not measuring: let MuPDF warm up
    start = time.process_time()
    lines = lettering.lines(art)
    spent = time.process_time() - start
    shift = np.array([*art.offset, *art.offset])
    told = [line for line in lines if line.ruled]
    asked = [line for line in lines if not line.ruled]
    result = Result(scene.kind, scene.seed, scene.bitmap, [], 0, 0, 0, 0, 0, spent)
    own = [box for truth in scene.lines for box in truth.letters]
    for truth in scene.lines:
        pad = 0.1 * truth.shortest
        points = middles(truth.letters)
        covering = [
            line
            for line in told
            if (
                len(line.letters)
                and inside(middles(np.array(line.letters) + shift), truth.letters, pad).mean() >= 0.5
            )
        ]
        boxes = [b for line in covering for b in np.array(line.letters) + shift]
        share = inside(points, boxes, pad).mean()
        doubts = [b for line in asked for b in np.array([*line.letters, line.box]) + shift]
        found = bool(share >= 0.5)
        height = min((line.shortest for line in covering), default=None) if found else None
        caps = [line.cap for line in covering if line.cap is not None]
        result.lines.append(
            Seen(
                truth.script,
                truth.face.kind,
                truth.layout,
                truth.style,
                scene.bitmap,
                found,
                bool(inside(points, doubts, pad).mean() >= 0.5),
                height,
                truth.shortest,
                (min(caps, default=None), truth.cap),
                truth.text,
                scene.seed,
                truth.face.file,
                truth.writing,
                any(line.knocked_out for line in covering) if found else None,
                truth.touching,
            )
        )
    for line in lines:
        boxes = np.array(line.letters or [line.box]) + shift
        pad = 0.1 * (line.shortest or 1)
        right = bool(own) and inside(middles(boxes), own, pad).mean() >= 0.5
        sure = line.sure >= 0.85
        if line.ruled:
            result.right += right
            result.false += not right
            result.right_sure += right and sure
            result.false_sure += (not right) and sure
            if not right:
                result.false_kinds.append(
                    (round(line.sure, 2), round(line.shortest or 0, 2), len(line.letters))
                )
        elif not right:
            result.asked_false += 1
    return result


def wilson(good: int, total: int) -> str:
    """A share with its 95 % bounds (E. B. Wilson 1927, J. Am. Stat. Assoc. 22:209)."""
    if not total:
        return "     -"
    z, p = 1.96, good / total
    middle = (p + z * z / 2 / total) / (1 + z * z / total)
    half = z * math.sqrt(p * (1 - p) / total + z * z / 4 / total**2) / (1 + z * z / total)
    return f"{p:6.3f} ({max(0, middle - half):.3f}-{min(1, middle + half):.3f}) of {total}"


def verdicts(seen):
    clear = [s for s in seen if abs(s.truth / LIMIT_MM - 1) > 0.05]
    return sum(s.height is not None and (s.height < LIMIT_MM) == (s.truth < LIMIT_MM) for s in clear), len(
        clear
    )


def errors(seen):
    found = [abs(s.height / s.truth - 1) * 100 for s in seen if s.height]
    return (
        f"{np.median(found):5.2f} % median, {np.percentile(found, 95):5.2f} % at the 95th" if found else "-"
    )


def table(results: list[Result]) -> str:
    """The figures of a half."""
    seen = [line for r in results for line in r.lines]
    latin = [s for s in seen if s.writing == "letters" and s.kind != "script"]
    straight = [s for s in latin if s.layout != "arched"]
    arched = [s for s in latin if s.layout == "arched"]
    flat = [r for r in results if r.lines and all(s.layout != "arched" for s in r.lines)]
    bent = [r for r in results if any(s.layout == "arched" for s in r.lines)]
    bare = [r for r in results if not r.lines]
    out = [
        f"{len(seen)} lines in {len({s.face for s in seen})} faces, {len({(s.kind, s.text) for s in seen})} wordings; "
        f"{len(bare)} arts without lettering"
    ]

    def recall(name, some):
        out.append(f"{name:44} {wilson(sum(s.found for s in some), len(some))}")

    def precision(name, some, sure=False):
        right = sum(r.right_sure if sure else r.right for r in some)
        false = sum(r.false_sure if sure else r.false for r in some)
        out.append(f"{name:44} {wilson(right, right + false)}")

    recall("recall, straight and rotated", straight)
    for script, name in (("L", "Latin"), ("G", "Greek"), ("C", "Cyrillic")):
        recall(f"  {name}", [s for s in straight if s.script == script])
    for style in ("plain", "knocked out", "outline", "contour", "shadow", "rough", "bridged"):
        recall(f"  {style}", [s for s in straight if s.style == style])
    for kind in sorted({s.kind for s in straight}):
        recall(f"  in {kind} faces", [s for s in straight if s.kind == kind])
    recall("  drawn, letters apart", [s for s in straight if s.kind in DRAWN and s.touching < 0.1])
    recall(
        "  drawn, at least half of them meet", [s for s in straight if s.kind in DRAWN and s.touching >= 0.5]
    )
    missed = [s for s in straight if not s.found]
    out.append(
        f"{'  missed: asked about / silent':44} {sum(s.asked for s in missed)} / {sum(not s.asked for s in missed)}; "
        f"bitmaps {sum(s.bitmap for s in missed)}, under 2.5 mm {sum(s.truth < 2.5 for s in missed)}, "
        f"letters that meet {sum(s.touching >= 0.1 for s in missed)}"
    )
    recall("  of two or three letters", [s for s in straight if len(s.text) <= 3])
    recall("  bitmaps", [s for s in straight if s.bitmap])
    recall("  either reported or asked about", [s for s in straight if s.found])
    out[-1] = (
        f"{'  reported or asked about':44} {wilson(sum(s.found or s.asked for s in straight), len(straight))}"
    )
    recall("recall, arched", arched)
    precision("precision, straight and rotated art", flat)
    precision("precision, art with arches", bent)
    precision("precision, all art, bare art too", results)
    precision("  at certainty 0.85 and more", results, sure=True)
    out.append(f"{'verdict under 5 mm, straight and rotated':44} {wilson(*verdicts(straight))}")
    out.append(f"{'  of the lines found':44} {wilson(*verdicts([s for s in straight if s.found]))}")
    out.append(f"{'verdict under 5 mm, arched':44} {wilson(*verdicts(arched))}")
    plain = [s for s in straight if s.style in ("plain", "knocked out")]
    out.append(f"{'height error, plain vector':44} {errors([s for s in plain if not s.bitmap])}")
    out.append(f"{'height error, plain bitmap':44} {errors([s for s in plain if s.bitmap])}")
    out.append(f"{'height error, arched vector':44} {errors([s for s in arched if not s.bitmap])}")
    cut = [s for s in latin if s.style == "bridged" or s.kind == "stencil"]
    out.append(f"{'height error, letters with stencil bridges':44} {errors(cut)}")
    out.append(f"{'height error, other styles':44} {errors([s for s in straight if s not in plain])}")
    cased = [s for s in straight if s.found and s.kind != "display" and any(c.isalpha() for c in s.text)]
    told = sum((s.cap[0] is None) == (s.cap[1] is None) for s in cased)
    out.append(f"{'told whether a line has capitals':44} {wilson(told, len(cased))}")
    caps = [abs(s.cap[0] / s.cap[1] - 1) * 100 for s in cased if s.cap[0] and s.cap[1]]
    out.append(
        f"{'capital height error':44} {np.median(caps):5.2f} % median, {np.percentile(caps, 95):5.2f} % at the 95th"
    )
    open_ones = [s for s in latin if s.knocked is not None]
    told = sum(s.knocked == (s.style == "knocked out") for s in open_ones if s.style in ("plain",))
    out.append(
        f"{'not called knocked out when printed':44} {wilson(told, sum(s.style == 'plain' for s in open_ones))}"
    )
    out.append(f"{'art without lettering flagged':44} {wilson(sum(r.false > 0 for r in bare), len(bare))}")
    out.append(
        f"{'  asked about':44} {wilson(sum(r.asked_false > 0 and not r.false for r in bare), len(bare))}"
    )
    for kind in sorted({r.kind for r in bare}):
        some = [r for r in bare if r.kind == kind]
        flagged, asked = sum(r.false > 0 for r in some), sum(r.asked_false > 0 for r in some)
        out.append(f"    {kind:40} flagged {flagged:3}, asked {asked:3}, of {len(some)}")
    apart = [s for s in seen if s.writing == "letters" and s.kind == "script"]
    kinds = {
        "joined": "joined script",
        "half": "script that joins in part",
        "arabic": "Arabic",
        "cjk": "Han, kana, Hangul",
        "": "script whose letters stand apart",
    }
    for kind, name in kinds.items():
        some = [s for s in seen if s.writing == kind] if kind else apart
        out.append(
            f"{name + ': asked / measured / silent':50} {sum(s.asked and not s.found for s in some)} / "
            f"{sum(s.found for s in some)} / {sum(not s.found and not s.asked for s in some)}; asked "
            f"{wilson(sum(s.asked and not s.found for s in some), len(some))}"
        )
    out.append(
        f"lettering art with something else asked about: {sum(r.asked_false > 0 for r in results if r.lines)}"
    )
    spent = [r.seconds for r in results]
    out.append(f"CPU an art: {np.median(spent):.2f} s median, {np.percentile(spent, 95):.2f} s at the 95th")
    return "\n".join(out)


def evaluate(
    half: str = "unseen", lines_each: int = 10, plain: int = 342, workers: int = 2, seed: int = 2811
) -> list[Result]:
    """Every scene of a half measured."""
    lettering_faces.install(half)
    with multiprocessing.Pool(workers) as pool:
        return pool.map(look, list(the_set.scenes(half, lines_each, plain, seed)), chunksize=8)


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--quick", action="store_true", help="a quarter of the set")
    parser.add_argument("--half", default="unseen", choices=["tune", "held", "unseen"])
    parser.add_argument(
        "--misses", action="store_true", help="list what went wrong (for the half to tune on)"
    )
    parser.add_argument("--seed", type=int, default=2811, help="another draw of words, sizes and settings")
    parser.add_argument("--workers", type=int, default=2, help="processes")
    asked = parser.parse_args()
    size = (3, 95) if asked.quick else (10, 342)
    results = evaluate(asked.half, *size, asked.workers, asked.seed)
    print(table(results))
    if asked.misses:
        for r in results:
            for s in r.lines:
                off = s.height and abs(s.height / s.truth - 1) > 0.05
                if s.writing == "letters" and (not s.found or off):
                    print("MISS" if not s.found else f"OFF {s.height:.2f}", s, r.kind)
            if r.false:
                print("FALSE", r.kind, r.seed, r.bitmap, r.false_kinds)


if __name__ == "__main__":
    main()
