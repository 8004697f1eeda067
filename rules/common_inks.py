"""Inks: spot colours that are mixed, and four-colour printing.  Rules that methods share.

Each function takes the method's id and gives back rules whose ids begin with it; see `rules/common.py`.
"""

from preflight.measure import inks, structure
from preflight.rulebook import Rule
from rules.common_look import line_art_resolution, picture_resolution

Rules = tuple[Rule, ...]


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
