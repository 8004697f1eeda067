"""One bitmap looked at: its detail, screen, colours, fades and ground, in that order."""

import cv2
import numpy as np

from preflight.pixels import detail as details
from preflight.pixels import ground, halftone, inks, photograph, reduction, slopes
from preflight.pixels.lab import lab_of_colours
from preflight.pixels.tone import FadeKind, PixelFade, PixelInk, Tone

#: Least travel of a slope to be believed: without loss, with loss, and at poor quality (Delta E).
TRAVEL, TRAVEL_LOSSY, TRAVEL_POOR, TRAVEL_COARSE = 3.5, 10.5, 15.0, 4.5
POOR_QUALITY = 45
FIT_LOSSY = 2.6
#: Share of the picture that slopes cover at least.
SLOPE_AREA, SLOPE_AREA_LOSSY = 0.0012, 0.0015
#: A picture is continuous when its fades cover this part of it.
CONTINUOUS_SHARE = 0.5


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
    laid = rgb if alpha is None else reduction.laid_on(rgb, alpha, reduction.stand_in(rgb, alpha))
    luma = cv2.cvtColor(np.ascontiguousarray(laid), cv2.COLOR_RGB2GRAY)
    detail = details.detail(luma)
    screen = halftone.screen(luma)
    del luma
    work = reduction.reduced(laid, alpha, detail, lossy)
    lossy = lossy or work.noise > 1.5
    thickness = 3 if work.rise < 1.55 else 4 if work.rise < 1.8 else 6
    fading, faded = slopes.slopes(work.lab, work.steps, thickness)
    flat = work.steps < inks.FLAT_STEP
    gentle, gently = slopes.surfaces(work.lab, *inks.flat_parts(flat))
    fading, faded = _believed(fading + gentle, lossy, quality, faded | gently)
    busy, is_picture = photograph.busy_blocks(work.rgb, faded, lossy)
    shown = None if work.clear is None else ~work.clear
    usable = flat if not faded.any() or faded.mean() < 0.01 else flat & ~faded
    colours = inks.colours(work.lab, usable if shown is None else usable & shown, lossy, shown)
    standing = ground.standing(rgb, alpha)
    height, width = rgb.shape[:2]
    fades: list[PixelFade] = []
    if screen:
        fades.append(
            PixelFade("halftone", _around(screen.tiles), 1.0, min(1.0, 0.6 + screen.share / 2), screen.period)
        )
    elif not bilevel:
        if is_picture:
            fades += _fades(
                _enlarged(busy, 2 * photograph.BLOCK, work.lab.shape[:2]),
                work.scale,
                "photograph",
                (width, height),
            )
        elif fading:
            fades += _fades(faded, work.scale, "gradient", (width, height))
    covered = sum(f.share * (f.box[2] - f.box[0]) * (f.box[3] - f.box[1]) for f in fades) / (height * width)
    return Tone(
        inks=_inks(colours, work, standing, detail),
        fades=tuple(fades),
        enlargement=detail.scale,
        pixel_doubled=detail.repeated,
        ground=standing.kind,
        ground_hex="" if standing.rgb is None else PixelInk.of(standing.rgb, 0).hex,
        halo=standing.halo,
        ragged=standing.ragged,
        continuous=bool((is_picture and not screen and not bilevel) or covered > CONTINUOUS_SHARE),
        noise=work.noise,
    )


def _believed(
    found: list[slopes.Slope], lossy: bool, quality: float | None, mask: np.ndarray
) -> tuple[list[slopes.Slope], np.ndarray]:
    """The slopes that travel far enough for the compression, and where they are; none when they cover too little."""
    fine = (TRAVEL_POOR if quality and quality < POOR_QUALITY else TRAVEL_LOSSY) if lossy else TRAVEL
    coarse = TRAVEL_COARSE if lossy else TRAVEL

    def believed(slope: slopes.Slope) -> bool:
        if slope.level < 0:
            return slope.travel >= (FIT_LOSSY if lossy else slopes.FIT_TRAVEL)
        return slope.travel >= (fine if slope.level <= 2 else coarse)

    kept = [slope for slope in found if believed(slope)]
    area = sum(slope.area for slope in kept if slope.level >= 0) / mask.size
    if area <= (SLOPE_AREA_LOSSY if lossy else SLOPE_AREA) and not any(slope.level < 0 for slope in kept):
        return [], np.zeros_like(mask)
    allowed = np.zeros_like(mask)
    for slope in kept:
        x0, y0, x1, y1 = slope.box
        allowed[y0:y1, x0:x1] = True
    return kept, mask & allowed


