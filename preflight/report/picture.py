"""Pictures of the art for the reports: on its ground, with the places of the findings marked, and close up.

Made in the child process that read the art; what leaves it is plain PNG bytes and numbers.
"""

import io
import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from PIL import Image, ImageDraw

from preflight.artwork import Artwork, Box
from preflight.findings import Finding, Severity
from preflight.report import marks
from preflight.report.data import Numbered, numbered, shade
from preflight.report.marks import Mark

LONG_SIDE = 1400  # px, of the marked picture
THUMBNAIL = 176  # px
CLOSE_UP = (640, 440)  # px, without its ruler
RULER = 44  # px
_PLAIN_EDGE, _MARKED_EDGE = 28, 92  # px of ground around the art, without and with labels
_STRIP = 54  # px, below: the scale bar
MOST_OUTLINES = 60  # more would hide the art; the worst places of every finding come first
MOST_CLOSE_UPS = 12
#: A close-up must enlarge at least so much more than the marked picture, or it shows nothing new.
_WORTH = 1.5


@dataclass(frozen=True)
class CloseUp:
    """The worst place of one finding, enlarged, over a ruler in mm.

    Attributes:
        number: of the finding.
        png: the picture.
        size: px, width and height.
        pixels_per_mm: of the picture.
        box_mm: the window it shows, mm from the top left of the art.
    """

    number: int
    png: bytes
    size: tuple[int, int]
    pixels_per_mm: float
    box_mm: Box


@dataclass(frozen=True)
class Pictures:
    """Everything the reports show of one job's art.

    Attributes:
        marked: PNG, the art on its ground with numbered marks and a scale bar.
        clean: PNG, the art on its ground and nothing else; it is exactly as wide and high as the art.
        thumbnail: PNG, small.
        width, height: px of the marked picture.
        clean_size: px of the clean picture.
        pixels_per_mm: of both.
        scale_bar_mm: the length of the scale bar.
        frame: where the art lies on the marked picture, px.
        marks: what was marked, px; empty when no finding has a place.
        close_ups: in the order of the findings; findings without a place have none.
        ground: the ground they are drawn on.
    """

    marked: bytes
    clean: bytes
    thumbnail: bytes
    width: int
    height: int
    clean_size: tuple[int, int]
    pixels_per_mm: float
    scale_bar_mm: float
    frame: Box
    marks: tuple[Mark, ...]
    close_ups: tuple[CloseUp, ...]
    ground: str

    def close_up(self, number: int) -> CloseUp | None:
        """That of one finding, if there is one."""
        return next((found for found in self.close_ups if found.number == number), None)

    @property
    def marked_numbers(self) -> frozenset[int]:
        """The findings that the picture shows a place of."""
        return frozenset(mark.number for mark in self.marks)


def make(art: Artwork, findings: tuple[Finding, ...], ground: str) -> Pictures:
    """All pictures of one job.

    Args:
        art: at the ordered size.
        findings: of the report; numbered here as in every document.
        ground: "#rrggbb", what the art goes on.
    """
    ground = shade(ground)
    counted = numbered(findings)
    shown = [(item, box) for item in counted for box in _boxes(item, art)]
    edge = _MARKED_EDGE if shown else _PLAIN_EDGE
    per_mm = (LONG_SIDE - 2 * edge) / max(art.width_mm, art.height_mm, 1e-6)
    clean = Image.fromarray(_render(art, art.box, per_mm, ground))
    bare = Image.new("RGB", (clean.width + 2 * edge, clean.height + 2 * edge), ground)
    bare.paste(clean, (edge, edge))
    frame = (float(edge), float(edge), float(edge + clean.width), float(edge + clean.height))
    placed = _marks(shown, bare, frame, per_mm, ground)
    marked = marks.draw(bare, placed) if placed else bare
    marked, bar_mm = _with_scale_bar(marked, per_mm)
    close_ups = [_close_up(art, item, box, per_mm, ground) for item, box in _first(shown)[:MOST_CLOSE_UPS]]
    return Pictures(
        marked=_png(marked),
        clean=_png(clean),
        thumbnail=_png(_thumbnail(clean, ground)),
        width=marked.width,
        height=marked.height,
        clean_size=clean.size,
        pixels_per_mm=per_mm,
        scale_bar_mm=bar_mm,
        frame=frame,
        marks=tuple(placed),
        close_ups=tuple(found for found in close_ups if found),
        ground=ground,
    )


