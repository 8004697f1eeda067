"""From paints to inks: which colours of a page are one ink, which are paper, which is a cut outline.

An ink is one flat colour that needs its own screen, plate, thread or foil.  Named spot colours are inks by name; other
paints are one ink when they are visibly the same.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from preflight import colour
from preflight.artwork import Ink, Lab
from preflight.load.paints import Paint
from preflight.quantity import plain

#: CIEDE2000 up to which two paints are the same colour to the eye: under the 3.04 called just noticeable by 75 % of
#: observers (Univ. of Zagreb dissertation grf:3584), so that what anyone could tell apart stays apart.
SAME = 2.5
#: The same for a colour read off a lossy bitmap.
SAME_LOSSY = 5.0
#: Blacks are one ink, rich or plain: darker than this L*, greyer than this chroma (common practice).
BLACK_LIGHTNESS, BLACK_CHROMA = 24.0, 9.0
#: Generic words that name a cut outline in a spot colour's or layer's name (common practice).
CUT_WORDS = ("cut", "cuts", "cutting", "cutline", "cutcontour", "diecut", "dieline", "kisscut", "knife")
#: Words that do so only in each other's company: “Contour”, “die line”, but not “Die Flut” or “Kiss me”.
CUT_COMPANY = frozenset("die kiss contour outline line lines path shape through edge layer ebene".split())
CUT_KERNEL = frozenset({"die", "kiss", "contour"})
_WORD = re.compile(r"[a-z]+")
PROCESS_NAMES = frozenset({"Cyan", "Magenta", "Yellow", "Black"})  # ISO 32000-2, 8.6.6.4
_KINDS = {"Gray": "grey", "RGB": "rgb", "CMYK": "process", "Lab": "process", "Separation": "process"}


def names_a_cut(name: str, words: Sequence[str] = CUT_WORDS) -> bool:
    """Does a spot colour's or layer's name say that it is a cut outline?"""
    said = set(_WORD.findall(name.lower()))
    return bool(said & set(words)) or (bool(said & CUT_KERNEL) and said <= CUT_COMPANY)


@dataclass(frozen=True, slots=True)
class Request:
    """One colour that is to get an ink: how it looks, how much of it there is, and what it is called.

    `lab` (D50) is out of the file's own space, where that is wider than sRGB may be.
    """

    rgb: tuple[int, int, int]
    weight: float  # area, in any unit: large ones lend their colour to the ink
    spot: str = ""
    kind: str = "rgb"
    tint: float = 1.0
    lossy: bool = False
    lab: Lab | None = None

    @property
    def shown(self) -> Lab:
        """Lab of its look in sRGB."""
        return colour.lab_of(colour.hex_of(self.rgb))


@dataclass
class _Cluster:
    spot: str
    kind: str
    rgb: tuple[int, int, int]
    lab: Lab
    shown: Lab  # of its look in sRGB
    weight: float = 0.0
    tints: set[float] = field(default_factory=set)

    def to_compare(self, request: Request) -> tuple[Lab, Lab]:
        """Lab of both as they can be compared: by their looks in sRGB where that is all that one of them has."""
        if request.lab is None or self.lab == self.shown:
            return request.shown, self.shown
        return request.lab, self.lab

    def apart(self, request: Request) -> float:
        """CIEDE2000."""
        return colour.difference(*self.to_compare(request))


class Inking:
    """The inks of a set of colours."""

    def __init__(self, ground: str, paper: bool) -> None:
        self.ground = colour.lab_of(ground)
        self.paper = paper  # whatever has the colour of the ground is no ink
        self.clusters: list[_Cluster] = []
        self._known: dict[Request, int | None] = {}

    def is_paper(self, rgb: tuple[int, int, int], lossy: bool = False) -> bool:
        """Would this colour be left out because the article already has it?"""
        return self.paper and colour.difference(colour.lab_of(colour.hex_of(rgb)), self.ground) < (
            SAME_LOSSY if lossy else SAME
        )

    def add(self, requests: Sequence[Request]) -> None:
        """Take in colours, the larger ones first."""
        # of equal ones the first drawn: a set would give them in another order every time
        for request in sorted(dict.fromkeys(requests), key=lambda r: (not r.spot, r.lossy, -r.weight)):
            self._known[request] = self._place(request)

    def _place(self, request: Request) -> int | None:
        if request.spot:
            number = next((i for i, c in enumerate(self.clusters) if c.spot == request.spot), None)
            if number is None:
                number = self._new(request)
            if request.tint < 0.995:
                self.clusters[number].tints.add(round(request.tint, 3))
            self.clusters[number].weight += request.weight
            return number
        if self.is_paper(request.rgb, request.lossy):
            return None
        lab = request.lab or request.shown
        flat = [i for i, c in enumerate(self.clusters) if not c.spot or request.lossy]
        if flat:
            near = self._apart(request, flat)
            best = int(near.argmin())
            if near[best] < (SAME_LOSSY if request.lossy else SAME):
                self.clusters[flat[best]].weight += request.weight
                return flat[best]
        if _black(lab):
            for i in flat:
                if not self.clusters[i].spot and _black(self.clusters[i].lab):
                    self.clusters[i].weight += request.weight
                    return i
        number = self._new(request)
        self.clusters[number].weight += request.weight
        return number

    def _new(self, request: Request) -> int:
        lab = request.lab or request.shown
        self.clusters.append(_Cluster(request.spot, request.kind, request.rgb, lab, request.shown))
        return len(self.clusters) - 1

    def _apart(self, request: Request, numbers: Sequence[int]) -> np.ndarray:
        """CIEDE2000 of a colour from inks by their numbers."""
        clusters = [self.clusters[i] for i in numbers]
        if request.lab is None or all(c.lab == c.shown for c in clusters):
            return colour.differences(request.shown, np.array([c.shown for c in clusters]))
        return np.array([c.apart(request) for c in clusters])

    def ink_of(self, request: Request) -> int | None:
        """The number of a colour's ink; None when it is paper."""
        return self._known[request]

    def nearest(self, request: Request) -> int | None:
        """The ink that shows a colour which was not taken in, where one does: for what is read off a finished picture."""
        if not self.clusters or (not request.spot and self.is_paper(request.rgb)):
            return None
        far = colour.differences(request.shown, np.array([c.shown for c in self.clusters]))
        named = [i for i, c in enumerate(self.clusters) if request.spot and c.spot == request.spot]
        best = named[0] if named else int(far.argmin())
        return best if named or far[best] < SAME_LOSSY else None

    def inks(self) -> tuple[Ink, ...]:
        """The inks in the order of their numbers."""
        return tuple(
            Ink(
                number=number,
                name=plain(c.spot, 60)
                if c.spot
                else f"{colour.word(colour.hex_of(c.rgb))} {colour.hex_of(c.rgb)}",
                kind="spot" if c.spot else c.kind,  # type: ignore[arg-type]
                hex=colour.hex_of(c.rgb),
                lab=c.lab,
                tints=tuple(sorted(c.tints)),
            )
            for number, c in enumerate(self.clusters)
        )


