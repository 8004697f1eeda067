"""One bitmap looked at: its detail, screen, colours, fades and ground, in that order."""

from dataclasses import replace

import cv2
import numpy as np

from preflight.pixels import detail as details
from preflight.pixels import dither, fades, ground, halftone, inks, outlines, reduction, shadows, slopes
from preflight.pixels.blends import without_blends
from preflight.pixels.hatching import with_hatching
from preflight.pixels.inks import Colour
from preflight.pixels.lab import lab_of_colours
from preflight.pixels.resampling import is_resampled
from preflight.pixels.thin import thin_inks, without_edges
from preflight.pixels.tone import PixelFade, PixelInk, Tone

#: A picture is continuous when its fades cover this part of it.
CONTINUOUS_SHARE = 0.5
#: Lenses soften photographs as much as a smaller enlargement than this; drawn edges are sharp, so line art has no such floor.
LEAST_PICTURE_ENLARGEMENT = 2.7
#: A photograph with fewer edges than this along a row or a column is of something smooth, whose edges say nothing of its pixels.
LEAST_PICTURE_EDGES = 3.0
#: Of drawn art, enlarged too, this part at least is level: luma within LEVEL_RANGE around a pixel.  A picture has less.
#: Where no fade was found, and no screen, so little is level in nothing but a picture.
LEVEL_PART, LEVEL_RANGE, HARDLY_LEVEL = 0.78, 2, 0.5
#: A soft picture with less, and with fewer edges along a row or a column (a scan of a drawing has more), is looked at as it is:
#: reduced by the width of its edges, its grain would be gone.
MOSTLY_LEVEL, FEW_EDGES = 0.65, 1.0
#: Flat pixels this near to a fade may be part of it, pixels of the reduced picture.
NEAR_FADE = 7
#: Fades over less than this part of the picture do not keep colours from being counted.
LEAST_FADED = 0.002
#: Thin marks are looked for beside other colours where this part of the picture is flat: elsewhere they are a picture's grain;
#: and where no more than this part of it fades.
LEAST_FLAT, MOST_FADED = 0.5, 0.15
#: Dithered art of which more than this part is flat to the eye is a drawing, however much of it is dithered.
FLAT_DRAWING = 0.6
#: Dots that follow a pattern are a screen, not a dither, where those of a dither cover less than this part of them.
MOSTLY_DITHER = 0.5
#: No picture has more flat colours than this to anybody's eye; a photograph may seem to.
MOST_INKS = 48


