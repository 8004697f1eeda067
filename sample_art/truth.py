"""What is true of every sample, and what the checker should say: the orders, the README's table and the tests come from here."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One row of the orders file with its truth.

    Attributes:
        order: the columns after `job`.
        verdict: "pass", "query" or "fail".
        checks: the checks that decide it; empty for a pass.
        truth: what is true of the art or of its order, in a few words.
    """

    job: str
    file: str
    method: str
    order: dict[str, str]
    verdict: str
    checks: tuple[str, ...]
    truth: str


def row(job: str, file: str, method: str, verdict: str, checks: str, truth: str, /, **order: str) -> Row:
    return Row(job, file, method, order, verdict, tuple(checks.split()), truth)


COLUMNS = (
    "item",
    "position",
    "width_mm",
    "height_mm",
    "ground",
    "material",
    "colours",
    "quantity",
    "diameter_mm",
    "accepted",
)

ROWS = (
    # ---------------------------------------------------------------- sound art, complete orders
    row("M01", "otter-two-spots-clean.pdf", "screen-print", "pass", "", "two named spot colours, outlines, nothing touches",
        item="polo", position="left chest", width_mm="85", ground="white", material="cotton pique",
        colours="Marsh Green, Kite Red", quantity="120"),
    row("M02", "reed-club-one-colour-clean.svg", "co2-laser", "pass", "", "one colour, lines and gaps over 0.4 mm",
        item="cutting board", width_mm="70", ground="burlywood", material="bamboo", quantity="40"),
    row("M03", "curlew-one-colour-clean.svgz", "yag-laser", "pass", "", "compressed SVG, one colour",
        item="bottle", width_mm="44", ground="silver", material="stainless steel", quantity="150"),
    row("M04", "tide-clock-hand-written-clean.eps", "pad-print", "pass", "", "hand-written EPS, one named spot colour",
        item="tin", width_mm="32", ground="white", material="tinplate", colours="Tide Blue", quantity="500"),
    row("M05", "kite-alpha-600ppi-clean.png", "heat-transfer", "pass", "", "PNG with alpha, 600 ppi at 90 mm",
        item="tote bag", width_mm="90", ground="linen", material="cotton", quantity="80"),
    row("M06", "kite-58x38-clean.pdf", "pad-print", "pass", "", "58 mm by less than 40 mm, two spot colours",
        item="box", width_mm="58", ground="white", material="ceramic", colours="Kite Red, Tide Blue", quantity="250"),
    row("M07", "curlew-38x58-turned-clean.pdf", "pad-print", "pass", "", "upright: 38 mm by less than 60 mm",
        item="box", width_mm="38", ground="white", material="ceramic", colours="Slate", quantity="250"),
    row("M08", "otter-cap-four-threads.pdf", "embroidery", "pass", "",
        "50 mm high, capitals of 10 mm; its drawn face is no writing",
        item="cap", height_mm="50", ground="white", material="cotton twill",
        colours="Otter Brown, Sand, Slate, Tide Blue", quantity="60"),
    row("M09", "kites-cut-line-and-bleed-clean.pdf", "sticker", "pass", "", "round-cornered cut line, 3 mm of bleed",
        item="sticker", width_mm="80", quantity="1000"),
    row("M10", "otter-dome-35mm-clean.pdf", "dome", "pass", "", "round cut line of 35 mm, 3 mm of bleed",
        item="sticker", width_mm="35", quantity="400"),
    row("M11", "otter-plate-wide-lines-clean.svg", "deboss", "pass", "", "one level, lines over 0.5 mm, gaps over 0.8 mm",
        item="notebook", width_mm="60", ground="saddlebrown", material="leather", quantity="90"),
    row("M12", "curlew-one-colour-clean.svgz", "foil", "pass", "", "the bottle's curlew again, in one foil",
        item="notebook", width_mm="55", ground="darkslategray", material="paper", colours="gold foil", quantity="90"),
    row("M13", "qr-0.8mm-squares-clean.pdf", "uv-print", "pass", "", "QR code of 25 squares a side, four squares of margin",
        item="mug", width_mm="21", ground="white", material="ceramic", diameter_mm="82", quantity="72"),
    row("M14", "marsh-dawn-cmyk-300ppi-clean.tif", "uv-print", "pass", "", "CMYK picture of 300 ppi at 72 mm",
        item="notebook", width_mm="72", ground="white", material="paper", quantity="30"),
    row("M15", "kite-flat-600ppi-clean.gif", "embroidery", "pass", "",
        "flat colours, 600 ppi at 90 mm; that its tail and wave are no writing has been answered",
        item="jacket", position="left chest", width_mm="90", ground="white", material="cotton twill",
        colours="Kite Red, Reed Ochre, Tide Blue, Slate", quantity="25", accepted="embroidery/lettering-recognised"),
    # ---------------------------------------------------------------- someone has to answer
    row("Q01", "curlew-one-bit-600ppi.tif", "yag-laser", "query", "vector-required", "one-bit line art: pixels, not outlines",
        item="plaque", width_mm="45", ground="silver", material="anodised aluminium", quantity="10"),
    row("Q02", "reed-club-450ppi.webp", "uv-print", "query", "resolution", "450 ppi where line art wants 600",
        item="tile", width_mm="50", ground="white", material="ceramic", quantity="20"),
    row("Q03", "otter-hidden-layer.pdf", "screen-print", "query", "hidden-content",
        "a layer that is switched off holds last year's date",
        item="apron", width_mm="85", ground="white", material="cotton", colours="Marsh Green, Kite Red", quantity="30"),
    row("Q04", "otter-two-spots-clean.pdf", "screen-print", "query", "order-details",
        "sound art; the order names neither size nor place nor colour",
        item="polo", material="cotton pique", colours="Marsh Green, Kite Red"),
    # ---------------------------------------------------------------- has to be mended
    row("F01", "otter-cap-four-threads.pdf", "embroidery", "fail", "art-size", "the same badge ordered 60 mm high",
        item="cap", height_mm="60", ground="white", material="cotton twill",
        colours="Otter Brown, Sand, Slate, Tide Blue", quantity="60"),
    row("F02", "reed-club-one-colour-clean.svg", "co2-laser", "fail", "material", "the same crest on PVC",
        item="luggage tag", width_mm="70", ground="black", material="PVC", quantity="40"),
    row("F03", "web-banner-72ppi.jpg", "heat-transfer", "fail", "resolution", "340 pixels off a web page over 120 mm: 72 ppi",
        item="t-shirt", position="front", width_mm="120", ground="white", material="cotton", quantity="30"),
    row("F04", "otter-bitmap-wrapped.pdf", "screen-print", "fail", "vector-required", "a bitmap in a PDF wrapper",
        item="tote bag", width_mm="85", ground="white", material="cotton", colours="Marsh Green, Kite Red", quantity="100"),
    row("F05", "sunset-gradient.pdf", "embroidery", "fail", "gradient", "two shadings from red to ochre and from blue to green",
        item="jacket", position="left chest", width_mm="80", ground="white", material="cotton twill", quantity="15"),
    row("F06", "lettering-3.2mm-whiskers-0.3mm.svg", "embroidery", "fail", "lettering-height line-width",
        "capitals of 3.2 mm in the lower line, whiskers of 0.3 mm",
        item="polo", position="left chest", width_mm="76", ground="white", material="cotton pique", quantity="45"),
    row("F07", "crest-hairlines-0.12mm.pdf", "foil", "fail", "line-width", "rays and a ring of 0.12 mm",
        item="notebook", width_mm="62.12", ground="darkslategray", material="paper", colours="gold foil", quantity="60"),
    row("F08", "fair-map-six-colours.pdf", "pad-print", "fail", "art-size colour-count", "six spot colours, ordered 70 x 45 mm",
        item="box", width_mm="70", ground="white", material="ceramic",
        colours="Reed Ochre, Sand, Marsh Green, Tide Blue, Kite Red, Slate", quantity="200"),
    row("F09", "poster-font-missing.pdf", "uv-print", "fail", "font", "live text whose font is not in the file",
        item="panel", width_mm="120", ground="white", material="acrylic", quantity="4"),
    row("F10", "qr-no-margin.svg", "uv-print", "fail", "code-legibility", "QR code set tight in a dark frame",
        item="box", width_mm="30", ground="white", material="ceramic", quantity="72"),
    row("F11", "qr-0.8mm-squares-clean.pdf", "uv-print", "fail", "code-legibility",
        "the mug's code ordered 9 mm wide: squares of 0.36 mm",
        item="mug", width_mm="9", ground="white", material="ceramic", diameter_mm="82", quantity="72"),
    row("F12", "kites-no-bleed.pdf", "sticker", "fail", "bleed", "the colour ends at the cut line",
        item="sticker", width_mm="80", quantity="1000"),
    row("F13", "locked-with-password.pdf", "screen-print", "fail", "unreadable",
        "encrypted: it does not open without its password",
        item="t-shirt", position="front", width_mm="85", ground="white", material="cotton"),
    row("F14", "programme-text-document.pdf", "sticker", "fail", "unreadable", "a text document named .pdf",
        item="sticker", width_mm="80"),
    row("F15", "half-sent-truncated.pdf", "pad-print", "fail", "unreadable", "the first fifth of a PDF",
        item="box", width_mm="58", ground="white", material="ceramic", colours="Kite Red, Tide Blue"),
    row("F16", "never-arrived.pdf", "foil", "fail", "unreadable", "there is no such file",
        item="notebook", width_mm="60", ground="darkslategray", material="paper", colours="gold foil"),
)  # fmt: skip
