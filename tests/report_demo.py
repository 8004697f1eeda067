"""Demo reports for the report tests: invented art and orders of a kite fair on a salt marsh.

`art()` is real artwork in the model's sense, drawn here at any resolution, so that pictures can be checked pixel by
pixel.  `PYTHONPATH=. python tests/report_demo.py FOLDER` writes every document for looking at.
"""

import functools
import io
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pymupdf_fonts
from PIL import Image, ImageDraw, ImageFont

from preflight.artwork import Artwork, Ink
from preflight.findings import (
    ArtFacts,
    Check,
    Checked,
    Colour,
    Finding,
    FontFacts,
    ImageFacts,
    Measures,
    Outcome,
    Place,
    Report,
    Severity,
    SizeWindow,
    verdict,
)
from preflight.report.data import Letterhead

LETTERHEAD = Letterhead(
    name="Samphire Yard Printing",
    lines=("4 Sluice Lane, Saltmarsh End", "Bench open 8 to 5"),
    email="bench@samphire.example",
)
RED, SAND, NAVY, TEAL = "#c8312b", "#f0d9a8", "#1d2b4f", "#2b7a78"
WIDTH, HEIGHT = 80.0, 56.0
_FACE = pymupdf_fonts.myfont("figbo")


@dataclass(frozen=True)
class KitePlates:
    """Draws a badge of 80 x 56 mm: kite, tail, reeds and a line of small capitals, in file mm."""

    grey: str = SAND

    def coverage(self, ink, box, pixels_per_mm):
        picture = self.picture(box, pixels_per_mm, (255, 255, 255)).astype(int)
        return ((picture < 250).any(2) * 255).astype(np.uint8)

    def picture(self, box, pixels_per_mm, ground):
        over = 3 if pixels_per_mm < 60 else 1
        k = pixels_per_mm * over
        width, height = (
            max(1, round((box[2] - box[0]) * pixels_per_mm)),
            max(1, round((box[3] - box[1]) * pixels_per_mm)),
        )
        image = Image.new("RGB", (width * over, height * over), ground)
        pen = ImageDraw.Draw(image)

        def at(*points):
            return [((x - box[0]) * k, (y - box[1]) * k) for x, y in points]

        pen.polygon(at((40, 0), (58, 17), (40, 40), (22, 17)), fill=RED)
        pen.polygon(at((40, 0), (58, 17), (40, 17)), fill=SAND)
        pen.polygon(at((22, 17), (40, 17), (40, 40)), fill=TEAL)
        tail = [(40 + 7 * np.sin(t / 3.2), 40 + t) for t in np.linspace(0, 8.5, 60)]
        pen.line(at(*tail), fill=SAND, width=max(1, round(0.31 * k)))
        for reed in range(14):
            x = 2 + reed * 1.4
            pen.line(at((x, 48), (x + 1.5, 36 - reed % 4 * 2)), fill=TEAL, width=max(1, round(0.8 * k)))
            pen.line(at((80 - x, 48), (78.5 - x, 36 - reed % 3 * 3)), fill=TEAL, width=max(1, round(0.8 * k)))
        pen.rectangle(at((0, 48), (80, 56))[0] + at((0, 48), (80, 56))[1], fill=RED)
        for words, middle, em, across in (
            ("KITE FAIR ON THE SALT MARSH", (40, 52), 4.6, 34),
            ("EST. 1921", (68, 8), 2.2, 6),
        ):
            x, y = middle
            if x - across < box[2] and x + across > box[0] and y - em < box[3] and y + em > box[1]:
                face = ImageFont.truetype(io.BytesIO(_FACE), max(2, round(em * k)))
                pen.text(at(middle)[0], words, font=face, fill=SAND, anchor="mm")
        pen.ellipse(at((11.8, 9.8))[0] + at((12.2, 10.2))[0], fill=RED)
        return np.asarray(image.resize((width, height), Image.Resampling.BOX))


def art(scale: float = 1.0, ground: str = NAVY, plates=None) -> Artwork:
    """The badge, `scale` times 80 x 56 mm."""
    return Artwork(
        format="pdf", kind="vector", page=1, pages=1, width_mm=WIDTH * scale, height_mm=HEIGHT * scale,
        file_width_mm=WIDTH, file_height_mm=HEIGHT, ground=ground, inks=(Ink(0, "red", "spot", RED, (45, 58, 36)),),
        marks=(), text=(), pictures=(), fonts=(), fades=(), facts=(), plates=plates or KitePlates(), scale=scale,
    )  # fmt: skip


