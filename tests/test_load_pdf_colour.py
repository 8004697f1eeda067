"""Colours of a PDF: profiles, default spaces, printing conditions, whites; the truth is LittleCMS's (through Pillow)."""

import io
import os
import subprocess
import sys

import numpy as np
import pytest
from PIL import Image, ImageCms

from pdf_made import Array, Dictionary, Name, String, pdf_of, separation
from preflight import colour
from preflight.load import load
from preflight.order import Order
from test_colour import profile_bytes

BOX = "10 10 30 20 re f"
CMYK = (26, 204, 230, 13)
INK = " ".join(f"{v / 255:.5f}" for v in CMYK)


def inks_of(content, prepare=None):
    return load(pdf_of(content, prepare=prepare), Order(ground="#ffffff")).inks


def by_littlecms(profile, mode, value):
    """sRGB of one pixel; the intent is the one that MuPDF uses."""
    found = ImageCms.profileToProfile(
        Image.new(mode, (1, 1), value), ImageCms.ImageCmsProfile(io.BytesIO(profile)), ImageCms.createProfile("sRGB"),
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC, outputMode="RGB",
        flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
    )  # fmt: skip
    return colour.hex_of(found.getpixel((0, 0)))


def agree(ink, shade, within=0.6):
    far = colour.difference(colour.lab_of(ink.hex), colour.lab_of(shade))
    assert far < within, (ink.hex, shade)


def lab_by_littlecms(profile, value, mode="CMYK"):
    """Lab (D50) of one pixel; Pillow rounds a* and b* to whole numbers."""
    found = ImageCms.profileToProfile(
        Image.new(mode, (1, 1), value), ImageCms.ImageCmsProfile(io.BytesIO(profile)), ImageCms.createProfile("LAB"),
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC, outputMode="LAB",
        flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
    )  # fmt: skip
    lightness, a, b = np.asarray(found)[0, 0].astype(int)
    return (lightness * 100 / 255, float(np.int8(a)), float(np.int8(b)))


def icc_based(pdf, profile, components):
    return pdf.make_indirect(Array([Name.ICCBased, pdf.make_stream(profile, N=components)]))


def output_intent(pdf, profile):
    pdf.Root.OutputIntents = Array(
        [
            Dictionary(
                Type=Name.OutputIntent, S=Name.GTS_PDFX, OutputConditionIdentifier=String("Marsh Press"),
                DestOutputProfile=pdf.make_stream(profile, N=4),
            )
        ]
    )  # fmt: skip


def picture(pdf, space, value):
    pixels = pdf.make_stream(
        bytes(value) * 100, Type=Name.XObject, Subtype=Name.Image, Width=10, Height=10, ColorSpace=space,
        BitsPerComponent=8,
    )  # fmt: skip
    return Dictionary(XObject=Dictionary(I=pixels))


@pytest.mark.parametrize(
    ("profile", "mode", "value"),
    [("a98", "RGB", (128, 153, 102)), ("ps_cmyk", "CMYK", CMYK), ("default_cmyk", "CMYK", CMYK), ("sgray", "L", (128,))],
)  # fmt: skip
@pytest.mark.parametrize("how", ["paint", "picture"])
def test_embedded_profiles_agree_with_littlecms(profile, mode, value, how):
    data = profile_bytes(profile)
    if how == "paint":
        numbers = " ".join(f"{v / 255:.5f}" for v in value)
        (ink,) = inks_of(
            f"/C cs {numbers} scn {BOX}",
            lambda pdf: Dictionary(ColorSpace=Dictionary(C=icc_based(pdf, data, len(value)))),
        )
    else:
        (ink,) = inks_of(
            "q 30 0 0 20 10 10 cm /I Do Q",
            lambda pdf: picture(pdf, icc_based(pdf, data, len(value)), value),
        )
    agree(ink, by_littlecms(data, mode, value if len(value) > 1 else value[0]))


