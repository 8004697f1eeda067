"""Printed stickers and labels: printed in full colour on film, then cut to shape with a knife.

The knife drifts by a millimetre or two, so colour has to run past the cut and lettering has to stay clear of it.  Sizes are those
of the cut outline.

To change a limit, change the number between its quotes (mm, cm, in or pt), then run `pytest -k sticker`.
"""

from preflight.measure import cut, gaps, lettering, production, strokes
from preflight.rulebook import Method, Rule
from rules import common

ID = "sticker"

CUT = (
    *common.bleed(ID),
    Rule(
        id=f"{ID}/safe-margin",
        check="bleed",
        title="Lettering and logo clear of the cut",
        measure=cut.margin,
        minimum="2 mm",
        says="{what} comes within {measured} of the cut; it should stay {limit} away.",
        why="The knife drifts a little and may cut into it.",
        fix="Move lettering and logo at least {wanted} inside the cut, or let them run right across it.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/border-width",
        check="bleed",
        title="Borders wide enough to look even",
        measure=cut.border,
        wanted_minimum="3 mm",
        says="A border along the cut is {measured} wide; it should be at least {limit}.",
        why="When the knife drifts, a thin border comes out wider on one side than on the other.",
        fix="Make the border at least {wanted} wide, or leave it out.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/corner-radius",
        check="cut-shape",
        title="Rounded corners",
        measure=cut.corner_radius,
        wanted_minimum="1 mm",
        says="A corner of the cut has a radius of {measured}; it should be at least {limit}.",
        why="Sharp points lift and tear.",
        fix="Round the corners to at least {wanted}; more looks better.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/cut-outline",
        check="cut-shape",
        title="A cut outline in the file",
        measure=cut.outline,
        wanted_minimum="1",
        says="The file has no closed cut outline.",
        why="The knife follows one closed line; without it we cut along the shape we find in the art.",
        fix="Please confirm the shape shown in this report, or add one closed line in a spot colour of its own.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/narrowest-part",
        check="cut-shape",
        title="No narrow tongues or slots in the cut",
        measure=cut.neck,
        wanted_minimum="2 mm",
        says="The cut shape is only {measured} wide at its narrowest; it should be at least {limit}.",
        why="Narrow tongues lift and tear, and narrow slots cannot be cleared.",
        fix="Widen it to at least {wanted}, or choose a simpler outline.",
        source="common practice",
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
        fix="Thicken the line to at least {wanted}, or have the sticker made larger.",
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
    Rule(
        id=f"{ID}/capital-height",
        check="lettering-height",
        title="Lettering large enough to read",
        measure=lettering.cap_or_equivalent,
        wanted_minimum="3.5 pt",  # type of 5 pt: capitals are 0.70 of the point size
        says="In {what} capitals stand {measured} high; they should stand at least {limit}.",
        why="Smaller lettering cannot be read.",
        fix="Enlarge the lettering until its capitals stand {wanted} high, and more where it is white on a colour.",
        source="common practice",
    ),
    *common.lettering_recognised(ID),
    *common.reading_distance(ID, own="3.5 pt"),
)

METHOD = Method(
    id=ID,
    name="Printed stickers",
    tells="The art is printed in full colour on self-adhesive film and cut to shape.",
    rules=(*common.every_job(ID), *common.full_colour(ID), *CUT, *PRINT, *common.clean_cut_out(ID)),
    production=production.sticker,
    cautions=(
        "Cutting knives are sharp: keep hands away from the plotter while it moves, and change blades with it switched off.",
        "Solvent and UV inks harm skin and lungs: extraction and gloves.",
        "Follow the safety data sheets, the machine's handbook and the local rules; a trained person decides.",
        "Food-contact, children's and outdoor labels need film and ink made for it.",
    ),
    shop_notes=(
        "Leave at least 2 mm between stickers on a sheet.",
        "Clear film: pull the white in 0.3 to 0.5 mm, and put none behind tiny text.",
    ),
    size_of="cut outline",
)