def _boxes(item: Numbered, art: Artwork) -> list[Box]:
    """The places of a finding on the page shown, cut to the art; those wholly outside are left as they are given."""
    found = []
    for place in item.finding.where:
        x0, y0, x1, y1 = place.box_mm
        if place.page != art.page or not all(map(math.isfinite, place.box_mm)):
            continue
        x0, x1, y0, y1 = min(x0, x1), max(x0, x1), min(y0, y1), max(y0, y1)
        found.append((
            min(max(x0, 0.0), art.width_mm), min(max(y0, 0.0), art.height_mm),
            min(max(x1, 0.0), art.width_mm), min(max(y1, 0.0), art.height_mm),
        ))  # fmt: skip
    return found


def _first(shown: list[tuple[Numbered, Box]]) -> list[tuple[Numbered, Box]]:
    """The first, and so the worst, place of each finding."""
    worst: dict[int, tuple[Numbered, Box]] = {}
    for item, box in shown:
        worst.setdefault(item.number, (item, box))
    return list(worst.values())


def _worst(shown: list[tuple[Numbered, Box]]) -> list[tuple[Numbered, Box]]:
    """The first place of every finding, then the second of every one, until there are enough; in the order of the findings."""
    turn: dict[int, int] = {}
    turns = []
    for item, _ in shown:
        turn[item.number] = turn.get(item.number, 0) + 1
        turns.append(turn[item.number])
    kept = sorted(range(len(shown)), key=lambda index: turns[index])[:MOST_OUTLINES]
    return [shown[index] for index in sorted(kept)]


def _render(art: Artwork, box: Box, per_mm: float, ground: str) -> np.ndarray:
    return np.ascontiguousarray(art.picture(box, per_mm, ground)[..., :3].astype(np.uint8))


def _marks(
    shown: list[tuple[Numbered, Box]], bare: Image.Image, frame: Box, per_mm: float, ground: str
) -> list[Mark]:
    places = [
        (item.number, item.finding.severity,
         (box[0] * per_mm + frame[0], box[1] * per_mm + frame[1], box[2] * per_mm + frame[0], box[3] * per_mm + frame[1]))
        for item, box in _worst(shown)
    ]  # fmt: skip
    pixels = np.asarray(bare).astype(np.int16)
    is_art = np.asarray((np.abs(pixels - np.array(_rgb(ground), np.int16)) > 20).any(2))
    return marks.labelled(marks.outlines(places, bare.size), is_art, frame)


def _rgb(ground: str) -> tuple[int, int, int]:
    return (int(ground[1:3], 16), int(ground[3:5], 16), int(ground[5:7], 16))


def nice_length(most: float) -> float:
    """The longest of 1, 2, 5, 10, 20 ... (and 0.5, 0.2 ...) that is not over `most`."""
    power = 10.0 ** math.floor(math.log10(max(most, 1e-6)))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= most * (1 + 1e-9) or step == 1.0)


def _with_scale_bar(picture: Image.Image, per_mm: float) -> tuple[Image.Image, float]:
    """The picture over a white strip with a bar of a round number of mm."""
    done = Image.new("RGB", (picture.width, picture.height + _STRIP), "white")
    done.paste(picture, (0, 0))
    length = nice_length(picture.width * 0.3 / per_mm)
    pen, y, x1 = ImageDraw.Draw(done), picture.height + _STRIP / 2, 20 + length * per_mm
    pen.rectangle((20, y - 2, x1, y + 2), fill="#1f2a2e")
    for x in (20.0, x1):
        pen.rectangle((x - 1.5, y - 11, x + 1.5, y + 11), fill="#1f2a2e")
    pen.text((x1 + 18, y), f"{length:g} mm", font=marks.font(30), fill="#1f2a2e", anchor="lm")
    return done, length


def _close_up(art: Artwork, item: Numbered, box: Box, per_mm: float, ground: str) -> CloseUp | None:
    """The window around a place, or None when the marked picture shows it as well."""
    width_px, height_px = CLOSE_UP
    aspect = width_px / height_px
    finding = item.finding
    measured = finding.measured if finding.unit == "mm" and finding.measured else 0.0
    wide = max((box[2] - box[0]) * 1.5, (box[3] - box[1]) * 1.5 * aspect, 12 * measured, 2.0)
    scale = width_px / wide
    if scale < _WORTH * per_mm:
        return None
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    window = (x - wide / 2, y - wide / aspect / 2, x + wide / 2, y + wide / aspect / 2)
    canvas = Image.new("RGB", (width_px, height_px), ground)
    inside = (
        max(0.0, window[0]),
        max(0.0, window[1]),
        min(art.width_mm, window[2]),
        min(art.height_mm, window[3]),
    )
    if inside[2] - inside[0] > 0.5 / scale and inside[3] - inside[1] > 0.5 / scale:
        pixels = Image.fromarray(_render(art, inside, scale, ground))
        canvas.paste(pixels, (round((inside[0] - window[0]) * scale), round((inside[1] - window[1]) * scale)))
    place = [((value - window[side % 2]) * scale) for side, value in enumerate(box)]
    around = marks.outlines(
        [(item.number, finding.severity, (place[0], place[1], place[2], place[3]))], canvas.size
    )
    canvas = marks.draw(canvas, around)
    return CloseUp(
        item.number, _png(_with_ruler(canvas, scale)), (width_px, height_px + RULER), scale, window
    )


