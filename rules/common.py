"""Rules that several methods share, made once for each of them under its own name.

Every function here takes the method's id ("pad-print") and gives back rules whose ids begin with it.  A limit changed in
this file changes for all methods that use the function; to change it for one method only, use the shop file, or copy
the rule into the method's own file.
"""

from preflight.measure import (
    codes,
    contrast,
    cut,
    extent,
    fonts,
    ground,
    inks,
    lettering,
    request,
    resolution,
    structure,
    tone,
)
from preflight.rulebook import Rule

Rules = tuple[Rule, ...]


def every_job(method: str) -> Rules:
    """What is asked of every file and every order, whatever the method."""
    return (
        Rule(
            id=f"{method}/art-present",
            check="unreadable",
            title="Something to produce on the page",
            measure=extent.marks,
            minimum="1",
            says="There is nothing to see on this page.",
            why="A blank page cannot be produced.",
            fix="Please send the page or the file that holds the artwork.",
            source="our default",
        ),
        Rule(
            id=f"{method}/size-stated",
            check="order-details",
            title="Finished size stated",
            measure=request.no_size,
            wanted_maximum="0",
            says="The order does not say how wide or how high the art is to be made.",
            why="Until we know, we can only measure it at the size of the file, which may not be the size you want.",
            fix="Please tell us the finished width or the finished height in millimetres; one of them is enough.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/size-in-proportion",
            check="order-details",
            title="Ordered width and height fit the art",
            measure=request.proportions,
            wanted_maximum="0",
            says="The ordered width and height do not have the proportions of the art.",
            why="To make both we would have to stretch it; we have fitted it inside them instead.",
            fix="Please tell us which of the two holds, the width or the height.",
            source="our default",
        ),
        Rule(
            id=f"{method}/fonts-embedded",
            check="font",
            title="Lettering converted to outlines, or its fonts in the file",
            measure=fonts.not_embedded,
            maximum="0",
            says="The lettering is set in {what}, missing from the file.",
            why="Without its font your lettering is drawn in another typeface, with other shapes and other widths.",
            fix="Convert all lettering to outlines, or save the file again with its fonts embedded.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/hidden-layers",
            check="hidden-content",
            title="No hidden layers",
            measure=structure.hidden_layers,
            wanted_maximum="0",
            says="The file has {measured:hidden layer|hidden layers} with something on it.",
            why="What is hidden here may show when the file is opened elsewhere.",
            fix="Please confirm that what you see is what you want, or delete what is not needed.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/hidden-objects",
            check="hidden-content",
            title="No invisible objects",
            measure=structure.hidden_objects,
            maximum="0",
            notes_only=True,
            says="The file holds {measured:object|objects} that cannot be seen, off the page or drawn invisibly.",
            why="They are not produced.",
            fix="Nothing needs to be done if none of it is wanted.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/extra-pages",
            check="hidden-content",
            title="One page, or the page named",
            measure=structure.extra_pages,
            wanted_maximum="0",
            unless="page-stated",
            says="The file has {measured:more page|more pages} besides the one we checked.",
            why="Only one page was checked and would be produced.",
            fix="Please tell us which page is to be made, or order each page as a job of its own.",
            source="our default",
        ),
        Rule(
            id=f"{method}/annotations",
            check="hidden-content",
            title="No comments on the page",
            measure=structure.annotations,
            wanted_maximum="0",
            says="The page carries {measured:comment or form field|comments or form fields}.",
            why="They are not part of the art and are not produced; they may hold a wish that we should know.",
            fix="Please write to us what they say, and send the art without them.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/drawn-alike",
            check="rendering",
            title="The file looks the same in two drawing programs",
            measure=structure.rendering,
            wanted_maximum="0",
            says="Two drawing programs show this file differently in {measured:place|places}.",
            why="We cannot tell which of the two pictures you see on your screen.",
            fix="Please compare the picture in this report with yours; if they differ, send the file saved in another way.",
            source="our default",
        ),
        Rule(
            id=f"{method}/read-in-full",
            check="rendering",
            title="The whole file could be read",
            measure=structure.unread,
            wanted_maximum="0",
            says="Not all of the file could be read as it was written: {what}.",
            why="Something may be missing, or look other than you made it.",
            fix="Please compare the picture in this report with your art; if something is missing, save the file again.",
            source="our default",
        ),
        *readable_codes(method),
    )


