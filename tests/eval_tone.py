"""Measure `preflight.pixels` on the labelled set and print the table.

    python tests/eval_tone.py [--icons FOLDER] [--half 1|2|3|4|5|6|7|8|9|10|11] [--every N] [--workers N] [--failures]

As it stands that is the first and the eleventh part, 840 pictures, a quarter of an hour of one core.

The icons are those of `npm pack bootstrap-icons @tabler/icons openmoji`, each unpacked into its own folder below FOLDER
that bears the package's name; without them the shapes drawn in `tone_art` are used.
"""

import argparse
import resource
import sys
import time
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from preflight.pixels import Tone, analyse  # noqa: E402
from tone_set import Box, Sample, drawn, plan  # noqa: E402

#: A picture called enlarged by at least this counts as found (of 2 times and more), or as a false alarm (of none).
CALLED_ENLARGED = 1.5
PARTS = {
    1: "first part, tuned on",
    2: "second part, seen",
    3: "third part, its figures seen",
    4: "fourth part, its failures seen",
    5: "fifth part, its failures seen since",
    6: "sixth part, seen: its failures of enlargement and of boxes mended",
    7: "seventh part, seen: its false and missed fades and halftones mended",
    8: "eighth part, seen: its boxes of soft shadows, thin marks, halftones and false fades mended",
    9: "ninth part, seen: its false tones in hatching, lines and small shapes mended",
    10: "tenth part, run once, its table read",
    11: "eleventh part, run once: nothing was tuned on it",
}
FADING = ("gradient", "shadow", "photograph")
#: Kinds of treatment that leave flat art as clean as drawn.
CLEAN = ("clean", "crisp", "gif", "tint", "cutout")


@dataclass(frozen=True)
class Result:
    """One sample and what was said of it; the pixels are let go."""

    name: str
    kind: str
    treatment: str
    lossy: bool
    quality: int | None
    wanted: int | None
    scale: float
    boxes: tuple[Box, ...]
    ground: str
    halo: bool | None
    megapixels: float
    tone: Tone
    seconds: float
    peak: float  # MiB, of the process that drew and judged it and those before it

    @property
    def fades(self) -> list[Box]:
        return [f.box for f in self.tone.fades if f.kind != "halftone"]

    @property
    def screened(self) -> bool:
        return any(f.kind == "halftone" for f in self.tone.fades)


def judge(sample: Sample) -> Result:
    start = time.process_time()
    tone = analyse(sample.rgb, sample.alpha, lossy=sample.lossy, quality=sample.quality)
    seconds = time.process_time() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    wanted = None if sample.colours is None else len(sample.colours)
    return Result(
        sample.name, sample.kind, sample.treatment, sample.lossy, sample.quality, wanted, sample.scale,
        tuple(sample.boxes), sample.ground, sample.halo, sample.megapixels, tone, seconds, peak,
    )  # fmt: skip


def judged(half: int, number: int, material: str | None = None) -> Result:
    """One picture of the set, drawn and judged."""
    kind, treatment = plan()[number]
    return judge(drawn(half, number, kind, treatment, material))


def overlap(one: Box, other: Box) -> float:
    """Area of the intersection over that of the union."""
    w, h = min(one[2], other[2]) - max(one[0], other[0]), min(one[3], other[3]) - max(one[1], other[1])
    if w <= 0 or h <= 0:
        return 0.0
    area = sum((b[2] - b[0]) * (b[3] - b[1]) for b in (one, other))
    return w * h / (area - w * h)


def _counted(results: Iterable[Result]) -> tuple[int, int, str]:
    asked = [r for r in results if r.wanted is not None]
    right = sum(len(r.tone.inks) == r.wanted for r in asked)
    near = sum(abs(len(r.tone.inks) - (r.wanted or 0)) <= 1 for r in asked)
    return right, len(asked), f"within one {near}/{len(asked)}"


def _recall(results: Iterable[Result]) -> tuple[int, int, str]:
    positive = [r for r in results if r.kind in FADING]
    return sum(bool(r.fades) for r in positive), len(positive), ""


def _precision(results: Iterable[Result]) -> tuple[int, int, str]:
    called = [r for r in results if r.fades and r.kind != "halftone"]
    return sum(r.kind in FADING for r in called), len(called), ""


def _boxes(results: Iterable[Result]) -> tuple[int, int, str]:
    """Truth boxes that a box of a fade overlaps by 0.7; only of pictures in which something was found."""
    best = [
        max((overlap(box, f.box) for f in r.tone.fades), default=0.0)
        for r in results
        if r.kind in (*FADING, "halftone") and r.tone.fades
        for box in r.boxes
    ]
    return sum(b >= 0.7 for b in best), len(best), f"median overlap {np.median(best):.2f}" if best else ""


