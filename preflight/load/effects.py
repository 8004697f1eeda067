"""Live effects of a drawing (blur, shadow), which its engine draws as pixels: they fade, but are no bitmap of the client's."""

from collections.abc import Collection
from dataclasses import replace

from preflight.artwork import Artwork, Box, Fade, Picture

#: An effect whose edges are at least so many pixels wide is soft; the engine draws them sharp to the pixel elsewhere.
SOFT = 1.5
#: How sure that is.
SURE = 0.9


def without_effects(art: Artwork, placed: Collection[tuple[int, int]]) -> Artwork:
    """The art of a drawing without the bitmaps that its engine made, which have no resolution that anyone could mend.

    Args:
        art: as read from the engine's page.
        placed: width and height in pixels of each bitmap that the client placed.
    """
    effects = [
        picture for picture in art.pictures if not picture.stencil and picture.pixels not in set(placed)
    ]
    if not effects:
        return art
    fades = list(art.fades)
    for effect in effects:
        inside = [i for i, fade in enumerate(fades) if _meet(fade.box, effect.box)]
        if not inside and _is_soft(effect):
            fades.append(Fade("soft edge", effect.box, 1.0, SURE, None))
        if not placed:  # without a bitmap there is no photograph, nor dots
            for i in inside:
                if fades[i].kind in ("photograph", "halftone"):
                    fades[i] = replace(fades[i], kind="soft edge", lpi=None)
    kept = tuple(picture for picture in art.pictures if picture not in effects)
    kind = art.kind if kept else "vector"
    return replace(art, pictures=kept, fades=tuple(fades), kind=kind)


def _is_soft(effect: Picture) -> bool:
    return effect.tone is not None and effect.tone.enlargement >= SOFT


def _meet(one: Box, other: Box) -> bool:
    return min(one[2], other[2]) > max(one[0], other[0]) and min(one[3], other[3]) > max(one[1], other[1])
