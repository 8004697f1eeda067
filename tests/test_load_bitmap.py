"""Bitmaps: pixels, colours, resolution and coding against pictures whose truth was made, not decoded."""

import contextlib
import io
import struct
import warnings
import zlib

import numpy as np
import pytest
import tifffile
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, PngImagePlugin

from preflight.errors import Unreadable
from preflight.load.bitmap import FORMATS, MAX_PIXELS, decode, jpeg_quality

with warnings.catch_warnings():  # it warns that its plotting is not installed
    warnings.simplefilter("ignore")
    import colour as colour_science

ROWS, COLUMNS = 40, 60
_Y, _X = np.mgrid[:ROWS, :COLUMNS]
RGB = np.stack([_X * 4, _Y * 6, (_X * _Y) % 256], -1).astype(np.uint8)
RGB[10:25, 10:30] = np.random.default_rng(7).integers(0, 256, (15, 20, 3))
GREY16 = (np.arange(ROWS * COLUMNS).reshape(ROWS, COLUMNS) * 27).astype(np.uint16)


def saved(image: Image.Image | np.ndarray, form: str, **options) -> bytes:
    buffer = io.BytesIO()
    (image if isinstance(image, Image.Image) else Image.fromarray(image)).save(buffer, form, **options)
    return buffer.getvalue()


def tiff(values: np.ndarray, **options) -> bytes:
    buffer = io.BytesIO()
    tifffile.imwrite(buffer, values, **options)
    return buffer.getvalue()


def icc(colour_space: bytes, connection: bytes, tags: dict[bytes, bytes]) -> bytes:
    """An ICC profile, version 2.1 (ICC.1:2001-04), of the given tags."""
    tags = {b"wtpt": _xyz(0.9642, 1, 0.8249), b"cprt": b"text\0\0\0\0none\0", **tags}
    directory, body, at = b"", b"", 132 + 12 * len(tags)
    for name, content in tags.items():
        content += bytes(-len(content) % 4)
        directory += struct.pack(">4sII", name, at + len(body), len(content))
        body += content
    head = struct.pack(
        ">I4sI4s4s4s12x4s", at + len(body), b"none", 0x02100000, b"prtr", colour_space, connection, b"acsp"
    )
    head += bytes(68 - len(head)) + struct.pack(">3I", 0xF6D6, 0x10000, 0xD32D)
    return head + bytes(128 - len(head)) + struct.pack(">I", len(tags)) + directory + body


def _xyz(*values: float) -> bytes:
    return b"XYZ \0\0\0\0" + struct.pack(">3i", *(round(v * 65536) for v in values))


#: Lab (D50) of full tints of the four inks of an invented press, by which pixels the profile says them: C M Y K.
PRESS = {
    (0, 0, 0, 0): (100, 0, 0), (1, 0, 0, 0): (62, -30, -40), (0, 1, 0, 0): (52, 60, -5), (0, 0, 1, 0): (88, -4, 70),
    (0, 0, 0, 1): (20, 0, 0),
}  # fmt: skip


def press_profile() -> bytes:
    """A CMYK profile as a table of two steps an ink (lut8Type): its corners are known exactly."""
    table = b""
    for corner in np.ndindex(2, 2, 2, 2):
        lightness, a, b = PRESS.get(corner, (15, 0, 0))
        table += bytes([round(lightness * 2.55), a + 128, b + 128])
    straight = bytes(range(256))
    lut = b"mft1\0\0\0\0" + bytes([4, 3, 2, 0]) + struct.pack(">9i", 65536, 0, 0, 0, 65536, 0, 0, 0, 65536)
    lut += straight * 4 + table + straight * 3
    return icc(
        b"CMYK",
        b"Lab ",
        {
            b"A2B0": lut,
            b"A2B1": lut,
            b"desc": b"desc" + bytes(4) + struct.pack(">I", 6) + b"press\0" + bytes(78),
        },
    )


def wide_profile() -> bytes:
    """RGB of Adobe RGB (1998): its primaries and white adapted to D50, gamma 563/256, as the published encoding states."""
    gamma = b"curv\0\0\0\0" + struct.pack(">IH", 1, 563)
    primaries = {
        b"rXYZ": _xyz(0.60974, 0.31111, 0.01947),
        b"gXYZ": _xyz(0.20528, 0.62567, 0.06087),
        b"bXYZ": _xyz(0.14919, 0.06322, 0.74457),
    }
    return icc(b"RGB ", b"XYZ ", {**primaries, b"rTRC": gamma, b"gTRC": gamma, b"bTRC": gamma})


