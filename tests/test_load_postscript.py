"""EPS and PostScript through Ghostscript, checked with poppler and pikepdf; and what the PostScript must not do."""

import base64
import contextlib
import io
import os
import shutil
import struct
import subprocess
import tempfile
import threading
import time
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from preflight.errors import Unreadable
from preflight.load import postscript
from preflight.load.postscript import to_pdf

HEADER = b"%!PS-Adobe-3.0 EPSF-3.0\n"
BOX = b"%%BoundingBox: 0 0 100 50\n"
DRAWN = b"%%EndComments\n0.1 0.6 0.3 setrgbcolor 10 10 50 30 rectfill showpage\n%%EOF\n"
PLAIN = HEADER + BOX + DRAWN


def page(pdf: bytes) -> tuple[list[float], str]:
    """Media box and content stream of the first page."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        first = document.pages[0]
        return [float(v) for v in first.MediaBox], first.Contents.read_bytes().decode("latin-1")


def poppler(tool: str, pdf: bytes, *options: str) -> str:
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "art.pdf").write_bytes(pdf)
        return subprocess.run(
            [tool, *options, "art.pdf"], cwd=folder, capture_output=True, text=True, check=True
        ).stdout


class TestSize:
    @pytest.mark.parametrize(
        ("comments", "size"),
        [
            (b"%%BoundingBox: 0 0 100 50\n", (100, 50)),
            (b"%%BoundingBox: -20 -30 100 50\n", (120, 80)),
            (b"%%BoundingBox: 0 0 101 51\n%%HiResBoundingBox: 0.5 0.25 100.25 50.75\n", (99.75, 50.5)),
            (
                b"%%HiResBoundingBox: 0 0 198.4252 127.5591\n%%BoundingBox: 0 0 199 128\n",
                (198.4252, 127.5591),
            ),
        ],
    )
    def test_the_page_is_the_bounding_box(self, comments, size):
        art = to_pdf(HEADER + comments + DRAWN)
        assert page(art.pdf)[0] == pytest.approx((0, 0, *size), abs=0.005)
        width, height = poppler("pdfinfo", art.pdf).split("Page size:")[1].split()[0:3:2]
        assert (float(width), float(height)) == pytest.approx(size, abs=0.01)

    @pytest.mark.parametrize("line_end", [b"\r", b"\r\n"])
    def test_line_ends_of_other_systems(self, line_end):
        assert page(to_pdf(PLAIN.replace(b"\n", line_end)).pdf)[0] == [0, 0, 100, 50]

    def test_a_box_stated_at_the_end(self):
        start = b"%%BoundingBox: (atend)\n%%HiResBoundingBox: (atend)\n"
        end = b"%%Trailer\n%%BoundingBox: 5 5 106 56\n%%HiResBoundingBox: 5.5 5.5 104.5 54.5\n%%EOF\n"
        assert page(to_pdf(HEADER + start + DRAWN + end).pdf)[0] == pytest.approx((0, 0, 99, 49), abs=0.01)

    def test_art_is_moved_with_its_box(self):
        art = to_pdf(HEADER + b"%%BoundingBox: 10 10 60 40\n" + DRAWN)
        shown = subprocess.run(
            ["pdftoppm", "-r", "72", "-png", "-singlefile", "-"],
            input=art.pdf,
            capture_output=True,
            check=True,
        )
        pixels = np.asarray(Image.open(io.BytesIO(shown.stdout)).convert("RGB")).astype(int)
        assert pixels.shape == (30, 50, 3) and np.abs(pixels - (26, 153, 77)).max() <= 2

    def test_one_page_with_a_box_is_cropped_even_when_it_does_not_say_eps(self):
        assert page(to_pdf(b"%!PS-Adobe-3.0\n" + BOX + DRAWN).pdf)[0][2:] == [100, 50]

    @pytest.mark.parametrize("box", [b"", b"%%BoundingBox: 0 0 0 0\n", b"%%BoundingBox: 50 50 10 10\n"])
    def test_without_a_box_it_says_so(self, box):
        assert [fact.kind for fact in to_pdf(HEADER + box + DRAWN).facts] == ["damaged"]

    def test_pages(self):
        assert (
            int(
                poppler("pdfinfo", to_pdf(b"%!PS\n" + b"10 10 9 9 rectfill showpage\n" * 3).pdf)
                .split("Pages:")[1]
                .split()[0]
            )
            == 3
        )


class TestColours:
    def test_spot_colours_mixes_and_overprint_survive(self):
        art = to_pdf(
            HEADER
            + BOX
            + b"[/Separation (Kite Red) /DeviceCMYK {dup 0 exch 0.9 mul 3 -1 roll 0.8 mul 0}] setcolorspace\n"
            + b"0.4 setcolor true setoverprint 0 0 9 9 rectfill\n"
            + b"[/DeviceN [(Marsh Green) (Sand)] /DeviceCMYK {pop pop 1 0 1 0}] setcolorspace\n"
            + b"1 0.5 setcolor 9 9 9 9 rectfill 0.1 0.2 0.3 0.4 setcmykcolor 20 9 9 9 rectfill\n"
            + b"0.5 setgray 30 9 9 9 rectfill showpage\n"
        )
        with pikepdf.open(io.BytesIO(art.pdf)) as document:
            resources = document.pages[0].Resources
            names = {str(space[0]): space[1] for space in resources.ColorSpace.values()}
            assert str(names["/Separation"]) == "/Kite Red"
            assert [str(name) for name in names["/DeviceN"]] == ["/Marsh Green", "/Sand"]
            assert any(state.get("/op") for state in resources.ExtGState.values())
        words = page(art.pdf)[1].split()
        tint = float(words[words.index("scn") - 1])
        cmyk = [float(v) for v in words[words.index("k") - 4 : words.index("k")]]
        assert tint == pytest.approx(0.4, abs=1e-3) and cmyk == pytest.approx([0.1, 0.2, 0.3, 0.4], abs=1e-3)
        assert "g" in words

    def test_lines_stay_lines_with_their_width(self):
        content = page(
            to_pdf(HEADER + BOX + b"0.283465 setlinewidth 5 5 moveto 90 40 lineto stroke showpage").pdf
        )[1].split()
        scale = float(content[content.index("cm") - 6])
        assert float(content[content.index("w") - 1]) * scale == pytest.approx(0.283465, abs=1e-4)
        assert "S" in content


def placed(pixels: Image.Image, coding: str, data: bytes) -> bytes:
    width, height = pixels.size
    return (
        HEADER
        + BOX
        + f"gsave 96 48 scale /DeviceRGB setcolorspace << /ImageType 1 /Width {width} /Height {height} /BitsPerComponent 8 "
        f"/Decode [0 1 0 1 0 1] /ImageMatrix [{width} 0 0 -{height} 0 {height}] "
        f"/DataSource currentfile /ASCII85Decode filter {coding} >> image\n".encode()
        + base64.a85encode(data, wrapcol=80)
        + b"~>\ngrestore showpage\n%%EOF\n"
    )


class TestPictures:
    PIXELS = Image.fromarray(np.random.default_rng(3).integers(0, 256, (400, 800, 3)).astype(np.uint8))

    def test_a_jpeg_passes_through_untouched(self, tmp_path):
        buffer = io.BytesIO()
        self.PIXELS.save(buffer, "JPEG", quality=61)
        art = to_pdf(placed(self.PIXELS, "/DCTDecode filter", buffer.getvalue()))
        (tmp_path / "art.pdf").write_bytes(art.pdf)
        subprocess.run(["pdfimages", "-j", "art.pdf", "out"], cwd=tmp_path, check=True)
        kept = (tmp_path / "out-000.jpg").read_bytes()
        assert buffer.getvalue().startswith(kept[:-2])

    def test_pixels_are_neither_thinned_nor_recoded(self):
        art = to_pdf(placed(self.PIXELS, "", self.PIXELS.tobytes()))
        row = poppler("pdfimages", art.pdf, "-list").splitlines()[2].split()
        assert (row[3], row[4], row[8]) == ("800", "400", "image")
        assert float(row[12]) == pytest.approx(600, abs=1)
        with pikepdf.open(io.BytesIO(art.pdf)) as document:
            image = pikepdf.PdfImage(next(iter(document.pages[0].get_images().values()))).as_pil_image()
            assert np.array_equal(np.asarray(image.convert("RGB")), np.asarray(self.PIXELS))


class TestFonts:
    def test_fonts_the_file_lacks_are_named_and_drawn(self):
        art = to_pdf(
            HEADER
            + BOX
            + b"/Helvetica-Bold findfont 8 scalefont setfont 5 5 moveto (Otter) show\n"
            + b"/Marshhand findfont 9 scalefont setfont (Kite) show /Unused findfont pop showpage"
        )
        assert {(f.name, f.embedded, f.substituted) for f in art.fonts} == {
            ("Helvetica-Bold", False, True), ("Marshhand", False, True)
        }  # fmt: skip
        rows = poppler("pdffonts", art.pdf).splitlines()[2:]
        assert len(rows) == 2 and all(" yes " in row for row in rows)

    def test_a_font_in_the_file_is_no_matter(self):
        own = b"""8 dict dup begin /FontType 3 def /FontMatrix [.001 0 0 .001 0 0] def /FontBBox [0 0 900 900] def
