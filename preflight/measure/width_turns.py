"""In which order the windows of a crowd are looked at: the thinnest first, a batch at a time."""

from collections.abc import Sequence

import numpy as np

from preflight.measure.width_windows import CROWDED, Job

#: The windows of a crowd are looked at in batches of so many pixels or this share of all.
BATCH, BATCH_SHARE = 200_000, 0.1
#: Of what may be a tip so many times less is looked at.
SHORT_LATER = 6
#: Multiples of it, less their whole part, spread evenly.
GOLDEN = 0.618034


def pixels_of(jobs: Sequence[Job]) -> int:
    """Pixels of all windows."""
    return sum(job.window.width * job.window.height for job in jobs)


def thinnest_first(jobs: Sequence[Job]) -> list[Job]:
    """Those with the thinnest things first, the same share of each sort (`Job.looks`; gaps between inks are sorts too).

    Of what is no longer than a tip less comes at a time.  What looks alike is spread over the art.
    """
    spread = (GOLDEN * np.arange(len(jobs))) % 1
    between = np.array([job.ink is None for job in jobs])
    lines, short_lines, gaps, short_gaps = np.array([job.looks for job in jobs]).T
    turn = np.full(len(jobs), float(SHORT_LATER))
    sorts = [(lines, 1), (short_lines, SHORT_LATER)]
    for of in (~between, between):
        sorts += [(np.where(of, gaps, 0), 1), (np.where(of, short_gaps, 0), SHORT_LATER)]
    for looks, later in sorts:
        there = np.flatnonzero(looks)
        in_turn = there[np.lexsort((spread[there], looks[there]))]
        turn[in_turn] = np.minimum(turn[in_turn], later * np.arange(len(there)) / max(1, len(there)))
    return [jobs[number] for number in np.argsort(turn, kind="stable")]


def in_batches(jobs: Sequence[Job]) -> list[list[Job]]:
    """All at once, or of a crowd so many pixels at a time."""
    total = pixels_of(jobs)
    if total <= CROWDED:
        return [list(jobs)] if jobs else []
    batch = max(BATCH, total * BATCH_SHARE)
    batches: list[list[Job]] = [[]]
    pixels = 0
    for job in jobs:
        if pixels > batch:
            batches.append([])
            pixels = 0
        batches[-1].append(job)
        pixels += job.window.width * job.window.height
    return batches
