"""Colours of a finished picture as the file gives them: its own paints, and spot colours whole, as tints or see-through."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from preflight import colour
from preflight.load.inking import PROCESS_NAMES, SAME, Request
from preflight.load.paints import RGB, Paint

#: Drawing rounds a colour off by so many steps of 255.
ROUNDED = 2
#: Paints and strengths of groups that are looked at.
MOST_PAINTS, MOST_GROUPS = 400, 8


@dataclass(frozen=True)
class SpotLook:
    """How a spot colour shows on the page: its name, its look undiluted, and its look in one strength."""

    name: str
    solid: RGB
    shown: RGB
    strength: float = 1.0


def spot_looks(paints: Iterable[tuple[Paint, float]], groups: Sequence[float], ground: RGB) -> list[SpotLook]:
    """Every look that the single spot colours of a page have, the strongest first.

    Args:
        paints: each paint with the opacity of its object.
        groups: the opacities of the groups of the page.
        ground: the goods, which show through.
    """
    looks = set()
    for paint, alpha in list(dict.fromkeys(paints))[:MOST_PAINTS]:
        names = [name for name, _ in paint.spots]
        if len(names) != 1 or names[0] in PROCESS_NAMES or names[0] in ("All", "None"):
            continue
        for group in (1.0, *list(dict.fromkeys(groups))[:MOST_GROUPS]):
            part = alpha * group
            shown = tuple(round(c * part + g * (1 - part)) for c, g in zip(paint.rgb, ground, strict=True))
            looks.add(SpotLook(names[0], paint.solid, shown, round(paint.spots[0][1] * part, 3)))  # type: ignore[arg-type]
    return sorted(looks, key=lambda look: (-look.strength, look.name))


def recognised(rgb: RGB, share: float, looks: Iterable[SpotLook]) -> Request:
    """A colour of the finished picture: the spot that looks so, if the page has one; else itself."""
    lab = colour.lab_of(colour.hex_of(rgb))
    for look in looks:
        if colour.difference(lab, colour.lab_of(colour.hex_of(look.shown))) < SAME:
            return Request(look.solid, share, look.name, "spot", look.strength)
    return Request(rgb, share, kind="rgb")


def snapped(shade: str, paints: Iterable[RGB]) -> RGB:
    """A colour of the finished picture, "#rrggbb", as the file gives it where drawing only rounded it off."""
    rgb = colour.rgb_of(shade)
    apart = {paint: max(abs(a - b) for a, b in zip(paint, rgb, strict=True)) for paint in paints}
    nearest = min(apart, key=lambda paint: apart[paint], default=rgb)
    return nearest if apart.get(nearest, 0) <= ROUNDED else rgb