def place(*box, page=1) -> Place:
    return Place(page=page, box_mm=box)


LETTERING = Finding(
    rule="embroidery/capital-height", check=Check.LETTERING_HEIGHT, severity=Severity.MUST, measured=1.5, limit=5.0,
    unit="mm", where=(place(62.8, 7.0, 73.2, 9.0),),
    says="The letters “EST. 1921” are 1.5 mm tall when sewn; capitals need at least 5 mm.",
    why="In shorter capitals neighbouring stitches touch, and the openings of A, B and R close.",
    remedy="Enlarge the lettering until its capitals stand 5 mm tall, or leave the line out.", source="common practice",
)  # fmt: skip
LINE = Finding(
    rule="embroidery/line", check=Check.LINE_WIDTH, severity=Severity.MUST, measured=0.31, limit=0.4, unit="mm",
    where=(place(33.0, 40.0, 47.0, 48.0),),
    says="The line in sand is 0.31 mm wide; a single thread needs at least 0.4 mm.",
    why="A line thinner than the thread can't be sewn, so it would come out wider than drawn or be left out.",
    remedy="Draw the kite's tail at least 0.4 mm wide.", source="common practice",
)  # fmt: skip
GAPS = Finding(
    rule="embroidery/gap", check=Check.GAP_WIDTH, severity=Severity.QUERY, measured=0.62, limit=1.0, unit="mm",
    where=(place(2, 40, 9, 48), place(12, 42, 20, 48), place(60, 40, 68, 48), place(71, 42, 78, 48)),
    says="Gaps between the reeds are 0.62 mm wide; 1 mm stays open reliably. There are 4 such places; the worst is given.",
    why="The cloth pulls in under the stitches, so narrow gaps close.",
    remedy="Open the gaps to 1 mm, or tell us that the reeds may close up.", source="common practice",
)  # fmt: skip
SPECK = Finding(
    rule="embroidery/speck", check=Check.ISOLATED_DETAIL, severity=Severity.QUERY, measured=0.4, limit=1.0, unit="mm",
    where=(place(11.8, 9.8, 12.2, 10.2),),
    says="A speck of 0.4 mm lies alone at the top left.", why="A dot that small is a knot of thread.",
    remedy="Remove it, or tell us what it should be.", source="common practice",
)  # fmt: skip
NOTE = Finding(
    rule="embroidery/hidden-layers", check=Check.HIDDEN_CONTENT, severity=Severity.NOTE, measured=1.0, limit=0.0, unit="",
    where=(), says="The file holds 1 hidden layer; we left it out.", why="What is hidden is not made.",
    remedy="Nothing, unless it belongs to the art.", source="our default",
)  # fmt: skip
ACCEPTED = Finding(
    rule="embroidery/colour-match", check=Check.COLOUR_MATCH, severity=Severity.NOTE, measured=6.4, limit=6.0, unit="dE00",
    where=(place(22, 17, 40, 40),), says="The nearest thread to teal is a little bluer.", why="Threads come in fixed colours.",
    remedy="You have accepted this already.", source="computed", accepted=True,
)  # fmt: skip
COLOURS = (
    Colour(
        name="Beacon red",
        kind="spot",
        hex=RED,
        lab=(45, 58, 36),
        area_mm2=1203.0,
        share=0.27,
        chart_entry="Thread 12",
        delta_e=1.8,
    ),
    Colour(name="sand #f0d9a8", kind="rgb", hex=SAND, lab=(88, 2, 27), area_mm2=431.0, share=0.1),
    Colour(
        name="Sluice teal",
        kind="spot",
        hex=TEAL,
        lab=(46, -25, -6),
        area_mm2=388.5,
        tints=(0.5,),
        chart_entry="Thread 40",
        delta_e=6.4,
    ),
)
CHECKED = (
    Checked(
        rule="embroidery/capital-height",
        title="Capitals tall enough to sew",
        outcome=Outcome.MUST,
        measured=1.5,
        limit=5.0,
        unit="mm",
    ),
    Checked(
        rule="embroidery/line",
        title="Lines a thread can follow",
        outcome=Outcome.MUST,
        measured=0.31,
        limit=0.4,
        unit="mm",
    ),
    Checked(
        rule="embroidery/gap",
        title="Gaps that stay open",
        outcome=Outcome.QUERY,
        measured=0.62,
        limit=1.0,
        unit="mm",
    ),
    Checked(
        rule="embroidery/cap-height",
        title="Low enough for a cap",
        outcome=Outcome.OK,
        measured=56.0,
        limit=56.0,
        unit="mm",
    ),
    Checked(
        rule="embroidery/colours",
        title="No more colours than needles",
        outcome=Outcome.OK,
        measured=3.0,
        limit=12.0,
        unit="colours",
    ),
    Checked(
        rule="embroidery/gradients",
        title="No gradients",
        outcome=Outcome.OK,
        measured=0.0,
        limit=0.0,
        unit="",
    ),
    Checked(
        rule="embroidery/codes",
        title="Codes that can be scanned",
        outcome=Outcome.DOES_NOT_APPLY,
        reason="there is nothing of this kind in the art",
    ),
    Checked(
        rule="embroidery/density",
        title="Stitch density the cloth bears",
        outcome=Outcome.NOT_MEASURED,
        limit=3.1,
        unit="stitches/mm2",
        reason="The cloth's weight was not stated.",
    ),
)
PRODUCTION = {
    "stitches": 6120,
    "sewing_minutes": 8.4,
    "thread_m": 31.5,
    "needles": 3,
    "backing": "cut-away",
    "stops": [1, 2, 3],
    "trims": None,
    "underlay": True,
    "threads": [{"name": "Beacon red", "length_m": 18.2}, {"name": "Sluice teal", "length_m": 13.3}],
    "hoop": {"width_mm": 120, "height_mm": 120},
}
CAUTIONS = (
    "Keep the needle guard on; power off to change needles.",
    "Local codes and the machine's handbook come first.",
)


