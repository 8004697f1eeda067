"""QR and bar codes: rules that every method shares.

Each function takes the method's id and gives back rules whose ids begin with it; see `rules/common.py`.
"""

from preflight.measure import codes
from preflight.rulebook import Rule

Rules = tuple[Rule, ...]


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
            id=f"{method}/bar-red-light",
            check="code-legibility",
            title="Bars that a scanner's red light can see",
            measure=codes.bar_red_contrast,
            wanted_minimum="40 %",
            says="In the red light of a scanner, bars and ground of the bar code differ by only {measured}; it wants {limit}.",
            why="Scanners look in red light, in which red, orange and yellow are as light as white.",
            fix="Print the bars in black, dark blue or dark green on white, or try it with your own scanner.",
            source="ISO/IEC 15416:2016, from memory",
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
        Rule(
            id=f"{method}/other-codes",
            check="code-legibility",
            title="Codes of a kind we measure",
            measure=codes.only_named,
            wanted_maximum="0",
            says="The art holds {what}, a kind of code whose margin and contrast we cannot measure.",
            why="We measure QR and bar codes only; nobody has checked whether this one scans.",
            fix="Please try the code with the scanner that will read it, at the finished size, and tell us that it reads.",
            source="our default",
        ),
    )
