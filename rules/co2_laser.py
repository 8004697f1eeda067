"""Laser engraving on wood, leather, glass and acrylic (carbon-dioxide laser): the beam burns or chips the surface.

There is no ink: the mark is brown on wood and leather, white on glass and acrylic.  Some materials must never be put under a
laser.

To change a limit, change the number between its quotes (mm, cm, in or pt), then run `pytest -k co2`.
"""

from preflight.measure import cut, gaps, ground, lettering, materials, production, strokes
from preflight.rulebook import Method, Rule
from rules import common, lasers

ID = "co2-laser"

RULES = (
    Rule(
        id=f"{ID}/line-width",
        check="line-width",
        title="Lines thick enough for the grain",
        measure=strokes.lines,
        minimum="0.15 mm",
        wanted_minimum="0.25 mm",
        least=strokes.finest_line,
        says="{what} is {measured} wide; engraved it should be at least {limit}.",
        why="Thinner lines are narrower than the beam, and the grain of wood or chips of glass break them.",
        fix="Thicken the line to at least {wanted}, or have the art made larger.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/deep-line-width",
        check="line-width",
        title="Lines wide enough for deep engraving",
        measure=strokes.lines,
        wanted_minimum="1.0 mm",
        when="deep",
        only_to="0.25 mm",
        says="{what} is {measured} wide; for deep or paint-filled engraving it should be at least {limit}.",
        why="Deep grooves need room, or their edges break away and paint does not stay in.",
        fix="Thicken the line to at least {wanted}, or choose plain engraving.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/smallest-dot",
        check="isolated-detail",
        title="Dots large enough for the grain",
        measure=strokes.specks,
        minimum="0.15 mm",
        wanted_minimum="0.25 mm",
        least=strokes.smallest_detail,
        says="{what} is {measured} across; engraved it should be at least {limit}.",
        why="Smaller dots are lost in the grain.",
        fix="Enlarge the detail to at least {wanted}, or leave it out.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/gap-width",
        check="gap-width",
        title="Gaps wide enough not to burn away",
        measure=gaps.gaps,
        minimum="0.2 mm",
        wanted_minimum="0.4 mm",
        least=gaps.narrowest_gap,
        says="{what} is {measured} wide; it should be at least {limit}.",
        why="What stands between two burns chars or chips away when it is narrower.",
        fix="Open the gap to at least {wanted}, or leave the detail out.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/bridge-width",
        check="cut-shape",
        title="Parts wide enough to cut out",
        measure=cut.neck,
        wanted_minimum="1.0 mm",
        when="cut-through",
        says="The narrowest part of the cut shape is {measured} wide; it should be at least {limit}.",
        why="Narrower slivers burn or warp.",
        fix="Widen the part to at least {wanted}.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/capital-height",
        check="lettering-height",
        title="Lettering large enough to read",
        measure=lettering.cap_or_equivalent,
        wanted_minimum="2.0 mm",
        says="In {what} capitals stand {measured} high; engraved they should stand at least {limit}.",
        why="Smaller letters burn together and cannot be read; on wood and leather they need still more room.",
        fix="Enlarge the lettering until its capitals stand {wanted} high, half as much again on wood and leather.",
        source="common practice",
    ),
    *common.lettering_recognised(ID),
    Rule(
        id=f"{ID}/colours",
        check="colour-count",
        title="One colour",
        measure=ground.colours_on_it,
        wanted_maximum="1 colours",
        says="The art has {measured}; a laser engraves in {limit} only.",
        why="The mark has one tone, so what is told apart by its colour alone runs together.",
        fix="Send the art in one colour, or confirm that all of it may be engraved alike.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/unsuitable-material",
        check="material",
        title="A material this laser marks",
        measure=materials.not_for_co2,
        wanted_maximum="0",
        says="This laser does not mark bare metal: {what}.",
        why="Bare metal throws its beam back; coated and anodised metal can be marked.",
        fix="Please confirm that it is coated, or choose laser marking on metal.",
        source="common practice",
    ),
)

METHOD = Method(
    id=ID,
    tags=frozenset({"inkless"}),  # white in a file is bare article
    name="Laser engraving on wood, leather and glass",
    tells="A laser beam burns or chips the art into wood, leather, glass or acrylic in one tone, for good.",
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
    production=production.co2_laser,
    cautions=lasers.CAUTIONS,
    shop_notes=(
        *lasers.SHOP_NOTES,
        "Kerf: cutting takes away 0.08 to 0.25 mm; allow for it where parts have to fit.",
    ),
)
