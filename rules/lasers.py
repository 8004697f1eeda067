"""What both lasers share: materials that must never be lasered, one tone, cautions.  Not a method of its own."""

from preflight.measure import materials, structure, tone
from preflight.rulebook import Rule
from rules import common

CAUTIONS = (
    "Laser radiation harms eyes and skin at once: keep covers and interlocks in place; if the machine must be open, wear eyewear "
    "made for that wavelength.",
    "Fumes are poisonous: use extraction with a filter, and laser no material that you cannot name.",
    "Never PVC or vinyl: it gives off hydrogen chloride, which harms people and destroys the machine.",
    "Fire: never leave a running laser unattended, and keep an extinguisher at hand.",
    "Follow the machine's handbook and the local rules; a trained laser-safety officer decides.",
)
SHOP_NOTES = (
    "Leave no hairlines in the art: some machines cut along lines thinner than about 0.18 mm instead of engraving them.",
    "On dark coatings a positive turns negative: turn faces, flags and stars round first.",
)


def materials_allowed(method: str) -> tuple[Rule, ...]:
    """Never, perhaps never, and unknown."""
    return (
        Rule(
            id=f"{method}/pvc",
            check="material",
            title="No PVC or vinyl",
            measure=materials.never_laser,
            maximum="0",
            when="pvc",
            says="This material must never be lasered: {what}.",
            why="PVC and vinyl give off hydrogen chloride and chlorine, which poison people and destroy the machine.",
            fix="Choose another material or another method.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/never-laser",
            check="material",
            title="No material that is dangerous under a laser",
            measure=materials.never_laser,
            maximum="0",
            unless="pvc",
            says="This material must never be lasered: {what}.",
            why="It gives off dangerous fumes or catches fire.",
            fix="Choose another material or another method.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/maybe-never-laser",
            check="material",
            title="No material that may be dangerous under a laser",
            measure=materials.maybe_laser,
            wanted_maximum="0",
            unless="never-laser",
            says="This may be a material that must not be lasered: {what}.",
            why="Coatings, imitation leather and many plastics can hold PVC or other substances that give off poisonous fumes.",
            fix="Please send the supplier's safety data sheet, or a statement that it is fit for lasers and free of PVC.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/unknown-material",
            check="material",
            title="A material we know",
            measure=materials.unknown,
            wanted_maximum="0",
            says="We do not know this material: {what}.",
            why="We may not laser a material that we cannot name.",
            fix="Please name the material in other words, or send its safety data sheet.",
            source="common practice",
        ),
    )


def outlines(method: str) -> tuple[Rule, ...]:
    """Outlines wanted; pixels fine enough."""
    return (
        *common.outlines_needed(
            method,
            must=False,
            why="The laser follows outlines exactly; pixels are engraved line by line and show steps.",
            photographs_too=False,
        ),
        *common.line_art_resolution(method),
        *common.picture_resolution(method),
    )


def tones(method: str) -> tuple[Rule, ...]:
    """One tone: shades become dots."""
    return (
        *common.flat_colour(
            method,
            must=False,
            why="Engraving is on or off, so shades are turned into dots that can be seen.",
            fix="Send the art in plain black and white, or confirm that visible dots are acceptable.",
        ),
        Rule(
            id=f"{method}/tints",
            check="gradient",
            title="Solid shapes instead of tints",
            measure=tone.tints,
            wanted_minimum="100 %",
            says="A tint of {measured} is used ({what}).",
            why="Engraving is on or off, so a tint is turned into dots that can be seen.",
            fix="Make it solid or leave it out, or confirm that visible dots are acceptable.",
            source="common practice",
        ),
        Rule(
            id=f"{method}/transparency",
            check="transparency",
            title="No live transparency",
            measure=structure.transparency,
            maximum="0",
            notes_only=True,
            says="The file has {measured:see-through object|see-through objects}.",
            why="What shows through is engraved as it looks in the picture, in one tone.",
            fix="Compare the picture in this report with your art; flatten the transparency if it differs.",
            source="our default",
        ),
    )
