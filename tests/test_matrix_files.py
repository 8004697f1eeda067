"""Every subject in every way through every file format and the real loaders, held against the width it was drawn with.

Vector files: to 0.005 mm or 1 %.  Bitmaps: to half a pixel.
"""

import io

import pytest
from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from boards import files
from preflight.load import load
from preflight.measure import gaps, strokes
from preflight.order import Order

ORDER = Order()
VECTOR = {"PDF": files.pdf, "SVG": files.svg, "EPS": files.eps}
BITMAPS = ("grey PNG", "1-bit PNG", "1-bit TIFF")
WAYS = {way: number for number, way in enumerate(files.WAYS)}
SUBJECTS = {name: number for number, name in enumerate(files.SUBJECTS)}


def narrowest(data: bytes, kind: str, up_to: float) -> list[float]:
    art = load(data, ORDER)
    measure = strokes.lines if kind == "line" else gaps.gaps
    return sorted(
        r.value for r in measure(art, ORDER, up_to=up_to) if r.value is not None and r.value < up_to
    )


def other(kind: str) -> str:
    return "gap" if kind == "line" else "line"


#: The walls beside the subjects are wider than this, mm.
WALL = 1.2


def held(data: bytes, subject: files.Subject, tolerance: float) -> None:
    up_to = 1.5 * subject.width + tolerance
    found = narrowest(data, subject.kind, up_to)
    assert found, f"a {subject.kind} of {subject.width} mm is missed"
    wrong = [width for width in found if abs(width - subject.width) > tolerance]
    assert not wrong, f"a {subject.kind} of {subject.width} mm is measured as {found}"
    false = narrowest(data, other(subject.kind), min(subject.width, WALL))
    assert not false, f"beside a {subject.kind} of {subject.width} mm, a {other(subject.kind)} of {false}"


def vector(form: str, name: str, way: str, width: float, angle: float) -> None:
    subject = files.SUBJECTS[name](width, angle)
    held(VECTOR[form](subject, way), subject, max(0.005, 0.01 * subject.width))


def bitmap(form: str, name: str, ppi: float, width: float, angle: float) -> None:
    subject = files.SUBJECTS[name](width, angle)
    pixel = 25.4 / ppi
    if subject.width < 2 * pixel:  # not to be seen in such pixels
        return
    # without greys an edge moves by up to half a pixel when the subject is drawn, which no measurement can undo
    held(files.pixels(subject, form, ppi), subject, pixel / 2 if form == "grey PNG" else pixel)


def some(form: str) -> list[tuple[str, str]]:
    """(subject, way): a choice that has every subject and every way, sparser where a file takes longer to read."""
    every, first = {"PDF": (3, 0), "SVG": (3, 1), "EPS": (7, 2)}[form]
    return [(n, w) for n in SUBJECTS for w in WAYS if (SUBJECTS[n] + WAYS[w]) % every == first]


@pytest.mark.parametrize(("form", "name", "way"), [(form, *cell) for form in VECTOR for cell in some(form)])
def test_one_width_in_vector_files(form, name, way):
    vector(form, name, way, 0.31, 27.0 + 11 * WAYS[way])


@pytest.mark.parametrize("angle", [0.0, 90.0])
@pytest.mark.parametrize("width", [0.22, 0.55])
def test_an_upright_clip_has_exact_edges(width, angle):
    """MuPDF clips to upright rectangles by whole pixels, which is 0.025 mm where lines are looked for."""
    subject = files.SUBJECTS["gap"](width, angle)
    assert narrowest(files.pdf(subject, "clipped"), "gap", 2 * width) == pytest.approx([width], abs=0.003)


@pytest.mark.parametrize(("number", "name"), list(enumerate(SUBJECTS)))
def test_one_width_in_pixels(number, name):
    for form, ppi in (("grey PNG", (300, 600)[number % 2]), (BITMAPS[1 + number % 2], 600)):
        bitmap(form, name, ppi, 0.31, 27.0 + 19 * number)


@pytest.mark.slow
@pytest.mark.parametrize("width", [0.1, 0.22, 0.55, 1.15, 2.0])
@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("name", SUBJECTS)
@pytest.mark.parametrize("form", VECTOR)
def test_all_widths_in_every_vector_file(form, name, way, width):
    if name == "dash" and width > 1.2:  # does not fit the sheet
        return
    for angle in (0.0, 45.0, 71.3) if form != "EPS" else (45.0,):  # Ghostscript takes its time
        vector(form, name, way, width, angle)


@pytest.mark.slow
@pytest.mark.parametrize("width", [0.1, 0.22, 0.55, 1.15, 2.0])
@pytest.mark.parametrize("name", SUBJECTS)
@pytest.mark.parametrize("ppi", [300, 600, 1200])
@pytest.mark.parametrize("form", BITMAPS)
def test_all_widths_in_pixels(form, ppi, name, width):
    if name == "dash" and width > 1.2:  # does not fit the sheet
        return
    for angle in (0.0, 33.0, 71.3) if ppi < 1200 else (33.0,):
        bitmap(form, name, ppi, width, angle)


@pytest.mark.parametrize("form", ["grey PNG", "1-bit PNG"])
def test_a_picture_on_a_page_is_measured_like_the_file_it_came_from(form):
    """Half a pixel, and the reading says so; what is drawn beside it is exact."""
    subject = files.SUBJECTS["bar"](0.31, 27.0)
    page = Canvas(out := io.BytesIO(), (files.WIDTH * files.PT, 2 * files.HEIGHT * files.PT))
    page.drawImage(
        ImageReader(Image.open(io.BytesIO(files.pixels(subject, form, 600)))),
        0, 0, files.WIDTH * files.PT, files.HEIGHT * files.PT,
    )  # fmt: skip
    page.setLineWidth(0.4 * files.PT)
    page.line(10, 1.5 * files.HEIGHT * files.PT, 60, 1.8 * files.HEIGHT * files.PT)
    page.save()
    pixel, found = 25.4 / 600, strokes.lines(load(out.getvalue(), ORDER), ORDER, up_to=0.5)
    assert [r.value for r in found] == [pytest.approx(0.31, abs=pixel / 2), pytest.approx(0.4, abs=0.005)]
    assert [r.margin for r in found] == [pytest.approx(pixel / 2, rel=0.01), 0.0]