def srgb_of_lab(lab: tuple[float, float, float]) -> np.ndarray:
    """8-bit sRGB of Lab (D50) by colour-science, clipped to the gamut."""
    d50 = colour_science.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
    with np.errstate(all="ignore"):
        rgb = colour_science.XYZ_to_sRGB(colour_science.Lab_to_XYZ(lab, d50), d50, "Bradford")
    return np.clip(np.round(rgb * 255), 0, 255)


LOSSLESS = {
    "png": saved(RGB, "PNG"),
    "interlaced by another writer": tiff(RGB, compression="zlib", predictor=True),
    "tiff": saved(RGB, "TIFF"),
    "tiff lzw": saved(RGB, "TIFF", compression="tiff_lzw"),
    "tiff packbits": saved(RGB, "TIFF", compression="packbits"),
    "tiff in tiles": tiff(RGB, tile=(16, 16)),
    "tiff in strips": tiff(RGB, rowsperstrip=7),
    "tiff in planes": tiff(np.moveaxis(RGB, 2, 0), photometric="rgb", planarconfig="separate"),
    "big tiff": tiff(RGB, bigtiff=True),
    "tiff of the other byte order": tiff(RGB, byteorder=">"),
    "webp": saved(RGB, "WEBP", lossless=True),
    "bmp": saved(RGB, "BMP"),
    "ppm": saved(RGB, "PPM"),
    "pcx": saved(RGB, "PCX"),
    "sgi": saved(RGB, "SGI"),
    "jpeg2000": saved(RGB, "JPEG2000"),
    "qoi": saved(RGB, "QOI"),
}
LOSSY = {
    "jpeg": saved(RGB, "JPEG", quality=83),
    "progressive jpeg": saved(RGB, "JPEG", progressive=True),
    "webp": saved(RGB, "WEBP", quality=80),
    "avif": saved(RGB, "AVIF"),
    "jpeg2000": saved(RGB, "JPEG2000", irreversible=True, quality_layers=[20]),
    "jpeg in tiff": saved(RGB, "TIFF", compression="jpeg"),
}


@pytest.mark.parametrize("name", LOSSLESS)
def test_pixels_come_out_as_they_went_in(name):
    art = decode(LOSSLESS[name])
    assert np.array_equal(art.rgb, RGB)
    assert (art.alpha, art.bits, art.lossy, art.jpeg_quality, art.space, art.pages) == (
        None,
        8,
        False,
        None,
        "RGB",
        1,
    )
    assert art.facts == ()


@pytest.mark.parametrize("name", LOSSY)
def test_lossy_codings_say_so(name):
    art = decode(LOSSY[name])
    assert art.lossy and art.rgb.shape == RGB.shape
    assert (art.jpeg_quality is not None) == ("jpeg" in name and "2000" not in name)


@pytest.mark.parametrize("quality", [1, 5, 10, 25, 49, 50, 51, 75, 83, 90, 95, 100])
def test_jpeg_quality_is_that_of_the_encoder(quality):
    data = saved(RGB, "JPEG", quality=quality)
    assert decode(data).jpeg_quality == pytest.approx(quality, abs=0.5)
    assert jpeg_quality(data) == decode(data).jpeg_quality
    assert decode(saved(RGB, "TIFF", compression="jpeg", quality=quality)).jpeg_quality == pytest.approx(
        quality, abs=0.5
    )


def test_no_quantisation_table_no_quality():
    assert jpeg_quality(LOSSLESS["png"]) is None


