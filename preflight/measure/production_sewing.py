"""Figures for embroidery: stitches, threads, sewing time."""

import math
from typing import Any

from preflight.artwork import Artwork
from preflight.measure import stitches
from preflight.measure.production_print import nearest_entry
from preflight.order import Order
from preflight.quantity import plain

#: Heads, needles a head and stitches a minute where the shop file says nothing (common practice).
HEADS, NEEDLES, SPEED = 12, 15, 800.0
#: On leather (common practice).
LEATHER_SPEED = 500.0
#: Share of the time in which a machine sews: 9.4 of 13 minutes in a published example of 7 500 stitches (computed).
EFFICIENCY = 0.72
#: Taking a run of pieces off and hooping the next, minutes (common practice).
RELOAD_MINUTES = 1.5


def sewing_minutes(count: float, speed: float, efficiency: float = EFFICIENCY) -> float:
    """Minutes in the machine: stitches / (stitches a minute x share of the time it sews)."""
    return count / (speed * efficiency)


def cycle_minutes(count: float, speed: float) -> float:
    """Minutes from one run of heads to the next: sewing and reloading."""
    return sewing_minutes(count, speed) + RELOAD_MINUTES


def pieces_per_hour(count: float, speed: float, heads: int) -> float:
    """60 x heads / cycle."""
    return 60 * heads / cycle_minutes(count, speed)


def threads(art: Artwork, order: Order) -> list[dict[str, Any]]:
    """Each thread in sewing order as drawn: name, look, stitches, sewn area, and the nearest entry of the thread chart."""
    found = []
    for sewing in stitches.sewings(art):
        if sewing.ink is not None and sewing.area_mm2 > 0:
            thread: dict[str, Any] = {
                "name": plain(sewing.ink.name, 60), "hex": sewing.ink.hex, "stitches": round(sewing.stitches),
                "sewn_cm2": round(sewing.area_mm2 / 100, 2),
            }  # fmt: skip
            found.append(thread | nearest_entry(sewing.ink, order))
    return found


def machine(order: Order) -> tuple[int, int, float]:
    """Heads, needles and stitches a minute, of the shop or as usual; leather is sewn slowly."""
    stated = order.machines.get("embroidery", {})
    speed = max(1.0, float(stated.get("speed", SPEED)))
    if order.tags & {"leather", "faux-leather"}:
        speed = min(speed, LEATHER_SPEED)
    return max(1, int(stated.get("heads", HEADS))), max(1, int(stated.get("needles", NEEDLES))), speed


def sewing(art: Artwork, order: Order) -> dict[str, Any]:
    """Stitches as a range, their price band, threads, trims, time for one piece and for the order."""
    heads, needles, speed = machine(order)
    facts: dict[str, Any] = {}
    reading = next(iter(stitches.estimate(art, order)), None)
    if reading is None or reading.value is None:
        note = reading.reason if reading else "there is nothing to sew"
        return {"stitches": None, "stitches_note": note}
    count = reading.value
    list_of = threads(art, order)
    used = [s for s in stitches.sewings(art) if s.area_mm2 > 0]
    facts |= {
        "stitches": round(count), "stitches_low": reading.facts["low"], "stitches_high": reading.facts["high"],
        "band": reading.facts["band"], "thread_colours": len(used), "threads": list_of,
        "colour_changes": max(len(used) - 1, 0), "trims": sum(max(s.parts - 1, 0) for s in used),
        "letters_counted": sum(s.letters for s in used), "heads": heads, "needles": needles, "stitches_a_minute": speed,
        "sewing_minutes": round(sewing_minutes(count, speed), 1), "cycle_minutes": round(cycle_minutes(count, speed), 1),
        "pieces_an_hour": round(pieces_per_hour(count, speed, heads), 1),
    }  # fmt: skip
    if order.quantity:
        runs = math.ceil(order.quantity / heads)
        facts |= {
            "quantity": order.quantity, "runs": runs, "machine_hours": round(runs * cycle_minutes(count, speed) / 60, 2)
        }  # fmt: skip
    else:
        facts |= {"quantity": None, "quantity_note": "not stated, so no machine time for the order"}
    return facts
