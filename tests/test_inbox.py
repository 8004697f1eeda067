"""A folder of jobs through the real command: every row once, one bad file spoils nothing, a second run keeps what stands."""

import base64
import csv
import io
import json
import re
import signal
import subprocess
import sys
import time
from urllib.parse import unquote

import pytest
from lxml import html
from PIL import Image

from pdf_made import pdf_of
from test_cli import ROOT, preflight

ORDERS = """file;method;job;customer;item;width_mm;ground;accepted
clean.pdf;foil;7;Client 7;notebook;50,5;#203040;
clean.pdf;pad-print;8;Client 8;pen;70;white;
gone.pdf;foil;9;Client 9;;;;
../outside.pdf;foil;10;Client 10;;;;
broken.pdf;foil;11;Client 11;;;;
clean.pdf;foil;12;Client 12;notebook;wide;;
"""


@pytest.fixture
def folder(tmp_path):
    box = tmp_path / "in box"
    box.mkdir()
    (tmp_path / "outside.pdf").write_bytes(pdf_of("0 g 10 10 50 30 re f"))
    (box / "clean.pdf").write_bytes(pdf_of("0.1 0.3 0.2 rg 10 10 50 30 re f"))
    (box / "broken.pdf").write_bytes(b"%PDF-1.4 nothing")
    (box / "orders.csv").write_text("\ufeff" + ORDERS, "utf-8")
    return box


def test_every_row_is_answered(folder, tmp_path):
    out = tmp_path / "out"
    ran = preflight("inbox", folder, "--out", out)
    assert ran.returncode == 1, ran.stderr
    rows = list(csv.DictReader(io.StringIO((out / "summary.csv").read_text("utf-8-sig"))))
    assert len(rows) == 6
    summary = json.loads((out / "summary.json").read_text("utf-8"))
    assert len(summary["jobs"]) == 6
    page = html.fromstring((out / "index.html").read_bytes())
    links = {unquote(a.get("href")) for a in page.iter("a") if not a.get("href").startswith("#")}
    assert links
    for link in links:
        assert (out / link).is_file(), link
    worst = " ".join(row["worst"] for row in rows)
    assert "line 4" in worst and "line 5" in worst and "line 7" in worst
    # whatever is wrong with a row, it says whose job it is
    assert sorted(row["job"] for row in rows) == sorted(["7", "8", "9", "10", "11", "12"])
    assert all(row["customer"] == f"Client {row['job']}" for row in rows)
    assert {row["method"] for row in rows if row["job"] in ("9", "10")} == {"foil"}


def test_a_second_run_checks_only_what_changed(folder, tmp_path):
    out = tmp_path / "out"
    preflight("inbox", folder, "--out", out)
    again = preflight("inbox", folder, "--out", out)
    assert "(6 unchanged)" in again.stderr
    (folder / "broken.pdf").write_bytes(pdf_of("0 g 10 10 50 30 re f"))
    assert "(5 unchanged)" in preflight("inbox", folder, "--out", out).stderr
    orders = (folder / "orders.csv").read_text("utf-8").replace("notebook;50,5", "notebook;55")
    (folder / "orders.csv").write_text(orders, "utf-8")
    assert "(5 unchanged)" in preflight("inbox", folder, "--out", out).stderr
    shop = tmp_path / "shop.toml"
    shop.write_text('[limits]\n"pad-print/long-side" = "80 mm"\n', "utf-8")
    assert "unchanged" not in preflight("inbox", folder, "--out", out, "--shop", shop).stderr


def test_without_orders_every_file_is_a_job(folder, tmp_path):
    (folder / "orders.csv").unlink()
    (folder / "deep").mkdir()
    (folder / "deep" / "note.docx").write_bytes(b"PK\x03\x04word/document.xml")
    (folder / ".hidden").write_bytes(b"x")
    assert preflight("inbox", folder).returncode == 2
    ran = preflight("inbox", folder, "--method", "foil", "--width", "40", "--format", "json")
    reports = json.loads(ran.stdout)
    assert sorted(r["file"] for r in reports) == ["broken.pdf", "clean.pdf", "deep/note.docx"]
    assert (folder / "preflight-reports" / "index.html").is_file()
    again = preflight("inbox", folder, "--method", "foil", "--width", "40", "--format", "json")
    assert len(json.loads(again.stdout)) == 3  # the reports of the first run are no jobs


def test_watching_checks_what_arrives(folder, tmp_path):
    (folder / "orders.csv").unlink()
    out = tmp_path / "out"
    command = [
        sys.executable,
        "-m",
        "preflight",
        "inbox",
        str(folder),
        "--out",
        str(out),
        "--method",
        "foil",
        "--watch",
    ]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        _wait_for(lambda: (out / "summary.json").is_file() and len(_jobs(out)) == 2)
        time.sleep(1)
        (folder / "late.pdf").write_bytes(pdf_of("0 g 10 10 50 30 re f"))
        _wait_for(lambda: len(_jobs(out)) == 3)
    finally:
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=30)
    assert process.returncode == 130
    assert "Traceback" not in errors


def _jobs(out):
    try:
        return json.loads((out / "summary.json").read_text("utf-8"))["jobs"]
    except (OSError, ValueError):
        return []


def _wait_for(condition, seconds=60):
    end = time.time() + seconds
    while not condition():
        assert time.time() < end, "it did not happen in time"
        time.sleep(0.2)


def test_a_lasers_art_is_shown_on_its_article(tmp_path):
    """White is bare article to a laser, but the picture stands on the colour that the words beside it name."""
    art, page = tmp_path / "art.pdf", tmp_path / "art.html"
    art.write_bytes(pdf_of("0 0.4 0.2 rg 10 10 50 30 re f"))
    preflight("check", art, "--method", "yag-laser", "--width", "40", "--ground", "black", "--report", page)
    markup = page.read_text("utf-8")
    assert "on black" in markup
    shown = base64.b64decode(re.search(r'data:image/png;base64,([^"]+)', markup)[1])
    picture = Image.open(io.BytesIO(shown)).convert("RGB")
    assert picture.getpixel((2, 2)) == (0, 0, 0)
