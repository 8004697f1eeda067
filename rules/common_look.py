"""How art looks: pixels, shades, reading it, telling it from the article, boxes and bleed.  Rules that methods share.

Each function takes the method's id and gives back rules whose ids begin with it; see `rules/common.py`.
"""

from preflight.measure import contrast, cut, ground, lettering, resolution, structure, tone
from preflight.rulebook import Rule

Rules = tuple[Rule, ...]

# ------------------------------------------------------------------------------------------------ bitmaps and tone


def outlines_needed(method: str, *, must: bool, why: str, photographs_too: bool = True) -> Rules:
    """Art drawn as outlines; a bitmap fails or asks.

    With `photographs_too` left out, a photograph is no fault in itself: rules about shades and pixels ask about it.
    """
    return (
        Rule(
            id=f"{method}/outlines",
            check="vector-required",
            title="Art drawn as outlines",
            measure=structure.bitmap if photographs_too else structure.line_art_bitmaps,
            maximum="0" if must else None,
            wanted_maximum=None if must else "0",
            says="The art, or a part of it, is made of pixels instead of outlines.",
            why=why,
            fix="Please send the original drawing with real outlines; a picture placed in a drawing file is still a picture.",
            source="common practice",
        ),
    )


def line_art_resolution(method: str) -> Rules:
    """Bitmaps of logos and lettering."""
    return (
        Rule(
            id=f"{method}/line-art-resolution",
            check="resolution",
            title="Logos made of pixels fine enough",
            measure=resolution.line_art,
            minimum="300 ppi",
            wanted_minimum="600 ppi",
            says="At the finished size {what} has a real resolution of {measured} (pixels per inch); clean edges need {limit}.",
            why="With fewer pixels the edges of shapes and letters show steps or blur.",
            fix="Please send the original drawing, or a bitmap of at least {wanted}; enlarging this one does not help.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/enlarged-bitmap",
            check="resolution",
            title="Bitmaps not enlarged before they were sent",
            measure=resolution.scaled_up,
            maximum="1.5 ratio",
            notes_only=True,
            says="Before it was sent, {what} was enlarged in the ratio {measured}.",
            why="Enlarging adds pixels but no detail; we judge the detail that is really there.",
            fix="If there is a finer original, please send that.",
            source="our default",
        ),
    )


def picture_resolution(method: str) -> Rules:
    """Photographs and other pictures with continuous tone."""
    return (
        Rule(
            id=f"{method}/picture-resolution",
            check="resolution",
            title="Pictures fine enough",
            measure=resolution.pictures,
            minimum="150 ppi",
            wanted_minimum="300 ppi",
            says="At the finished size {what} has a real resolution of {measured} (pixels per inch); it needs {limit}.",
            why="A coarser picture looks soft or blocky at reading distance.",
            fix="Please send a larger original with at least {wanted} at the finished size, or have the picture made smaller.",
            source="common practice",
        ),
    )


def flat_colour(method: str, *, must: bool, why: str, fix: str, unless: str = "") -> Rules:
    """No gradients, shadows or photographs."""
    return (
        Rule(
            id=f"{method}/gradients",
            check="gradient",
            title="Flat colours without gradients or photographs",
            measure=tone.continuous,
            maximum="0" if must else None,
            wanted_maximum=None if must else "0",
            unless=unless,
            says="The art fades or has shades in {measured:place|places}: a gradient, a soft shadow, dots or a photograph.",
            why=why,
            fix=fix,
            source="common practice",
        ),
    )


# ------------------------------------------------------------------------------------------------ reading it


def reading_distance(method: str, *, own: str | None = None, when: str = "", ask: bool = False) -> Rules:
    """Lettering that can be read at arm's length.

    Only noted where the method has a limit of its own for lettering; capitals under that `own` limit are left to it.
    """
    cap, lower = "2.0 mm", "1.4 mm"
    return (
        Rule(
            id=f"{method}/reading-capitals",
            check="lettering-height",
            title="Capitals readable at arm's length",
            measure=lettering.cap_or_equivalent,
            minimum=None if ask else cap,
            wanted_minimum=cap if ask else None,
            only_to=own,
            when=when,
            notes_only=not ask,
            says="In {what} capitals stand {measured} high; from {limit} on they are read at arm's length.",
            why="It can be made, but many people will have to hold it closer to read it.",
            fix="Enlarge the lettering or shorten the text if it is meant to be read at arm's length.",
            source="ISO 9241-3:1992",
        ),
        Rule(
            id=f"{method}/reading-lower-case",
            check="lettering-height",
            title="Small letters readable at arm's length",
            measure=lettering.x_height,
            minimum=None if ask else lower,
            wanted_minimum=lower if ask else None,
            when=when,
            notes_only=not ask,
            says="In {what} the small letters stand {measured} high; from {limit} on people read fluently.",
            why="Smaller letters slow every reader down at arm's length.",
            fix="Enlarge the lettering, or use fewer words.",
            source="Legge & Bigelow 2011, Journal of Vision 11(5):8",
        ),
    )


