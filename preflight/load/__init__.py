"""A file becomes Artwork: looks at the bytes, picks a loader, finds the art's bounds, scales to the ordered size."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from preflight.artwork import Artwork, Box, Fact
from preflight.errors import Unreadable
from preflight.load.sniff import identify
from preflight.order import Order

#: Stated width and height may leave the art's proportions by this much before anyone is asked.
PROPORTION = 0.01
#: Two drawing engines are compared at so many pixels across, and differ when this share of the art does.
COMPARED_PIXELS, DIFFERING_SHARE = 600, 0.01
#: ... and a component differs when it is this far off, 0 to 255.
DIFFERENT = 40


def load(data: bytes, order: Order, cut_words: Sequence[str] = ()) -> Artwork:
    """The artwork in a file at the ordered size.

    Args:
        data: the file's bytes; what it is is read from them, never from a name.
        order: its page, ground and size.
        cut_words: further words in a layer's or spot's name that mean a cut outline.

    Raises:
        Unreadable: with a sentence that says what the file is, and what to send instead.
    """
    return sized(read(data, order, cut_words), order)


def read(data: bytes, order: Order, cut_words: Sequence[str] = ()) -> Artwork:
    """The artwork at the file's own size.  Raises Unreadable."""
    form = identify(data)
    if form == "bitmap":
        from preflight.load import bitmap, press_profile, raster

        return raster.artwork_of(
            bitmap.decode(data, order.page, press_profile.default_cmyk()), order.ground, order.page
        )
    from preflight.load import inking, pdf

    words = (*inking.CUT_WORDS, *(word.lower() for word in cut_words))
    if form == "svg":
        from preflight.load import svg
        from preflight.load.effects import without_effects

        drawing = svg.to_pdf(data, words)
        if order.page != 1:
            raise Unreadable(
                f"Page {order.page} was ordered, but an SVG has one page.",
                "Please tell us which file to use.",
            )
        art = pdf.read(
            drawing.pdf, ground=order.ground, form="svg", facts=drawing.facts, fonts=drawing.fonts,
            spot_names=dict(drawing.spot_names), cut_words=words,
        )  # fmt: skip
        return _compared(without_effects(art, drawing.pixel_sizes), drawing)
    if form == "postscript":
        from preflight.load import postscript

        page = postscript.to_pdf(data)
        return pdf.read(
            page.pdf,
            page=order.page,
            ground=order.ground,
            form="eps",
            facts=page.facts,
            fonts=page.fonts,
            cut_words=words,
        )
    return pdf.read(data, page=order.page, ground=order.ground, form="pdf", cut_words=words)


def sized(art: Artwork, order: Order, reference: Box | None = None) -> Artwork:
    """The art scaled to the ordered width or height.

    Args:
        art: at any size.
        order: states width, height, both or neither (then the file's own size stays).
        reference: whose width and height are ordered, mm of `art`; the art itself when None.  Stickers and domes are
            ordered by their cut outline.
    """
    box = reference or art.box
    width, height = box[2] - box[0], box[3] - box[1]
    if width <= 0 or height <= 0:
        return art
    scales = [wanted / own for wanted, own in ((order.width_mm, width), (order.height_mm, height)) if wanted]
    if not scales:
        return art
    scale = min(scales)
    scaled = art.resized(scale)
    if len(scales) == 2 and max(scales) / scale > 1 + PROPORTION:
        text = (
            f"The order says {order.width_mm:g} x {order.height_mm:g} mm, but the art has other proportions: it was fitted "
            f"inside, {width * scale:.1f} x {height * scale:.1f} mm."
        )
        scaled = replace(scaled, facts=(*scaled.facts, Fact("proportions", text)))
    return scaled


def _compared(art: Artwork, drawing: object) -> Artwork:
    """The art, with a fact where a second drawing engine sees something else."""
    import cv2

    second = drawing.second  # type: ignore[attr-defined]
    sheet = art.page_box
    width = sheet[2] - sheet[0]
    try:
        other = second(COMPARED_PIXELS)
    except (Unreadable, ValueError, RuntimeError) as error:
        text = f"A second drawing engine could not draw the file ({type(error).__name__})."
        return replace(art, facts=(*art.facts, Fact("rendering", text)))
    density = other.shape[1] / width
    mine = art.picture(sheet, density, "#ffffff")
    alpha = other[:, :, 3:4].astype(np.float32) / 255
    theirs = (other[:, :, :3] * alpha + 255 * (1 - alpha)).astype(np.uint8)
    if theirs.shape != mine.shape:
        theirs = cv2.resize(theirs, (mine.shape[1], mine.shape[0]), interpolation=cv2.INTER_AREA)
    far = _unlike(mine, theirs) | _unlike(theirs, mine)
    marked = (mine.min(2) < 247) | (theirs.min(2) < 247)
    share = float(far.sum()) / max(1, int(marked.sum()))
    if share < DIFFERING_SHARE:
        return art
    rows, columns = np.nonzero(far)
    box: Box = (
        columns.min() / density + sheet[0],
        rows.min() / density + sheet[1],
        (columns.max() + 1) / density + sheet[0],
        (rows.max() + 1) / density + sheet[1],
    )
    text = "Two drawing engines draw this file differently, so it may look different on other machines."
    return replace(art, facts=(*art.facts, Fact("rendering", text, box)))


def _unlike(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Where one picture shows what the other does not show within two pixels: edges shift and blur, shapes do not vanish."""
    import cv2

    around = np.ones((5, 5), np.uint8)
    darker = cv2.subtract(cv2.erode(other, around), one)
    lighter = cv2.subtract(one, cv2.dilate(other, around))
    return cv2.max(darker, lighter).max(2) > DIFFERENT
