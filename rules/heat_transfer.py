"""Printed heat transfer: the art is printed on film, coated with adhesive, and pressed on the cloth with heat.

Every line needs enough adhesive to hold.  A white layer lies under all colours, so edges must be hard.  The cloth has to stand
the press: about 155 °C for fifteen seconds.  Transfers cut from film with a knife have limits of their own (say "cut film").

To change a limit, change the number between its quotes (mm, cm, in or pt), then run `pytest -k heat`.
"""

from preflight.measure import cut, gaps, lettering, materials, production, strokes, tone
from preflight.rulebook import Method, Rule
from rules import common

ID = "heat-transfer"

PRINT = (
    Rule(
        id=f"{ID}/line-width",
        check="line-width",
        title="Lines thick enough to hold",
        measure=strokes.lines,
        minimum="0.35 mm",
        wanted_minimum="0.5 mm",
        least=strokes.finest_line,
        says="{what} is {measured} wide; it should be at least {limit}.",
        why="Thinner lines carry too little adhesive: they stay on the film or peel off.",
        fix="Thicken the line to at least {wanted}, or have the print made larger.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/smallest-dot",
        check="isolated-detail",
        title="Dots large enough to hold",
        measure=strokes.specks,
        minimum="0.35 mm",
        wanted_minimum="0.5 mm",
        least=strokes.smallest_detail,
        says="{what} is {measured} across; it should be at least {limit}.",
        why="Smaller dots carry too little adhesive and fall off.",
        fix="Enlarge the detail to at least {wanted}, or leave it out.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/gap-width",
        check="gap-width",
        title="Gaps wide enough to stay open",
        measure=gaps.gaps,
        wanted_minimum="0.7 mm",
        least=gaps.narrowest_gap,
        says="{what} is {measured} wide; it should be at least {limit}.",
        why="Adhesive flows across narrower gaps and closes them.",
        fix="Open the gap to at least {wanted}, or leave the detail out.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/capital-height",
        check="lettering-height",
        title="Lettering large enough to hold",
        measure=lettering.cap_or_equivalent,
        wanted_minimum="4.2 pt",  # type of 6 pt: capitals are 0.70 of the point size
        says="In {what} capitals stand {measured} high; they should stand at least {limit}.",
        why="Smaller lettering fills in or peels off.",
        fix="Enlarge the lettering until its capitals stand {wanted} high, and more where letters are left open.",
        source="common practice",
    ),
    *common.lettering_recognised(ID),
    *common.reading_distance(ID, own="4.2 pt"),
    Rule(
        id=f"{ID}/soft-edges",
        check="gradient",
        title="Hard edges",
        measure=tone.soft_edges,
        maximum="0",
        says="The art fades out or is see-through in {measured:place|places}.",
        why="A white layer lies under the print and shows as a halo where colours fade out.",
        fix="Use hard edges, or turn the fade into dots.",
        source="common practice",
    ),
)

CUT_FILM = (
    Rule(
        id=f"{ID}/cut-part-width",
        check="cut-shape",
        title="Cut parts wide enough to free by hand",
        measure=cut.feature,
        minimum="1.0 mm",
        when="cut-film",
        says="{what} is {measured} wide; cut from film it must be at least {limit}.",
        why="Thinner cut parts tear or come away with the waste.",
        fix="Thicken it to at least {wanted}, or choose a printed transfer.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/cut-letter-height",
        check="lettering-height",
        title="Cut letters large enough to free by hand",
        measure=lettering.shortest_letter,
        wanted_minimum="5 mm",
        when="cut-film",
        says="In {what} the shortest letter is {measured} high; cut from film it should be at least {limit}.",
        why="Smaller letters cannot be freed by hand.",
        fix="Enlarge the lettering to at least {wanted}, or print it on a backing shape.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/cut-pieces",
        check="cut-shape",
        title="Few enough pieces to free by hand",
        measure=cut.pieces,
        wanted_maximum="30 pieces",
        when="cut-film",
        says="The art falls into {measured}; up to {limit} are in the price.",
        why="Every loose piece is freed by hand.",
        fix="Join the pieces with a backing shape, or choose a printed transfer.",
        source="from memory",
    ),
)

CLOTH = (
    Rule(
        id=f"{ID}/heat-tender",
        check="material",
        title="Cloth that stands the press",
        measure=materials.heat_tender,
        maximum="0",
        says="The heat press would spoil this material: {what}.",
        why="It melts, glazes or scorches at the heat of the press.",
        fix="Choose embroidery, a sewn-on badge or another method without heat, or ask us for a low-heat film.",
        source="common practice",
    ),
    Rule(
        id=f"{ID}/heat-careful",
        check="material",
        title="Cloth that is known to stand the press",
        measure=materials.textile,
        wanted_maximum="0",
        when="heat-careful",
        unless="heat-tender",
        says="The heat press may mark or shrink this material, or the film may not stick: {what}.",
        why="Wool, silk, stretch, imitation leather and water-repellent cloth do not all stand the press.",
        fix="Please send us a piece to try first.",
        source="from memory",
    ),
    Rule(
        id=f"{ID}/dye-bleed",
        check="material",
        title="Cloth whose dye stays in it",
        measure=materials.dye_bleed,
        wanted_maximum="0",
        when="coloured-ground",
        says="Dye may rise out of this cloth into the print: {what}.",
        why="Dyed polyester gives off colour in the heat, and light parts of the print turn towards it.",
        fix="We use a blocking film and press a test piece first; please confirm.",
        source="common practice",
    ),
)

METHOD = Method(
    id=ID,
    name="Heat transfer",
    tells="The art is printed on film and pressed on the cloth with heat.",
    rules=(
        *common.every_job(ID),
        *common.ask_ground(
            ID, "On dark cloth the white layer shows at every edge, and colours look different."
        ),
        *common.ask_item(ID, "We have to know what goes into the press."),
        *common.ask_material(ID, "The press is hot: some cloths melt, glaze or give off dye."),
        *common.ask_position(ID),
        *common.full_colour(ID),
        *PRINT,
        *CUT_FILM,
        *CLOTH,
        *common.stands_out(ID),
        *common.no_background(ID),
        *common.clean_cut_out(ID),
        *common.usual_area(ID),
    ),
    production=production.heat_transfer,
    cautions=(
        "The heat press burns and crushes: use the two-hand control or the guard, and keep others away.",
        "Unknown coatings give off fumes when hot: ventilate, and press a test piece first.",
        "Adhesive powder harms the lungs: extraction when shaking and curing.",
        "Follow the safety data sheets, the machine's handbook and the local rules; a trained person decides.",
    ),
    shop_notes=(
        "Press at 155 °C for 15 s; low-heat film at 121 to 135 °C.",
        "Seams, zips and buttons: the press cannot seal over a step; the file does not show them.",
    ),
    size_of="cut outline",
)