def lettering_recognised(method: str) -> Rules:
    """Lettering that our ruler cannot measure: a person looks.

    Thread stands or falls by the height of letters, so there we ask.  In print small lettering is a question at most, and
    ornaments are easily taken for writing: there it is noted.
    """
    return (
        Rule(
            id=f"{method}/lettering-recognised",
            check="lettering-height",
            title="All lettering could be measured",
            measure=lettering.unsure,
            wanted_maximum="0",
            notes_only=method != "embroidery",
            says="In {measured:place|places} there may be lettering, or an ornament much like it, that we could not measure: "
            "{what}.",
            why="In some scripts and drawn letters, heights cannot be told by a machine.",
            fix="We look at it by eye; please tell us if it is lettering that has to be read."
            if method == "embroidery"
            else "Nothing needs to be done unless it is lettering that has to be read; then please tell us.",
            source="our default",
        ),
    )


def stands_out(method: str) -> Rules:
    """Inks that can be told from the article they go on."""
    return (
        Rule(
            id=f"{method}/lettering-contrast",
            check="ground-contrast",
            title="Lettering that stands out from the article",
            measure=contrast.lettering,
            wanted_minimum="3.0 ratio",
            says="The contrast between {what} and what is behind it is only {measured}; easy reading needs {limit}.",
            why="Lettering so close in lightness to what is behind it is hard to read.",
            fix="Choose a lighter or darker colour, add an edge or a backing, or confirm that you want it as it is.",
            source="WCAG 2.1 (2018), success criterion 1.4.3, borrowed from screens",
        ),
        Rule(
            id=f"{method}/shape-contrast",
            check="ground-contrast",
            title="Shapes that stand out from the article",
            measure=contrast.shapes,
            wanted_minimum="1.5 ratio",
            says="The contrast between {what} and the article is only {measured}; we advise at least {limit}.",
            why="The two are about equally light or dark, so it stands out little, least of all in weak light.",
            fix="Change the colour, or confirm that a tone-on-tone effect is wanted.",
            source="our default",
        ),
        Rule(
            id=f"{method}/vanishing-colour",
            check="ground-contrast",
            title="No colour that vanishes on the article",
            measure=contrast.vanishing,
            minimum="1.1 ratio",
            says="The contrast between {what} and the article is {measured}; under {limit} the two look the same.",
            why="It would be made but nobody would see it.",
            fix="Change the colour, the colour of the article, or leave the part out.",
            source="our default",
        ),
    )


def no_background(method: str) -> Rules:
    """A box behind the art that would be produced with it."""
    return (
        Rule(
            id=f"{method}/background-box",
            check="background",
            title="No box behind the art",
            measure=ground.boxes,
            wanted_maximum="0",
            says="Behind the art there is {what}.",
            why="It would be produced with the art, as a rectangle on the article.",
            fix="Remove the box, or confirm that it belongs to the design.",
            source="common practice",
        ),
    )


def clean_cut_out(method: str) -> Rules:
    """A pale rim left when somebody cut a picture out of its background."""
    return (
        Rule(
            id=f"{method}/halo",
            check="background",
            title="No pale rim round a cut-out picture",
            measure=ground.halo,
            wanted_maximum="0",
            says="A pale, ragged rim is left round {measured:picture|pictures} that was cut out of a white background.",
            why="On a coloured article the rim shows as a light outline.",
            fix="Cut the picture out again with a clean edge, or send it with a transparent background.",
            source="common practice",
        ),
    )


def bleed(method: str) -> Rules:
    """Colour that runs past the cut."""
    return (
        Rule(
            id=f"{method}/bleed",
            check="bleed",
            title="Colour that runs past the cut",
            measure=cut.bleed,
            minimum="2 mm",
            scales="while it holds",  # more background is drawn; nobody enlarges art to gain bleed
            says="Colour runs only {measured} past the cut; it needs {limit}.",
            why="The knife drifts a little, and without spare colour a white sliver shows at the edge.",
            fix="Extend the background at least {wanted} past the cut on every side.",
            source="common practice",
        ),
    )