/Encoding 256 array def 0 1 255 {Encoding exch /.notdef put} for Encoding 65 /reed put
/BuildGlyph {pop pop 900 0 0 0 900 900 setcachedevice 0 0 700 700 rectfill} bind def
/BuildChar {1 index /Encoding get exch get 1 index /BuildGlyph get exec} bind def end /Ownletters exch definefont pop
/Ownletters findfont 20 scalefont setfont 5 5 moveto (A) show showpage"""
        assert to_pdf(HEADER + BOX + own).fonts == ()


class TestPreview:
    def wrapped(self, code: bytes, start: int = 30, length: int | None = None) -> bytes:
        """A DOS EPS (EPSF specification 3.0, section 5) with a TIFF preview after the PostScript."""
        preview = b"II*\0" + bytes(60)
        size = len(code) if length is None else length
        head = b"\xc5\xd0\xd3\xc6" + struct.pack(
            "<6IH", start, size, 0, 0, 30 + len(code), len(preview), 0xFFFF
        )
        return head + code + preview

    def test_the_postscript_part_is_cut_out(self):
        assert page(to_pdf(self.wrapped(PLAIN)).pdf)[0] == page(to_pdf(PLAIN).pdf)[0]

    @pytest.mark.parametrize("broken", [{"start": 4}, {"start": 31}, {"length": 10**6}, {"start": 10**8}])
    def test_a_damaged_frame_is_refused(self, broken):
        with pytest.raises(Unreadable, match="damaged or cut off"):
            to_pdf(self.wrapped(PLAIN, **broken))

    def test_a_stump_is_refused(self):
        with pytest.raises(Unreadable, match="cut off"):
            to_pdf(self.wrapped(PLAIN)[:20])


class TestRefusals:
    @pytest.mark.parametrize(
        "code",
        [
            b"kite fly",
            b"10 10 50 30 rectfi",
            b"(never closed",
            b"{ open",
            b"1 0 div",
        ],
    )
    def test_errors_in_the_code(self, code):
        with pytest.raises(Unreadable, match="stops with an error"):
            to_pdf(HEADER + BOX + code)

    def test_a_missing_end_is_reported(self):
        assert [fact.kind for fact in to_pdf(HEADER + BOX + b"10 10 50 30 rectfill\n").facts] == ["damaged"]
        assert to_pdf(PLAIN).facts == ()

    def test_without_ghostscript_it_says_what_to_install_or_send(self, monkeypatch, tmp_path):
        monkeypatch.setenv("PATH", str(tmp_path))
        with pytest.raises(Unreadable) as caught:
            to_pdf(PLAIN)
        assert (
            "Ghostscript" in caught.value.says
            and "install" in caught.value.remedy
            and "PDF" in caught.value.remedy
        )


class TestConfinement:
    @pytest.mark.parametrize(
        "way",
        ["({path}) (r) file", "({path}) run", "({path}) status {{stop}} if", "(%pipe%cat {path}) (r) file"],
    )
    def test_no_file_of_the_machine_is_read(self, way, tmp_path):
        secret = tmp_path / "secret.ps"
        secret.write_text("1 0 0 setrgbcolor 0 0 100 50 rectfill")
        code = HEADER + BOX + way.format(path=secret).encode() + b" pop 10 10 50 30 rectfill showpage\n"
        try:
            content = page(to_pdf(code).pdf)[1]
        except Unreadable:
            return
        assert "1 0 0 rg" not in content

    def test_a_folder_shows_nothing(self, tmp_path):
        (tmp_path / "secret.ps").write_text("x")
        code = f"({tmp_path}/*) {{0 0 100 50 rectfill pop}} 200 string filenameforall showpage".encode()
        with contextlib.suppress(Unreadable):
            assert " re" not in page(to_pdf(HEADER + BOX + code).pdf)[1]

    @pytest.mark.parametrize(
        "way",
        [
            "({path}) (w) file (x) writestring",
            "<< /OutputFile ({path}) >> setpagedevice 0 0 9 9 rectfill showpage",
            "<< /OutputDevice /png16m /OutputFile ({path}) >> setpagedevice 0 0 9 9 rectfill showpage",
            "(%pipe%touch {path}) (w) file closefile",
        ],
    )
    def test_no_file_is_written(self, way, tmp_path):
        with contextlib.suppress(Unreadable):
            to_pdf(HEADER + BOX + way.format(path=tmp_path / "out").encode())
        assert list(tmp_path.iterdir()) == []

    @pytest.mark.parametrize("way", ["({path}) deletefile", "({path}) ({path}2) renamefile"])
    def test_no_file_is_touched(self, way, tmp_path):
        (tmp_path / "kept").write_text("kept")
        with contextlib.suppress(Unreadable):
            to_pdf(HEADER + BOX + way.format(path=tmp_path / "kept").encode() + DRAWN)
        assert [entry.name for entry in tmp_path.iterdir()] == ["kept"]

    def test_the_environment_is_not_handed_on(self, monkeypatch, tmp_path):
        monkeypatch.setenv("GS_OPTIONS", f"-sOutputFile={tmp_path / 'elsewhere.pdf'}")
        assert page(to_pdf(PLAIN).pdf)[0][2:] == [100, 50]
        assert list(tmp_path.iterdir()) == []

    @pytest.mark.parametrize(
        "code",
        [b"{} loop", b"{(reed bed) print} loop", b"{10 10 9 9 rectfill showpage} loop", b"/a {a a} def a"],
    )
    def test_endless_code_ends_in_time_and_leaves_nothing(self, code, monkeypatch, tmp_path):
        monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
        begun = time.monotonic()
        with pytest.raises(Unreadable):
            to_pdf(HEADER + BOX + code, seconds=1)
        assert time.monotonic() - begun < 4
        assert list(tmp_path.iterdir()) == []
        assert not [pid for pid in Path("/proc").glob("[0-9]*") if _command(pid).find(str(tmp_path)) >= 0]

    def test_a_flood_is_stopped(self, monkeypatch):
        monkeypatch.setattr(postscript, "MAX_OUTPUT", 200_000)
        with pytest.raises(Unreadable, match="grows|error"):
            to_pdf(HEADER + BOX + b"{(reed bed reed bed reed bed reed bed) print} loop", seconds=20)

    def test_memory_is_limited(self, monkeypatch):
        monkeypatch.setattr(
            postscript,
            "_SETTINGS",
            tuple(s if not s.startswith("-K") else "-K60000" for s in postscript._SETTINGS),
        )
        with pytest.raises(Unreadable, match="memory"):
            to_pdf(
                HEADER + BOX + b"/a 30000 array def 0 1 29999 {a exch 65000 string put} for showpage",
                seconds=20,
            )


def test_files_that_come_and_go_while_they_are_counted_are_no_error(tmp_path):
    (tmp_path / "stays").write_bytes(b"x" * 1000)
    stop = threading.Event()

    def churn():
        while not stop.is_set():
            for number in range(20):
                (tmp_path / f"scratch{number}").touch()
            for number in range(20):
                (tmp_path / f"scratch{number}").unlink()

    other = threading.Thread(target=churn)
    other.start()
    try:
        assert {postscript._size(tmp_path) for _ in range(2000)} == {1000}
    finally:
        stop.set()
        other.join()


def _command(process: Path) -> str:
    try:
        return (process / "cmdline").read_bytes().decode(errors="replace")
    except OSError:
        return ""


@given(st.data())
@settings(max_examples=15, deadline=None)
def test_changed_files_are_drawn_or_refused(data):
    whole = bytearray(PLAIN)
    for _ in range(data.draw(st.integers(1, 4))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))
    cut = bytes(whole[: data.draw(st.integers(1, len(whole)))])
    with contextlib.suppress(Unreadable):
        assert to_pdf(cut, seconds=5).pdf.startswith(b"%PDF-1.")


@given(st.binary(max_size=80))
@settings(max_examples=5, deadline=None)
def test_any_bytes_are_drawn_or_refused(data):
    with contextlib.suppress(Unreadable):
        to_pdf(data, seconds=5)


def test_the_tools_of_comparison_are_here():
    assert all(map(shutil.which, ("gs", "pdfinfo", "pdffonts", "pdfimages", "pdftoppm"))) and os.sep == "/"
