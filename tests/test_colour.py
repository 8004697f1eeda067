"""Colour conversions against published values and other libraries: colour-science, LittleCMS, MuPDF ..."""

import csv
import io
import subprocess
import warnings
from pathlib import Path

import numpy as np
import pymupdf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageCms, ImageColor
from skimage.color import deltaE_ciede2000

from preflight import colour

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it misses a plotting library, which nobody needs here
    import colour as colour_science

# Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1):21-30, Table I.
PAIRS = Path(__file__).parent / "data" / "ciede2000_pairs.csv"
RNG = np.random.default_rng(20)
SHADES = [colour.hex_of(rgb) for rgb in RNG.integers(0, 256, (200, 3))]


def pairs():
    with PAIRS.open(newline="") as file:
        return [{k: float(v) for k, v in row.items()} for row in csv.DictReader(file)]


@pytest.mark.parametrize("row", pairs(), ids=lambda row: f"pair{row['pair']:.0f}")
def test_ciede2000_published_pairs(row):
    one, other = (row["L1"], row["a1"], row["b1"]), (row["L2"], row["a2"], row["b2"])
    assert colour.difference(one, other) == pytest.approx(row["dE00"], abs=1e-4)
    assert colour.difference(other, one) == pytest.approx(row["dE00"], abs=1e-4)


def test_ciede2000_agrees_with_scikit_image():
    one, others = np.array([52.0, 40.0, -30.0]), RNG.uniform((0, -90, -90), (100, 90, 90), (500, 3))
    assert colour.differences(one, others) == pytest.approx(deltaE_ciede2000(one[None], others), abs=2e-4)


# CSS Color 4 (W3C), sample conversions to lab(), which is D50: from memory.
@pytest.mark.parametrize(
    ("shade", "lab"),
    [
        ("#ff0000", (54.29, 80.81, 69.89)),
        ("#00ff00", (87.82, -79.27, 80.99)),
        ("#0000ff", (29.57, 68.30, -112.03)),
        ("#ffffff", (100.0, 0.0, 0.0)),
        ("#000000", (0.0, 0.0, 0.0)),
    ],
)
def test_srgb_to_lab_published(shade, lab):
    assert colour.lab_of(shade) == pytest.approx(lab, abs=0.06)


def test_srgb_to_lab_agrees_with_colour_science():
    white = colour_science.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    rgb = np.array([colour.rgb_of(shade) for shade in SHADES]) / 255
    xyz = colour_science.sRGB_to_XYZ(rgb, white["D50"], chromatic_adaptation_transform="Bradford")
    theirs = colour_science.XYZ_to_Lab(xyz, white["D50"])
    ours = np.array([colour.lab_of(shade) for shade in SHADES])
    assert deltaE_ciede2000(ours, theirs).max() < 0.05


def test_srgb_to_lab_agrees_with_littlecms():
    rgb = np.array([[colour.rgb_of(shade) for shade in SHADES]], np.uint8)
    to_lab = ImageCms.buildTransform(
        colour.SRGB, ImageCms.createProfile("LAB"), "RGB", "LAB",
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
    )  # fmt: skip
    stored = np.asarray(ImageCms.applyTransform(Image.fromarray(rgb), to_lab))[0]
    # 8-bit Lab, a and b signed: rounded to 0.4 and 1.
    theirs = np.column_stack([stored[:, 0] * (100 / 255), stored[:, 1:].view(np.int8)])
    ours = np.array([colour.lab_of(shade) for shade in SHADES])
    assert (np.abs(ours - theirs).max(0) < (0.3, 0.8, 0.8)).all()


def test_d50_and_d65_are_not_the_same():
    # The same blue, relative to each white: mixing them up costs several units of CIEDE2000.
    d65 = colour_science.XYZ_to_Lab(colour_science.sRGB_to_XYZ([0.1, 0.2, 0.8]))
    d50 = colour.lab_of(colour.hex_of(np.array([0.1, 0.2, 0.8]) * 255))
    assert colour.difference(tuple(d65), d50) > 2
    assert colour.difference(colour.d50_from_d65(tuple(d65)), d50) < 0.3  # 8-bit rounding


def test_adaptation_agrees_with_colour_science():
    white = colour_science.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    for lab in RNG.uniform((5, -60, -60), (95, 60, 60), (40, 3)):
        xyz = colour_science.Lab_to_XYZ(lab, white["D65"])
        adapted = colour_science.chromatic_adaptation(
            xyz, colour_science.xy_to_XYZ(white["D65"]), colour_science.xy_to_XYZ(white["D50"]),
            method="Von Kries", transform="Bradford",
        )  # fmt: skip
        theirs = colour_science.XYZ_to_Lab(adapted, white["D50"])
        assert colour.difference(colour.d50_from_d65(tuple(lab)), tuple(theirs)) < 0.05
    assert colour.d50_from_d65((100, 0, 0)) == pytest.approx((100, 0, 0), abs=1e-6)