def _with_ruler(picture: Image.Image, scale: float) -> Image.Image:
    """The picture over a ruler in mm."""
    done = Image.new("RGB", (picture.width, picture.height + RULER), "white")
    done.paste(picture, (0, 0))
    pen, top = ImageDraw.Draw(done), picture.height
    tick = nice_length(picture.width / scale / 40)
    every = 4 if f"{tick:e}"[0] == "5" else 5  # a label at each 1, 2 or 5
    clear = 0.0
    for index in range(int(picture.width / scale / tick) + 1):
        x, long = index * tick * scale, index % every == 0
        pen.rectangle((x - 0.5, top, x + 0.5, top + (16 if long else 9)), fill="#1f2a2e")
        words = f"{index * tick:g}" + (" mm" if index == every else "")
        width = pen.textlength(words, font=marks.font(20))
        if long and index and clear < x - width / 2 and x + width / 2 < picture.width - 2:
            clear = x + width / 2 + 8
            pen.text((x, top + 30), words, font=marks.font(20), fill="#1f2a2e", anchor="mm")
    return done


def _thumbnail(clean: Image.Image, ground: str) -> Image.Image:
    small = Image.new("RGB", (THUMBNAIL, THUMBNAIL), ground)
    art = clean.copy()
    art.thumbnail((THUMBNAIL - 12, THUMBNAIL - 12), Image.Resampling.LANCZOS)
    small.paste(art, ((THUMBNAIL - art.width) // 2, (THUMBNAIL - art.height) // 2))
    return small


def _png(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def severities(pictures: Pictures) -> list[Severity]:
    """Those that the picture marks, worst first."""
    found = {mark.severity for mark in pictures.marks}
    return [severity for severity in Severity if severity in found]


def page_alone(pdf: bytes, art: Artwork) -> bytes:
    """The art of a client's PDF cut to its bounds, to be placed in a report as outlines: a PDF of one page, or an SVG.

    It is drawn anew by MuPDF's own writers: hidden layers, links, scripts and attachments stay behind, and a damaged
    file ends here and not in the report.  Where a font is missing it becomes an SVG whose letters are shapes, those that
    were measured: a PDF would look otherwise on every computer, and some stand-ins cannot be written at all.

    Args:
        pdf: the client's file (any format MuPDF draws).
        art: what was read from it: its page, offset and scale say which window to take.

    Raises:
        ValueError: when the page can't be drawn.
    """
    import pymupdf

    point = 72 / 25.4
    width, height = art.width_mm / art.scale * point, art.height_mm / art.scale * point
    x, y = art.offset[0] * point, art.offset[1] * point
    out = io.BytesIO()
    try:
        with pymupdf.open(stream=pdf) as document:
            page = document[art.page - 1]
            if any(not font.embedded for font in art.fonts):
                return _as_shapes(page, width, height, (x, y))
            writer = pymupdf.DocumentWriter(out)
            device = writer.begin_page(pymupdf.Rect(0, 0, width, height))
            shift = pymupdf.mupdf.FzMatrix(1, 0, 0, 1, -x, -y)
            pymupdf.mupdf.fz_run_page_contents(page.this, device.this, shift, pymupdf.mupdf.FzCookie())
            writer.end_page()
            writer.close()
    except (RuntimeError, IndexError, pymupdf.mupdf.FzErrorBase) as error:
        raise ValueError(f"the page can't be drawn: {error}") from None
    return out.getvalue()


def _as_shapes(page: Any, width: float, height: float, corner: tuple[float, float]) -> bytes:
    """A window of a page (points) as an SVG without any text in it."""
    from pymupdf import mupdf

    buffer = mupdf.fz_new_buffer(65536)
    output = mupdf.FzOutput(buffer)
    device = mupdf.fz_new_svg_device(output, width, height, mupdf.FZ_SVG_TEXT_AS_PATH, 1)
    shift = mupdf.FzMatrix(1, 0, 0, 1, -corner[0], -corner[1])
    mupdf.fz_run_page_contents(page.this, device, shift, mupdf.FzCookie())
    mupdf.fz_close_device(device)
    output.fz_close_output()
    return bytes(mupdf.fz_buffer_extract(buffer))