def analyse(
    rgb: np.ndarray,
    alpha: np.ndarray | None = None,
    *,
    lossy: bool = False,
    quality: float | None = None,
    bilevel: bool = False,
) -> Tone:
    """What the pixels of a bitmap say.

    Args:
        rgb: uint8 (h, w, 3), sRGB.
        alpha: uint8 (h, w), or None for an opaque picture.
        lossy: it was compressed with loss (JPEG, lossy WebP).
        quality: of that compression, 1 to 100, where known.
        bilevel: it has one bit a pixel, so nothing in it can fade except by a screen.

    Raises:
        ValueError: when the arrays do not have these shapes.
    """
    if rgb.ndim != 3 or rgb.shape[2] != 3 or (alpha is not None and alpha.shape != rgb.shape[:2]):
        raise ValueError("rgb must be (height, width, 3) and alpha (height, width)")
    if not rgb.size:
        return Tone()
    if alpha is not None and alpha.min() >= reduction.SOLID_ALPHA:
        alpha = None
    if alpha is not None and alpha.max() < reduction.CLEAR_ALPHA:
        return Tone(ground="transparent")
    under = None if alpha is None else reduction.stand_in(rgb, alpha)
    laid = rgb if alpha is None or under is None else reduction.laid_on(rgb, alpha, under)
    luma = cv2.cvtColor(np.ascontiguousarray(laid), cv2.COLOR_RGB2GRAY)
    detail = details.detail(luma, laid, lossy=lossy, quality=quality)
    screen = halftone.screen(luma) if bilevel else halftone.any_screen(laid, luma)
    dots = None if lossy else _dither(laid, screen)
    if dots:
        screen = halftone.Screen(screen.period if screen else None, dots.box, dots.part, 1.0)
    seen = dither.blurred(laid, dots) if dots and dots.colours > dither.ONE_INK else None
    level = _level_part(luma) if detail.scale > 1 and not detail.repeated else 1.0
    soft = level < MOSTLY_LEVEL and detail.edges < FEW_EDGES and _is_out_of_focus(luma, detail, lossy)
    if seen is None:
        work = reduction.reduced(
            laid, alpha, replace(detail, blur=min(detail.blur, reduction.SOFT)) if soft else detail, lossy
        )
    else:
        detail = details.Detail(edges=detail.edges)
        work = reduction.reduced(seen, alpha, replace(detail, blur=dither.CELL), True)
    standing = ground.standing(rgb if seen is None or alpha is not None else seen, alpha)
    sheet = None if standing.rgb is None else np.array(standing.rgb, np.float32)
    fading: list[slopes.Slope] = []
    if not bilevel:
        fading = fades.believed(work, quality) + outlines.outlines(work, sheet, quality) + shadows.veils(work)
    colours = _colours(work, fading)
    lines: list[Colour] = []
    rimmed = standing.halo and colours  # the rim is a fault, no ink
    if not screen and not rimmed and np.mean(work.steps < inks.FLAT_STEP) > LEAST_FLAT:
        lines = _thin(work, colours, fading, under, alone=False)
        if lines and work.lossy:
            colours = without_edges(colours, lines, work.steps.size)
        colours += lines
    found: list[PixelFade] = []
    if screen:
        sure = min(1.0, 0.6 + screen.share / 2)
        found.append(PixelFade("halftone", screen.box, screen.part, sure, screen.period))
        if dots and seen is None:  # one ink in dots, be no pixel of it flat
            colours += inks.new_colours(
                list(np.unique(laid.reshape(-1, 3), axis=0).astype(np.float32)), colours
            )
    elif not bilevel:
        flat_rgb = np.array([colour.rgb for colour in colours], np.float32).reshape(-1, 3)
        places, plain = fades.places(work, fading, flat_rgb, sheet, work.alpha, bool(lines), quality)
        found += [_in_full(place, work.scale, rgb.shape[:2]) for place in places]
        colours += inks.new_colours(plain, colours)
    if not found and len(colours) <= (
        1 if alpha is None else 0
    ):  # a blank sheet: nothing on it may be overlooked
        colours += _thin(work, colours, fading, under, alone=True)
    if not screen:
        colours = without_blends(colours, work, faint=not detail.edges)
        if not found:
            colours = with_hatching(colours, work, quality)
    covered = sum(_part(fade) * (fade.box[2] - fade.box[0]) * (fade.box[3] - fade.box[1]) for fade in found)
    continuous = covered > CONTINUOUS_SHARE * luma.size
    if seen is not None and np.mean(work.steps < inks.FLAT_STEP) > FLAT_DRAWING:
        continuous = False
    most_level = 0.0 if screen else LEVEL_PART if found else HARDLY_LEVEL
    out_of_focus = (
        detail.scale > 1
        and not detail.repeated
        and (continuous or level < most_level)
        and (soft or _is_out_of_focus(luma, detail, lossy))
    )
    return Tone(
        inks=_inks(colours, work, standing),
        fades=tuple(found),
        enlargement=1.0 if out_of_focus else detail.scale,
        pixel_doubled=detail.repeated,
        ground=standing.kind,
        ground_hex="" if standing.rgb is None else PixelInk.of(standing.rgb, 0).hex,
        halo=standing.halo,
        ragged=standing.ragged,
        continuous=bool(continuous),
        noise=work.noise,
        dithered=dots is not None,
    )


def _dither(laid: np.ndarray, screen: halftone.Screen | None) -> dither.Dither | None:
    """Where a picture is dithered, unless that is but the finest dots of a screen."""
    found = dither.dither(laid)
    if found is None or screen is None:
        return found
    x0, y0, x1, y1 = screen.box
    dots = screen.part * (x1 - x0) * (y1 - y0)
    return found if np.count_nonzero(found.mask) > MOSTLY_DITHER * dots else None


