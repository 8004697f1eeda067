"""Resin-domed labels: a printed label is covered with clear resin, which spreads to the cut edge and stands there as a lens.

The resin stops at the edge by its own surface tension: it needs room, round corners and one outline without holes.  Sizes are
those of the cut outline.

To change a limit, change the number between its quotes (mm, cm, in or pt), then run `pytest -k dome`.
"""

from preflight.measure import cut, gaps, materials, production, strokes
from preflight.rulebook import Method, Rule
from rules import common

ID = "dome"

SHAPE = (
    Rule(
        id=f"{ID}/smallest-side",
        check="art-size",
        title="Large enough to hold resin",
        measure=cut.least_side,
        minimum="8 mm",
        says="The shorter side of the label is {measured}; it must be at least {limit}.",
        why="A smaller face does not hold a bead of resin.",
        fix="Make the label at least {wanted} on its shorter side; a little more is safer.",
        source="from memory",
    ),
    Rule(
        id=f"{ID}/corner-radius",
        check="cut-shape",
        title="Rounded corners",
        measure=cut.corner_radius,
        minimum="1 mm",
        wanted_minimum="2 mm",
        says="A corner of the outline has a radius of {measured}; it should be at least {limit}.",
        why="Resin pulls back from sharp corners or runs over them.",
        fix="Round the corners to at least {wanted}.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/narrowest-part",
        check="cut-shape",
        title="No narrow parts in the outline",
        measure=cut.neck,
        wanted_minimum="4 mm",
        says="The outline is only {measured} wide at its narrowest; it should be at least {limit}.",
        why="On narrow parts the dome comes out lower, or the resin overflows.",
        fix="Widen the part to at least {wanted}, or choose a simpler outline.",
        source="from memory",
    ),
    Rule(
        id=f"{ID}/holes",
        check="cut-shape",
        title="One outline without holes",
        measure=cut.holes,
        maximum="0",
        says="The outline has {measured:hole|holes}.",
        why="Resin flows into holes and does not stop at their edge.",
        fix="Use one solid outline.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/cut-outline",
        check="cut-shape",
        title="A cut outline in the file",
        measure=cut.outline,
        wanted_minimum="1",
        says="The file has no closed cut outline.",
        why="The label is cut along one closed line; without it we cut along the shape we find in the art.",
        fix="Please confirm the shape shown in this report, or add one closed line in a spot colour of its own.",
        source="common practice",
    ),
    *common.bleed(ID),
    Rule(
        id=f"{ID}/safe-margin",
        check="bleed",
        title="Lettering clear of the rim",
        measure=cut.margin,
        wanted_minimum="1.5 mm",
        says="{what} comes within {measured} of the edge; it should stay {limit} away.",
        why="The rim of the dome bends the picture and hides what lies at the edge.",
        fix="Move lettering and logo at least {wanted} away from the edge.",
        source="from memory",
    ),
)

PRINT = (
    Rule(
        id=f"{ID}/line-width",
        check="line-width",
        title="Lines thick enough to print",
        measure=strokes.lines,
        minimum="0.18 mm",
        least=strokes.finest_line,
        says="{what} is {measured} wide; it must be at least {limit}.",
        why="Thinner lines vanish or print broken.",
        fix="Thicken the line to at least {wanted}, or have the label made larger.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/gap-width",
        check="gap-width",
        title="White lines thick enough to stay open",
        measure=gaps.gaps,
        wanted_minimum="0.35 mm",
        least=gaps.narrowest_gap,
        says="{what} is {measured} wide; lines left open should be at least {limit}.",
        why="Ink runs into thinner lines that are left open.",
        fix="Open it to at least {wanted}, or leave the detail out.",
        source="common practice",
    ),
    *common.lettering_recognised(ID),
    *common.reading_distance(ID, ask=True),
    Rule(
        id=f"{ID}/flat-article",
        check="material",
        title="A flat, smooth place to stick it on",
        measure=materials.not_flat,
        maximum="0",
        says="The dome is to go on a round or uneven article: {what}.",
        why="Domes do not bend, and peel off curved or rough faces.",
        fix="Choose a flat, smooth place or another article, or a printed sticker without a dome.",
        source="common practice",
    ),
)

METHOD = Method(
    id=ID,
    name="Domed labels",
    tells="A printed label is covered with clear resin that sets to a smooth lens.",
    rules=(*common.every_job(ID), *common.full_colour(ID), *SHAPE, *PRINT, *common.clean_cut_out(ID)),
    production=production.dome,
    cautions=(
        "Uncured resin sensitises skin and lungs (isocyanates, amine hardeners): extraction, gloves, eye protection.",
        "Let it cure fully, level and covered, before anyone handles it.",
        "Follow the safety data sheets and the local rules; a trained person decides.",
    ),
    shop_notes=(
        "The dome stands about 1.5 to 2 mm proud: check the lid, clip or recess for clearance.",
        "Print on film: paper or open ink makes bubbles in the resin.",
    ),
    size_of="cut outline",
)
