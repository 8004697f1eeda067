"""Rules that several methods share, made once for each of them under its own name.

Every function here takes the method's id ("pad-print") and gives back rules whose ids begin with it.  A limit changed in
this file changes for all methods that use the function; to change it for one method only, use the shop file, or copy
the rule into the method's own file.

Here: what is asked of every file and every order.  Codes are in `common_codes.py`; pixels, shades, lettering and boxes in
`common_look.py`; inks in `common_inks.py`.  Methods use all of them by way of this file.
"""

from preflight.measure import extent, fonts, request, structure
from preflight.rulebook import Rule
from rules.common_codes import readable_codes
from rules.common_inks import distinct_inks, full_colour, ink_match, separations, white_prints
from rules.common_look import (
    bleed,
    clean_cut_out,
    flat_colour,
    lettering_recognised,
    line_art_resolution,
    no_background,
    outlines_needed,
    picture_resolution,
    reading_distance,
    stands_out,
)

__all__ = [
    "ask_ground", "ask_item", "ask_material", "ask_position", "ask_words", "bleed", "clean_cut_out", "distinct_inks",
    "every_job", "flat_colour", "full_colour", "ink_match", "lettering_recognised", "line_art_resolution",
    "no_background", "outlines_needed", "picture_resolution", "readable_codes", "reading_distance", "separations",
    "stands_out", "usual_area", "white_prints",
]  # fmt: skip

Rules = tuple[Rule, ...]

# ------------------------------------------------------------------------------------------------ the file


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
            id=f"{method}/further-channels",
            check="hidden-content",
            title="No inks in channels of their own",
            measure=structure.further_channels,
            wanted_maximum="0",
            says="The picture carries {measured:channel|channels} besides its colours, which we could not look at.",
            why="An ink kept in such a channel, a white or a spot colour, would be missing from the product.",
            fix="Please tell us if it is to be made; if so, send a PDF in which each ink is a spot colour.",
            source="common practice",
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