def _level_part(luma: np.ndarray) -> float:
    """The part of a picture that is level, 0 to 1."""
    around = cv2.morphologyEx(luma, cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8))
    return float(np.mean(around <= LEVEL_RANGE))


def _is_out_of_focus(luma: np.ndarray, detail: details.Detail, lossy: bool) -> bool:
    """Whether a lens or the subject may have made the edges of a photograph so wide, rather than an enlargement."""
    soft = detail.scale < LEAST_PICTURE_ENLARGEMENT or detail.edges < LEAST_PICTURE_EDGES
    return soft and not is_resampled(luma, lossy)


def _colours(work: reduction.Work, fading: list[slopes.Slope]) -> list[inks.Colour]:
    """The flat colours outside fades, largest first, each with its sRGB look."""
    flat = work.steps < inks.FLAT_STEP
    shown = None if work.clear is None else ~work.clear
    usable = flat if shown is None else flat & shown
    faded = slopes.painted(fading, flat.shape)
    if faded.mean() > LEAST_FADED:
        usable &= cv2.dilate(faded.astype(np.uint8), np.ones((NEAR_FADE, NEAR_FADE), np.uint8)) == 0
    colours = inks.colours(work.lab, usable, work.lossy, shown)[:MOST_INKS]
    if work.level is not None:
        level = work.level & ~flat & ~faded if shown is None else work.level & ~flat & ~faded & shown
        colours += inks.thin_colours(
            work.lab, level, colours, flat.size if shown is None else int(shown.sum())
        )
        colours, usable = colours[:MOST_INKS], usable | level
    inks.look_up(colours, work.lab, work.rgb, usable)
    return colours


def _thin(
    work: reduction.Work, colours: list[Colour], fading: list[slopes.Slope], under: tuple[int, int, int] | None, alone: bool
) -> list[Colour]:  # fmt: skip
    """The colours that only thin marks have, beside those found; `under` is what transparent art was laid on."""
    known = list(colours)
    if under is not None:
        known.append(Colour(lab_of_colours(np.array([under]))[0], 0, 0, 0, 9, under))
    if not known:
        middle = np.median(work.raw.reshape(-1, 3), 0)
        red, green, blue = (float(v) for v in middle)
        known.append(Colour(lab_of_colours(middle[None])[0], 0, 0, 0, 9, (red, green, blue)))
    usable = None if work.clear is None else ~work.clear
    faded = slopes.painted(fading, work.steps.shape)
    if faded.mean() > MOST_FADED:
        return []
    if faded.any():
        apart = cv2.dilate(faded.astype(np.uint8), np.ones((NEAR_FADE, NEAR_FADE), np.uint8)) == 0
        usable = apart if usable is None else usable & apart
    return thin_inks(work.marks, known, usable, work.lossy, alone, thick=not fading)


def _inks(
    colours: list[inks.Colour], work: reduction.Work, standing: ground.Standing
) -> tuple[PixelInk, ...]:
    """The colours as inks, with their shares of the opaque pixels, largest first."""
    if not colours:
        return ()
    shares = inks.shares(colours, work.lab, None if work.clear is None else ~work.clear)
    sheet = -1
    if standing.rgb is not None:
        centres = np.array([colour.lab for colour in colours])
        sheet = int(np.linalg.norm(centres - lab_of_colours(np.array([standing.rgb]))[0], axis=1).argmin())
    made = [
        PixelInk.of(colour.rgb, float(share), number == sheet)
        for number, (colour, share) in enumerate(zip(colours, shares, strict=True))
    ]
    return tuple(sorted(made, key=lambda ink: -ink.share))


def _part(fade: PixelFade) -> float:
    """Part of a fade's box that counts as faded: a photograph fills its box, flat places in it too."""
    return 1.0 if fade.kind == "photograph" else fade.share


def _in_full(place: fades.Place, scale: float, shape: tuple[int, ...]) -> PixelFade:
    """A place of the reduced picture in pixels of the picture."""
    x0, y0, x1, y1 = place.box
    box = (
        int(x0 * scale),
        int(y0 * scale),
        min(shape[1], round(x1 * scale)),
        min(shape[0], round(y1 * scale)),
    )
    return PixelFade(place.kind, box, place.area / max((x1 - x0) * (y1 - y0), 1), place.sure)
