"""The open fonts of the labelled set for lettering, and what their own outlines say (fontTools).

They are installed by name at test set-up: Debian's font packages and npm packages (`install()`), in the folder named by
PREFLIGHT_TEST_MATERIAL or in the user's cache.  TUNE and UNSEEN share no family and no icon.
"""

import os
import subprocess
import unicodedata
from dataclasses import dataclass
from functools import cache
from pathlib import Path as File

import numpy as np
from fontTools.pens.basePen import BasePen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from preflight.artwork import Path


@dataclass(frozen=True)
class Face:
    """A font file of the set; `file` is a Debian file name or `fontsource-family weight`.

    `scripts`: L Latin, C Cyrillic, G Greek, A Arabic, J Japanese, H Chinese, K Korean.
    """

    file: str
    kind: str
    scripts: str = "L"
    capitals_only: bool = False


TUNE = [
    Face("Lato-Regular.ttf", "sans"),
    Face("Lato-Black.ttf", "sans"),
    Face("Lato-Light.ttf", "thin"),
    Face("montserrat 400", "sans", "LC"),
    Face("montserrat 800", "sans", "LC"),
    Face("source-sans-3 400", "sans", "LCG"),
    Face("fira-sans 500", "sans", "LCG"),
    Face("nunito 700", "rounded", "LC"),
    Face("barlow-condensed 600", "condensed"),
    Face("oswald 600", "condensed", "LC"),
    Face("URWGothic-Book.otf", "sans"),
    Face("NimbusSans-Bold.otf", "sans"),
    Face("LiberationSans-Regular.ttf", "sans", "LCG"),
    Face("DejaVuSans.ttf", "sans", "LCG"),
    Face("work-sans 600", "sans"),
    Face("bebas-neue 400", "condensed", "L", True),
    Face("josefin-sans 400", "thin"),
    Face("EBGaramond12-Regular.otf", "serif", "LCG"),
    Face("EBGaramond12-Italic.otf", "serif"),
    Face("playfair-display 700", "serif", "LC"),
    Face("bitter 500", "serif", "LC"),
    Face("NimbusRoman-Regular.otf", "serif"),
    Face("alegreya 500", "serif", "LCG"),
    Face("cinzel 600", "serif"),
    Face("literata 400", "serif", "LCG"),
    Face("C059-Roman.otf", "serif"),
    Face("courier-prime 700", "mono"),
    Face("DejaVuSansMono-Bold.ttf", "mono", "LCG"),
    Face("abril-fatface 400", "display"),
    Face("anton 400", "display"),
    Face("righteous 400", "display"),
    Face("fredoka 500", "rounded"),
    Face("bungee 400", "display", "L", True),
    Face("comic-neue 700", "hand"),
    Face("amatic-sc 700", "hand", "LC"),
    Face("open-sans 400", "sans", "LCG"),
    Face("open-sans 700", "sans", "LCG"),
    Face("Cabin-Bold.otf", "sans"),
    Face("Cabin-Regular.otf", "sans"),
    Face("Jura-Medium.otf", "thin", "LCG"),
    Face("Comfortaa-Bold.ttf", "rounded", "LCG"),
    Face("raleway 500", "sans", "LC"),
    Face("rubik 700", "sans", "LC"),
    Face("exo-2 500", "sans", "LC"),
    Face("advent-pro 400", "thin", "LCG"),
    Face("archivo-narrow 600", "condensed"),
    Face("dosis 500", "rounded"),
    Face("fjalla-one 400", "condensed"),
    Face("PTS75F.ttf", "sans", "LC"),
    Face("PTS55F.ttf", "sans", "LC"),
    Face("Vollkorn-Black.ttf", "serif", "LC"),
    Face("Vollkorn-Regular.ttf", "serif", "LC"),
    Face("OldStandard-Regular.ttf", "serif", "LCG"),
    Face("Quattrocento-Regular.otf", "serif"),
    Face("merriweather 700", "serif", "LC"),
    Face("noto-serif 400", "serif", "LCG"),
    Face("spectral 500", "serif", "LC"),
    Face("arvo 400", "serif"),
    Face("cormorant-garamond 600", "serif", "LC"),
    Face("bree-serif 400", "serif"),
    Face("PTF55F.ttf", "serif", "LC"),
    Face("P052-Roman.otf", "serif"),
    Face("URWBookman-Demi.otf", "serif"),
    Face("GFSDidot.otf", "serif", "G"),
    Face("NotoSansMono-Bold.ttf", "mono", "LCG"),
    Face("PTM55F.ttf", "mono", "LC"),
    Face("alfa-slab-one 400", "display"),
    Face("black-ops-one 400", "display"),
    Face("bangers 400", "display"),
    Face("caveat 700", "hand", "LC"),
    Face("unifrakturcook 700", "display"),
    Face("DancingScript-Bold.otf", "script"),
    Face("pacifico 400", "script", "LC"),
    Face("lobster.otf", "script"),
    Face("KaushanScript-Regular.otf", "script"),
    Face("great-vibes 400", "script"),
    Face("sacramento 400", "script"),
    Face("allura 400", "script"),
    Face("grand-hotel 400", "script"),
    Face("parisienne 400", "script"),
    Face("damion 400", "script"),
    Face("DejaVuSans-Bold.ttf", "arabic", "A"),
    Face("Amiri-Regular.ttf", "arabic", "A"),
    Face("tajawal 500", "arabic", "A"),
    Face("almarai 700", "arabic", "A"),
    Face("el-messiri 500", "arabic", "A"),
    Face("scheherazade-new 400", "arabic", "A"),
    Face("vazirmatn 600", "arabic", "A"),
    Face("noto-kufi-arabic 600", "arabic", "A"),
    Face("DroidSansFallbackFull.ttf", "cjk", "JH"),
    Face("wqy-microhei.ttc", "cjk", "JHK"),
    Face("kosugi-maru 400", "cjk", "J"),
    Face("shippori-mincho 600", "cjk", "J"),
    Face("zcool-xiaowei 400", "cjk", "H"),
    Face("nanum-myeongjo 700", "cjk", "K"),
    Face("inter 500", "sans", "LCG"),
    Face("roboto 400", "sans", "LCG"),
    Face("roboto 900", "sans", "LCG"),
    Face("ibm-plex-sans 600", "sans", "LCG"),
    Face("ubuntu 500", "sans", "LCG"),
    Face("overpass 800", "sans", "LC"),
    Face("figtree 600", "sans"),
    Face("outfit 500", "sans"),
    Face("urbanist 700", "sans"),
    Face("league-spartan 800", "sans"),
    Face("sora 600", "sans"),
    Face("maven-pro 500", "sans"),
    Face("oxygen 700", "sans"),
    Face("signika 600", "sans"),
    Face("catamaran 300", "thin"),
    Face("poiret-one 400", "thin", "LC"),
    Face("alumni-sans 600", "condensed", "LC"),
    Face("antonio 600", "condensed"),
    Face("league-gothic 400", "condensed"),
    Face("m-plus-rounded-1c 700", "rounded", "LCG"),
    Face("libre-baskerville 400", "serif"),
    Face("libre-caslon-text 400", "serif"),
    Face("crimson-pro 500", "serif"),
    Face("source-serif-4 600", "serif", "LCG"),
    Face("ibm-plex-serif 400", "serif", "LC"),
    Face("prata 400", "serif", "LC"),
    Face("dm-serif-display 400", "serif"),
    Face("tinos 400", "serif", "LCG"),
    Face("besley 600", "serif"),
    Face("rokkitt 600", "serif"),
    Face("sanchez 400", "serif"),
    Face("noto-serif-display 600", "serif", "LCG"),
    Face("stix-two-text 500", "serif", "LCG"),
    Face("volkhov 700", "serif"),
    Face("jetbrains-mono 500", "mono", "LCG"),
    Face("ibm-plex-mono 600", "mono", "LC"),
    Face("space-mono 700", "mono"),
    Face("lilita-one 400", "display"),
    Face("luckiest-guy 400", "display", "L", True),
    Face("rammetto-one 400", "display"),
    Face("titan-one 400", "display"),
    Face("passion-one 700", "display"),
    Face("krona-one 400", "display"),
    Face("staatliches 400", "display", "L", True),
    Face("shrikhand 400", "display"),
    Face("shantell-sans 600", "hand", "LC"),
    Face("gochi-hand 400", "hand"),
    Face("schoolbell 400", "hand"),
    Face("neucha 400", "hand", "LC"),
    Face("satisfy 400", "script"),
    Face("cookie 400", "script"),
    Face("yellowtail 400", "script"),
    Face("alex-brush 400", "script"),
    Face("marck-script 400", "script", "LC"),
    Face("cairo 600", "arabic", "A"),
    Face("noto-naskh-arabic 500", "arabic", "A"),
    Face("lateef 500", "arabic", "A"),
    Face("zen-maru-gothic 500", "cjk", "J"),
    Face("noto-serif-jp 600", "cjk", "J"),
    Face("nanum-gothic 700", "cjk", "K"),
    Face("saira-stencil-one 400", "stencil", "L"),
    Face("stardos-stencil 400", "stencil", "L"),
    Face("pinyon-script 400", "script"),
    Face("tangerine 700", "script"),
    Face("rochester 400", "script"),
    Face("montecarlo 400", "script"),
    Face("birthstone 400", "script"),
    Face("herr-von-muellerhoff 400", "script"),
    Face("italianno 400", "script"),
    Face("licorice 400", "script"),
    Face("ephesis 400", "script"),
    Face("cedarville-cursive 400", "script"),
    Face("aref-ruqaa 400", "arabic", "A"),
    Face("lalezar 400", "arabic", "A"),
    Face("lemonada 500", "arabic", "A"),
    Face("dotgothic16 400", "cjk", "J"),
    Face("kiwi-maru 400", "cjk", "J"),
    Face("yusei-magic 400", "cjk", "J"),
    Face("black-han-sans 400", "cjk", "K"),
    Face("gowun-batang 400", "cjk", "K"),
    Face("ma-shan-zheng 400", "cjk", "H"),
]
UNSEEN = [
    Face("public-sans 500", "sans"),
    Face("hanken-grotesk 600", "sans"),
    Face("golos-text 500", "sans", "LC"),
    Face("geologica 600", "sans", "LCG"),
    Face("onest 600", "sans", "LC"),
    Face("sofia-sans 500", "sans", "LCG"),
    Face("hind 500", "sans"),
    Face("radio-canada-big 600", "sans"),
    Face("schibsted-grotesk 500", "sans"),
    Face("familjen-grotesk 600", "sans"),
    Face("bricolage-grotesque 600", "sans"),
    Face("atkinson-hyperlegible 400", "sans"),
    Face("metropolis 500", "sans"),
    Face("spline-sans 500", "sans"),
    Face("wix-madefor-display 600", "sans", "LC"),
    Face("afacad 500", "sans"),
    Face("belleza 400", "thin"),
    Face("tomorrow 300", "thin"),
    Face("big-shoulders-display 700", "condensed"),
    Face("mouse-memoirs 400", "condensed"),
    Face("norwester 400", "condensed"),
    Face("baloo-2 600", "rounded"),
    Face("paytone-one 400", "rounded"),
    Face("frank-ruhl-libre 500", "serif"),
    Face("martel 600", "serif"),
    Face("hepta-slab 600", "serif"),
    Face("gloock 400", "serif"),
    Face("im-fell-english 400", "serif"),
    Face("instrument-serif 400", "serif"),
    Face("piazzolla 600", "serif", "LCG"),
    Face("petrona 500", "serif"),
    Face("slabo-27px 400", "serif"),
    Face("sorts-mill-goudy 400", "serif"),
    Face("taviraj 500", "serif"),
    Face("adamina 400", "serif"),
    Face("bodoni-moda 500", "serif"),
    Face("alice 400", "serif", "LC"),
    Face("poly 400", "serif"),
    Face("victor-mono 600", "mono", "LCG"),
    Face("anonymous-pro 400", "mono", "LCG"),
    Face("changa-one 400", "display"),
    Face("days-one 400", "display", "LC"),
    Face("dela-gothic-one 400", "display", "LCG"),
    Face("jockey-one 400", "display"),
    Face("londrina-solid 400", "display"),
    Face("caprasimo 400", "display"),
    Face("purple-purse 400", "display"),
    Face("coiny 400", "display"),
    Face("goldman 700", "display"),
    Face("allerta-stencil 400", "stencil"),
    Face("sirin-stencil 400", "stencil"),
    Face("indie-flower 400", "hand"),
    Face("handlee 400", "hand"),
    Face("balsamiq-sans 400", "hand", "LC"),
    Face("gloria-hallelujah 400", "hand"),
    Face("permanent-marker 400", "hand"),
    Face("short-stack 400", "hand"),
    Face("bad-script 400", "script", "LC"),
    Face("mr-de-haviland 400", "script"),
    Face("condiment 400", "script"),
    Face("corinthia 700", "script"),
    Face("whisper 400", "script"),
    Face("ms-madi 400", "script"),
    Face("monsieur-la-doulaise 400", "script"),
    Face("homemade-apple 400", "script"),
    Face("vibur 400", "script"),
    Face("oooh-baby 400", "script"),
    Face("noto-sans-arabic 600", "arabic", "A"),
    Face("readex-pro 500", "arabic", "A"),
    Face("ibm-plex-sans-arabic 500", "arabic", "A"),
    Face("zain 400", "arabic", "A"),
    Face("alexandria 600", "arabic", "A"),
    Face("zen-old-mincho 500", "cjk", "J"),
    Face("biz-udgothic 400", "cjk", "J"),
    Face("mochiy-pop-one 400", "cjk", "J"),
    Face("zcool-kuaile 400", "cjk", "H"),
    Face("zcool-qingke-huangyou 400", "cjk", "H"),
    Face("long-cang 400", "cjk", "H"),
    Face("sunflower 500", "cjk", "K"),
    Face("gaegu 400", "cjk", "K"),
]
#: More families for the judge of single letters; no line of either half is set in them.
MORE = (
    "acme aldrich amaranth archivo-black arsenal asap audiowide bowlby-one-sc calistoga cardo carter-one chakra-petch "
    "commissioner didact-gothic dm-sans domine gelasio gentium-book-plus graduate jost kanit lora manrope merienda "
    "patua-one philosopher play podkova poppins quicksand roboto-slab russo-one share-tech special-elite tenor-sans "
    "titillium-web yeseva-one zilla-slab lexend mulish teko varela-round patrick-hand "
    "kalam architects-daughter uncial-antiqua pirata-one aleo albert-sans b612 barlow be-vietnam-pro chivo crimson-text "
    "dm-serif-text encode-sans epilogue exo fraunces gabarito heebo inika inconsolata karla khand kumbh-sans "
    "libre-franklin lustria marcellus michroma newsreader orbitron oxanium plus-jakarta-sans prompt questrial rajdhani "
    "red-hat-display rowdies rufina sarabun sen sigmar-one space-grotesk spicy-rice suez-one syne unna "
    "yanone-kaffeesatz yrsa zen-dots sniglet chewy creepster germania-one medievalsharp courgette "
    "montserrat-alternates gentium-plus pt-sans-narrow"
).split()
ICONS = {
    "tune": ["bootstrap-icons", "@tabler/icons", "@phosphor-icons/core", "lucide-static"],
    "unseen": ["ionicons", "@mdi/svg", "iconoir"],
}
DEBIAN = (
    "fonts-lato fonts-cabin fonts-comfortaa fonts-jura fonts-ebgaramond fonts-oldstandard fonts-vollkorn "
    "fonts-quattrocento fonts-dancingscript fonts-lobster fonts-kaushanscript fonts-gfs-didot fonts-paratype "
    "fonts-hosny-amiri fonts-wqy-microhei fonts-droid-fallback fonts-dejavu fonts-liberation fonts-urw-base35 "
    "fonts-noto-mono"
).split()
_SUBSETS = {
    "L": "latin",
    "C": "cyrillic",
    "G": "greek",
    "A": "arabic",
    "J": "japanese",
    "H": "chinese-simplified",
    "K": "korean",
}