class TestDepthsAndSpaces:
    @pytest.mark.parametrize("options", [{}, {"compression": "zlib"}, {"byteorder": ">"}])
    def test_deep_grey_is_scaled_and_not_clipped(self, options):
        art = decode(tiff(GREY16, **options))
        assert np.array_equal(art.rgb[..., 0], np.round(GREY16 / 257).astype(np.uint8))
        assert (art.bits, art.space) == (16, "Grey")

    def test_deep_grey_png(self):
        assert np.array_equal(
            decode(saved(GREY16, "PNG")).rgb[..., 1], np.round(GREY16 / 257).astype(np.uint8)
        )

    def test_white_may_be_zero(self):
        art = decode(tiff(GREY16, photometric="miniswhite"))
        assert np.array_equal(
            art.rgb[..., 0], np.round((65535 - GREY16.astype(float)) / 257).astype(np.uint8)
        )

    def test_deep_colours(self):
        deep = RGB.astype(np.uint16) * 257
        art = decode(tiff(deep, photometric="rgb"))
        assert np.array_equal(art.rgb, RGB) and art.bits == 16

    def test_floating_point_from_black_to_white(self):
        unit = GREY16.astype(np.float32) / GREY16.max()
        assert np.array_equal(decode(tiff(unit)).rgb[..., 0], np.round(unit * 255).astype(np.uint8))

    @pytest.mark.parametrize(
        "values",
        [
            GREY16.astype(np.float32),
            (GREY16.astype(np.uint32) << 15),
            (GREY16 // 4).astype(np.int16) - 9000,
        ],
        ids=["float", "32 bits unsigned", "signed"],
    )
    def test_levels_on_another_scale_are_stretched_and_reported(self, values):
        art = decode(tiff(values))
        assert (art.rgb[0, 0, 0], art.rgb[-1, -1, 0]) == (0, 255)
        assert [fact.kind for fact in art.facts] == ["unread colour"]

    def test_pixels_without_a_value_are_reported(self):
        unit = GREY16.astype(np.float32) / GREY16.max()
        unit[3, 3:8] = np.nan
        assert [(fact.kind, fact.count) for fact in decode(tiff(unit)).facts] == [("damaged", 5)]

    @pytest.mark.parametrize("form", ["PNG", "TIFF", "BMP", "PPM", "PCX"])
    def test_line_art_has_one_bit(self, form):
        line = Image.fromarray(RGB[..., 0] > 100)
        art = decode(saved(line, form))
        assert (art.bits, art.space) == (1, "1-bit")
        assert np.array_equal(art.rgb[..., 0] > 0, RGB[..., 0] > 100)

    @pytest.mark.parametrize("compression", ["group3", "group4"])
    def test_fax_codings(self, compression):
        art = decode(saved(Image.fromarray(RGB[..., 0] > 100), "TIFF", compression=compression))
        assert (art.bits, art.space) == (1, "1-bit") and np.array_equal(
            art.rgb[..., 0] > 0, RGB[..., 0] > 100
        )

    def test_a_palette(self):
        few = Image.fromarray(RGB).quantize(16)
        art = decode(saved(few, "PNG", bits=4))
        assert (art.space, art.bits) == ("Indexed", 4)
        assert np.array_equal(art.rgb, np.asarray(few.convert("RGB")))

    @pytest.mark.parametrize("lab", [(50, 40, -30), (80, -20, 50), (30, 0, 0), (100, 0, 0)])
    def test_lab_is_relative_to_d50(self, lab):
        values = np.empty((4, 4, 3), np.uint8)
        values[..., 0] = round(lab[0] * 2.55)  # TIFF 6.0 section 23: L* 0 to 255, a* and b* signed
        values[..., 1:] = np.array(lab[1:], np.int8).astype(np.uint8)
        art = decode(tiff(values, photometric="cielab"))
        assert art.space == "Lab"
        assert np.abs(art.rgb[0, 0] - srgb_of_lab((values[0, 0, 0] / 2.55, *lab[1:]))).max() <= 2

    def test_cmyk_by_its_own_profile(self):
        press = press_profile()
        for corner in PRESS:
            flat = Image.new("CMYK", (8, 8), tuple(255 * v for v in corner))
            for data in (
                saved(flat, "TIFF", icc_profile=press),
                saved(flat, "JPEG", icc_profile=press, quality=100),
            ):
                art = decode(data)
                assert np.abs(art.rgb[4, 4] - srgb_of_lab(PRESS[corner])).max() <= 4
                assert art.space == "CMYK" and art.facts == ()

    def test_cmyk_without_profile_takes_the_given_one_or_says_that_it_guesses(self):
        flat = Image.new("CMYK", (8, 8), (255, 0, 0, 0))
        guessed, known = (
            decode(saved(flat, "TIFF")),
            decode(saved(flat, "TIFF"), cmyk_profile=press_profile()),
        )
        carried = decode(saved(flat, "TIFF", icc_profile=press_profile()))
        assert [fact.kind for fact in guessed.facts] == ["approximate colour"] and known.facts == ()
        assert np.array_equal(known.rgb, carried.rgb) and not np.array_equal(known.rgb, guessed.rgb)

    @pytest.mark.parametrize(
        "rgb", [(255, 0, 0), (20, 180, 90), (128, 128, 128), (255, 255, 255), (10, 20, 200)]
    )
    def test_a_wide_rgb_profile(self, rgb):
        truth = colour_science.RGB_to_RGB(
            np.array(rgb) / 255,
            "Adobe RGB (1998)",
            "sRGB",
            apply_cctf_decoding=True,
            apply_cctf_encoding=True,
        )
        art = decode(saved(Image.new("RGB", (4, 4), rgb), "PNG", icc_profile=wide_profile()))
        assert np.abs(art.rgb[0, 0] - np.clip(np.round(truth * 255), 0, 255)).max() <= 2

    @pytest.mark.parametrize("form", ["PNG", "JPEG", "TIFF"])
    @pytest.mark.parametrize("profile", ["press", "cut", "noise"])
    def test_a_profile_that_does_not_fit_is_reported_and_left_out(self, form, profile):
        bad = {"press": press_profile(), "cut": wide_profile()[:200], "noise": b"reed" * 100}[profile]
        art = decode(saved(Image.new("RGB", (16, 16), (200, 30, 40)), form, icc_profile=bad))
        assert [fact.kind for fact in art.facts] == ["unread colour"]
        assert np.abs(art.rgb[8, 8].astype(int) - (200, 30, 40)).max() <= 3


class TestTransparency:
    ALPHA = ((_X * 4) % 256).astype(np.uint8)

    def test_rgb_with_alpha(self):
        for form in ("PNG", "TIFF", "WEBP"):
            options = {"lossless": True, "exact": True} if form == "WEBP" else {}
            art = decode(saved(np.dstack([RGB, self.ALPHA]), form, **options))
            assert np.array_equal(art.alpha, self.ALPHA) and np.array_equal(art.rgb, RGB)

    def test_grey_with_alpha(self):
        art = decode(
            saved(Image.merge("LA", [Image.fromarray(RGB[..., 0]), Image.fromarray(self.ALPHA)]), "PNG")
        )
        assert np.array_equal(art.alpha, self.ALPHA) and np.array_equal(art.rgb[..., 2], RGB[..., 0])

    def test_alpha_multiplied_in_is_taken_out(self):
        values = np.dstack([RGB // 2, np.full((ROWS, COLUMNS), 128, np.uint8)])
        art = decode(tiff(values, photometric="rgb", extrasamples=["assocalpha"]))
        assert np.abs(art.rgb.astype(int) - RGB).max() <= 3 and art.alpha.max() == 128

    def test_one_colour_or_entry_may_be_transparent(self):
        flat = Image.new("RGB", (10, 10), (1, 2, 3))
        flat.putpixel((4, 5), (200, 100, 50))
        for data in (
            saved(flat, "PNG", transparency=(200, 100, 50)),
            saved(flat.quantize(2), "PNG", transparency=int(np.asarray(flat.quantize(2))[5, 4])),
            saved(flat.quantize(2), "GIF", transparency=int(np.asarray(flat.quantize(2))[5, 4])),
            saved(flat.convert("L"), "PNG", transparency=flat.convert("L").getpixel((4, 5))),
        ):
            assert np.argwhere(decode(data).alpha == 0).tolist() == [[5, 4]]

    def test_a_deep_grey_may_be_transparent(self):
        buffer = io.BytesIO()
        Image.fromarray(GREY16).save(buffer, "PNG")
        data = buffer.getvalue()
        body = b"tRNS" + struct.pack(">H", int(GREY16[2, 3]))
        chunk = struct.pack(">I", 2) + body + struct.pack(">I", zlib.crc32(body))
        art = decode(data[:33] + chunk + data[33:])
        assert np.argwhere(art.alpha == 0).tolist() == [[2, 3]]

    def test_opaque_is_none(self):
        assert decode(saved(np.dstack([RGB, np.full((ROWS, COLUMNS), 255, np.uint8)]), "PNG")).alpha is None


class TestFurtherChannels:
    """TIFF 6.0: ExtraSamples 0 is unspecified, 1 and 2 are transparency."""

    @pytest.mark.parametrize("photometric, colours", [("minisblack", 1), ("rgb", 3), ("separated", 4)])
    def test_samples_nobody_explains_are_counted(self, photometric, colours):
        values = np.full((6, 6, colours + 1), 200, np.uint8)
        for kind, count in (("unspecified", [1]), *([("unassalpha", [])] if colours < 4 else [])):
            art = decode(tiff(values, photometric=photometric, extrasamples=[kind]))
            assert [fact.count for fact in art.facts if fact.kind == "further channel"] == count

    def test_saved_selections_are_no_inks(self):
        values = np.full((6, 6, 5), 200, np.uint8)
        for kind, count in ((0, []), (2, [1])):
            block = resource(1007, bytes(12) + bytes([kind, 0]))
            art = decode(
                tiff(values, photometric="separated", extrasamples=["unspecified"],
                     extratags=[(34377, 7, len(block), block, True)])
            )  # fmt: skip
            assert [fact.count for fact in art.facts if fact.kind == "further channel"] == count


class TestResolution:
    @pytest.mark.parametrize(
        ("data", "ppi"),
        [
            (saved(RGB, "PNG", dpi=(300, 300)), 300),
            (saved(RGB, "PNG", dpi=(600, 600)), 600),
            (saved(RGB, "JPEG", dpi=(150, 150)), 150),
            (tiff(RGB, resolution=(240, 240), resolutionunit="inch"), 240),
            (tiff(RGB, resolution=(100, 100), resolutionunit="centimeter"), 254),
            (saved(RGB, "BMP", dpi=(72, 72)), 72),
        ],
    )
    def test_stated(self, data, ppi):
        assert decode(data).ppi == pytest.approx((ppi, ppi), abs=0.02)

    @pytest.mark.parametrize("ppi", [1, 29, 2401, 9999])
    @pytest.mark.parametrize("form", ["PNG", "JPEG", "TIFF"])
    def test_not_credible_is_absent(self, form, ppi):
        assert decode(saved(RGB, form, dpi=(ppi, ppi))).ppi is None

    @pytest.mark.parametrize(
        "data",
        [
            saved(RGB, "PNG"),
            saved(RGB, "JPEG"),
            tiff(RGB, resolution=(300, 300), resolutionunit="none"),
            saved(RGB, "WEBP"),
        ],
    )
    def test_not_stated(self, data):
        assert decode(data).ppi is None

    def exif(self, **tags) -> Image.Exif:
        exif = Image.Exif()
        for name, value in tags.items():
            exif[{"orientation": 0x112, "x": 0x11A, "y": 0x11B, "unit": 0x128}[name]] = value
        return exif

    def test_exif_where_the_format_is_silent(self):
        for form in ("JPEG", "WEBP", "PNG"):
            assert decode(saved(RGB, form, exif=self.exif(x=300.0, y=200.0, unit=2))).ppi == pytest.approx(
                (300, 200)
            )
        assert decode(saved(RGB, "JPEG", exif=self.exif(x=100.0, y=100.0, unit=3))).ppi == pytest.approx(
            (254, 254)
        )

    def test_an_exif_without_resolution_is_not_taken_for_72(self):
        assert decode(saved(RGB, "JPEG", exif=self.exif(orientation=1))).ppi is None

    @pytest.mark.parametrize("orientation", range(1, 9))
    def test_upright(self, orientation):
        # CIPA DC-008 (Exif): what row 0 and column 0 stand for, undone by flips and turns of the array.
        upright = {
            1: RGB, 2: RGB[:, ::-1], 3: RGB[::-1, ::-1], 4: RGB[::-1], 5: RGB.transpose(1, 0, 2),
            6: np.rot90(RGB, -1), 7: np.rot90(RGB[::-1], 1)[::-1, ::-1][::-1, ::-1], 8: np.rot90(RGB, 1),
        }  # fmt: skip
        upright[7] = RGB[::-1, ::-1].transpose(1, 0, 2)
        exif = self.exif(orientation=orientation, x=300.0, y=150.0, unit=2)
        for form in ("PNG", "TIFF"):
            art = decode(saved(RGB, form, exif=exif))
            assert np.array_equal(art.rgb, upright[orientation])
            if form == "PNG":
                assert art.ppi == pytest.approx((150, 300) if orientation > 4 else (300, 150))


class TestPagesAndFrames:
    def test_pages_of_a_tiff(self):
        data = tiff(np.stack([RGB, 255 - RGB, RGB // 2]), photometric="rgb")
        assert [decode(data, page).pages for page in (1, 2, 3)] == [3, 3, 3]
        assert np.array_equal(decode(data, 2).rgb, 255 - RGB) and decode(data, 2).page == 2
        assert np.array_equal(decode(data, 3).rgb, RGB // 2)
        for page in (0, 4, -1):
            with pytest.raises(Unreadable, match="3 page"):
                decode(data, page)

    def test_a_thumbnail_is_no_page(self):
        buffer = io.BytesIO()
        with tifffile.TiffWriter(buffer) as writer:
            writer.write(RGB[::4, ::4], subfiletype=1, photometric="rgb")
            writer.write(RGB, photometric="rgb")
        art = decode(buffer.getvalue())
        assert art.pages == 1 and np.array_equal(art.rgb, RGB)

    @pytest.mark.parametrize("form", ["GIF", "PNG", "WEBP"])
    def test_an_animation_shows_its_first_picture_and_is_reported(self, form):
        frames = [Image.new("RGB", (12, 12), shade) for shade in ("#c8102e", "#2f6b4f", "#e8d9b5")]
        options = {"lossless": True} if form == "WEBP" else {}
        art = decode(saved(frames[0], form, save_all=True, append_images=frames[1:], duration=90, **options))
        assert [(fact.kind, fact.count) for fact in art.facts] == [("extra page", 2)]
        assert art.pages == 1 and np.abs(art.rgb[5, 5].astype(int) - (0xC8, 0x10, 0x2E)).max() <= 2

    def test_a_second_page_of_a_format_without_pages(self):
        with pytest.raises(Unreadable):
            decode(LOSSLESS["png"], 2)


def layered(
    mode: int, bits: int, planes: list[np.ndarray], resources: bytes = b"", version: int = 1
) -> bytes:
    """A layered picture of no layers: header, resources and the flat picture (published file format specification)."""
    rows, columns = planes[0].shape
    head = b"8BPS" + struct.pack(">H6xHIIHH", version, len(planes), rows, columns, bits, mode)
    return (
        head
        + bytes(4)
        + struct.pack(">I", len(resources))
        + resources
        + bytes(4)
        + bytes(2)
        + b"".join(p.tobytes() for p in planes)
    )


def resource(number: int, content: bytes) -> bytes:
    return b"8BIM" + struct.pack(">H2xI", number, len(content)) + content + bytes(len(content) % 2)


class TestLayeredPictures:
    PLANES = list(np.moveaxis(RGB, 2, 0))

    def test_the_flat_picture_and_its_resolution(self):
        stated = resource(1005, struct.pack(">IHHIHH", 300 << 16, 1, 1, 250 << 16, 1, 1))
        art = decode(layered(3, 8, self.PLANES, stated))
        assert np.array_equal(art.rgb, RGB) and art.format == "psd" and art.ppi == (300, 250)

    def test_cmyk_is_stored_upside_down(self):
        white = [np.full((4, 4), 255, np.uint8)] * 4
        assert decode(layered(4, 8, white)).rgb.min() == 255

    @pytest.mark.parametrize("number, size", [(1007, 14), (1077, 13)])
    def test_spot_channels_are_counted_and_no_transparency(self, number, size):
        kinds = b"".join(bytes(12) + bytes([kind]) + bytes(size - 13) for kind in (2, 0, 2))
        stated = resource(number, (struct.pack(">I", 1) if number == 1077 else b"") + kinds)
        spot = np.full(RGB.shape[:2], 90, np.uint8)
        art = decode(layered(3, 8, [*self.PLANES, spot, spot, spot], stated))
        assert [(fact.kind, fact.count) for fact in art.facts] == [("further channel", 2)]
        art = decode(layered(3, 8, [*self.PLANES, spot], stated))
        assert art.alpha is None and np.array_equal(art.rgb, RGB)

    def test_saved_selections_are_no_inks(self):
        selection = resource(1007, bytes(14))
        art = decode(layered(4, 8, [self.PLANES[0]] * 5, selection))
        assert not [fact for fact in art.facts if fact.kind == "further channel"]

    def test_a_fourth_channel_nobody_explains_is_transparency_of_rgb_and_an_ink_of_cmyk(self):
        half = np.full(RGB.shape[:2], 90, np.uint8)
        rgb, cmyk = (
            decode(layered(3, 8, [*self.PLANES, half])),
            decode(layered(4, 8, [half] * 5)),
        )
        assert rgb.alpha is not None and not rgb.facts
        assert [fact.count for fact in cmyk.facts if fact.kind == "further channel"] == [1]

    def test_nothing_but_inks_in_channels(self):
        with pytest.raises(Unreadable, match="each ink in a channel of its own"):
            decode(layered(7, 8, self.PLANES[:2]))

    def test_without_a_flat_picture(self):
        with pytest.raises(Unreadable, match="without the flat picture"):
            decode(layered(3, 8, self.PLANES, resource(1057, struct.pack(">IB", 1, 0) + bytes(8))))
        assert (
            decode(layered(3, 8, self.PLANES, resource(1057, struct.pack(">IB", 1, 1) + bytes(8)))).bits == 8
        )

    @pytest.mark.parametrize(
        "data", [layered(3, 16, [p.astype(">u2") for p in PLANES]), layered(3, 8, PLANES, version=2)]
    )
    def test_varieties_that_are_refused(self, data):
        with pytest.raises(Unreadable, match="layered picture"):
            decode(data)


ALL = {**LOSSLESS, **{f"{name} (lossy)": data for name, data in LOSSY.items()}}
ALL["gif"] = saved(Image.fromarray(RGB).quantize(40), "GIF")
ALL["layered"] = layered(3, 8, TestLayeredPictures.PLANES)
ALL["ico"] = saved(Image.fromarray(RGB).resize((32, 32)), "ICO")
ALL["line art"] = saved(Image.fromarray(RGB[..., 0] > 100), "TIFF", compression="group4")


@pytest.mark.parametrize("name", ALL)
def test_a_cut_file_is_refused_or_whole_never_half_grey(name):
    whole = decode(ALL[name])
    for cut in np.linspace(0, len(ALL[name]) - 1, 25).astype(int):
        with contextlib.suppress(Unreadable):
            assert np.array_equal(decode(ALL[name][:cut]).rgb, whole.rgb), f"cut after {cut} bytes"


@given(st.sampled_from(sorted(ALL)), st.data())
@settings(max_examples=400, deadline=None)
def test_changed_files_are_decoded_or_refused(name, data):
    changed = bytearray(ALL[name])
    for _ in range(data.draw(st.integers(1, 6))):
        changed[data.draw(st.integers(0, min(len(changed) - 1, 400)))] = data.draw(st.integers(0, 255))
    with contextlib.suppress(Unreadable):
        art = decode(bytes(changed))
        assert (
            art.rgb.dtype == np.uint8
            and art.rgb.shape[2] == 3
            and art.rgb.shape[0] * art.rgb.shape[1] <= MAX_PIXELS
        )
        assert art.alpha is None or art.alpha.shape == art.rgb.shape[:2]


@given(st.binary(max_size=200))
@settings(max_examples=150, deadline=None)
def test_any_bytes_are_refused(data):
    with pytest.raises(Unreadable):
        decode(data)


def png_of_size(width: int, height: int) -> bytes:
    head = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = b"IDAT" + zlib.compress(bytes(1000))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(chunk) - 4) + chunk + struct.pack(">I", zlib.crc32(chunk))
        for chunk in (head, body, b"IEND")
    )


@pytest.mark.parametrize(("width", "height"), [(11_000, 11_000), (20_000, 20_000), (2**31 - 1, 2**31 - 1)])
def test_too_many_pixels_are_refused_before_any_is_decoded(width, height):
    with pytest.raises(Unreadable, match="million pixels"):
        decode(png_of_size(width, height))


def test_pillows_own_bomb_guard_stays_on():
    before = Image.MAX_IMAGE_PIXELS
    decode(LOSSLESS["png"])
    assert before == Image.MAX_IMAGE_PIXELS is not None


def test_a_flood_of_text_is_refused():
    notes = PngImagePlugin.PngInfo()
    for number in range(3):
        notes.add_text(f"note{number}", "reed" * 8_000_000, zip=True)
    with pytest.raises(Unreadable):
        decode(saved(RGB, "PNG", pnginfo=notes))


@pytest.mark.parametrize(
    "data",
    [b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\nshowpage\n", saved(RGB, "TGA"), saved(RGB, "DDS")],
)
def test_formats_off_the_list_are_not_opened(data):
    assert not {"EPS", "TGA", "DDS", "WMF", "MPEG", "HDF5"} & set(FORMATS)
    with pytest.raises(Unreadable):
        decode(data)
