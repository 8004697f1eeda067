"""Metal-marking laser (YAG or fibre): a fine beam marks metal and some plastics in one tone.

There is no ink: the mark is the metal's own colour, lighter or darker.  Some materials must never be put under a laser.

To change a limit, change the number between its quotes (mm, cm, in or pt), then run `pytest -k yag`.
"""

from preflight.measure import gaps, ground, lettering, materials, production, strokes
from preflight.rulebook import Method, Rule
from rules import common, lasers

ID = "yag-laser"

RULES = (
    Rule(
        id=f"{ID}/line-width",
        check="line-width",
        title="Lines thick enough to show",
        measure=strokes.lines,
        minimum="0.1 mm",
        wanted_minimum="0.15 mm",
        least=strokes.finest_line,
        says="{what} is {measured} wide; engraved it should be at least {limit}.",
        why="Thinner lines are little more than one beam wide: they look broken and are hard to see on metal.",
        fix="Thicken the line to at least {wanted}, or have the art made larger.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/smallest-dot",
        check="isolated-detail",
        title="Dots large enough to show",
        measure=strokes.specks,
        minimum="0.1 mm",
        wanted_minimum="0.15 mm",
        least=strokes.smallest_detail,
        says="{what} is {measured} across; engraved it should be at least {limit}.",
        why="Smaller dots cannot be told from scratches.",
        fix="Enlarge the detail to at least {wanted}, or leave it out.",
        source="from memory",
    ),
    Rule(
        id=f"{ID}/gap-width",
        check="gap-width",
        title="Gaps wide enough to stay clear",
        measure=gaps.gaps,
        wanted_minimum="0.2 mm",
        least=gaps.narrowest_gap,
        says="{what} is {measured} wide; it should be at least {limit}.",
        why="Marks that lie closer together run into one.",
        fix="Open the gap to at least {wanted}, or leave the detail out.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/capital-height",
        check="lettering-height",
        title="Lettering large enough to read on metal",
        measure=lettering.cap_or_equivalent,
        wanted_minimum="1.5 mm",
        says="In {what} capitals stand {measured} high; engraved they should stand at least {limit}.",
        why="Smaller letters get lost on shiny metal.",
        fix="Enlarge the lettering until its capitals stand {wanted} high, in a plain typeface.",
        source="common practice",
    ),
    *common.lettering_recognised(ID),
    *common.reading_distance(ID, own="1.5 mm"),
    Rule(
        id=f"{ID}/colours",
        check="colour-count",
        title="One colour",
        measure=ground.colours_on_it,
        maximum="1 colours",
        says="The art has {measured}; a laser marks in {limit} only.",
        why="The mark has one tone, so everything that is told apart by its colour alone would run together.",
        fix="Send the art in one colour, with gaps or outlines where the colours met.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/unsuitable-material",
        check="material",
        title="A material this laser marks",
        measure=materials.not_for_yag,
        wanted_maximum="0",
        says="The metal-marking laser hardly marks this material: {what}.",
        why="Its beam is made for metals and some plastics; wood, leather, glass and cloth need the other laser.",
        fix="Please confirm the material, or choose engraving with the laser for wood, leather and glass.",
        source="common practice",
    ),
)

METHOD = Method(
    id=ID,
    tags=frozenset({"inkless"}),  # white in a file is bare article
    name="Laser marking on metal",
    tells="A fine laser beam marks the surface of metal and some plastics in one tone, for good.",
    rules=(
        *common.every_job(ID),
        *common.ask_material(
            ID, "Some materials give off poisonous fumes under a laser, so we must know what it is."
        ),
        *lasers.materials_allowed(ID),
        *lasers.outlines(ID),
        *RULES,
        *lasers.tones(ID),
        *common.no_background(ID),
        *common.usual_area(ID),
    ),
    production=production.yag_laser,
    cautions=lasers.CAUTIONS,
    shop_notes=(
        *lasers.SHOP_NOTES,
        "Stainless steel marks grey to black, anodised aluminium white; try the settings on a spare.",
    ),
)