def _grade(result: Result) -> str:
    """The compression a result is counted under."""
    if not result.lossy:
        return "lossless"
    return (
        "q>=75"
        if result.quality is None or result.quality >= 75
        else "q50-75"
        if result.quality >= 50
        else "q<50"
    )


def _is(kind: str) -> Callable[[Result], bool]:
    return lambda result: result.kind == kind


def _stands(result: Result) -> bool:
    return result.tone.ground == result.ground


def _names(result: Result, kind: str) -> bool:
    return any(fade.kind == kind for fade in result.tone.fades)


def _called(result: Result) -> bool:
    return result.tone.enlargement >= CALLED_ENLARGED


Row = tuple[str, str, Callable[[list[Result]], tuple[int, int, str]]]


def rows() -> list[Row]:
    """Each row: its name, its goal, and what it counts."""

    def of(
        choose: Callable[[Result], bool], count: Callable
    ) -> Callable[[list[Result]], tuple[int, int, str]]:
        return lambda results: count([r for r in results if choose(r)])

    def part(choose: Callable[[Result], bool], right: Callable[[Result], bool]) -> Callable:
        return lambda results: (sum(choose(r) and right(r) for r in results), sum(map(choose, results)), "")

    def up(low: float, high: float) -> Callable[[Result], bool]:
        return lambda r: r.kind == "flat" and low <= r.scale <= high

    def first(*words: str) -> Callable[[Result], bool]:
        return lambda r: r.kind == "flat" and r.treatment.split()[0] in words

    def fine(r: Result) -> bool:
        return _grade(r) in ("lossless", "q>=75")

    table: list[Row] = [
        ("ink count: clean flat art", ">= 0.98", of(first(*CLEAN), _counted)),
        (
            "ink count: JPEG 50-95, WebP",
            ">= 0.95",
            of(lambda r: first("jpeg", "webp")(r) and _grade(r) != "q<50", _counted),
        ),
        ("ink count: enlarged 1.5-4 x", ">= 0.95", of(up(1.5, 4), _counted)),
        (
            "ink count: all three together",
            ">= 0.95",
            of(
                lambda r: r.kind == "flat" and r.scale <= 4 and _grade(r) != "q<50" and r.treatment != "scan",
                _counted,
            ),
        ),
        ("ink count: scans", "", of(first("scan"), _counted)),
        ("ink count: JPEG 20-35", "", of(lambda r: r.kind == "flat" and _grade(r) == "q<50", _counted)),
        ("ink count: enlarged 6 x", "", of(up(5, 9), _counted)),
        ("ink count: textures and fine hatching", ">= 0.95", of(_is("texture"), _counted)),
        (
            "ink count: thin marks only",
            ">= 0.95",
            of(lambda r: r.kind == "thin" and "alone" in r.treatment, _counted),
        ),
        (
            "ink count: thin marks beside others",
            "",
            of(lambda r: r.kind == "thin" and "alone" not in r.treatment, _counted),
        ),
        ("thin marks, not a blank sheet", ">= 1.00", part(_is("thin"), lambda r: len(r.tone.inks) > 1)),
        ("continuous tone, recall: lossless, q>=75", ">= 0.98", of(fine, _recall)),
        ("continuous tone, precision: lossless, q>=75", ">= 0.98", of(fine, _precision)),
        ("continuous tone, recall: q 50-75", ">= 0.95", of(lambda r: _grade(r) == "q50-75", _recall)),
        ("continuous tone, precision: q 50-75", ">= 0.95", of(lambda r: _grade(r) == "q50-75", _precision)),
    ]
    table += [(f"continuous tone, recall: {k}s", "", of(lambda r, k=k: r.kind == k, _recall)) for k in FADING]
    table += [
        ("photographs named as such", "", part(_is("photograph"), lambda r: _names(r, "photograph"))),
        ("halftone, recall", ">= 0.95", part(_is("halftone"), lambda r: r.screened)),
        ("halftone, precision", ">= 0.95", part(lambda r: r.screened, _is("halftone"))),
        ("enlarged >= 2 x, found", ">= 0.95", part(lambda r: r.scale >= 2, _called)),
        ("not enlarged, left alone (scans apart)", ">= 0.99",
         part(lambda r: r.scale == 1 and "scan" not in r.treatment, lambda r: not _called(r))),
        ("scans (blurred over 2 pixels) called soft", "", part(lambda r: "scan" in r.treatment, _called)),
        ("enlargement right to a quarter", "",
         part(lambda r: r.scale >= 2, lambda r: abs(np.log(r.tone.enlargement / r.scale)) < np.log(1.25))),
        ("repeated pixels recognised", "", part(lambda r: "nearest" in r.treatment, lambda r: r.tone.pixel_doubled)),
        ("boxes overlap truth by 0.7", ">= 0.9", _boxes),
        ("boxes: gradients, photographs, halftones", "", of(lambda r: r.kind != "shadow", _boxes)),
        ("boxes: soft shadows", "", of(_is("shadow"), _boxes)),
        ("ground: transparent", ">= 0.95", part(lambda r: r.ground == "transparent", _stands)),
        ("ground: white box", ">= 0.95", part(lambda r: r.ground == "white", _stands)),
        ("ground: coloured box", ">= 0.95", part(lambda r: r.ground == "solid", _stands)),
        ("not transparent, not called so", ">= 0.99",
         part(lambda r: r.ground != "transparent", lambda r: r.tone.ground != "transparent")),
        ("halo of a cut-out found", ">= 0.95", part(lambda r: r.halo is True, lambda r: r.tone.halo)),
        ("clean cut-out left alone", ">= 0.95", part(lambda r: r.halo is False, lambda r: not r.tone.halo)),
    ]  # fmt: skip
    return table