def report(*findings: Finding, **changes) -> Report:
    """A report of the badge, embroidered on a cap, with these findings."""
    found = findings
    values = dict(
        file="otter-badge.pdf", sha256="5b1f" * 16, page=1, pages=2,
        job={
            "method": "embroidery", "item": "cap", "position": "front", "width_mm": 80.0, "height_mm": None, "ground": NAVY,
            "ground_words": "navy", "material": "cotton twill", "colours": ["Beacon red", "sand", "Sluice teal"],
            "quantity": 120, "customer": "Heron Hide Kite Club", "job": "KF-0412",
        },
        verdict=verdict(found),
        art=ArtFacts(
            format="pdf", kind="vector", width_mm=80.0, height_mm=56.0, file_width_mm=105.8, file_height_mm=74.06,
            images=(ImageFacts(ppi=212.0, true_ppi=105.0, box_mm=(0, 0, 30, 20)),),
            fonts=(FontFacts(name="Marshlight", embedded=False),),
        ),
        colours=COLOURS,
        measures=Measures(
            finest_line_mm=0.31, narrowest_gap_mm=0.62, smallest_lettering_mm=1.5, smallest_detail_mm=0.4, colour_count=3,
            ink_area_mm2=2022.5, has_gradient=False,
        ),
        findings=found,
        size_window=SizeWindow(min_width_mm=61.3, max_width_mm=104.8, because=("line-width", "art-size")),
        production=PRODUCTION, checked=CHECKED, cautions=CAUTIONS, seconds=0.41,
    )  # fmt: skip
    values.update(changes)
    return Report(**values)


def failing() -> Report:
    """Two to mend, two questions, two notes; given out of order on purpose."""
    return report(
        NOTE, GAPS, LETTERING, ACCEPTED, LINE, SPECK,
        size_window=SizeWindow(min_width_mm=266.7, max_width_mm=104.8, possible=False, because=("lettering-height", "art-size")),
    )  # fmt: skip


def asking() -> Report:
    """One question."""
    return report(SPECK, ACCEPTED)


def passing() -> Report:
    """Nothing to mend or ask."""
    return report(job={"method": "pad-print", "width_mm": 80.0, "ground": "#ffffff"}, checked=CHECKED[3:6])


def unreadable() -> Report:
    """A file that could not be opened."""
    return report(
        Finding(
            rule="file/readable", check=Check.UNREADABLE, severity=Severity.MUST,
            says="The file is locked with a password.", why="A locked file can't be measured.",
            remedy="Please send the artwork as PDF, SVG, EPS, PNG, TIFF or JPEG, without a password.", source="our default",
        ),
        file="locked.pdf", art=None, colours=(), measures=Measures(), size_window=None, production={}, checked=(),
    )  # fmt: skip


#: One string that tries everything at once.
HOSTILE = (
    "=1+1</style><script>alert(1)</script><img src=x onerror=alert(2)>\"'>&\x1b[31m\x1b]0;t\x07\r\nBcc: a@b.example\r\n\r\n"
    '\u202egnp.exe\u2066\u200f{{7*7}}#read("/etc/passwd")\x00\x9b2J\ud800]]>--><!--'
)


