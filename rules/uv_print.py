"""UV printing directly on the article: drops of ink are set hard by ultraviolet light.

Any picture can be printed, over white where the article is dark or clear.  The drops fly only a few millimetres straight, so
the surface must not fall away under the print.

To change a limit, change the number between its quotes (mm, cm, in or pt), then run `pytest -k uv`.
"""

from preflight.measure import contrast, curve, gaps, lettering, materials, production, strokes
from preflight.rulebook import Method, Rule
from rules import common

ID = "uv-print"

RULES = (
    Rule(
        id=f"{ID}/line-width",
        check="line-width",
        title="Lines thick enough to print",
        measure=strokes.lines,
        minimum="0.15 mm",
        wanted_minimum="0.25 mm",
        least=strokes.finest_line,
        says="{what} is {measured} wide; it should be at least {limit}.",
        why="Thinner lines are only a drop or two wide and break on smooth surfaces.",
        fix="Thicken the line to at least {wanted}, or have the print made larger.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/smallest-dot",
        check="isolated-detail",
        title="Dots large enough to print",
        measure=strokes.specks,
        minimum="0.15 mm",
        wanted_minimum="0.25 mm",
        least=strokes.smallest_detail,
        says="{what} is {measured} across; it should be at least {limit}.",
        why="Smaller dots are only a drop or two wide and may not hold.",
        fix="Enlarge the detail to at least {wanted}, or leave it out.",
        source="from memory",
    ),
    Rule(
        id=f"{ID}/gap-width",
        check="gap-width",
        title="Gaps wide enough to stay open",
        measure=gaps.gaps,
        wanted_minimum="0.35 mm",
        least=gaps.narrowest_gap,
        says="{what} is {measured} wide; it should be at least {limit}.",
        why="Ink spreads a little, white most of all, and closes narrower gaps.",
        fix="Open the gap to at least {wanted}, or leave the detail out.",
        source="from memory",
    ),
    Rule(
        id=f"{ID}/capital-height",
        check="lettering-height",
        title="Lettering large enough to stay sharp",
        measure=lettering.cap_or_equivalent,
        wanted_minimum="4.2 pt",  # type of 6 pt: capitals are 0.70 of the point size
        says="In {what} capitals stand {measured} high; they should stand at least {limit}.",
        why="Smaller lettering blurs, most of all over white.",
        fix="Enlarge the lettering until its capitals stand {wanted} high, and more where letters are left open.",
        source="common practice",
    ),
    *common.lettering_recognised(ID),
    *common.reading_distance(ID, own="4.2 pt"),
    Rule(
        id=f"{ID}/height-change",
        check="art-size",
        title="A surface that hardly falls away under the print",
        measure=curve.height_change,
        maximum="3 mm",
        wanted_maximum="1.5 mm",
        scales="on the round",
        says="For {what} the surface falls away by {measured}; up to {limit} prints sharp.",
        why="Drops drift on a longer way, so the sides of the print blur.",
        fix="Make the print narrower until the fall is at most {wanted}, choose a flatter place, or ask for a rotary jig.",
        source="from memory",
    ),
    Rule(
        id=f"{ID}/white-base",
        check="ground-contrast",
        title="White beneath colours on dark goods",
        measure=contrast.needs_white,
        wanted_maximum="0 colours",
        says="On this dark article white is needed beneath {measured}: {what}.",
        why="UV inks are see-through: without white the colours vanish on dark goods.",
        fix="We print white under all colours; please confirm, or supply a white layer of your own.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/white-base-clear",
        check="ground-contrast",
        title="White beneath colours on clear goods",
        measure=materials.clear,
        wanted_maximum="0",
        says="The article is clear: {what}.",
        why="UV inks are see-through: without white the colours look pale on clear goods.",
        fix="Please tell us whether we print white under all colours, or whether light shall pass through them.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/low-energy-plastic",
        check="material",
        title="A material that ink grips",
        measure=materials.low_energy,
        wanted_maximum="0",
        says="Ink does not grip this material unaided: {what}.",
        why="Without flame, plasma or a primer the print scratches off.",
        fix="Please let us treat a sample and test it with tape first.",
        source="common practice",
    ),
)

METHOD = Method(
    id=ID,
    name="UV printing",
    tells="The art is printed straight on the article in full colour and set hard by ultraviolet light.",
    rules=(
        *common.every_job(ID),
        *common.ask_ground(ID, "On dark or clear goods colours need white beneath them."),
        *common.ask_material(ID, "On some plastics ink does not hold without treatment."),
        *common.ask_words(ID),
        *common.full_colour(ID),
        *RULES,
        *common.stands_out(ID),
        *common.no_background(ID),
        *common.clean_cut_out(ID),
        *common.usual_area(ID),
    ),
    production=production.uv_print,
    cautions=(
        "Uncured UV ink sensitises skin: gloves, no skin contact, wash at once.",
        "UV lamps harm eyes and skin and make ozone: keep shields and interlocks in place, and extract the air.",
        "Not on rims, cutlery, baby goods or faces that touch food without proof that it is allowed.",
        "Follow the safety data sheets, the machine's handbook and the local rules; a trained person decides.",
    ),
    shop_notes=("Choke the white by about 0.1 mm.", "Keep the print 1 mm clear of the article's edge."),
)