def readable_codes(method: str) -> Rules:
    """QR and bar codes that a telephone can read."""
    return (
        Rule(
            id=f"{method}/code-module",
            check="code-legibility",
            title="Squares of a code large enough to scan",
            measure=codes.module_size,
            minimum="0.4 mm",
            says="The smallest square or bar of the code is {measured} wide; a telephone needs {limit}.",
            why="A camera cannot tell smaller squares apart, so the code would not scan.",
            fix="Enlarge the code until its squares are at least {wanted} wide, or shorten the link it holds.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/code-margin",
            check="code-legibility",
            title="Clear margin round a code",
            measure=codes.quiet_zone,
            minimum="4 modules",
            says="The clear margin round the code is {measured} wide, a module being one small square of it; it needs {limit}.",
            why="Without an empty margin a telephone does not find the code.",
            fix="Leave an empty margin of at least {wanted} on every side.",
            source="ISO/IEC 18004:2015, from memory",
        ),
        Rule(
            id=f"{method}/bar-width",
            check="code-legibility",
            title="Bars of a bar code wide enough to scan",
            measure=codes.bar_module_size,
            wanted_minimum="0.26 mm",  # four fifths of the usual retail size
            says="The narrowest bar of the bar code is {measured} wide; a scanner wants {limit}.",
            why="Scanners at a till do not tell narrower bars apart.",
            fix="Enlarge the bar code until its narrowest bar is at least {wanted} wide, or try it with your own scanner.",
            source="from memory",
        ),
        Rule(
            id=f"{method}/bar-margin",
            check="code-legibility",
            title="Clear margin beside a bar code",
            measure=codes.bar_quiet_zone,
            wanted_minimum="90 %",
            says="The clear margin beside the bar code is only {measured} of what it should be; a scanner wants {limit}.",
            why="Without an empty margin on both sides a scanner does not find where the code begins and ends.",
            fix="Leave the margin the kind of bar code asks for, about ten times its narrowest bar on either side.",
            source="from memory",
        ),
        Rule(
            id=f"{method}/code-inverse",
            check="code-legibility",
            title="Codes dark on light",
            measure=codes.inverse,
            wanted_maximum="0",
            says="{measured:code stands|codes stand} light on a dark ground.",
            why="Many telephones and most scanners read only dark on light.",
            fix="Put the code dark on a light box, or try it with your own telephone and tell us that it reads.",
            source="from memory",
        ),
        Rule(
            id=f"{method}/code-contrast",
            check="code-legibility",
            title="A code that stands out from what is behind it",
            measure=codes.contrast,
            wanted_minimum="3 ratio",
            says="The contrast of the code is {measured}; we advise at least {limit}.",
            why="In weak light a telephone does not tell so faint a code from what is behind it.",
            fix="Print the code dark on light, or accept that it may not scan everywhere.",
            source="our default",
        ),
        Rule(
            id=f"{method}/code-reads",
            check="code-legibility",
            title="Codes that can be read",
            measure=codes.unreadable,
            wanted_maximum="0",
            says="We could not read {measured:code|codes} in the art.",
            why="It may be damaged, turned into its negative or drawn with altered squares.",
            fix="Please try the code with your own telephone at the finished size, and tell us what it should open.",
            source="our default",
        ),
    )


# ------------------------------------------------------------------------------------------------ the order


def ask_ground(method: str, why: str) -> Rules:
    """Ask for the article's colour."""
    return (
        Rule(
            id=f"{method}/ground-stated",
            check="order-details",
            title="Colour of the article stated",
            measure=request.no_ground,
            wanted_maximum="0",
            unless="clear",
            says="The order does not say what colour the article is; we have assumed white.",
            why=why,
            fix="Please tell us the colour of the article.",
            source="common practice",
        ),
    )


def ask_item(method: str, why: str) -> Rules:
    """Ask which article it is; and about words we do not know."""
    return (
        Rule(
            id=f"{method}/article-stated",
            check="order-details",
            title="Article stated",
            measure=request.no_item,
            wanted_maximum="0",
            says="The order does not say which article is decorated.",
            why=why,
            fix="Please tell us the article.",
            source="common practice",
        ),
        *ask_words(method),
    )


