"""The limits of the trade as the workshop's handbook lists them, one a row, and the rule that holds each.

A row: method | limit | value and unit | rule and tier.  "= x" where the rule counts otherwise than the row, and after
the colon why the tier differs from the handbook's, or why no rule can hold it and it is a note for the shop instead.
"*/" stands for every method that has the rule.  Sources: as in the rules' own files (published ones named there, else
common practice or from memory).
"""

import re
from typing import NamedTuple

from preflight.quantity import parse


class Row(NamedTuple):
    """One limit: what the handbook says, and the rule (or the reason why there is none)."""

    method: str
    limit: str
    value: float
    rule: str
    tier: str
    reason: str


def _row(line: str) -> Row:
    method, limit, value, rule = (part.strip() for part in line.split(" | "))
    number, _, unit = value.partition(" ")
    held, _, reason = rule.partition(": ")
    if held == "note":
        return Row(method, limit, float(number), "", "", reason)
    held, _, instead = held.partition(" = ")
    name, tier = held.split()
    if instead:
        return Row(method, limit, parse(instead).value, name, tier, reason)
    in_base = parse(f"{number} cm2").value if unit == "cm2" else float(number)
    return Row(method, limit, in_base, name, tier, reason)


TABLE = """
any | artwork true size | 0 mm unknown | */size-stated query: nothing can be measured, but the size only has to be said
any | line art bitmap resolution | 600 ppi at size | */line-art-resolution query
any | line art bitmap resolution floor | 300 ppi at size | */line-art-resolution must
any | photo resolution | 300 ppi at size | */picture-resolution query
any | photo resolution floor | 150 ppi at size | */picture-resolution must
any | text not outlined | 0 live fonts not embedded | */fonts-embedded must
any | ink to ground contrast for text | 3.0 ratio | */lettering-contrast query
any | ink to ground contrast for shapes | 1.5 ratio | */shape-contrast query
any | ink to ground contrast floor | 1.1 ratio | */vanishing-colour must
any | capital height for reading at 400 mm | 2.0 mm | */reading-capitals query
any | x-height for fluent reading at 400 mm | 1.4 mm | */reading-lower-case query
any | QR module size | 0.4 mm | */code-module must
any | QR quiet zone | 4 modules | */code-margin must
any | spot colour match to agreed reference | 3.5 dE00 | screen-print/chart-match query
any | distinct colours too close | 5 dE00 | screen-print/alike-colours query
screen-textile | printed line | 0.35 mm | screen-print/line-width-cloth query
screen-textile | printed line floor | 0.18 mm | screen-print/line-width-cloth must
screen-textile | unprinted gap | 0.5 mm | screen-print/gap-width-cloth query
screen-textile | unprinted gap floor | 0.35 mm | screen-print/gap-width-cloth must
screen-textile | capital height, printed | 2.0 mm | screen-print/capital-height-cloth query
screen-textile | capital height, knocked out | 3.0 mm | screen-print/capital-height-knocked-out query
screen-textile | spot colours, automatic press | 8 colours | screen-print/colours query
screen-textile | spot colours, manual press | 4 colours | screen-print/colours-by-hand query
screen-textile | trap between touching colours | 0.35 mm | screen-print/trap-cloth query
screen-textile | underbase choke | 0.35 mm | note: the workshop makes the white
screen-textile | line needing underbase on dark goods | 0.9 mm | screen-print/line-over-white query
screen-textile | white underbase on dark goods | 1 layer | screen-print/white-base query = 0: the client only has to agree
screen-textile | largest solid | 100 cm2 | screen-print/largest-solid query
screen-textile | print size, adult front width | 305 mm | screen-print/print-width query
screen-textile | seam, zip or pocket under print | 0 crossings | note: no file shows the seams
screen-textile | padded or lined goods, colours | 1 colours | screen-print/colours-on-padding must
screen-flat | printed line | 0.2 mm | screen-print/line-width-flat-goods query
screen-flat | printed line floor | 0.15 mm | screen-print/line-width-flat-goods must
screen-flat | unprinted gap | 0.3 mm | screen-print/gap-width-flat-goods query
screen-flat | unprinted gap floor | 0.2 mm | screen-print/gap-width-flat-goods must
screen-flat | capital height | 1.5 mm | screen-print/capital-height-flat-goods query
screen-flat | trap between touching colours | 0.2 mm | screen-print/trap-flat-goods query
screen-flat | registration on made-up articles | 0.5 mm | screen-print/gap-between-colours query
screen-halftone | ruling on textiles | 55 lpi | screen-print/halftone-ruling-cloth query
screen-halftone | ruling on flat goods | 85 lpi | screen-print/halftone-ruling-flat-goods query
screen-halftone | mesh to ruling ratio | 4 ratio | note: the workshop chooses the mesh
screen-halftone | image resolution to ruling | 1.5 x ruling | note: 1.5 x 85 is less than any picture needs
screen-halftone | lightest tint | 10 % | screen-print/lightest-tint query
screen-halftone | darkest tint | 85 % | screen-print/darkest-tint query
screen-halftone | dot gain allowance at 50 % | 20 % points | note: the workshop applies its curve
screen-halftone | four-colour print on dark goods without white | 0 jobs | screen-print/tones-on-dark query: can be mended
pad | printed line | 0.2 mm | pad-print/line-width query
pad | printed line floor | 0.1 mm | pad-print/line-width must
pad | unprinted gap | 0.4 mm | pad-print/gap-width query
pad | unprinted gap floor | 0.2 mm | pad-print/gap-width must
pad | capital height | 1.2 mm | pad-print/capital-height query
pad | print width | 60 mm | pad-print/long-side must
pad | print height | 40 mm | pad-print/short-side must
pad | spot colours | 5 colours | pad-print/colours must
pad | gradients and photos | 0 tints | pad-print/gradients must
pad | plate etch depth | 25 um | note: a setting of the plate
pad | largest unscreened solid, smallest dimension | 10 mm | pad-print/widest-solid query
pad | long lines angle to blade | 5 degrees | note: a setting of the plate
pad | motif to plate edge | 25 mm | note: a setting of the plate
pad | trap between touching colours | 0.2 mm | pad-print/trap query
pad | light ink on dark article | 2 hits | pad-print/white-base query = 0: counted as inks that need a second hit
pad | textile article | 0 jobs | pad-print/cloth must
laser-metal | engraved line | 0.15 mm | yag-laser/line-width query
laser-metal | engraved line floor | 0.1 mm | yag-laser/line-width must
laser-metal | gap | 0.2 mm | yag-laser/gap-width query
laser-metal | capital height | 1.5 mm | yag-laser/capital-height query
laser-metal | colours | 1 colours | yag-laser/colours must
laser-metal | grey tones | 0 tints | yag-laser/gradients query
laser-organic | engraved line | 0.25 mm | co2-laser/line-width query
laser-organic | engraved line floor | 0.15 mm | co2-laser/line-width must
laser-organic | gap | 0.4 mm | co2-laser/gap-width query
laser-organic | gap floor | 0.2 mm | co2-laser/gap-width must
laser-organic | capital height | 2.0 mm | co2-laser/capital-height query
laser-organic | raster resolution | 300 ppi at size | co2-laser/picture-resolution query
laser-organic | deep or paint-filled engraving line | 1.0 mm | co2-laser/deep-line-width query
laser-organic | cut-through bridge | 1.0 mm | co2-laser/bridge-width query
laser-any | PVC or vinyl | 0 articles | co2-laser/pvc must
laser-any | other never-laser materials | 0 articles | co2-laser/never-laser must
laser-any | unknown material | 0 articles | co2-laser/unknown-material query
sticker | bleed | 2 mm | sticker/bleed must
sticker | safe margin | 2 mm | sticker/safe-margin must
sticker | border width | 3 mm | sticker/border-width query
sticker | cut corner radius | 1 mm | sticker/corner-radius query
sticker | cut path closed vector | 1 path | sticker/cut-outline query: the client only has to agree
sticker | gap between stickers | 2 mm | note: the workshop lays out the sheet
sticker | peninsula or slot width | 2 mm | sticker/narrowest-part query
sticker | picture resolution | 300 ppi at size | sticker/picture-resolution query
sticker | printed line | 0.18 mm | sticker/line-width must
sticker | reversed line | 0.35 mm | sticker/gap-width query
sticker | text size | 5 pt | sticker/capital-height query = 3.5 pt: capitals are 0.70 of the point size
sticker | white layer register on clear film | 0.5 mm | note: the workshop makes the white
dome | smallest side | 8 mm | dome/smallest-side must
dome | corner radius | 2 mm | dome/corner-radius query
dome | corner radius floor | 1 mm | dome/corner-radius must
dome | narrowest part | 4 mm | dome/narrowest-part query
dome | border clear of lettering | 1.5 mm | dome/safe-margin query
dome | holes or islands | 0 count | dome/holes must
dome | article surface | 1 flat and smooth | dome/flat-article must = 0: counted as words for round or uneven articles
dome | dome height | 1.8 mm | note: a fact of the resin, checked on the article
dome | porous base | 0 layers | note: the workshop chooses the film
heat-transfer | printed line (film with adhesive powder) | 0.5 mm | heat-transfer/line-width query
heat-transfer | printed line floor | 0.35 mm | heat-transfer/line-width must
heat-transfer | unprinted gap | 0.7 mm | heat-transfer/gap-width query
heat-transfer | contour-cut feature width | 1.0 mm | heat-transfer/cut-part-width must
heat-transfer | contour-cut lettering height | 5 mm | heat-transfer/cut-letter-height query
heat-transfer | separate pieces to weed | 30 pieces | heat-transfer/cut-pieces query
heat-transfer | soft edges or see-through | 0 areas | heat-transfer/soft-edges must
heat-transfer | text size | 6 pt | heat-transfer/capital-height query = 4.2 pt: capitals are 0.70 of the point size
heat-transfer | press temperature of fabric | 155 deg C for 15 s | note: a setting of the press
heat-transfer | heat-tender fabric | 0 articles | heat-transfer/heat-tender must
heat-transfer | sublimation-dyed polyester | 0 articles | heat-transfer/dye-bleed query
heat-transfer | seam, zip or button under print | 0 crossings | note: no file shows the seams
uv-direct | line | 0.25 mm | uv-print/line-width query
uv-direct | line floor | 0.15 mm | uv-print/line-width must
uv-direct | gap in white or dark | 0.35 mm | uv-print/gap-width query
uv-direct | text size | 6 pt | uv-print/capital-height query = 4.2 pt: capitals are 0.70 of the point size
uv-direct | picture resolution | 300 ppi at size | uv-print/picture-resolution query
uv-direct | height change inside the print | 3 mm | uv-print/height-change must
uv-direct | height change comfort | 1.5 mm | uv-print/height-change query
uv-direct | white under colours on dark or clear goods | 1 layer | uv-print/white-base query = 0: the client only has to agree
uv-direct | white pull-in | 0.1 mm | note: the workshop makes the white
uv-direct | untreated low-energy plastic | 0 articles | uv-print/low-energy-plastic query
deboss | block line | 0.5 mm | deboss/line-width query
deboss | block line floor | 0.3 mm | deboss/line-width must
deboss | gap | 0.8 mm | deboss/gap-width query
deboss | gap floor | 0.4 mm | deboss/gap-width must
deboss | capital height | 2.5 mm | deboss/capital-height query
deboss | levels | 1 level | deboss/levels must
deboss | article surface | 1 flat | deboss/flat-article must = 0: counted as words for round or uneven articles
deboss | impression depth | 0.5 mm | note: a setting of the press
deboss | large solid | 400 mm2 | deboss/large-solid query
deboss | tints or gradients | 0 tints | deboss/gradients must
foil | line | 0.35 mm | foil/line-width query
foil | line floor | 0.2 mm | foil/line-width must
foil | gap | 0.5 mm | foil/gap-width query
foil | gap floor | 0.4 mm | foil/gap-width must
foil | text size | 7 pt | foil/capital-height query = 4.9 pt: capitals are 0.70 of the point size
foil | foil colours per pass | 1 foil | foil/foils must
foil | foil to print or second foil register | 0.5 mm | foil/gap-between-foils query
foil | fine detail with large solid in one block | 0 mixes | foil/fine-beside-solid query
foil | large solid | 600 mm2 | foil/large-solid query
foil | halftone or tint | 0 tints | foil/gradients must
foil | distance from edge or fold | 2 mm | note: no file shows the article's edge
embroidery | capital letter height | 5.0 mm | embroidery/capital-height must
embroidery | lower-case (x) height | 4.0 mm | embroidery/x-height must
embroidery | lower-case (x) height, comfortable | 5.0 mm | embroidery/x-height query
embroidery | serif letter height | 8.0 mm | embroidery/serif-height query
embroidery | stroke of a letter or satin line | 1.0 mm | embroidery/satin-line query
embroidery | stroke below which only a single thread line is possible | 0.8 mm | embroidery/line-width query
embroidery | single thread line | 0.4 mm | embroidery/line-width must
embroidery | satin column width before fill | 7.0 mm | embroidery/satin-width query: only noted, a wider column is simply filled
embroidery | gap between stitched parts | 1.0 mm | embroidery/gap-width query
embroidery | gap floor | 0.5 mm | embroidery/gap-width must
embroidery | opening inside a letter | 0.9 mm | embroidery/letter-opening query
embroidery | smallest stitched area | 1.0 mm across | embroidery/smallest-part must
embroidery | gradients, photos, shading | 0 areas | embroidery/gradients must
embroidery | cap front height | 54 mm | embroidery/cap-height must
embroidery | cap front width | 110 mm | embroidery/cap-width query
embroidery | left chest size | 100 mm | embroidery/left-chest-size query
embroidery | thread colours | 12 colours | embroidery/thread-colours query
embroidery | stitches, light cloth | 10000 stitches | embroidery/stitches-light-cloth query
embroidery | stitches per piece | 15000 stitches | embroidery/stitches query
embroidery | pull allowance added to columns | 0.2 mm per side | note: the digitiser sets it
embroidery | overlap between colours | 0.5 mm | note: the digitiser sets it
embroidery | thin shirt cloth | 150 g/m2 | embroidery/cloth-weight query
embroidery | leather, padded or waterproof article | 0 articles | embroidery/needle-damage query
embroidery | thread to reference colour | 6 dE00 | embroidery/chart-match query
"""
ROWS = [_row(line) for line in TABLE.strip().splitlines() if not re.match(r"\s*$", line)]