def _inks(
    colours: list[inks.Colour], work: reduction.Work, standing: ground.Standing, detail: details.Detail
) -> tuple[PixelInk, ...]:
    """The colours as inks, with their shares of the opaque pixels, largest first."""
    if not colours:
        return ()
    centres = np.array([c.lab for c in colours], np.float32)
    lab = work.lab[::2, ::2]
    shown = np.ones(lab.shape[:2], bool) if work.clear is None else ~work.clear[::2, ::2]
    best = np.full(lab.shape[:2], np.inf, np.float32)
    nearest = np.zeros(lab.shape[:2], np.int32)
    for number, centre in enumerate(centres):
        apart = lab - centre
        square = np.einsum("ijk,ijk->ij", apart, apart)
        closer = square < best
        best[closer] = square[closer]
        nearest[closer] = number
    counts = np.bincount(nearest[shown], minlength=len(colours)) / max(int(shown.sum()), 1)
    flat = (work.steps[::2, ::2] < inks.FLAT_STEP) & shown
    ground_lab = None if standing.rgb is None else lab_of_colours(np.array([standing.rgb]))[0]
    sheet = -1
    if ground_lab is not None:
        sheet = int(np.linalg.norm(centres - ground_lab, axis=1).argmin())
    rgb = work.rgb[::2, ::2]
    made = []
    for number in range(len(colours)):
        mine = flat & (nearest == number) & (best < 64)
        pixels = rgb[mine] if mine.any() else rgb[nearest == number]
        if not len(pixels):
            continue
        red, green, blue = (float(v) for v in np.median(pixels, 0))
        made.append(PixelInk.of((red, green, blue), float(counts[number]), number == sheet))
    return tuple(sorted(made, key=lambda ink: -ink.share))


def _around(boxes: tuple[tuple[int, int, int, int], ...]) -> tuple[int, int, int, int]:
    corners = np.array(boxes)
    return (
        int(corners[:, 0].min()),
        int(corners[:, 1].min()),
        int(corners[:, 2].max()),
        int(corners[:, 3].max()),
    )


def _enlarged(blocks: np.ndarray, size: int, shape: tuple[int, ...]) -> np.ndarray:
    """Blocks as a mask of a picture's shape."""
    mask = np.zeros(shape, bool)
    large = np.kron(blocks, np.ones((size, size), bool))
    mask[: large.shape[0], : large.shape[1]] = large[: shape[0], : shape[1]]
    return mask


def _fades(mask: np.ndarray, scale: float, kind: FadeKind, size: tuple[int, int]) -> list[PixelFade]:
    """The connected places of a mask of the reduced picture, close ones joined, in pixels of the picture."""
    reach = max(3, round(0.02 * min(mask.shape))) | 1
    joined = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((reach, reach), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(joined, connectivity=8)
    inside = np.bincount(labels[mask], minlength=count)
    found = []
    for number in range(1, count):
        x, y, w, h, _ = (int(v) for v in stats[number])
        if inside[number] < 24:
            continue
        box = (
            int(x * scale), int(y * scale), min(size[0], round((x + w) * scale)), min(size[1], round((y + h) * scale)),
        )  # fmt: skip
        found.append(PixelFade(kind, box, float(inside[number]) / (w * h), 0.9))
    return sorted(found, key=lambda f: -f.share * (f.box[2] - f.box[0]) * (f.box[3] - f.box[1]))