def ask_words(method: str) -> Rules:
    """Ask about words for article and material that nobody has taught us."""
    return (
        Rule(
            id=f"{method}/words-understood",
            check="order-details",
            title="Article and material understood",
            measure=request.unknown_words,
            wanted_maximum="0",
            says="We do not know what {what} means for the work.",
            why="Cloth, metal, wood and plastic have different limits, and some materials must not be used at all.",
            fix="Please describe the article and its material in other words, or send us its data sheet.",
            source="our default",
        ),
    )


def ask_material(method: str, why: str) -> Rules:
    """Ask what the article is made of."""
    return (
        Rule(
            id=f"{method}/material-stated",
            check="order-details",
            title="Material stated",
            measure=request.no_material,
            wanted_maximum="0",
            unless="substance-known",
            says="The order does not say what the article is made of.",
            why=why,
            fix="Please tell us the material, and its coating if it has one.",
            source="common practice",
        ),
    )


def ask_position(method: str) -> Rules:
    """Ask where on a garment the decoration goes; other articles have one usual place."""
    return (
        Rule(
            id=f"{method}/position-stated",
            check="order-details",
            title="Place on the garment stated",
            measure=request.no_position,
            wanted_maximum="0",
            when="garment",
            says="The order does not say where on the garment the art goes.",
            why="Chest, back and sleeve allow different sizes.",
            fix="Please tell us the place, such as left chest, sleeve or full back.",
            source="common practice",
        ),
    )


def usual_area(method: str, unless: str = "") -> Rules:
    """Larger than is usual on this article: asks, never fails."""
    return (
        Rule(
            id=f"{method}/usual-area",
            check="art-size",
            title="No larger than usual on this article",
            measure=extent.area_used,
            wanted_maximum="100 %",
            unless=unless,
            says="The art is larger than {what}: it takes up {measured} of its width or height.",
            why="It may run over seams, edges or curves.",
            fix="Please confirm the size and the place, or make the art smaller.",
            source="common practice",
        ),
    )


# ------------------------------------------------------------------------------------------------ bitmaps and tone


