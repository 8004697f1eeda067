"""Sheets that cost: full of logos of several inks, full of violations, or nothing but letters."""

import numpy as np

from boards.shapes import bar, blob, disc, letters, pieces, rectangle, ring, star


def marsh_sheet(
    width: float, height: float, inks: int = 6, seed: int = 3, density: float = 0.6
) -> dict[int, list]:
    """A sheet of stars, rings, lettering, traced blobs, slots and bars in several inks."""
    random = np.random.default_rng(seed)
    by_ink: dict[int, list] = {i: [] for i in range(inks)}
    cell = 22
    for i in range(int(width // cell)):
        for j in range(int(height // cell)):
            if random.random() >= density:
                continue
            x, y = 1 + i * cell, 1 + j * cell
            put = by_ink[int(random.integers(inks))].extend
            kind = int(random.integers(0, 7))
            if kind == 0:
                put([star(x + 10, y + 10, 9, 4.5, int(random.integers(5, 13)))])
            elif kind == 1:
                put(pieces(ring(x + 10, y + 10, 9, random.uniform(0.5, 4))))
            elif kind == 2:
                for row in range(3):
                    put(pieces_of(letters("Rn5 Aeg", 5, x=x, y=y + 6 + 6.5 * row)))
            elif kind == 3:
                put([blob(x + 10, y + 10, 6, 2000, int(random.integers(1e6)))])
            elif kind == 4:
                slot = bar(x + 10, y + 10, random.uniform(0.1, 0.6), 15, random.uniform(0, 180))
                put(pieces(rectangle(x, y, x + 19, y + 19).difference(slot)))
            elif kind == 5:
                put(
                    [
                        bar(x + 10, y + 3 + 4 * k, random.uniform(0.1, 0.6), 16, random.uniform(-8, 8))
                        for k in range(4)
                    ]
                )
            else:
                put([rectangle(x, y, x + 19, y + 19)])
    if min(width, height) > 100:
        by_ink[0].append(blob(width / 2, height / 2, min(width, height) / 4, 10_000, 7, 0.03))
    return by_ink


def pieces_of(shapes: list) -> list:
    """The polygons of several shapes."""
    return [p for shape in shapes for p in pieces(shape)]


def line_field(
    width: float, height: float, line: float, pitch: float, angle: float = 0.0, finest: float | None = None
) -> dict[int, list]:
    """Parallel lines all over; one of them, near the end, may be finer."""
    reach = float(np.hypot(width, height))
    count = int(reach / pitch)
    sheet = rectangle(0.5, 0.5, width - 0.5, height - 0.5)
    found = []
    for k in range(-count // 2, count // 2 + 1):
        thin = finest is not None and k == int(0.3 * count)
        offset = k * pitch
        turned = np.radians(angle)
        x, y = width / 2 - np.sin(turned) * offset, height / 2 + np.cos(turned) * offset
        found += pieces(bar(x, y, finest if thin else line, reach, angle).intersection(sheet))
    return {0: found}


def small_print(width: float, height: float, size: float = 1.8) -> dict[int, list]:
    """Lettering far too small, all over."""
    found = []
    words = "the kites of the salt marsh rise with the tide "
    y = size + 1
    while y < height - 1:
        line = letters(words * int(width / (size * 20) + 1), size, x=1.0, y=y)
        found += [p for p in pieces_of(line) if p.bounds[2] < width - 1]
        y += size * 1.25
    return {0: found}


def dust(width: float, height: float, count: int, seed: int = 1) -> dict[int, list]:
    """Specks strewn over the sheet."""
    random = np.random.default_rng(seed)
    return {
        0: [
            disc(
                random.uniform(1, width - 1), random.uniform(1, height - 1), random.uniform(0.03, 0.15), 2e-3
            )
            for _ in range(count)
        ]
    }
