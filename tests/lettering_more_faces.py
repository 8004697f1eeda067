"""More open fonts for the judges of lettering: to train them, and to choose between ways of training.

Only tests/train_lettering.py needs them (and `eval_lettering.py --half held`): no test does, and continuous integration does not
install them.  Written as in tests/lettering_faces.py; none is a cut of a family that the unseen half has.
"""

#: Faces that the half to tune on has besides its first ones.
TUNE = """
sans: AboriginalSansBOLD9433.ttf; BPG_Glaho_GPL&GNU_2011.ttf; BPG_Ingiri_GPL&GNU.ttf; Garuda-Bold.otf;
    Gayathri-Bold.otf; Gidugu.ttf; Jara_Bold.ttf; Karmilla-Bold.ttf LC; Laksaman-Bold.otf; Loma.otf;
    Meera-Regular.ttf; NATS.ttf; Quercus_Bold.ttf; RG2014D.ttf; SyamalaRamana.ttf;
    TenaliRamakrishna-Regular.ttf; TlwgTypo-Bold.otf; Umpush-Bold.otf; allerta_medium.otf;
    gothub__.ttf LC; mallanna.ttf; samanata.ttf; NanumSquareEB.ttf LCG; alegreya-sans 700 LCG; arimo 700
    LCG; atkinson-hyperlegible-next 400; encode-sans-semi-expanded 700; firago 100; google-sans 700
    LCG; hind-madurai 400; inter-tight 700 LCG; iosevka-aile 400; lexend-exa 700; lexend-zetta 400;
    merriweather-sans 700; nunito-sans 700 LC; open-sauce-one 400; pretendard 700; red-hat-text 400;
    roboto-flex 400 LCG; saira 400; spartan 700; stack-sans-headline 400; varela 400; wix-madefor-text
    400 LC; amaranth 700; asap 700; commissioner 400 LCG; didact-gothic 400 LCG; jost 400 LC; kanit 700;
    manrope 400 LCG; play 700 LCG; poppins 100; share-tech 400; tenor-sans 400 LC; titillium-web 700;
    albert-sans 700; b612 400; barlow 700; be-vietnam-pro 400; epilogue 700; heebo 400; karla 700;
    kumbh-sans 400; libre-franklin 700 LC; plus-jakarta-sans 400; prompt 700; red-hat-display 700; sen
    400; space-grotesk 700; montserrat-alternates 100 LC; reem-kufi 700; archivo 400; anuphan 700;
    dm-sans 700; chivo 700
thin: BPG_Chveulebrivi_GPL&GNU.ttf; BPG_Nateli_GPL&GNU.ttf LC; Gayathri-Thin.otf; GemunuLibre-Light.otf;
    LeagueMono-ExtendedThin.otf; lexend 100; sarabun 100; encode-sans 100
rounded: Manjari-Bold.otf; Waree-Bold.otf; NanumSquareRoundB.ttf LCG; baloo-bhai-2 400; quicksand 700;
    varela-round 400
condensed: 3270Condensed-Regular.ttf LCG; BPG_Excelsior_Condenced_GPL&GNU.ttf;
    BPG_Nino_Medium_GPL&GNU.ttf; BPG_Algeti_GPL&GNU.ttf; Keraleeyam-Regular.ttf; RG2014B.ttf;
    Uroob-Regular.ttf; asap-condensed 700; barlow-semi-condensed 400; big-shoulders-text 700;
    encode-sans-condensed 100; fira-sans-condensed 700 LCG; fira-sans-extra-condensed 100 LCG;
    ibm-plex-sans-condensed 700; open-sans-condensed 300 LCG; saira-condensed 400; saira-extra-condensed
    700; ubuntu-condensed 400 LCG; teko 700; khand 400; rajdhani 700; yanone-kaffeesatz 400 LC;
    pt-sans-narrow 700 LC; GemunuLibre-ExtraBold.otf; roboto-condensed 700 LCG
serif: AboriginalSerifREGULAR943.ttf; BABEbold.ttf LCG; BPG_Elite_GPL&GNU.ttf; BPG_Gorda_GNU-GPL.ttf;
    BPG_Serif_GPL&GNU.ttf LC; FreeSerif.otf LCG; Gurajada.ttf; IMFePIrm29P.ttf; Kinnari-Bold.otf;
    Mandali-Regular.ttf; Norasi-Bold.otf; NTR.ttf; Peddana-Regular.ttf; RIT-Sundar.ttf;
    Ramaraja-Regular.ttf; SreeKrushnadevaraya.ttf; Suravaram.ttf; emerita_latina.ttf; romaub__.ttf LC;
    schoub__.ttf LC; suranna.ttf; MuseumBible.otf; Parix-Hybrid111R.otf; Spira-ProtoRoman110R.otf;
    cormorant 400 LC; cormorant-infant 700 LC; cormorant-sc 400 LC; gentium-book-basic 700; hanuman 100;
    im-fell-english-sc 400; libre-caslon-condensed 400; roboto-serif 400 LC; slabo-13px 400; cardo 400
    LG; domine 700; gelasio 400; gentium-book-plus 700 LCG; lora 400 LC; philosopher 700 LC; podkova 400
    LC; roboto-slab 700 LCG; zilla-slab 400; aleo 700; crimson-text 400; inika 400; lustria 400;
    newsreader 400; rufina 700; unna 400; marcellus 400
mono: 3270-Regular.ttf LCG; FreeMonoBold.otf LCG; Hack-Bold.ttf LCG; LeagueMono-WideExtraBold.otf;
    Monoid-Bold.ttf LCG; TlwgTypewriter-Bold.otf; monou___.ttf LC; b612-mono 400; cascadia-code 700 LCG;
    comic-mono 400; dm-mono 500; fira-code 400 LCG; fira-mono 700 LCG; geist-mono 100 LC;
    google-sans-code 700; ia-writer-quattro 400; overpass-mono 400 LC; pt-mono 400 LC; red-hat-mono
    400; roboto-mono 700 LCG; share-tech-mono 400; sometype-mono 700; source-code-pro 200 LCG;
    spline-sans-mono 700; ubuntu-mono 400 LCG; inconsolata 700; LeagueMono-CondensedBold.otf
display: Apropal-Bold.otf; Bandal.ttf; Blankenburg_UNZ1A.ttf; C-64-Regular.ttf; Dyuthi-Regular.ttf;
    FerriteCoreDX-Display.otf LC; FerriteCoreDX-Regular.otf LC; GNUTypewriter.ttf LC;
    Glass_TTY_VT220.ttf LC; Jessen-Cicero12.otf; OradanoGSRR.ttf LCG; Px_IBM_VGA8.ttf LCG;
    Px_IBM_CGA.ttf LCG; ReggaeOne-Regular.ttf LCG; RocknRollOne-Regular.ttf LCG; Stick-Regular.ttf LCG;
    TriodPostnaja.ttf LC; Zainer-GoticoAntiqua96G.otf; dhurjati.ttf; ramabhadra.ttf;
    Fust&Schoeffer-Durandus-GoticoAntiqua118G.otf; Hamlet-Cicero12.otf; YuseiMagic-Regular.ttf;
    bungee-shade 400; cabin-sketch 700; doto 700; ewert 400; fredericka-the-great 400; jersey-10 400;
    micro-5 400; monofett 400; nosifer 400; nova-script 400; press-start-2p 400 LCG; rubik-mono-one 400
    LC; rubik-one 400; silkscreen 700; vt323 400; acme 400; aldrich 400; bowlby-one-sc 400 !;
    calistoga 400; carter-one 400; graduate 400 !; merienda 400; patua-one 400; special-elite 400;
    uncial-antiqua 400; pirata-one 400; orbitron 700; oxanium 400; rowdies 700; spicy-rice 400; suez-one
    400; syne 700 LG; zen-dots 400; sniglet 400; chewy 400; germania-one 400; medievalsharp 400;
    gabarito 700; fraunces 700; exo 100; archivo-black 400; Px_AmstradPC1512-2y.ttf LCG
hand: Abecedario.ttf; Bangwool.ttf; EunjinNakseo.ttf; Karumbi-Regular.ttf; Purisa-Bold.otf; YOzRS_90.ttf
    LCG; femkeklaver.ttf; setofont.ttf LCG; NanumBarunpenB.ttf LCG; NanumBrush.ttf LCG;
    TimmanaRegular.ttf; UnPilgia.ttf LCG; patrick-hand 400; kalam 400
script: Joscelyn-Regular.otf; Bajaderka-Regular.otf; elegbold.ttf; AbecedarioNegrita.ttf; chanui__.ttf
    LC; courgette 400
arabic: KacstArt.ttf; KacstBook.ttf; KacstDigital.ttf; KacstFarsi.ttf; KacstNaskh.ttf; KacstPen.ttf;
    KacstPoster.ttf; NafeesWeb.ttf; FreeFarsi-Bold.ttf
cjk: UnPen.ttf K; UnTaza.ttf K; UnShinmun.ttf K; UnVada.ttf K; Bandal.ttf K; NanumSquareEB.ttf K;
    NanumSquareRoundB.ttf K; NanumBarunpenB.ttf K; D2Coding-Ver1.3.2-20180524-all.ttc K; UnPilgia.ttf K;
    Guseul.ttf K; Konatu.ttf J; ume-hgo5.ttf J; ume-pmo3.ttf J; ume-ugo4.ttf J; VL-Gothic-Regular.ttf J;
    MTLc3m.ttf J; MTLmr3m.ttf J; misaki_gothic.ttf J; Mplus2-Black.otf J; ReggaeOne-Regular.ttf J;
    RocknRollOne-Regular.ttf J; Stick-Regular.ttf J; setofont.ttf J; YOzRS_90.ttf J;
    NotoSerifCJK-Bold.ttc JHK; cwfs.ttf H; cwheib.ttf H; cwkai.ttf H; cwming.ttf H; wqy-zenhei.ttc H
"""
#: Faces drawn with a will of their own, for which there are more designs than for any others: the half to tune on has these too.
DRAWN = """
display: limelight 400; rubik-glitch 400 LC; aclonica 400; atomic-age 400; autour-one 400; barrio
    400 !; bigelow-rules 400; bruno-ace 400; bungee-inline 400 !; butcherman 400; caesar-dressing
    400; chango 400; chelsea-market 400; concert-one 400; contrail-one 400; dynapuff 400;
    emblema-one 400; emilys-candy 400; fascinate 400; faster-one 400; federo 400; fontdiner-swanky
    400; frijole 400; galindo 400; geostar-fill 400; gravitas-one 400; griffy 400; hanalei-fill 400
    !; henny-penny 400; irish-grover 400; jolly-lodger 400; joti-one 400; keania-one 400; kelly-slab
    400 LC; kenia 400; lemon 400; life-savers 400; londrina-sketch 400; love-ya-like-a-sister 400;
    macondo 400; metal-mania 400; metamorphous 400; miltonian-tattoo 400; mystery-quest 400;
    new-rocker 400; nova-cut 400; oldenburg 400; peralta 400; piedra 400; plaster 400; poller-one
    400; protest-revolution 400; racing-sans-one 400; ranchers 400; revalia 400; ribeye 400;
    ribeye-marrow 400; risque 400; ruslan-display 400 LC !; salsa 400; sancreek 400; seymour-one 400
    LC; shojumaru 400; six-caps 400; slackey 400; smokum 400; snowburst-one 400; sonsie-one 400;
    spirax 400; squada-one 400; stalinist-one 400 LC; tilt-neon 400; tilt-warp 400; trade-winds 400;
    turret-road 400; ultra 400; unkempt 400; vampiro-one 400; vast-shadow 400; wallpoet 400;
    rubik-bubbles 400 LC; rubik-wet-paint 400 LC; rubik-distressed 400 LC; jacquard-12 400;
    jersey-15 400; workbench 400; rampart-one 400 LC
hand: crafty-girls 400; coming-soon 400; just-another-hand 400; nothing-you-could-do 400;
    loved-by-the-king 400; over-the-rainbow 400; waiting-for-the-sunrise 400; walter-turncoat 400;
    give-you-glory 400; dawning-of-a-new-day 400; just-me-again-down-here 400; kranky 400; zeyada
    400; sunshiney 400; gamja-flower 400; hi-melody 400; nerko-one 400; edu-sa-beginner 400;
    grape-nuts 400; square-peg 400; pangolin 400 LC; mali 400; julee 400; rancho 400; ruge-boogie
    400; dekko 400; patrick-hand-sc 400; sedgwick-ave 400; hachi-maru-pop 400 LC; single-day 400;
    delius-unicase 400 !; fuzzy-bubbles 400
"""
#: Faces that no judge learnt from: the figures on them choose between trainings, so they are no unseen ones.
HELD = """
sans: BPG_Sans_Modern_GPL&GNU.ttf; Sawasdee-Bold.otf; noto-sans 100 LCG; arsenal 400 LC; mulish 200 LC;
    questrial 400
serif: BPG_Serif_Modern_GPL&GNU.ttf; pallub__.ttf LC; playfair 700 LC; dm-serif-text 400;
    YoungSerif_400Regular.ttf; Cambo_400Regular.ttf
mono: maple-mono 700
display: AtariSmall.ttf; CherryBomb-Regular.otf; FetteClassicUNZFraktur.ttf; OCRA.ttf;
    TrainOne-Regular.ttf LCG; f500.ttf; Rusch-R-Bizarre-ProtoRoman103R.otf; cinzel-decorative 400;
    freehand 400; monoton 400; redaction-10 400; tiny5 400 LCG; audiowide 400; chakra-petch 400;
    russo-one 400 LC; michroma 400; sigmar-one 400; yeseva-one 400 LC; creepster 400;
    Rye_400Regular.ttf; Megrim_400Regular.ttf; MadimiOne_400Regular.ttf; SourGummy_700Bold.ttf;
    Jua_400Regular.ttf; KaiseiDecol_700Bold.ttf LCG; Parkinsans_800ExtraBold.ttf; Marhey_700Bold.ttf
hand: Eunjin.ttf; YOzBS_.ttf LCG; crystal.ttf; architects-daughter 400; LaBelleAurore_400Regular.ttf
script: Allison_400Regular.ttf; Hurricane_400Regular.ttf; MeowScript_400Regular.ttf;
    OleoScript_700Bold.ttf
arabic: KacstDecorative.ttf; KacstTitle.ttf
cjk: UnPenheulim.ttf K; BIZUDMincho-Regular.ttf J; misaki_mincho.ttf J; NotoSansCJK-Bold.ttc JHK
"""
#: Families of HELD that come in npm packages of ttf files.
TTF_FAMILIES = (
    "rye megrim madimi-one sour-gummy jua kaisei-decol parkinsans marhey la-belle-aurore allison "
    "hurricane meow-script oleo-script young-serif cambo "
).split()
#: Debian packages of both.
DEBIAN = (
    "fonts-3270 fonts-alee fonts-allerta fonts-apropal fonts-atarismall fonts-bajaderka fonts-blankenburg "
    "fonts-bpg-georgian fonts-cegui fonts-cherrybomb fonts-cwtex-fs fonts-cwtex-heib fonts-cwtex-kai fonts-cwtex-ming "
    "fonts-deva-extra fonts-f500 fonts-femkeklaver fonts-ferrite-core fonts-freefarsi fonts-freefont-otf "
    "fonts-gemunu-libre fonts-glasstty fonts-gnutypewriter fonts-gotico-antiqua fonts-hack fonts-horai-umefont "
    "fonts-joscelyn fonts-kacst fonts-karmilla fonts-konatu fonts-league-mono fonts-levien-museum fonts-lg-aboriginal "
    "fonts-linex fonts-misaki fonts-monoid fonts-morisawa-bizud-mincho fonts-motoya-l-cedar fonts-motoya-l-maruberi "
    "fonts-mplus fonts-nafees fonts-nanum fonts-nanum-extra fonts-naver-d2coding fonts-noto-cjk fonts-ocr-a "
    "fonts-oradano-mincho-gsrr fonts-pc fonts-povray fonts-reggae fonts-rit-sundar fonts-roadgeek fonts-rocknroll "
    "fonts-seto fonts-sixtyfour fonts-smc-dyuthi fonts-smc-gayathri fonts-smc-karumbi fonts-smc-keraleeyam "
    "fonts-smc-manjari fonts-smc-meera fonts-smc-uroob fonts-stick fonts-teluguvijayam fonts-tlwg-garuda-otf "
    "fonts-tlwg-kinnari-otf fonts-tlwg-laksaman-otf fonts-tlwg-loma-otf fonts-tlwg-norasi-otf fonts-tlwg-purisa-otf "
    "fonts-tlwg-sawasdee-otf fonts-tlwg-typewriter-otf fonts-tlwg-typo-otf fonts-tlwg-umpush-otf fonts-tlwg-waree-otf "
    "fonts-train fonts-triod-postnaja fonts-unfonts-extra fonts-uralic fonts-vlgothic fonts-wqy-zenhei "
    "fonts-yozvox-yozfont-standard-kana fonts-yusei-magic "
).split()
