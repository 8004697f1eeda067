"""The open fonts of the labelled set for lettering, and what their own outlines say (fontTools).

They are installed by name at test set-up: Debian's font packages and npm packages (`install()`), in the folder named by
PREFLIGHT_TEST_MATERIAL or in the user's cache.  The half to tune on and the unseen one share no family and no icon.
"""

import os
import re
import subprocess
import unicodedata
from dataclasses import dataclass
from functools import cache
from pathlib import Path as File

import numpy as np
from fontTools.pens.basePen import BasePen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

import lettering_more_faces
from preflight.artwork import Path


@dataclass(frozen=True)
class Face:
    """A font file of the set; `file` is a Debian file name or `fontsource-family weight`.

    `scripts`: L Latin, C Cyrillic, G Greek, A Arabic, J Japanese, H Chinese, K Korean.
    `hand`: not 0 for the face redrawn by one of many hands (tests/lettering_redrawn.py).
    """

    file: str
    kind: str
    scripts: str = "L"
    capitals_only: bool = False
    hand: int = 0


def _faces(lines: str) -> list[Face]:
    """Faces from lines of "kind: file scripts; family weight scripts !": Latin (Arabic) if not said, "!" for capitals only."""
    found = []
    for line in re.sub(r"\n +", " ", lines).strip().splitlines():
        kind, _, rest = line.partition(": ")
        for one in rest.split("; "):
            parts = one.split()
            count = 1 if "." in parts[0] else 2
            more = [part for part in parts[count:] if part != "!"]
            scripts = more[0] if more else "A" if kind == "arabic" else "L"
            found.append(Face(" ".join(parts[:count]), kind, scripts, "!" in parts[count:]))
    return found