def table(results: list[Result]) -> str:
    """The table as text."""
    lines = []
    for name, goal, count in rows():
        right, total, note = count(results)
        share = f"{right / total:.3f}" if total else "-"
        lines.append(f"{name:46} {goal:8} {share:>6}  {right}/{total}  {note}".rstrip())
    pace = [(r.seconds, r.megapixels) for r in results]
    for low, high in ((0, 1.5), (1.5, 8), (8, 30)):
        some = [s for s, m in pace if low <= m < high]
        if some:
            lines.append(
                f"CPU seconds at {low}-{high} megapixels: median {np.median(some):.2f}, most {max(some):.2f}"
            )
    peak = max(r.peak for r in results)
    lines.append(f"{len(results)} pictures, peak memory of drawing and reading {peak:.0f} MiB")
    return "\n".join(lines)


def wrong(result: Result) -> list[str]:
    """What is wrong about one result, in a few words each."""
    said = []
    tone = result.tone
    if result.wanted is not None and len(tone.inks) != result.wanted:
        said.append(f"inks {len(tone.inks)} for {result.wanted}")
    if result.kind != "halftone" and bool(result.fades) != (result.kind in FADING):
        said.append("no fade" if result.kind in FADING else f"false {sorted({f.kind for f in tone.fades})}")
    if result.screened != (result.kind == "halftone"):
        said.append("false halftone" if result.screened else "no halftone")
    if (result.scale >= 2 and tone.enlargement < CALLED_ENLARGED) or (
        result.scale == 1 and tone.enlargement >= CALLED_ENLARGED
    ):
        said.append(f"enlarged {tone.enlargement:.2f} for {result.scale}")
    if result.ground and not _stands(result):
        said.append(f"ground {tone.ground} for {result.ground}")
    if result.halo is not None and tone.halo != result.halo:
        said.append("false halo" if tone.halo else "no halo")
    if tone.fades:
        for box in result.boxes:
            best = max(overlap(box, f.box) for f in tone.fades)
            if best < 0.7:
                said.append(f"box {best:.2f}")
    return said


def _one_thread() -> None:
    """A worker of several keeps to one core, so that CPU seconds mean the same."""
    cv2.setNumThreads(1)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--icons", help="folder with the unpacked icon packages")
    parser.add_argument(
        "--half", type=int, nargs="+", default=[1, 11], choices=sorted(PARTS), help="part of the set"
    )
    parser.add_argument("--workers", type=int, default=1, help="pictures drawn and judged at a time")
    parser.add_argument("--every", type=int, default=1, help="only every n-th sample")
    parser.add_argument("--failures", action="store_true", help="name what went wrong")
    chosen = parser.parse_args()
    for half in chosen.half:
        numbers = range(0, len(plan()), chosen.every)
        job = partial(judged, half, material=chosen.icons)
        if chosen.workers > 1:
            with ProcessPoolExecutor(chosen.workers, get_context("spawn"), _one_thread) as pool:
                results = list(pool.map(job, numbers, chunksize=4))
        else:
            results = [job(number) for number in numbers]
        print(f"\n{PARTS[half]}")
        print(table(results))
        if chosen.failures:
            for result in results:
                if wrong(result):
                    print(f"  {result.name} ({result.treatment}): {'; '.join(wrong(result))}")


if __name__ == "__main__":
    main()