def packages(half: str) -> list[str]:
    """The npm packages of a half; those of MORE go with the half to tune on."""
    families = {face.file.split()[0] for face in (TUNE if half == "tune" else UNSEEN) if " " in face.file}
    names = sorted(families) + (MORE if half == "tune" else [])
    return ICONS[half] + [f"@fontsource/{name}" for name in names]


def material() -> File:
    """The folder of installed npm packages."""
    default = File.home() / ".cache" / "artwork-preflight-tests"
    return File(os.environ.get("PREFLIGHT_TEST_MATERIAL", default))


def install(half: str = "unseen") -> None:
    """Install the npm packages of a half, unless they are there."""
    folder = material()
    missing = [name for name in packages(half) if not (folder / "node_modules" / name).is_dir()]
    if not missing:
        return
    folder.mkdir(parents=True, exist_ok=True)
    if not (folder / "package.json").exists():
        (folder / "package.json").write_text('{"private": true}')
    subprocess.run(
        ["npm", "install", "--ignore-scripts", "--no-audit", "--no-fund", "--silent", *missing],
        cwd=folder,
        check=True,
    )


class Outline(BasePen):
    """Collects a glyph as steps and points of a `Path`, through an affine map."""

    def __init__(self, glyphs, matrix):
        super().__init__(glyphs)
        self.matrix, self.steps, self.points = matrix, [], []

    def _add(self, *points):
        a, b, c, d, e, f = self.matrix
        self.points += [(a * x + c * y + e, b * x + d * y + f) for x, y in points]

    def _moveTo(self, p):
        self.steps.append("m")
        self._add(p)

    def _lineTo(self, p):
        self.steps.append("l")
        self._add(p)

    def _curveToOne(self, p, q, r):
        self.steps.append("c")
        self._add(p, q, r)

    def _closePath(self):
        self.steps.append("h")

    def _endPath(self):
        pass