def hostile() -> Report:
    """Every free string hostile."""
    bad = HOSTILE
    clean = failing()
    return report(
        Finding(
            rule=bad, check=Check.FONT, severity=Severity.MUST, measured=float("inf"), limit=1.0, unit=bad, says=bad, why=bad,
            remedy=bad, source=bad, where=(place(-5, -5, 500, 500), place(float("nan"), 0, 1, 1)),
        ),
        Finding(rule="a/b", check=Check.FONT, severity=Severity.QUERY, says=bad, why=bad, remedy=bad, source=bad, accepted=True),
        file="../../" + bad, sha256=bad, job={key: bad for key in [*clean.job, "method_name", bad]},
        art=ArtFacts(format=bad, kind=bad, width_mm=80, height_mm=56, file_width_mm=0, file_height_mm=0,
                     fonts=(FontFacts(name=bad, embedded=False),)),
        colours=(Colour(name=bad, kind=bad, hex='red;}"><script>', lab=(0, 0, 0), area_mm2=None, chart_entry=bad),),
        size_window=SizeWindow(min_width_mm=1.0, max_width_mm=2.0, because=(bad,), unmeasured=(bad,)),
        production={bad: bad, "list": [bad, {bad: bad}], "deep": {bad: {bad: bad}}, "n": float("nan")},
        checked=(Checked(rule=bad, title=bad, outcome=Outcome.NOT_MEASURED, reason=bad, unit=bad),), cautions=(bad,),
    )  # fmt: skip


def crowded(count: int = 30) -> Report:
    """Many findings with many places."""
    found = [
        Finding(
            rule=f"demo/rule-{n}", check=Check.GAP_WIDTH, severity=list(Severity)[n % 3], measured=0.1, limit=0.5, unit="mm",
            where=tuple(
                place(x, y, x + 0.6 + n % 5, y + 1.2)
                for x, y in zip(range(n % 7, 74, 6 + n % 9), range(n % 5, 54, 5 + n % 7), strict=False)
            ),
            says=f"Gap {n} is 0.1 mm wide; 0.5 mm is needed.", why="It would close.", remedy="Open it.", source="from memory",
        )
        for n in range(count)
    ]  # fmt: skip
    return report(*found)


def reports() -> dict[str, Report]:
    """All of them by name."""
    return {
        "failing": failing(), "asking": asking(), "passing": passing(), "unreadable": unreadable(), "hostile": hostile(),
        "crowded": crowded(),
    }  # fmt: skip


@functools.cache
def pictures_of(name: str):
    """The pictures of one of `reports`, drawn once for all tests; None where there is no art."""
    from preflight.report import picture

    one = reports()[name]
    return picture.make(art(), one.findings, NAVY) if one.art else None


def main(folder: Path) -> None:
    """Write every document of every demo."""
    import time

    from preflight.report import compare, html, index, mail, pdf, picture, reply, text

    rows = []
    for name, one in reports().items():
        where = folder / name
        where.mkdir(parents=True, exist_ok=True)
        begin = time.perf_counter()
        pictures = picture.make(art(), one.findings, NAVY) if one.art else None
        took = time.perf_counter() - begin
        if pictures:
            (where / "marked.png").write_bytes(pictures.marked)
        (where / "report.html").write_text(html.render(one, pictures, LETTERHEAD), "utf-8")
        (where / "report.txt").write_text(text.render(one, True), "utf-8")
        (where / "reply.txt").write_text(reply.render(one), "utf-8")
        begin = time.perf_counter()
        made = pdf.render(one, pictures, None, LETTERHEAD)
        print(f"{name}: pictures {took:.2f} s, pdf {time.perf_counter() - begin:.2f} s")
        (where / "report.pdf").write_bytes(made)
        (where / "reply.eml").write_bytes(mail.render(one, made, LETTERHEAD))
        rows.append(index.JobRow(one, name, pictures.thumbnail if pictures else None, ""))
    (folder / "index.html").write_text(index.render(rows), "utf-8")
    (folder / "summary.csv").write_text(index.summary_csv(rows), "utf-8")
    every = [report(*one.findings, job={**one.job, "method": m}, verdict=one.verdict) for one, m in zip(
        (failing(), asking(), passing()), ("embroidery", "screen-print", "uv-print"), strict=True)]  # fmt: skip
    (folder / "compare.html").write_text(compare.render_html(every, picture.make(art(), (), NAVY)), "utf-8")
    (folder / "compare.txt").write_text(compare.render_text(every), "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
