"""Live text and its fonts."""

from collections.abc import Iterator

from preflight.artwork import Artwork, Font
from preflight.measure import measures
from preflight.order import Order
from preflight.quantity import plain
from preflight.reading import Reading


def _of(art: Artwork, missing: bool) -> Iterator[Reading]:
    """One Reading over the fonts of visible live text: all of them, or those the file does not carry."""
    runs = [run for run in art.text if run.visible and run.glyphs]
    # Fonts that no visible run uses (search layers of scans, empty resources) cannot spoil anything.
    fonts: dict[Font, None] = dict.fromkeys(run.font for run in runs)
    if not art.text:
        fonts = dict.fromkeys(art.fonts)
    found = [font for font in fonts if not missing or not font.embedded or font.substituted]
    names = tuple(plain(font.name, 60) or "a font without a name" for font in found)
    what = (
        f"the font “{names[0]}”" if len(names) == 1 else "the fonts " + ", ".join(f"“{n}”" for n in names[:6])
    )
    if len(names) > 6:
        what += " and others"
    yield Reading(
        value=float(len(found)),
        what=what if names else "the fonts",
        where=tuple(run.box for run in runs if run.font in found),
        facts={"fonts": names},
    )


@measures("")
def not_embedded(art: Artwork, order: Order) -> Iterator[Reading]:
    """Fonts of live text that the file does not carry, a count; nothing when there is no live text."""
    if art.fonts or art.text:
        yield from _of(art, missing=True)


@measures("")
def live(art: Artwork, order: Order) -> Iterator[Reading]:
    """Fonts of visible live text, a count; 0 when all lettering is drawn as outlines."""
    yield from _of(art, missing=False)