TUNE = _faces("""
sans: Lato-Regular.ttf; Lato-Black.ttf; montserrat 400 LC; montserrat 800 LC; source-sans-3 400 LCG;
    fira-sans 500 LCG; URWGothic-Book.otf; NimbusSans-Bold.otf; LiberationSans-Regular.ttf LCG;
    DejaVuSans.ttf LCG; work-sans 600; open-sans 400 LCG; open-sans 700 LCG; Cabin-Bold.otf;
    Cabin-Regular.otf; raleway 500 LC; rubik 700 LC; exo-2 500 LC; PTS75F.ttf LC; PTS55F.ttf LC; inter
    500 LCG; roboto 400 LCG; roboto 900 LCG; ibm-plex-sans 600 LCG; ubuntu 500 LCG; overpass 800 LC;
    figtree 600; outfit 500; urbanist 700; league-spartan 800; sora 600; maven-pro 500; oxygen 700;
    signika 600; public-sans 500; hanken-grotesk 600; golos-text 500 LC; geologica 600 LCG; onest 600
    LC; sofia-sans 500 LCG; hind 500; radio-canada-big 600; schibsted-grotesk 500; familjen-grotesk 600;
    bricolage-grotesque 600; atkinson-hyperlegible 400; metropolis 500; spline-sans 500;
    wix-madefor-display 600 LC; afacad 500; monda 500; yantramanav 500; uncut-sans 500; rethink-sans
    600; instrument-sans 600; actor 400; abel 400; science-gothic 600 LC; recursive 500; abeezee 400;
    aileron 600; alata 400; assistant 600; average-sans 400; bai-jamjuree 500; cantarell 700; clear-sans
    500; darker-grotesque 600; geist-sans 500; host-grotesk 600; inclusive-sans 500; k2d 600; mukta 500;
    mona-sans 600; orienta 400; sn-pro 600 LC; carlito 400 LCG; tasa-orbiter 600; opendyslexic 400;
    cal-sans 400; Go-Medium.ttf LCG; GFSNeohellenicBold.otf LG; LinBiolinum_R.otf LCG; Tuffy.ttf LCG
thin: Lato-Light.ttf; josefin-sans 400; Jura-Medium.otf LCG; advent-pro 400 LCG; catamaran 300;
    poiret-one 400 LC; belleza 400; tomorrow 300; italiana 400; fahkwang 400
rounded: nunito 700 LC; fredoka 500; Comfortaa-Bold.ttf LCG; dosis 500; m-plus-rounded-1c 700 LCG;
    baloo-2 600; paytone-one 400; itim 400; grandstander 600
condensed: barlow-condensed 600; oswald 600 LC; bebas-neue 400 !; archivo-narrow 600; fjalla-one 400;
    alumni-sans 600 LC; antonio 600; league-gothic 400; big-shoulders-display 700; mouse-memoirs 400;
    norwester 400; blinker 600; allan 700; iceland 400; GilliusADF-BoldCond.otf
serif: EBGaramond12-Regular.otf LCG; EBGaramond12-Italic.otf; playfair-display 700 LC; bitter 500 LC;
    NimbusRoman-Regular.otf; alegreya 500 LCG; cinzel 600; literata 400 LCG; C059-Roman.otf;
    Vollkorn-Black.ttf LC; Vollkorn-Regular.ttf LC; OldStandard-Regular.ttf LCG;
    Quattrocento-Regular.otf; merriweather 700 LC; noto-serif 400 LCG; spectral 500 LC; arvo 400;
    cormorant-garamond 600 LC; bree-serif 400; PTF55F.ttf LC; P052-Roman.otf; URWBookman-Demi.otf;
    GFSDidot.otf G; libre-baskerville 400; libre-caslon-text 400; crimson-pro 500; source-serif-4 600
    LCG; ibm-plex-serif 400 LC; prata 400 LC; dm-serif-display 400; tinos 400 LCG; besley 600; rokkitt
    600; sanchez 400; noto-serif-display 600 LCG; stix-two-text 500 LCG; volkhov 700; frank-ruhl-libre
    500; martel 600; hepta-slab 600; gloock 400; im-fell-english 400; instrument-serif 400; piazzolla
    600 LCG; petrona 500; slabo-27px 400; sorts-mill-goudy 400; taviraj 500; adamina 400; bodoni-moda
    500; alice 400 LC; poly 400; pt-serif-caption 400 LC; abhaya-libre 600; faustina 500; halant 500;
    headland-one 400; inknut-antiqua 500; karma 500; ovo 400; esteban 400; brawler 400;
    hedvig-letters-serif 400; caladea 700; LinLibertine_R.otf LCG; GFSArtemisia.otf LG; Fanwood.otf;
    AccanthisADFStd-Regular.otf
mono: courier-prime 700; DejaVuSansMono-Bold.ttf LCG; NotoSansMono-Bold.ttf LCG; PTM55F.ttf LC;
    jetbrains-mono 500 LCG; ibm-plex-mono 600 LC; space-mono 700; victor-mono 600 LCG; anonymous-pro 400
    LCG; lekton 400; iosevka 500; fragment-mono 400; cousine 700 LCG; azeret-mono 500; commit-mono 500;
    kode-mono 600
display: abril-fatface 400; anton 400; righteous 400; bungee 400 !; alfa-slab-one 400; black-ops-one
    400; bangers 400; unifrakturcook 700; lilita-one 400; luckiest-guy 400 !; rammetto-one 400;
    titan-one 400; passion-one 700; krona-one 400; staatliches 400 !; shrikhand 400; changa-one 400;
    days-one 400 LC; dela-gothic-one 400 LCG; jockey-one 400; londrina-solid 400; caprasimo 400;
    purple-purse 400; coiny 400; goldman 700; syncopate 700; climate-crisis 400 LC;
    special-gothic-expanded-one 400; unbounded 600 LC; bubblegum-sans 400; knewave 400; modak 400;
    nova-square 400; quantico 700; museomoderno 600; berkshire-swash 400; sansita 700; stack-sans-notch
    600
hand: comic-neue 700; amatic-sc 700 LC; caveat 700 LC; shantell-sans 600 LC; gochi-hand 400; schoolbell
    400; neucha 400 LC; indie-flower 400; handlee 400; balsamiq-sans 400 LC; gloria-hallelujah 400;
    permanent-marker 400; short-stack 400; caveat-brush 400; reenie-beanie 400; mansalva 400 LG;
    sriracha 400; the-girl-next-door 400; sue-ellen-francisco 400; happy-monkey 400;
    covered-by-your-grace 400; shadows-into-light 400; rock-salt 400; annie-use-your-telescope 400;
    delius 400; playpen-sans 500 LCG; swanky-and-moo-moo 400
script: DancingScript-Bold.otf; pacifico 400 LC; lobster.otf; KaushanScript-Regular.otf; great-vibes
    400; sacramento 400; allura 400; grand-hotel 400; parisienne 400; damion 400; satisfy 400; cookie
    400; yellowtail 400; alex-brush 400; marck-script 400 LC; pinyon-script 400; tangerine 700;
    rochester 400; montecarlo 400; birthstone 400; herr-von-muellerhoff 400; italianno 400; licorice
    400; ephesis 400; cedarville-cursive 400; bad-script 400 LC; mr-de-haviland 400; condiment 400;
    corinthia 700; whisper 400; ms-madi 400; monsieur-la-doulaise 400; homemade-apple 400; vibur 400;
    oooh-baby 400; lobster-two 700; Kristi.ttf; Ecolier-court.ttf; LeckerliOne-Regular.ttf; smooch 400;
    Rufscript010.ttf; Havana-Regular.otf
arabic: DejaVuSans-Bold.ttf; Amiri-Regular.ttf; tajawal 500; almarai 700; el-messiri 500;
    scheherazade-new 400; vazirmatn 600; noto-kufi-arabic 600; cairo 600; noto-naskh-arabic 500; lateef
    500; aref-ruqaa 400; lalezar 400; lemonada 500; noto-sans-arabic 600; readex-pro 500;
    ibm-plex-sans-arabic 500; zain 400; alexandria 600; changa 500; baloo-bhaijaan-2 600; cairo-play
    600; titr.ttf; KacstOne.ttf; Thabit.ttf; nazli.ttf; ae_AlArabiya.ttf
cjk: DroidSansFallbackFull.ttf JH; wqy-microhei.ttc JHK; kosugi-maru 400 J; shippori-mincho 600 J;
    zcool-xiaowei 400 H; nanum-myeongjo 700 K; zen-maru-gothic 500 J; noto-serif-jp 600 J; nanum-gothic
    700 K; dotgothic16 400 J; kiwi-maru 400 J; yusei-magic 400 J; black-han-sans 400 K; gowun-batang 400
    K; ma-shan-zheng 400 H; zen-old-mincho 500 J; biz-udgothic 400 J; mochiy-pop-one 400 J; zcool-kuaile
    400 H; zcool-qingke-huangyou 400 H; long-cang 400 H; sunflower 500 K; gaegu 400 K; yomogi 400 J;
    zen-kaku-gothic-new 500 J; gothic-a1 500 K; nanum-pen-script 400 K; zhi-mang-xing 400 H; kaisei-opti
    500 J; zen-kurenaido 400 J; sawarabi-gothic 400 J; line-seed-jp 700 J; liu-jian-mao-cao 400 H;
    gkai00mp.ttf H; gbsn00lp.ttf H; poor-story 400 K; gugi 400 K
stencil: saira-stencil-one 400; stardos-stencil 400; allerta-stencil 400; sirin-stencil 400
""")
UNSEEN = _faces("""
sans: AveriaSansGWF-Bold.ttf; Junction.otf; Solothurn-Medium.otf; SwitzeraADF-ExtraBoldItalic.otf;
    UniversalisADFStd-Regular.otf; routed-gothic.ttf; LibrisADFStd-Bold.otf; okolaksBold.ttf;
    VeranaSans-Bold.otf; OSP-DIN.ttf; eurof55.ttf; Beteckna.ttf; cmunbmr.ttf LCG; Andika-Regular.ttf LC;
    dustismo_bold.ttf; Klaudia-Bold.ttf; tiresias_infofont.ttf; NationalPark-Regular.otf; Caliban.ttf;
    reddit-sans 600; funnel-display 600; tiktok-sans 600; zalando-sans-expanded 600; biryani 600; basic
    400; inder 400; pathway-extreme 600; apfel-grotezk 400; cooper-hewitt 600
thin: osifont.ttf; aubrey 400; aboreto 400 !
condensed: farsan 400
serif: BaskervaldADFStd-HeavyItalic.otf; BerenisADFPro-Regular.otf; Century-Catalogue.ttf;
    CharisSIL-BoldItalic.ttf LC; DoulosSIL-Regular.ttf LC; Arapey-Regular.otf; GoudyBookletter1911.otf;
    JunicodeTwoBeta-Semibold.otf; LindenHill-Italic.otf; Prociono.otf; RomandeADFStd-DemiBold.otf;
    TribunADFStd-Regular.otf; IrianisADFStd-Bold.otf; cmunrm.ttf LCG; Verana-Bold.otf; Essays1743.ttf;
    ElstobD-10ptMedium.otf; OldaniaADFStd-Bold.otf; GFSBaskerville.otf G; GFSBodoniClassic.otf G;
    GFSOlga.otf G; GFSPorson.otf G; GFSSolomos.otf G; GFSTheokritos.otf G; GFSGazis.otf G; GalSILB.ttf
    LG; le-murmure.otf; Cupola.ttf; Dustismo_Roman.ttf; rasa 500
mono: monof55.ttf; cmuntt.ttf LCG; mononoki-Bold.ttf LCG; FantasqueSansMono-Regular.otf LCG;
    Hermit-bold.otf L; agave-r-autohinted.ttf; OCRB.otf; monaspace-neon 500
display: Winks.ttf; SolideMirageEtroit.otf; MekanusADFStd-Bold.otf; IkariusADFStd-Regular.otf;
    unifur.ttf; Engadget.ttf; RadisSans-medium.otf; Balker.ttf; Gamaliel.ttf; StayPuft.ttf;
    Campania.otf; progenisis.ttf; PenguinAttack.ttf; iceberg 400; anybody 700; momo-trust-display 400;
    unifrakturmaguntia 400; pixelify-sans 600; jekyll.ttf; kinkaid.ttf; larkspur.ttf; lakeshor.ttf;
    rotund.ttf; spacious.ttf; vantage.ttf; nominal.ttf; bobcayge.ttf; amplitud.ttf; kickflip.ttf;
    united.ttf; vigilanc.ttf; zephyrea.ttf; BecauseWeBuild-Regular.otf
hand: Compagnon-Bold.otf; TomsonTalks.ttf; Breip.ttf; Humor-Sans.ttf; SteveHand.ttf; Delphine.ttf;
    Domestic_Manners.ttf; summersby.ttf; comic-relief 400; delicious-handrawn 400; finger-paint 400;
    chilanka 400; twinkle-star 400
script: lowdown.ttf; Z003-MediumItalic.otf; RomandeADFScriptStd-Italic.otf; Isabella.ttf; dkg.ttf
arabic: UKIJTuz.ttf; UKIJEkran.ttf; UKIJKesme.ttf; Unikuweb.ttf; Harmattan-Regular.ttf; ae_AlHor.ttf;
    ae_Metal.ttf; ae_Nice.ttf; ae_Cortoba.ttf
cjk: bkai00mp.ttf H; bsmi00lp.ttf H; cwyen.ttf H; batang.ttf K; hline.ttf K; UnDotum.ttf K;
    UnGraphic.ttf K; ipag.ttf J; kiloji.ttf J; BMDOHYEON_ttf.ttf K; KleeOne-SemiBold.ttf J;
    SmileySans-Oblique.ttf H; LexiGulim.ttf K; dejima-mincho-r227.ttf J; AoyagiKouzanT.ttf J
""")
DRAWN = _faces(lettering_more_faces.DRAWN)
#: Every face of a part.  Those of "held" choose between trainings: no judge learns from them, nor do figures on them count.
FACES = {
    "tune": TUNE + _faces(lettering_more_faces.TUNE) + DRAWN,
    "held": _faces(lettering_more_faces.HELD),
    "unseen": UNSEEN,
}
ICONS = {
    "tune": [
        "bootstrap-icons",
        "@tabler/icons",
        "@phosphor-icons/core",
        "lucide-static",
        "ionicons",
        "@mdi/svg",
        "iconoir",
        "remixicon",
        "boxicons",
        "heroicons",
    ],
    "unseen": ["jam-icons", "typicons.font", "teenyicons"],
}
DEBIAN = (
    "fonts-lato fonts-cabin fonts-comfortaa fonts-jura fonts-ebgaramond fonts-oldstandard fonts-vollkorn "
    "fonts-quattrocento fonts-dancingscript fonts-lobster fonts-kaushanscript fonts-gfs-didot fonts-paratype "
    "fonts-hosny-amiri fonts-wqy-microhei fonts-droid-fallback fonts-dejavu fonts-liberation fonts-urw-base35 "
    "fonts-noto-mono fonts-go fonts-gfs-neohellenic fonts-gfs-artemisia fonts-linuxlibertine fonts-tuffy "
    "fonts-fanwood fonts-adf-gillius fonts-adf-accanthis fonts-kristi fonts-ecolier-court fonts-leckerli-one "
    "fonts-rufscript fonts-havana fonts-kacst-one fonts-hosny-thabit fonts-farsiweb fonts-arabeyes "
    "fonts-arphic-gkai00mp fonts-arphic-gbsn00lp fonts-adf-baskervald fonts-adf-berenis fonts-adf-ikarius "
    "fonts-adf-irianis fonts-adf-libris fonts-adf-mekanus fonts-adf-oldania fonts-adf-romande fonts-adf-solothurn "
    "fonts-adf-switzera fonts-adf-tribun fonts-adf-universalis fonts-adf-verana fonts-aenigma fonts-agave "
    "fonts-aoyagi-kouzan-t fonts-arapey fonts-arphic-bkai00mp fonts-arphic-bsmi00lp fonts-averia-sans-gwf "
    "fonts-baekmuk fonts-beteckna fonts-breip fonts-bwht fonts-campania fonts-century-catalogue fonts-cmu "
    "fonts-compagnon fonts-cwtex-yen fonts-dejima-mincho fonts-dkg-handwriting fonts-dustin fonts-elstob "
    "fonts-engadget fonts-essays1743 fonts-eurofurence fonts-fantasque-sans fonts-gamaliel fonts-georgewilliams "
    "fonts-gfs-baskerville fonts-gfs-bodoni-classic fonts-gfs-gazis fonts-gfs-olga fonts-gfs-porson fonts-gfs-solomos "
    "fonts-gfs-theokritos fonts-goudybookletter fonts-hermit fonts-humor-sans fonts-ipafont-gothic fonts-isabella "
    "fonts-junction fonts-junicode fonts-kiloji fonts-klaudia-berenika fonts-klee fonts-le-murmure fonts-lexi-gulim "
    "fonts-lindenhill fonts-monofur fonts-mononoki fonts-national-park fonts-ocr-b fonts-okolaks fonts-opendin "
    "fonts-osifont fonts-prociono fonts-radisnoir fonts-routed-gothic fonts-sil-andika fonts-sil-charis "
    "fonts-sil-doulos fonts-sil-galatia fonts-sil-harmattan fonts-sjfonts fonts-smiley-sans fonts-solide-mirage "
    "fonts-staypuft fonts-summersby fonts-tiresias fonts-tomsontalks fonts-ukij-uyghur fonts-unfonts-core "
    "fonts-unikurdweb fonts-woowa-bm"
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


def packages(part: str) -> list[str]:
    """The npm packages of a part."""
    families = sorted({face.file.split()[0] for face in FACES[part] if " " in face.file})
    ttf = lettering_more_faces.TTF_FAMILIES if part == "held" else []
    icons = ICONS["unseen" if part == "unseen" else "tune"]
    return (
        icons + [f"@fontsource/{name}" for name in families] + [f"@expo-google-fonts/{name}" for name in ttf]
    )


def material() -> File:
    """The folder of installed npm packages."""
    default = File.home() / ".cache" / "artwork-preflight-tests"
    return File(os.environ.get("PREFLIGHT_TEST_MATERIAL", default))


def install(part: str = "unseen") -> None:
    """Install the npm packages of a part, unless they are there."""
    folder = material()
    missing = [name for name in packages(part) if not (folder / "node_modules" / name).is_dir()]
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
    found = found or sorted((material() / "node_modules" / "@expo-google-fonts").rglob(name))
    if not found:
        raise FileNotFoundError(
            f"{name} is missing: install the Debian packages named in tests/lettering_faces.py and more_faces"
        )
    return found[0]


@cache
def typeface(face: Face, script: str) -> Typeface:
    return Typeface(face, script)