@pytest.mark.parametrize("how", ["paint", "spot", "picture", "shading"])
@pytest.mark.parametrize("where", ["output intent", "default space"])
def test_device_cmyk_is_what_the_file_says_it_is(how, where):
    data = profile_bytes("ps_cmyk")
    content = {
        "paint": f"{INK} k {BOX}",
        "spot": f"/S cs 1 scn {BOX}",
        "picture": "q 30 0 0 20 10 10 cm /I Do Q",
        "shading": "q 10 10 30 20 re W n /G sh Q",
    }[how]

    def prepare(pdf):
        made = picture(pdf, Name.DeviceCMYK, CMYK)
        ends = [v / 255 for v in CMYK]
        made.ColorSpace = Dictionary(S=separation(pdf, "Reed", ends))
        flat = Dictionary(FunctionType=2, Domain=[0, 1], C0=ends, C1=ends, N=1)
        made.Shading = Dictionary(
            G=Dictionary(ShadingType=2, ColorSpace=Name.DeviceCMYK, Coords=[10, 0, 40, 0], Function=flat)
        )
        if where == "output intent":
            output_intent(pdf, data)
        else:
            made.ColorSpace.DefaultCMYK = icc_based(pdf, data, 4)
        return made

    (ink,) = inks_of(content, prepare)
    agree(ink, by_littlecms(data, "CMYK", CMYK), 1.0)


def test_black_ink_alone_is_black_under_any_printing_condition():
    def prepare(pdf):
        output_intent(pdf, profile_bytes("ps_cmyk"))
        return Dictionary()

    assert inks_of(f"0 0 0 1 k {BOX}", prepare)[0].hex == "#000000"


@pytest.mark.parametrize("spot", [False, True])
def test_lab_relative_to_d65_is_adapted_and_to_d50_is_not(spot):
    # CIE 15:2004 whites; the adaptation is held against the matrix that B. Lindbloom publishes
    lab = (60, 10, 50)
    for white, truth in (((0.9642, 1, 0.8249), lab), ((0.9505, 1, 1.089), colour.d50_from_d65(lab))):

        def prepare(pdf, white=white):
            space = pdf.make_indirect(
                Array([Name.Lab, Dictionary(WhitePoint=list(white), Range=[-128, 127] * 2)])
            )
            solid = Dictionary(FunctionType=2, Domain=[0, 1], C0=[100, 0, 0], C1=list(lab), N=1)
            own = Array([Name.Separation, Name("/Reed"), space, solid])
            return Dictionary(ColorSpace=Dictionary(C=own if spot else space))

        (ink,) = inks_of(f"/C cs {'1' if spot else '60 10 50'} scn {BOX}", prepare)
        assert colour.difference(ink.lab, truth) < 0.6
    assert colour.difference(lab, truth) > 1.5  # so the two whites can be told apart here


def test_any_white_is_adapted_as_the_published_matrix_adapts_d65():
    for lab in ((60, 10, 50), (30, 60, -70), (100, 0, 0)):
        assert np.allclose(colour.d50_from(lab, colour.D65), colour.d50_from_d65(lab), atol=0.02)


def test_each_spot_of_a_mixture_keeps_its_own_look():
    def prepare(pdf):
        # inputs: red, blue; out: cyan = blue, magenta = red, yellow = 0.9 red, black 0
        mixed = pdf.make_stream(b"{ exch dup .9 mul 0 }", FunctionType=4, Domain=[0, 1] * 2, Range=[0, 1] * 4)
        names = Array([Name("/Otter Red"), Name("/Marsh Blue")])
        return Dictionary(
            ColorSpace=Dictionary(
                D=Array([Name.DeviceN, names, Name.DeviceCMYK, mixed]),
                B=separation(pdf, "Reed", [1, 0, 0, 0]),
            )
        )

    found = {
        ink.name: ink.hex for ink in inks_of(f"/B cs 1 scn 60 10 9 9 re f /D cs .8 .5 scn {BOX}", prepare)
    }
    assert found["Marsh Blue"] == found["Reed"]
    assert colour.word(found["Otter Red"]) == "red"


def test_greys_are_neutral_and_the_press_black_is_black_by_its_own_name():
    assert inks_of(f"0.5 g {BOX}")[0].hex == "#808080"

    def prepare(pdf):
        return Dictionary(ColorSpace=Dictionary(K=separation(pdf, "Black", [0, 0, 0, 1])))

    (ink,) = inks_of(f"/K cs 1 scn {BOX}", prepare)
    assert (ink.hex, ink.kind) == ("#000000", "process")


def test_a_picture_in_a_spot_colour_keeps_its_name():
    def prepare(pdf):
        made = picture(pdf, separation(pdf, "Otter Red", [0, 1, 0.9, 0]), [0])
        pixels = bytes(([0] * 300 + [255] * 300) * 400)
        made.XObject.I = pdf.make_stream(
            pixels, Type=Name.XObject, Subtype=Name.Image, Width=600, Height=400, BitsPerComponent=8,
            ColorSpace=separation(pdf, "Otter Red", [0, 1, 0.9, 0]),
        )  # fmt: skip
        return made

    (ink,) = inks_of("q 40 0 0 26 10 10 cm /I Do Q", prepare)
    assert (ink.name, ink.kind) == ("Otter Red", "spot")