def outlines_needed(method: str, *, must: bool, why: str) -> Rules:
    """Art drawn as outlines; a bitmap fails or asks."""
    return (
        Rule(
            id=f"{method}/outlines",
            check="vector-required",
            title="Art drawn as outlines",
            measure=structure.bitmap,
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
    """Lettering that our ruler cannot measure: a person looks."""
    return (
        Rule(
            id=f"{method}/lettering-recognised",
            check="lettering-height",
            title="All lettering could be measured",
            measure=lettering.unsure,
            wanted_maximum="0",
            says="In {measured:place|places} there may be lettering that we could not measure: {what}.",
            why="In some scripts and drawn letters, heights cannot be told by a machine.",
            fix="We look at it by eye; please tell us if it is lettering that has to be read.",
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


# ------------------------------------------------------------------------------------------------ inks


def separations(method: str, colour_match: str) -> Rules:
    """Spot colours: each ink is mixed and printed by itself."""
    return (
        Rule(
            id=f"{method}/transparency",
            check="transparency",
            title="No live transparency",
            measure=structure.transparency,
            wanted_maximum="0",
            says="The file has {measured:see-through object|see-through objects}.",
            why="Where colours show through each other they cannot be parted into single inks without a guess.",
            fix="Flatten the transparency into solid shapes, each in one colour, or confirm the picture in this report.",
            source="common practice",
        ),
        *white_prints(method),
        Rule(
            id=f"{method}/overprint",
            check="overprint",
            title="No colour printed over another by mistake",
            measure=structure.overprint,
            wanted_maximum="0",
            says="{measured:coloured object is|coloured objects are} set to print over other colours.",
            why="The colours mix where they overlap, so the print looks different from the screen.",
            fix="Switch overprinting off for these objects, or confirm that the colours are meant to mix.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/registration-colour",
            check="spot-colour",
            title="No art in the colour of register marks",
            measure=inks.registration_colour,
            maximum="0",
            says="{measured:object is|objects are} set in the colour kept for register marks.",
            why="That colour is put on every plate, so it would be printed in every ink.",
            fix="Give these objects one of the inks of the design.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/named-inks",
            check="spot-colour",
            title="Inks named",
            measure=inks.unnamed,
            wanted_maximum="0",
            unless="inks-named",
            says="The file gives no name or number to mix ink by for {what}.",
            why="Colours on a screen are only approximate; ink is mixed to a named reference.",
            fix="Please give us a reference for each ink, or send a printed sample to match.",
            source="common practice",
        ),
        *distinct_inks(method),
        *ink_match(method, colour_match),
    )


def white_prints(method: str) -> Rules:
    """White objects set to overprint vanish."""
    return (
        Rule(
            id=f"{method}/white-overprint",
            check="overprint",
            title="No white that vanishes in print",
            measure=structure.white_overprint,
            maximum="0",
            says="{measured:white object is|white objects are} set to overprint.",
            why="White that overprints is not printed: what you see in white on the screen disappears.",
            fix="Switch overprinting off for white objects.",
            source="common practice",
        ),
    )


def distinct_inks(method: str, each: str = "Each colour costs a screen or a plate of its own") -> Rules:
    """Two inks so alike that one would do."""
    return (
        Rule(
            id=f"{method}/alike-colours",
            check="colour-count",
            title="Colours that can be told apart",
            measure=inks.too_close,
            wanted_minimum="5 dE00",
            says="Two colours differ by only {measured} ({what}); under {limit} of colour difference most people see one.",
            why=f"{each}, and nobody would see the difference.",
            fix="Make them one colour, or move them further apart.",
            source="our default",
        ),
    )


def ink_match(method: str, limit: str, source: str = "ISO 12647-2:2013") -> Rules:
    """Colours against the shop's chart, and against what the client named."""
    return (
        Rule(
            id=f"{method}/chart-match",
            check="colour-match",
            title="Colours near the chart",
            measure=inks.unmatched,
            wanted_maximum=limit,
            says="{what} shows a colour difference of {measured}; up to {limit} is a close match.",
            why="The produced colour would visibly differ from the colour in the file.",
            fix="Please approve the nearest colour of the chart, or agree a sample made on the real article.",
            source=source,
        ),
        Rule(
            id=f"{method}/named-colours",
            check="colour-match",
            title="Colours as named in the order",
            measure=inks.named_distance,
            wanted_maximum=limit,
            says="The order names {what} with a colour difference of {measured}; up to {limit} is a close match.",
            why="We do not know which of the two to follow, the order or the file.",
            fix="Please tell us which holds: the colour named in the order or the one in the file.",
            source=source,
        ),
    )


def full_colour(method: str) -> Rules:
    """Methods that print any picture in process colours, like a desktop printer."""
    return (
        *line_art_resolution(method),
        *picture_resolution(method),
        *white_prints(method),
        Rule(
            id=f"{method}/overprint",
            check="overprint",
            title="No colour printed over another by mistake",
            measure=structure.overprint,
            wanted_maximum="0",
            says="{measured:coloured object is|coloured objects are} set to print over other colours.",
            why="The colours mix where they overlap, so the print looks different from the screen.",
            fix="Switch overprinting off for these objects, or confirm that the colours are meant to mix.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/registration-colour",
            check="spot-colour",
            title="No art in the colour of register marks",
            measure=inks.registration_colour,
            wanted_maximum="0",
            says="{measured:object is|objects are} set in the colour kept for register marks.",
            why="It prints with all inks at once, too heavy to dry well.",
            fix="Use plain black instead.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/special-inks",
            check="spot-colour",
            title="Colours that four-colour printing can make",
            measure=inks.metallic,
            wanted_maximum="0 colours",
            says="By its name {what} should be metallic, fluorescent or varnish, which four-colour printing cannot make.",
            why="In four-colour printing metal looks grey or brown, and fluorescent colours look dull.",
            fix="Please confirm that a flat printed colour will do, or choose another method for it.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/named-colours",
            check="colour-match",
            title="Colours as named in the order",
            measure=inks.named_distance,
            wanted_maximum="5 dE00",
            says="The order names {what} with a colour difference of {measured}; up to {limit} would pass.",
            why="The file is printed as it is, so the named colour would be missed.",
            fix="Please tell us which holds: the colour named in the order or the one in the file.",
            source="our default",
        ),
    )
