"""Draw the sample inbox of the Saltmarsh Kite Fair again: `python sample_art/draw.py [FOLDER]`.

Every file comes from the numbers in this folder and the open fonts of pymupdf-fonts: the same content every time.
"""

import csv
import functools
import io
import sys
from collections.abc import Callable
from pathlib import Path

import designs
import odd
import pictures
import truth
from PIL import Image
from writers import eps, flattened, pdf, pixels, saved, svg, svgz

HERE = Path(__file__).parent


@functools.cache
def _kite_pixels() -> Image.Image:
    return pixels(designs.fitted(designs.kite_mark(), 90), 600)


def _gif() -> bytes:
    return saved(flattened(_kite_pixels()).quantize(64), "GIF", optimize=True)


FILES: dict[str, Callable[[], bytes]] = {
    "otter-two-spots-clean.pdf": lambda: pdf(designs.otter_badge()),
    "reed-club-one-colour-clean.svg": lambda: svg(designs.reed_club(), "Reed Bed Club"),
    "curlew-one-colour-clean.svgz": lambda: svgz(designs.fitted(designs.curlew_mark(), 44)),
    "tide-clock-hand-written-clean.eps": lambda: eps(designs.fitted(designs.tide_mark(), 32), "Tide clock"),
    "kite-alpha-600ppi-clean.png": lambda: saved(_kite_pixels(), "PNG", dpi=(600, 600), optimize=True),
    "kite-58x38-clean.pdf": lambda: pdf(designs.fitted(designs.kite_small(), 58)),
    "curlew-38x58-turned-clean.pdf": lambda: pdf(designs.curlew_tall()),
    "otter-cap-four-threads.pdf": lambda: pdf(designs.otter_cap()),
    "kites-cut-line-and-bleed-clean.pdf": lambda: odd.sticker(bleed=3),
    "otter-dome-35mm-clean.pdf": odd.dome,
    "otter-plate-wide-lines-clean.svg": lambda: svg(designs.otter_plate(), "Field notes"),
    "qr-0.8mm-squares-clean.pdf": lambda: pdf(odd.code(21.0), spot=False),
    "marsh-dawn-cmyk-300ppi-clean.tif": pictures.marsh_dawn,
    "kite-flat-600ppi-clean.gif": _gif,
    "curlew-one-bit-600ppi.tif": pictures.one_bit,
    "reed-club-450ppi.webp": lambda: saved(flattened(pixels(designs.reed_club(25), 450)), "WEBP", lossless=True, exact=True),
    "otter-hidden-layer.pdf": odd.hidden_layer,
    "web-banner-72ppi.jpg": pictures.web_banner,
    "otter-bitmap-wrapped.pdf": odd.wrapped_bitmap,
    "sunset-gradient.pdf": odd.sunset,
    "lettering-3.2mm-whiskers-0.3mm.svg": lambda: svg(designs.small_print_badge(), "Otter marshals"),
    "crest-hairlines-0.12mm.pdf": lambda: pdf(designs.hairline_crest()),
    "fair-map-six-colours.pdf": lambda: pdf(designs.fair_map()),
    "poster-font-missing.pdf": odd.live_text,
    "qr-no-margin.svg": lambda: svg(odd.tight_code(), "The programme"),
    "kites-no-bleed.pdf": lambda: odd.sticker(bleed=0),
    "locked-with-password.pdf": odd.locked,
    "programme-text-document.pdf": odd.text_document,
    "half-sent-truncated.pdf": lambda: (whole := pdf(designs.fitted(designs.kite_small(), 58)))[: len(whole) // 5],
}  # fmt: skip


def orders() -> bytes:
    """The orders file: one row a job."""
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(["job", "customer", "file", "method", *truth.COLUMNS])
    for row in truth.ROWS:
        table.writerow(
            [
                row.job,
                "Saltmarsh Kite Fair",
                row.file,
                row.method,
                *(row.order.get(c, "") for c in truth.COLUMNS),
            ]
        )
    return text.getvalue().encode()


def table() -> str:
    """The README's table of truth."""
    lines = [
        "| job | file | method | what is true of it | verdict | check |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for row in truth.ROWS:
        size = " x ".join(f"{row.order[c]} mm" for c in ("width_mm", "height_mm") if row.order.get(c))
        what = f"{row.truth} ({', '.join(p for p in (row.order.get('item', ''), size) if p)})"
        checks = ", ".join(f"`{c}`" for c in row.checks)
        lines.append(f"| {row.job} | `{row.file}` | `{row.method}` | {what} | **{row.verdict}** | {checks} |")
    return "\n".join(lines)


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for name, made in FILES.items():
        (folder / name).write_bytes(made())
    (folder / "orders.csv").write_bytes(orders())
    readme = HERE / "README.md"
    text = readme.read_text("utf-8")
    if "<!-- table -->" in text and folder == HERE / "inbox":
        before, after = text.split("<!-- table -->")[0], text.split("<!-- /table -->")[1]
        readme.write_text(f"{before}<!-- table -->\n{table()}\n<!-- /table -->{after}", "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "inbox")
