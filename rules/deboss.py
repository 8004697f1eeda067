"""Debossing: a heated metal block presses the art into a cover of leather, imitation leather or board.

There is no ink, and one depth.  Heat and pressure spread: lines grow and narrow gaps merge.

To change a limit, change the number between its quotes (mm, cm, in or pt), then run `pytest -k deboss`.
"""

from preflight.measure import gaps, lettering, materials, production, solids, strokes, structure, tone
from preflight.rulebook import Method, Rule
from rules import common

ID = "deboss"

RULES = (
    Rule(
        id=f"{ID}/line-width",
        check="line-width",
        title="Lines thick enough to press",
        measure=strokes.lines,
        minimum="0.3 mm",
        wanted_minimum="0.5 mm",
        least=strokes.finest_line,
        says="{what} is {measured} wide; pressed it should be at least {limit}.",
        why="Soft covers swallow thinner lines, and the finest cannot be cut in the block.",
        fix="Thicken the line to at least {wanted}, or have the art made larger.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/smallest-dot",
        check="isolated-detail",
        title="Dots large enough to press",
        measure=strokes.specks,
        minimum="0.3 mm",
        wanted_minimum="0.5 mm",
        least=strokes.smallest_detail,
        says="{what} is {measured} across; pressed it should be at least {limit}.",
        why="Smaller dots do not show in the cover, or pierce it.",
        fix="Enlarge the detail to at least {wanted}, or leave it out.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/gap-width",
        check="gap-width",
        title="Gaps wide enough not to merge",
        measure=gaps.gaps,
        minimum="0.4 mm",
        wanted_minimum="0.8 mm",
        least=gaps.narrowest_gap,
        says="{what} is {measured} wide; it should be at least {limit}.",
        why="Heat and pressure press narrower gaps flat, so the shapes merge.",
        fix="Open the gap to at least {wanted}, or leave the detail out.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/capital-height",
        check="lettering-height",
        title="Lettering large enough to press",
        measure=lettering.cap_or_equivalent,
        wanted_minimum="2.5 mm",
        says="In {what} capitals stand {measured} high; pressed they should stand at least {limit}.",
        why="Smaller letters close up.",
        fix="Enlarge the lettering until its capitals stand {wanted} high, in an open, plain typeface.",
        source="common practice",
    ),
    *common.lettering_recognised(ID),
    Rule(
        id=f"{ID}/levels",
        check="colour-count",
        title="One level",
        measure=tone.levels,
        maximum="1",
        says="The art has {measured:level of colour or tone|levels of colour or tone}; a plain block presses {limit}.",
        why="The block presses everything to one depth, so colours and tones cannot be told apart.",
        fix="Send the art in one flat colour, or ask us for a sculpted block.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/large-solid",
        check="solid-area",
        title="No solid too large to press evenly",
        measure=solids.largest,
        wanted_maximum="400 mm2",
        says="{what} covers {measured} without a break; up to {limit} presses evenly.",
        why="A wide area presses unevenly and shows bubbles or wrinkles.",
        fix="Outline the area or break it up.",
        source="from memory",
    ),
    Rule(
        id=f"{ID}/flat-article",
        check="material",
        title="A flat place to press",
        measure=materials.not_flat,
        maximum="0",
        says="The article is round or uneven: {what}.",
        why="The block has to meet a flat, firm face.",
        fix="Choose a flat place, well clear of edges, stitching and elastic, or another method.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/hard-article",
        check="material",
        title="Something soft enough to press",
        measure=materials.hard,
        maximum="0",
        unless="round",
        says="This article is too hard to be debossed: {what}.",
        why="A block can only press into leather, imitation leather, board and the like.",
        fix="Choose engraving or a printing method.",
        source="common practice",
    ),
    *common.flat_colour(
        ID,
        must=True,
        why="A block presses or does not press; shades cannot be made.",
        fix="Redraw the marked parts as solid shapes.",
    ),
    Rule(
        id=f"{ID}/transparency",
        check="transparency",
        title="No live transparency",
        measure=structure.transparency,
        wanted_maximum="0",
        says="The file has {measured:see-through object|see-through objects}.",
        why="The block is cut from solid shapes; what shows through has to be guessed.",
        fix="Flatten the transparency into solid shapes, or confirm the picture in this report.",
        source="common practice",
    ),
)

METHOD = Method(
    id=ID,
    tags=frozenset({"inkless"}),  # white in a file is bare article
    name="Debossing",
    tells="A heated metal block presses the art into the cover, without colour.",
    rules=(
        *common.every_job(ID),
        *common.ask_item(ID, "Only soft covers can be pressed, and only where they are flat."),
        *common.outlines_needed(
            ID, must=True, why="The block is cut along outlines; pixels would be cut as steps."
        ),
        *common.line_art_resolution(ID),
        *RULES,
        *common.no_background(ID),
        *common.usual_area(ID),
    ),
    production=production.deboss,
    cautions=(
        "The press burns and crushes: use the two-hand control or the guard; the block is hot.",
        "Unknown coatings give off fumes when hot: ventilate, and press a test piece first.",
        "Follow the machine's handbook and the local rules; a trained person decides.",
    ),
    shop_notes=(
        "Depth: 0.3 mm typical, 0.5 mm at most, or the cover cracks.",
        "Keep 10 mm clear of edges, stitching and elastic.",
    ),
)
