"""The widths on boards not used for tuning, and what they cost: prints one table.

Run this file itself, or `python -m pytest tests/bench_widths.py -m slow -s`.  Cost is CPU time against
one plain 300 dpi drawing of the same page in the same run, the best of three each, as other programs on the machine slow
both.
"""

import gc
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parent.parent)]
    import conftest  # noqa: F401  one thread, as a job has: those that wait cost too

import pytest

from boards.judge import Verdict, art_of, bitmap_of, judge
from boards.loads import dust, line_field, marsh_sheet, small_print
from boards.plates import drawn
from boards.sheets import situations
from preflight.artwork import Artwork
from preflight.measure import gaps, strokes
from preflight.order import Order

#: (limit mm, seed, turn in degrees) of the boards: none of these seeds was looked at while the constants were chosen.
UNSEEN = (
    (0.25, 101, 13.0),
    (0.2, 102, 71.0),
    (0.35, 103, 160.0),
    (0.5, 104, 44.0),
    (1.0, 105, 5.0),
    (0.3, 126, 28.0),
)
UNSEEN_BITMAPS = ((0.35, 111, 20.0),)
SHEETS: dict[str, tuple[float, float, Callable[[float, float], dict]]] = {
    "60 x 40 mm, lines 0.2 / 0.4 at 30 deg": (60, 40, lambda w, h: line_field(w, h, 0.2, 0.4, 30)),
    "60 x 40 mm, lines 0.1 / 0.2": (60, 40, lambda w, h: line_field(w, h, 0.1, 0.2)),
    "60 x 40 mm, 1.8 mm print": (60, 40, small_print),
    "60 x 40 mm, dust": (60, 40, lambda w, h: dust(w, h, 2000)),
    "A4, 6 inks": (210, 297, marsh_sheet),
    "400 x 500 mm, 6 inks": (400, 500, marsh_sheet),
    "A4, lines 0.2 / 0.5, one of 0.1": (210, 297, lambda w, h: line_field(w, h, 0.2, 0.5, 30, 0.1)),
    "A4, 2.6 mm print": (210, 297, lambda w, h: small_print(w, h, 2.6)),
    "2000 x 300 mm banner, 1 ink": (
        2000,
        300,
        lambda w, h: {0: [p for g in marsh_sheet(w, h, 1).values() for p in g]},
    ),
}


def everything(art: Artwork) -> None:
    """What one job asks of these measurements."""
    order = Order()
    strokes.lines(art, order, up_to=0.35)
    gaps.gaps(art, order, up_to=0.35)
    gaps.between_inks(art, order, up_to=0.35)
    strokes.specks(art, order, up_to=0.4)
    gaps.pinholes(art, order, up_to=0.4)
    gaps.trap(art, order)
    strokes.widest(art, order)
    strokes.finest_line(art)
    gaps.narrowest_gap(art)


def least_cpu(call: Callable[[Artwork], object], make: Callable[[], Artwork], times: int = 3) -> float:
    """CPU seconds of a call, the least of a few runs, each with an art of its own whose making does not count."""
    spent = []
    for _ in range(times):
        art = make()
        gc.collect()  # what other boards left behind is no part of it
        start = time.process_time()
        call(art)
        spent.append(time.process_time() - start)
    return min(spent)


def plain(art: Artwork) -> None:
    """What the cost is measured against."""
    document = art.plates.document
    document[len(document) - 1].get_pixmap(dpi=300)


def evaluate(bitmaps: bool = True) -> tuple[Verdict, dict[str, Verdict]]:
    """Verdicts on all unseen boards: vector, and by kind of bitmap."""
    vector = Verdict()
    for limit, seed, turned in UNSEEN:
        board = situations(limit, seed, turned)
        vector += judge(board, art_of(board), limit)
    by_ppi: dict[str, Verdict] = {}
    for ppi in (300, 600, 1200) if bitmaps else ():
        total = Verdict()
        for limit, seed, turned in UNSEEN_BITMAPS:
            board = situations(limit, seed, turned)
            total += judge(board, bitmap_of(board, ppi), limit)
        by_ppi[f"bitmap {ppi} ppi"] = total
    return vector, by_ppi


def table() -> tuple[Verdict, dict[str, Verdict], dict[str, tuple[float, float]]]:
    """Print everything; returns the verdicts and (plain, measured) CPU seconds by sheet."""
    vector, by_ppi = evaluate()
    print(
        f"\n{'board':24} {'viol.':>6} {'quiet':>6} {'missed':>7} {'false':>6} {'error p50':>10} {'p95':>8} {'max':>8}  mm"
    )
    for name, v in {"vector": vector, **by_ppi}.items():
        print(
            f"{name:24} {v.violations:6} {v.quiet:6} {len(v.missed):7} {len(v.false):6} {v.error(0.5):10.4f} "
            f"{v.error(0.95):8.4f} {v.error(1.0):8.4f}"
        )
        for line in [*(f"  missed {m}" for m in v.missed), *(f"  false {f}" for f in v.false)][:12]:
            print(line, flush=True)
    return vector, by_ppi, costs()


def costs() -> dict[str, tuple[float, float]]:
    """Print what the sheets cost; returns (plain, measured) CPU seconds by sheet."""
    found: dict[str, tuple[float, float]] = {}
    print(f"\n{'sheet':40} {'plain s':>8} {'widths s':>9} {'ratio':>7} {'MiB':>6}")
    for name, (width, height, make) in SHEETS.items():
        shapes = make(width, height)

        def art(w: float = width, h: float = height, s: dict = shapes) -> Artwork:
            return drawn(w, h, s)

        drawn_before = art()
        once = least_cpu(plain, lambda one=drawn_before: one)
        measured = least_cpu(everything, art)
        found[name] = once, measured
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"{name:40} {once:8.3f} {measured:9.3f} {measured / once:7.1f} {peak:6.0f}", flush=True)
    return found


@pytest.mark.slow
def test_the_table():
    vector, by_ppi, costs = table()
    assert vector.violations >= 300
    assert vector.quiet >= 300
    assert not vector.missed
    assert len(vector.false) <= 1
    assert not [
        e for e in vector.beyond(0.005, 0.01) if e[1] >= 0.1 and "speck" not in e[2] and "hole" not in e[2]
    ]
    for name, verdict in by_ppi.items():
        pixel = 25.4 / float(name.split()[1])
        # a spot needs more pixels than a line to stand out from the fringe of its neighbours
        least = {"line": 2 * pixel, "gap": 2 * pixel, "speck": 4 * pixel, "hole": 4 * pixel}
        visible = [m for m in verdict.missed if float(m.split()[-1]) >= least[m.split()[-2]]]
        assert not visible, name
        assert len(verdict.false) <= 2, name
        assert verdict.error(0.95) <= pixel / 2, name
    for name, (plain, measured) in costs.items():
        # bounded, not fast: the machine of the tests is not the machine of the figures
        assert measured <= max(60 * plain, 8.0), name


if __name__ == "__main__":
    table()
