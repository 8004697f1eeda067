"""What is met in one SVG on its way through the cleaner: facts to report, letters, spot colours, pictures, totals."""

from collections import Counter

from preflight.artwork import Fact

#: What is asked for whenever an SVG can't be used.
REMEDY = "Please export it again as a plain SVG or as PDF."


class Ledger:
    """What is met in one file and in the drawings placed in it.

    Attributes:
        notes: kind and text of each fact, and how often it was met.
        fonts: the families that live text asks for, in the order they were met.
        spot_names: "#rrggbb" to the name of the spot colour that the file gives it.
        pixel_sizes: (width, height) of each placed picture that is drawn.
        letters: of live text, each with how often it stands there.
        elements: how many elements, of all drawings together.
        pixels: how many pixels the placed pictures have together.
        bytes: of all drawings together, unpacked.
        bold: whether any live text is bold; likewise `slanted` (italic) and `mono` (a typewriter's even pitch).
    """

    def __init__(self) -> None:
        self.notes: Counter[tuple[str, str]] = Counter()
        self.fonts: dict[str, None] = {}
        self.spot_names: dict[str, str] = {}
        self.pixel_sizes: list[tuple[int, int]] = []
        self.letters: Counter[str] = Counter()
        self.elements = self.pixels = self.bytes = 0
        self.bold = self.slanted = self.mono = False

    def note(self, kind: str, text: str, count: int = 1) -> None:
        """Keep a fact; the same one is counted up."""
        self.notes[kind, text] += count

    def facts(self) -> tuple[Fact, ...]:
        """All facts, in the order they were met."""
        return tuple(Fact(kind, text, count=count) for (kind, text), count in self.notes.items())