class Typeface:
    """One open font file of one script, and what its outlines say."""

    def __init__(self, face: Face, script: str):
        self.font = TTFont(font_file(face.file, script), fontNumber=0)
        self.glyphs, self.map = self.font.getGlyphSet(), dict(self.font.getBestCmap())
        self.em = self.font["head"].unitsPerEm
        if script == "A":
            self._map_forms()

    def _map_forms(self) -> None:
        """Arabic presentation forms that only the font's substitutions know, by their code points."""
        forms = {tag: self._substitutions(tag) for tag in ("init", "medi", "fina")}
        names = {"<initial>": "init", "<medial>": "medi", "<final>": "fina"}
        for code in range(0xFE70, 0xFEFD):
            parts = unicodedata.decomposition(chr(code)).split()
            base = self.map.get(int(parts[1], 16)) if len(parts) == 2 else None
            if code in self.map or base is None:
                continue
            found = base if parts[0] == "<isolated>" else forms[names[parts[0]]].get(base)
            if found:
                self.map[code] = found

    def _substitutions(self, tag: str) -> dict[str, str]:
        table = self.font["GSUB"].table
        numbers = [
            n
            for r in table.FeatureList.FeatureRecord
            if r.FeatureTag == tag
            for n in r.Feature.LookupListIndex
        ]
        found: dict[str, str] = {}
        for number in numbers:
            for part in table.LookupList.Lookup[number].SubTable:
                part = getattr(part, "ExtSubTable", part)
                mapped = getattr(part, "mapping", {}).items()
                found |= {name: one[0] if isinstance(one, list) else one for name, one in mapped if one}
        return found

    def has(self, text: str) -> bool:
        return all(ord(c) in self.map or c == " " for c in text)

    def advance(self, char: str) -> float:
        name = self.map.get(ord(char))
        return self.glyphs[name].width if name else 0.3 * self.em

    @cache  # noqa: B019 - typefaces live as long as the set
    def bounds(self, char: str):
        name = self.map.get(ord(char))
        if name is None:
            return None
        pen = BoundsPen(self.glyphs)
        self.glyphs[name].draw(pen)
        return pen.bounds

    def path(self, char: str, matrix) -> Path | None:
        name = self.map.get(ord(char))
        if name is None:
            return None
        pen = Outline(self.glyphs, matrix)
        self.glyphs[name].draw(pen)
        return Path("".join(pen.steps), np.array(pen.points, float).reshape(-1, 2)) if pen.points else None


def font_file(name: str, script: str) -> File:
    """Where a font of the set lies."""
    if " " in name:
        family, weight = name.split()
        subset = _SUBSETS[script]
        return material() / f"node_modules/@fontsource/{family}/files/{family}-{subset}-{weight}-normal.woff"
    found = sorted(File("/usr/share/fonts").rglob(name))
    if not found:
        raise FileNotFoundError(
            f"{name} is missing: install the Debian packages named in tests/lettering_faces.py"
        )
    return found[0]


@cache
def typeface(face: Face, script: str) -> Typeface:
    return Typeface(face, script)
