"""One line of lettering, live or found: what the rules on lettering are measured on."""

from dataclasses import dataclass

from preflight.artwork import Box
from preflight.quantity import plain

#: Scripts whose letters stand apart on a baseline with capitals and an x-height: the ruler is made for these.
RULED_SCRIPTS = frozenset({"latin", "greek", "cyrillic"})
#: From here on a found line is called lettering without reserve, and may fail a job.
CERTAIN = 0.85
#: Below this it is only "lettering-like": a person is asked, no height is judged.
LIKELY = 0.5


@dataclass(frozen=True, slots=True)
class LetterLine:
    """One line of lettering; lengths in mm at the produced size, None where the line has nothing of the kind.

    Attributes:
        shortest: height of the shortest letter that counts: punctuation, dots and accents do not.
        cap: height of the shortest capital; figures count like capitals.
        x_height: height of its lower-case letters without ascender or descender.
        stroke: nominal stroke width.
        counter: width of the smallest enclosed opening.
        box: the whole line; `small` the box of the shortest letter.
        text: what it says, as the file says it; "" when nobody read it.
        script: "latin", "greek", "cyrillic" ...; "joined" for connected writing; "" when it was not told.
        kind: "live", "straight", "arched" or "joined".
        letters: box of each letter that counts.
        knocked_out: left open in a solid, so that the ground shows.
        sure: 0 to 1 that it is lettering.
        margin: relative uncertainty of its heights; `least_margin` the same in mm, for pixels.
        note: one more sentence on how it was measured, "" when there is nothing to say.
    """

    shortest: float | None
    cap: float | None
    x_height: float | None
    stroke: float | None
    counter: float | None
    box: Box
    small: Box
    text: str = ""
    script: str = ""
    kind: str = "straight"
    live: bool = False
    knocked_out: bool = False
    serif: bool = False
    ink: int | None = None
    letters: tuple[Box, ...] = ()
    sure: float = 1.0
    margin: float = 0.0
    least_margin: float = 0.0
    note: str = ""

    @property
    def ruled(self) -> bool:
        """Can its heights be judged: is it lettering, in a script the ruler is made for?"""
        return self.sure >= LIKELY and self.kind != "joined" and self.script in RULED_SCRIPTS | {""}

    @property
    def cap_or_equivalent(self) -> float | None:
        """Height of its capitals, or that of the capitals that would go with its lower-case letters.

        0.74 is the median of x-height to capital height over 76 open fonts (computed).
        """
        if self.cap is not None:
            return self.cap
        lower = self.x_height if self.x_height is not None else self.shortest
        return None if lower is None else lower / 0.74

    @property
    def name(self) -> str:
        """The line as it is said inside a sentence."""
        if self.text:
            return f"the letters “{plain(self.text, 60)}”"
        return "the lettering" if self.sure >= CERTAIN else "what looks like lettering"

    def uncertainty(self, value: float) -> float:
        """How far a height measured on this line may be off, mm."""
        return max(self.margin * value, self.least_margin) if self.margin else 0.0