@pytest.mark.parametrize(
    "value", [(255, 0, 0, 0), (0, 255, 0, 0), (255, 0, 255, 0), (255, 255, 0, 0), (0, 128, 255, 0)]
)
@pytest.mark.parametrize("how", ["paint", "spot"])
def test_lab_of_press_colours_is_not_clipped_to_srgb(value, how):
    """The cyan of a press is no colour of sRGB: its Lab comes from the profile, only its look is clipped."""
    data = profile_bytes("ps_cmyk")

    def prepare(pdf):
        output_intent(pdf, data)
        return Dictionary(ColorSpace=Dictionary(S=separation(pdf, "Reed", [v / 255 for v in value])))

    numbers = " ".join(f"{v / 255:.5f}" for v in value)
    (ink,) = inks_of(f"{numbers} k {BOX}" if how == "paint" else f"/S cs 1 scn {BOX}", prepare)
    assert colour.difference(ink.lab, lab_by_littlecms(data, value)) < 0.9
    agree(ink, by_littlecms(data, "CMYK", value), 1.0)


@pytest.mark.parametrize("lab", [(60, -60, -40), (20, 50, -70), (90, -10, 110), (50, 10, 5)])
def test_a_spot_given_in_lab_keeps_it(lab):
    """Two of these are beyond sRGB; the number is the one in the file."""

    def prepare(pdf):
        space = Array([Name.Lab, Dictionary(WhitePoint=[0.9642, 1, 0.8249], Range=[-128, 127, -128, 127])])
        tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[100, 0, 0], C1=list(lab), N=1)
        return Dictionary(ColorSpace=Dictionary(S=Array([Name.Separation, Name("/Reed"), space, tint])))

    (ink,) = inks_of(f"/S cs 1 scn {BOX}", prepare)
    assert np.allclose(ink.lab, lab, atol=0.05)
    shown = colour.difference(colour.lab_of(ink.hex), colour.lab_of(colour.hex_of_lab(lab)))
    assert shown < 2.0


def test_one_colour_beyond_srgb_in_two_spaces_is_told_apart_or_joined_by_what_is_known():
    """Two press greens that sRGB shows nearly alike are two inks; a picture in the clipped look joins the first."""
    data = profile_bytes("ps_cmyk")
    greens = [(255, 0, 255, 0), (255, 0, 180, 0)]
    content = " ".join(
        f"{' '.join(f'{v / 255:.4f}' for v in green)} k {10 + 40 * k} 10 30 20 re f"
        for k, green in enumerate(greens)
    )
    clipped = [v / 255 for v in colour.rgb_of(by_littlecms(data, "CMYK", greens[0]))]
    content += f" {' '.join(f'{v:.4f}' for v in clipped)} rg 10 35 30 20 re f"
    found = inks_of(content, lambda pdf: output_intent(pdf, data) or Dictionary())
    assert len(found) == 2


def test_inks_of_the_same_area_come_in_the_order_they_are_drawn_every_time(tmp_path):
    """Python's sets have another order in every process (PYTHONHASHSEED); a report must not."""
    colours = ("0.8 0.1 0.1", "0.1 0.5 0.2", "0.1 0.2 0.7", "0.9 0.7 0.1", "0.4 0.1 0.5")
    squares = "\n".join(f"{rgb} rg {10 + 15 * n} 10 10 10 re f" for n, rgb in enumerate(colours))
    path = tmp_path / "squares.pdf"
    path.write_bytes(pdf_of(squares))
    show = (
        "import sys, pathlib\nfrom preflight.load import load\nfrom preflight.order import Order\n"
        "print([ink.hex for ink in load(pathlib.Path(sys.argv[1]).read_bytes(), Order()).inks])"
    )
    seen = set()
    for seed in "123":
        ran = subprocess.run(
            [sys.executable, "-c", show, path], env=os.environ | {"PYTHONHASHSEED": seed},
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        seen.add(ran.stdout.strip())
    drawn = ["#" + "".join(f"{round(255 * float(part)):02x}" for part in rgb.split()) for rgb in colours]
    assert seen == {str(drawn)}