@given(st.integers(0, 0xFFFFFF))
def test_hex_survives_lab(value):
    shade = f"#{value:06x}"
    back = colour.rgb_of(colour.hex_of_lab(colour.lab_of(shade)))
    assert np.abs(np.subtract(back, colour.rgb_of(shade))).max() <= 1


def test_wcag_contrast_published():
    # W3C WCAG 2.1, "contrast ratio"; the greys are the well-known border cases, from memory.
    assert colour.contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert colour.contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)
    assert colour.contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    assert colour.contrast("#949494", "#ffffff") == pytest.approx(3.03, abs=0.005)
    assert colour.contrast("#ff0000", "#ffffff") == pytest.approx(4.00, abs=0.005)
    # Computed by hand from the definition, common practice: navy on black 1.31, 50 % grey on white 3.95.
    assert colour.contrast("#000080", "#000000") == pytest.approx(1.31, abs=0.005)
    assert colour.contrast("#808080", "#ffffff") == pytest.approx(3.95, abs=0.005)


@given(st.integers(0, 0xFFFFFF), st.integers(0, 0xFFFFFF))
def test_contrast_is_symmetric_and_bounded(one, other):
    a, b = f"#{one:06x}", f"#{other:06x}"
    assert colour.contrast(a, b) == colour.contrast(b, a)
    assert 1 <= colour.contrast(a, b) <= 21.0001
    # On white and on black: the two ratios multiply to 21.
    assert colour.contrast(a, "#ffffff") * colour.contrast(a, "#000000") == pytest.approx(21)


def test_named_colours():
    assert colour.named("rebeccapurple") == "#663399"  # CSS Color 4
    assert colour.named(" Dark Slate-Grey ") == "#2f4f4f"
    assert colour.named("#0AF") == "#00aaff"
    assert colour.named("C8102E") == "#c8102e"
    assert colour.named("gull red 12") is None
    ImageColor.getrgb("navy")  # the library then remembers a tuple in place of the text
    assert colour.named("navy") == "#000080"


def profile_bytes(kind: str) -> bytes:
    """A profile of the ones Ghostscript installs (asked of Ghostscript itself), or made by LittleCMS."""
    if kind == "lab":
        return ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    ask = ["gs", "-q", "-dNODISPLAY", "-c", "currentuserparams /ICCProfilesDir get = quit"]
    folder = subprocess.run(ask, capture_output=True, text=True, check=True).stdout.strip()
    return (Path(folder) / f"{kind}.icc").read_bytes()


def image(mode, value, profile=None, size=(2, 2)):
    made = Image.new(mode, size, value)
    if profile:
        made.info["icc_profile"] = profile
    return made


def test_cmyk_profile_agrees_with_mupdf():
    # MuPDF converts device CMYK by its own copy of the same profile.
    ink = RNG.integers(0, 256, (64, 4), dtype=np.uint8)
    picture = Image.frombytes("CMYK", (64, 1), ink.tobytes())
    picture.info["icc_profile"] = profile_bytes("default_cmyk")
    ours, note = colour.to_srgb(picture)
    assert not note
    mupdf = pymupdf.mupdf
    theirs = [
        mupdf.fz_convert_color(
            mupdf.fz_device_cmyk(), [float(c) / 255 for c in row], mupdf.fz_device_rgb(),
            mupdf.FzColorspace(), mupdf.FzColorParams(),
        )[:3]
        for row in ink
    ]  # fmt: skip
    assert np.abs(np.asarray(ours)[0] - np.array(theirs) * 255).max() < 1.5


def test_cmyk_profile_agrees_with_ghostscript(tmp_path):
    inks = [(0, 0, 0, 0), (255, 0, 0, 0), (0, 255, 0, 0), (0, 0, 255, 0), (0, 0, 0, 255), (255, 255, 0, 0),
            (0, 255, 255, 0), (64, 128, 20, 30), (200, 180, 160, 220)]  # fmt: skip
    boxes = "".join(
        f"{' '.join(f'{c / 255:.6f}' for c in ink)} setcmykcolor {10 * i} 0 10 10 rectfill\n"
        for i, ink in enumerate(inks)
    )
    page, out = tmp_path / "inks.ps", tmp_path / "inks.ppm"
    page.write_text(f"%!PS\n<</PageSize [{10 * len(inks)} 10]>> setpagedevice\n{boxes}showpage\n")
    subprocess.run(
        ["gs", "-q", "-dBATCH", "-dNOPAUSE", "-sDEVICE=ppmraw", "-r72", "-dRenderIntent=1", "-dBlackPtComp=1",
         "-dOverrideICC=true", f"-sOutputFile={out}", str(page)], check=True, timeout=60,
    )  # fmt: skip
    theirs = np.asarray(Image.open(out))[5, 5::10].astype(int)
    picture = Image.frombytes("CMYK", (len(inks), 1), bytes(c for ink in inks for c in ink))
    picture.info["icc_profile"] = profile_bytes("default_cmyk")
    ours = np.asarray(colour.to_srgb(picture)[0])[0].astype(int)
    far = [
        colour.difference(colour.lab_of(colour.hex_of(a)), colour.lab_of(colour.hex_of(b)))
        for a, b in zip(ours, theirs, strict=True)
    ]
    assert max(far) < 2