def _black(lab: Lab) -> bool:
    return lab[0] < BLACK_LIGHTNESS and float(np.hypot(lab[1], lab[2])) < BLACK_CHROMA


def requests_of(paint: Paint, alpha: float, ground: tuple[int, int, int], weight: float) -> list[Request]:
    """The colours a paint asks for: one, or one a spot ink; none for a paint that leaves paper bare."""
    solids = paint.solids or (paint.solid,) * len(paint.spots)
    labs = paint.solid_labs or (paint.lab,) * len(paint.spots)
    spots = [
        (name, strength, solid, lab)
        for (name, strength), solid, lab in zip(paint.spots, solids, labs, strict=True)
        if name not in PROCESS_NAMES and name not in ("All", "None")
    ]
    if spots:
        return [
            Request(solid, weight, name, "spot", strength * alpha, lab=lab)
            for name, strength, solid, lab in spots
        ]
    rgb, lab = paint.rgb, paint.lab
    if alpha < 0.999:  # a see-through flat colour is another flat colour once it is printed
        rgb = tuple(round(c * alpha + g * (1 - alpha)) for c, g in zip(rgb, ground, strict=True))  # type: ignore[assignment]
        lab = None
    return [Request(rgb, weight, "", _KINDS[paint.space], lab=lab)]
