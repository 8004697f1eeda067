"""Figures for printing: plates and their coverage, white beneath, mesh, halftone dots, pixels for a distance."""

import math
from dataclasses import dataclass
from typing import Any

from preflight import colour
from preflight.artwork import Artwork, Ink
from preflight.measure import contrast, inks, strokes, tone
from preflight.order import Order
from preflight.quantity import plain

#: The smallest angle the eye parts, degrees: one minute of arc.
ACUITY = 1 / 60


@dataclass(frozen=True)
class Mesh:
    """A screen fabric: threads a cm, thread diameter in micrometres, and its usual work.

    Diameters from a screen maker's training table, those of 43 and 77 from memory; uses are common practice.
    """

    threads_per_cm: int
    thread_um: int
    use: str

    @property
    def pitch_mm(self) -> float:
        """From thread to thread, mm: 10 / threads a cm."""
        return 10 / self.threads_per_cm

    @property
    def opening_um(self) -> float:
        """Between two threads, micrometres: 10 000 / threads a cm - thread."""
        return 10_000 / self.threads_per_cm - self.thread_um

    @property
    def open_share(self) -> float:
        """Share of the fabric that is open: (opening / pitch)²."""
        return (self.opening_um / 1000 / self.pitch_mm) ** 2

    @property
    def threads_per_inch(self) -> int:
        """The same count by the inch."""
        return round(self.threads_per_cm * 2.54)

    @property
    def least_line_mm(self) -> float:
        """The thinnest line it holds at all: twice the pitch."""
        return 2 * self.pitch_mm

    @property
    def easy_line_mm(self) -> float:
        """The thinnest line it holds in comfort: three times the pitch (from memory)."""
        return 3 * self.pitch_mm

    def ruling_lpi(self, ratio: float = 4.0) -> float:
        """The finest halftone ruling it carries: threads an inch by 4, some say 3.5 or 5 (common practice)."""
        return self.threads_per_cm * 2.54 / ratio


MESHES = (
    Mesh(34, 100, "heavy or puff ink"), Mesh(43, 80, "white base, bold work"), Mesh(49, 55, "white base with detail"),
    Mesh(62, 64, "general work on light goods"), Mesh(77, 55, "several colours on light goods"),
    Mesh(90, 48, "halftone base"), Mesh(120, 34, "fine halftones and flat goods"), Mesh(140, 34, "the finest work"),
)  # fmt: skip
#: Where nothing fine is asked for: on cloth and on flat goods, threads a cm (common practice).
USUAL_CLOTH, USUAL_FLAT = 62, 120


def mesh_for(line_mm: float | None, lpi: float | None, usual: int) -> tuple[Mesh | None, str]:
    """The coarsest mesh, the usual one or finer, for the finest line and the ruling; and a word on it.

    Three pitches to the line are comfortable, two are the floor; four threads to a line of the ruling.
    """
    fitting = [m for m in MESHES if m.threads_per_cm >= usual and (lpi is None or m.ruling_lpi() >= lpi)]
    if not fitting:
        return None, f"no mesh here carries a ruling of {lpi:.0f} lines per inch"
    if line_mm is None:
        return fitting[0], fitting[0].use
    for mesh in fitting:
        if mesh.easy_line_mm <= line_mm + 1e-9:
            return mesh, mesh.use
    for mesh in fitting:
        if mesh.least_line_mm <= line_mm + 1e-9:
            return mesh, "the finest line is under three pitches: it may break, print a trial"
    return None, "the finest line is under two pitches of the finest mesh"


def dot_mm(lpi: float, share: float) -> float:
    """Diameter of a halftone dot in mm: (25.4 / ruling) x sqrt(4 p / pi), for a share p of 0 to 1."""
    return 25.4 / lpi * math.sqrt(4 * share / math.pi)


def ppi_for_distance(distance_mm: float) -> float:
    """Pixels an inch that just vanish at a distance: 25.4 / (d x tan 1/60 degree), from one minute of arc."""
    return 25.4 / (distance_mm * math.tan(math.radians(ACUITY)))


def sharp_from_mm(ppi: float) -> float:
    """The distance in mm from which so many pixels an inch look sharp; the same formula turned round."""
    return 25.4 / (ppi * math.tan(math.radians(ACUITY)))


def plates(art: Artwork, order: Order) -> list[dict[str, Any]]:
    """Each ink that leaves a mark: name, look, covered area in cm² and in % of the print box, tints, nearest chart entry."""
    return [_plate(ink, area, share, order) for ink, area, share in inks.areas(art) if area > 0]


def _plate(ink: Ink, area: float, share: float, order: Order) -> dict[str, Any]:
    plate: dict[str, Any] = {
        "name": plain(ink.name, 60), "hex": ink.hex, "coverage_cm2": round(area / 100, 2),
        "coverage_percent": round(100 * share, 1),
    }  # fmt: skip
    if ink.tints:
        plate["tints_percent"] = [round(100 * tint) for tint in ink.tints]
    plate |= nearest_entry(ink, order)
    return plate


def nearest_entry(ink: Ink, order: Order) -> dict[str, Any]:
    """The chart entry of an ink's name, else the nearest, and its CIEDE2000; nothing without a chart."""
    match = inks.chart_match(ink, order)
    if match is None:
        return {}
    return {"chart_entry": plain(match.entry.name, 60), "delta_e": round(match.delta_e, 1)}


def covered_mm2(art: Artwork) -> float:
    """Area that any ink covers, mm²."""
    whole = inks.survey(art)
    if not whole.plates and (art.pictures or art.fades):
        together = art.coverage(None, art.box, whole.pixels_per_mm)
        return float(together.sum(dtype=float)) / 255 / whole.pixels_per_mm**2
    return whole.mm2(whole.together)


def white_beneath(art: Artwork, order: Order) -> dict[str, Any]:
    """Does any ink need white beneath: yes on dark or clear goods, where it is neither black, white nor metal."""
    if "clear" in order.tags:
        return {"white_base": True, "white_base_note": "the goods are clear"}
    if order.ground is None:
        return {"white_base": None, "white_base_note": "the colour of the article is not stated"}
    needing = sum(r.value or 0 for r in contrast.needs_white(art, order))
    pictures = bool(art.fades) and colour.is_dark(order.ground)
    return {"white_base": bool(needing) or pictures}


def finest_line_mm(art: Artwork) -> float | None:
    """Width of the finest line, mm; None when there is none."""
    reading = strokes.finest_line(art)
    return None if reading is None or reading.value is None else round(reading.value, 3)


def ruling_lpi(art: Artwork, order: Order) -> float | None:
    """Finest ruling of halftones already in the art, lines an inch; None when there are none."""
    values = [r.value for r in tone.halftone_ruling(art, order) if r.value]
    return max(values) if values else None