def test_cmyk_without_a_profile_says_so_and_takes_the_fallback():
    plain, note = colour.to_srgb(image("CMYK", (0, 255, 255, 0)))
    assert "without a colour profile" in note
    better, note = colour.to_srgb(image("CMYK", (0, 255, 255, 0)), profile_bytes("default_cmyk"))
    assert not note
    assert better.getpixel((0, 0)) == pytest.approx((237, 28, 36), abs=1)
    assert plain.getpixel((0, 0)) == (255, 0, 0)


def test_rgb_profile_of_another_space():
    # CSS Color 4, "a98-rgb": primaries, white D65, gamma 563/256.
    primaries = np.array([[0.64, 0.33], [0.21, 0.71], [0.15, 0.06]])
    matrix = colour_science.normalised_primary_matrix(primaries, np.array([0.3127, 0.3290]))
    rgb = np.array([200, 50, 50])
    theirs = colour_science.XYZ_to_sRGB(matrix @ (rgb / 255) ** (563 / 256))
    ours, note = colour.to_srgb(image("RGB", tuple(rgb.tolist()), profile_bytes("a98")))
    assert not note
    assert ours.getpixel((0, 0)) == pytest.approx(np.clip(theirs, 0, 1) * 255, abs=2)


@pytest.mark.parametrize(("mode", "value"), [("L", 100), ("LA", (100, 128)), ("I;16", 100 * 257)])
def test_grey_profile(mode, value):
    # Its tone curve is a plain gamma of 1.8 (read from the file); sRGB's curve turns the light back.
    light = (100 / 255) ** (0x01CD / 256)
    expected = 255 * (1.055 * light ** (1 / 2.4) - 0.055)
    ours, note = colour.to_srgb(image(mode, value, profile_bytes("sgray")))
    assert (ours.mode, note) == ("RGB", "")
    assert ours.getpixel((0, 0)) == pytest.approx((expected,) * 3, abs=1.01)


@pytest.mark.parametrize("profile", [None, "lab"])
def test_lab_picture(profile):
    ours, note = colour.to_srgb(image("LAB", (140, 160, 100), profile_bytes("lab") if profile else None))
    assert not note
    lab = (140 * 100 / 255, 160 - 128, 100 - 128)
    assert colour.difference(colour.lab_of(colour.hex_of(ours.getpixel((0, 0)))), lab) < 1.0


def test_deep_greys_are_scaled_not_clipped():
    assert colour.to_srgb(image("I;16", 30000))[0].getpixel((0, 0)) == (117,) * 3
    assert colour.to_srgb(image("I", 30000))[0].getpixel((0, 0)) == (117,) * 3
    assert colour.to_srgb(image("I", 117))[0].getpixel((0, 0)) == (117,) * 3
    assert colour.to_srgb(image("F", 0.5))[0].getpixel((0, 0)) == (128,) * 3
    assert colour.to_srgb(image("F", float("nan")))[0].getpixel((0, 0)) == (0,) * 3


def test_one_bit_and_palette_pictures():
    assert colour.to_srgb(image("1", 1, profile_bytes("sgray")))[0].getpixel((0, 0)) == (255,) * 3
    palette = image("RGB", (200, 50, 50)).quantize(2)
    palette.info["icc_profile"] = profile_bytes("a98")
    ours, note = colour.to_srgb(palette)
    assert not note
    assert ours.getpixel((0, 0))[0] > 225  # the wide red was widened


@pytest.mark.parametrize(
    ("mode", "value", "profile"), [("RGB", (200, 50, 50), "default_cmyk"), ("L", 100, "a98"),
                                   ("CMYK", (0, 255, 255, 0), "a98")],
)  # fmt: skip
def test_profile_of_the_wrong_space_is_noted(mode, value, profile):
    ours, note = colour.to_srgb(image(mode, value, profile_bytes(profile)))
    assert "could not be used" in note
    assert ours.mode == "RGB"


def test_truncated_and_garbled_profiles_never_raise():
    whole = profile_bytes("default_cmyk")
    for length in (0, 1, 50, 127, 128, 200, 1000, len(whole) // 2, len(whole) - 1):
        ours, note = colour.to_srgb(image("CMYK", (0, 255, 255, 0), whole[:length]))
        assert note and ours.mode == "RGB"
    garbled = np.frombuffer(whole, np.uint8).copy()
    for _ in range(20):
        spoilt = garbled.copy()
        spoilt[RNG.integers(0, 600, 40)] = RNG.integers(0, 256, 40)
        assert colour.to_srgb(image("CMYK", (0, 255, 255, 0), spoilt.tobytes()))[0].mode == "RGB"


def test_profile_in_a_file_survives_the_round(tmp_path):
    kept = io.BytesIO()
    image("RGB", (200, 50, 50)).save(kept, "PNG", icc_profile=profile_bytes("a98"))
    with Image.open(kept) as opened:
        assert colour.to_srgb(opened)[0].getpixel((0, 0))[0] > 225
