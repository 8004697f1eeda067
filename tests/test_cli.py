"""The real command, as a user or a script runs it: words, exit statuses, JSON."""

import json
import os
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

from pdf_made import pdf_of

ROOT = Path(__file__).parents[1]
GOOD = "0.1 0.3 0.2 rg 10 10 50 30 re f"


def preflight(*args, cwd=None, **kwargs):
    env = {**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "100"}
    return subprocess.run(
        [sys.executable, "-m", "preflight", *map(str, args)],
        capture_output=True,
        text=True,
        env=env,
        cwd=cwd,
        **kwargs,
    )


@pytest.fixture
def good(tmp_path):
    path = tmp_path / "sail.pdf"
    path.write_bytes(pdf_of(GOOD))
    return path


COMPLETE = (
    "--width",
    "50",
    "--item",
    "notebook",
    "--position",
    "cover",
    "--material",
    "leather",
    "--ground",
    "#c8b090",
)


def test_a_good_job_passes_with_0(good):
    ran = preflight("check", good, "--method", "deboss", *COMPLETE)
    assert "Traceback" not in ran.stderr
    assert ran.returncode == 0, ran.stdout
    assert ran.stdout.startswith(("READY", "QUESTION"))


def test_json_is_a_list_of_reports_that_fit_the_schema(good):
    ran = preflight("check", good, "--method", "pad-print", "--width", "70", "--format", "json")
    (report,) = json.loads(ran.stdout)
    schema = json.loads((ROOT / "preflight" / "schema.json").read_text("utf-8"))
    jsonschema.validate(report, schema)
    assert ran.returncode == 1 and report["verdict"] == "fail"
    finding = next(f for f in report["findings"] if f["check"] == "art-size")
    assert (finding["severity"], finding["measured"], finding["limit"], finding["unit"]) == (
        "must",
        70.0,
        60.0,
        "mm",
    )
    assert report["art"]["width_mm"] == pytest.approx(70)
    assert report["measures"]["colour_count"] == 1


def test_pad_print_turned_is_fine(tmp_path):
    path = tmp_path / "tall.pdf"
    path.write_bytes(pdf_of("0 g 10 10 30 45 re f", 60, 60))
    (report,) = json.loads(
        preflight("check", path, "--method", "pad-print", "--height", "60", "--format", "json").stdout
    )
    assert not [f for f in report["findings"] if f["check"] == "art-size"]


def test_a_file_that_is_no_art_fails_with_1(tmp_path):
    path = tmp_path / "logo.pdf"
    path.write_bytes(b"")
    ran = preflight("check", path, "--method", "foil", "--format", "json")
    (report,) = json.loads(ran.stdout)
    assert ran.returncode == 1
    assert [f["check"] for f in report["findings"]] == ["unreadable"]
    assert report["findings"][0]["rule"] == "file/readable"


def test_a_missing_file_among_several_is_2_and_the_others_are_checked(good, tmp_path):
    ran = preflight("check", good, tmp_path / "gone.pdf", "--method", "foil")
    assert ran.returncode == 2
    assert "sail.pdf" in ran.stdout
    assert "gone.pdf" in ran.stderr and ran.stderr.count("\n") == 1


@pytest.mark.parametrize(
    "args",
    [
        ("check",),
        ("check", "x.pdf", "--method", "screen-prnt"),
        ("check", "x.pdf", "--method", "foil", "--width", "5 furlongs"),
        ("check", "x.pdf", "--method", "foil", "--ground", "no such colour"),
        ("check", "x.pdf", "--method", "foil", "--report", "report.docx"),
        ("check", "x.pdf", "--method", "foil", "--shop", "gone.toml"),
        ("inbox", "no-such-folder"),
        ("limits", "screen"),
        ("conjure",),
        ("check", "x.pdf", "--method", "foil", "--widht", "5"),
    ],
)
def test_trouble_is_2_with_one_line_that_helps(args, tmp_path):
    (tmp_path / "x.pdf").write_bytes(pdf_of(GOOD))
    ran = preflight(*args, cwd=tmp_path)
    assert ran.returncode == 2
    assert ran.stdout == ""
    assert ran.stderr.startswith("preflight: ") and ran.stderr.count("\n") == 1
    assert "Traceback" not in ran.stderr


def test_reports_are_written_by_their_endings(good, tmp_path):
    names = ["r.html", "r.json", "r.txt", "r.eml", "r.pdf"]
    options = [word for name in names for word in ("--report", tmp_path / name)]
    ran = preflight("check", good, "--method", "foil", *COMPLETE, *options)
    assert ran.returncode in (0, 1), ran.stderr
    starts = {"r.html": b"<!doctype html", "r.json": b"{", "r.pdf": b"%PDF-"}
    for name in names:
        data = (tmp_path / name).read_bytes()
        assert data.lower().startswith(starts.get(name, b"").lower()) and len(data) > 100


def test_several_files_want_a_folder_for_their_reports(good, tmp_path):
    other = tmp_path / "other.pdf"
    other.write_bytes(pdf_of(GOOD))
    assert (
        preflight("check", good, other, "--method", "foil", "--report", tmp_path / "r.html").returncode == 2
    )
    ran = preflight("check", good, other, "--method", "foil", "--report", tmp_path / "out")
    assert ran.returncode in (0, 1), ran.stderr
    assert {p.name for p in (tmp_path / "out").iterdir()} == {
        "sail.html",
        "sail.json",
        "other.html",
        "other.json",
    }


def test_a_closed_pipe_is_no_verdict(good):
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = f"{sys.executable} -m preflight limits; echo status $? >&2"
    ran = subprocess.run(["bash", "-c", f"({command}) | head -n 1"], capture_output=True, text=True, env=env)
    assert "status 0" in ran.stderr
    assert "Traceback" not in ran.stderr and "BrokenPipe" not in ran.stderr


def test_limits_as_json(good):
    rows = json.loads(preflight("limits", "embroidery", "--format", "json").stdout)
    row = next(r for r in rows if r["rule"] == "embroidery/capital-height")
    assert set(row) == {
        "rule",
        "check",
        "method",
        "direction",
        "must",
        "query",
        "unit",
        "when",
        "why",
        "remedy",
        "source",
    }
    assert (row["must"], row["direction"], row["unit"]) == (5.0, "min", "mm")


def test_the_shop_changes_a_limit(good, tmp_path):
    shop = tmp_path / "shop.toml"
    shop.write_text('[limits]\n"pad-print/long-side" = "80 mm"\n', "utf-8")
    options = ("--method", "pad-print", "--width", "66", "--format", "json", "--shop", shop)
    (report,) = json.loads(preflight("check", good, *options).stdout)
    assert not [f for f in report["findings"] if f["rule"] == "pad-print/long-side"]


def test_advise_holds_the_art_against_every_method(good):
    ran = preflight("advise", good, "--width", "50", "--format", "json")
    reports = json.loads(ran.stdout)
    assert len(reports) == 11
    assert ran.returncode == 0
    text = preflight("advise", good, "--width", "50")
    assert "embroidery" in text.stdout.lower()


def test_names_with_control_characters_do_not_reach_the_terminal(tmp_path):
    path = tmp_path / "a\x1b[31m\u202eb.pdf"
    path.write_bytes(pdf_of(GOOD))
    ran = preflight("check", path, "--method", "foil")
    assert "\x1b" not in ran.stdout and "\u202e" not in ran.stdout
