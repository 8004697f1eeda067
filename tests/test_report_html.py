"""HTML of one job, of an inbox and of methods compared: self-contained, escaped, and true to the report."""

import base64
import csv
import hashlib
import io
import json
import re
import shutil
from urllib.parse import unquote

import lxml.html
import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import sync_playwright

import report_demo as demo
from preflight import colour
from preflight.quantity import plain
from preflight.report import compare, html, index, marks
from preflight.report.data import LONGEST, numbered

EVERY = demo.reports()


@pytest.fixture(scope="module")
def pictures():
    return {name: demo.pictures_of(name) for name in EVERY}


@pytest.fixture(scope="module")
def pages(pictures):
    """Every HTML document of every demo."""
    made = {name: html.render(r, pictures[name], demo.LETTERHEAD) for name, r in EVERY.items()}
    rows = [
        index.JobRow(r, "jobs/" + name, pictures[name] and pictures[name].thumbnail, demo.HOSTILE)
        for name, r in EVERY.items()
    ]
    made["index"] = index.render(rows, demo.HOSTILE)
    made["compare"] = compare.render_html(list(EVERY.values()), pictures["asking"])
    return made


PAGES = [*EVERY, "index", "compare"]


def parsed(page):
    return lxml.html.document_fromstring(page.encode(), parser=lxml.html.HTMLParser(encoding="utf-8"))


@pytest.mark.parametrize("name", PAGES)
def test_a_page_refers_to_nothing_outside_itself(pages, name):
    for element in parsed(pages[name]).iter():
        assert element.tag not in (
            "script",
            "iframe",
            "object",
            "embed",
            "link",
            "base",
            "form",
            "audio",
            "video",
        ), element.tag
        for attribute, value in element.attrib.items():
            assert not attribute.startswith("on"), attribute
            if attribute in (
                "src",
                "href",
                "data",
                "action",
                "srcset",
                "poster",
                "background",
                "{http://www.w3.org/1999/xlink}href",
            ):
                inside = value.startswith("#") or re.fullmatch(
                    r"data:image/png;base64,[A-Za-z0-9+/=]+", value
                )
                assert inside or re.fullmatch(r"\./[A-Za-z0-9%/._~-]+", value), (attribute, value[:80])
            assert attribute != "style", "the policy would ignore it"
    assert "@import" not in pages[name] and "url(" not in pages[name]


@pytest.mark.parametrize("name", PAGES)
def test_the_policy_admits_just_the_style_of_the_page(pages, name):
    tree = parsed(pages[name])
    policy = tree.xpath("string(//meta[@http-equiv='Content-Security-Policy']/@content)")
    style = re.search(r"<style>(.*?)</style>", pages[name], re.DOTALL)[1]
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    assert (
        policy
        == f"default-src 'none'; img-src data:; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    )
    assert len(tree.xpath("//style")) == 1


@pytest.mark.parametrize("name", PAGES)
def test_hostile_words_stay_words(pages, name):
    tree = parsed(pages[name])
    assert not tree.xpath("//img[not(starts-with(@src,'data:'))]") and not tree.xpath("//comment()")
    assert not re.search(
        "[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]", pages[name].replace("\n", "")
    )
    if name == "hostile":
        assert "<script>alert(1)</script>" in tree.text_content() and "{{7*7}}" in tree.text_content()


@pytest.mark.parametrize("name", PAGES)
def test_landmarks_headings_and_alternatives(pages, name):
    tree = parsed(pages[name])
    assert (
        tree.xpath("/html/@lang") == ["en-GB"]
        and len(tree.xpath("//main")) == 1
        and len(tree.xpath("//h1")) == 1
    )
    levels = [int(h.tag[1]) for h in tree.iter("h1", "h2", "h3", "h4")]
    assert levels[0] == 1 and all(b <= a + 1 for a, b in zip(levels, levels[1:], strict=False)), levels
    assert all("alt" in image.attrib for image in tree.iter("img"))
    ids = tree.xpath("//@id")
    assert len(ids) == len(set(ids))
    for label in tree.xpath("//@aria-labelledby"):
        assert label in ids
    for table in tree.iter("table"):
        assert table.xpath("caption") and all(th.get("scope") for th in table.iter("th"))
    assert tree.xpath("//meta[@name='viewport']")


@settings(max_examples=40, deadline=None)
@given(st.text(max_size=80))
def test_any_words_come_out_as_words(words):
    finding = msgspec.structs.replace(demo.SPECK, says=words, why=words, remedy="", where=())
    report = demo.report(finding, file=words, job={"method": words, "customer": words})
    tree, still = parsed(html.render(report, None)), parsed(html.render(demo.asking(), None))
    assert {e.tag for e in tree.iter() if isinstance(e.tag, str)} <= {
        e.tag for e in still.iter() if isinstance(e.tag, str)
    }
    assert "".join(tree.xpath("//ol//h3//text()")).replace("\u00a0", " ") == plain(words, LONGEST)


def test_one_answer_then_numbered_findings_worst_first(pages):
    tree = parsed(pages["failing"])
    assert tree.xpath("string(//h1)") == "Two things to mend before we can make it"
    shown = [" ".join(h.text_content().split()) for h in tree.xpath("//ol//h3")]
    assert [s.replace("\u00a0", " ") for s in shown] == [
        n.finding.says for n in numbered(demo.failing().findings)
    ]
    assert tree.xpath("//svg[@class='badge']/text/text()") == ["1", "2", "3", "4", "5", "6"]
    words = tree.text_content().replace("\u00a0", " ")
    for part in (
        "Heron Hide Kite Club",
        "80 × 56 mm",
        "Screen colours are not exact",
        "Beacon red",
        "common practice",
        "5b1f5b1f5b1f5b1f",
        "navy",
    ):
        assert part in words
    assert "embroidery/capital-height" in tree.xpath("string(//details)")
    assert "embroidery/" not in "".join(tree.xpath("//main/*[not(self::details)]//text()"))


def test_swatches_hold_the_colours_on_the_ground(pages):
    fills = [
        svg.xpath(".//rect/@fill") for svg in parsed(pages["failing"]).xpath("//ul[@class='swatches']//svg")
    ]
    assert fills == [[demo.NAVY, demo.RED], [demo.NAVY, demo.SAND], [demo.NAVY, demo.TEAL], [demo.NAVY]]


def test_the_art_is_embedded_at_true_size(pages, pictures):
    svg = parsed(pages["failing"]).xpath("//figure[@class='truesize']/svg")[0]
    assert (svg.get("width"), svg.get("height")) == ("80.000mm", "56.000mm")
    assert svg.xpath("./image/@href")[0] == html.data_uri(pictures["failing"].clean)


def test_no_picture_no_colours_no_size_for_an_unreadable_file(pages):
    tree = parsed(pages["unreadable"])
    assert not tree.xpath("//img") and "locked with a password" in tree.text_content()
    assert not tree.xpath("//*[@id='colours' or @id='size']")


def css_colours(block):
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{3,6});", block))


def test_text_keeps_its_contrast_in_light_and_dark():
    """WCAG 2.2 (2023), success criterion 1.4.3: 4.5 to 1 for text."""
    css = str(html.style()[0])
    light, dark = re.findall(r":root \{(.*?)\}", css, re.DOTALL)[:2]
    for names in (css_colours(light), css_colours(dark)):
        pairs = [
            (t, b)
            for t in ("ink", "soft")
            for b in ("paper", "sheet", "must-wash", "query-wash", "pass-wash")
        ]
        pairs += [(t, b) for t in ("must", "query", "pass", "link") for b in ("paper", "sheet")]
        for text, back in pairs:
            assert colour.contrast(names[text], names[back]) >= 4.5, (text, back)
    for severity, shade in marks.SHADES.items():
        assert colour.contrast(shade, "#ffffff") >= 4.5, severity


def test_the_index_puts_what_needs_attention_first(pages):
    tree = parsed(pages["index"])
    states = tree.xpath("//tbody/tr/@class")
    assert states == sorted(states, key=["fail", "query", "pass"].index) and len(states) == len(EVERY)
    assert tree.xpath("string(//h1)") == "6 jobs: 4 to mend, 1 with a question and 1 ready"
    assert [" ".join(w.split()) for w in tree.xpath("//fieldset/label/text()")] == [
        "All (6)", "To mend (4)", "With a question (1)", "Ready (1)",
    ]  # fmt: skip
    assert parsed(index.render([])).xpath("string(//h1)") == "No jobs yet"


@pytest.mark.parametrize(
    "folder, inside",
    [
        ("kites/a b", "./kites/a%20b/report.html"),
        ("../../etc", "./etc/report.html"),
        ("/etc", "./etc/report.html"),
        ("javascript:alert(1)", "./javascript%3Aalert%281%29/report.html"),
        ("a\\..\\b", "./a/b/report.html"),
        ("100%#?é", "./100%25%23%3F%C3%A9/report.html"),
    ],
)
def test_links_are_encoded_and_stay_below_the_index(folder, inside):
    assert index.link(folder, "report.html") == inside


@given(st.text(max_size=60))
def test_no_folder_name_leads_out(folder):
    address = index.link(folder, "report.html")
    assert address.startswith("./") and address.endswith("/report.html")
    assert all(
        part not in ("..", "") for part in unquote(address[2:], errors="replace").split("/")
    ) and not re.search(r'["<>\s\\]', address)


def rows():
    made = [index.JobRow(r, name, None, "=cmd|' /C calc'!A0") for name, r in EVERY.items()]
    return [*made, index.JobRow(demo.report(file='kite, "big".svg'), "x", None, "", ("report.html",))]


def test_the_table_for_spreadsheets_holds_no_formula():
    text = index.summary_csv(rows())
    assert text.count("\r\n") == len(rows()) + 1 and "\n" not in text.replace("\r\n", "")
    table = list(csv.reader(io.StringIO(text, newline="")))
    assert table[0] == list(index.COLUMNS) and all(len(row) == len(table[0]) for row in table)
    for row in table:
        for cell in row:
            assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert {row[table[0].index("note")] for row in table[1:]} == {"'=cmd|' /C calc'!A0", ""}
    assert 'kite, "big".svg' in [row[1] for row in table]


@given(st.text())
def test_no_cell_begins_like_a_formula_under_any_separator(words):
    for part in re.split(r"[;|\t]", index.cell(words)):
        assert not part.strip().startswith(("=", "+", "-", "@", "＝"))


def test_numbers_stay_numbers():
    assert index.cell(-3.5) == "-3.5" and index.cell(None) == "" and index.cell(80.0) == "80.0"


def test_the_table_for_scripts():
    whole = json.loads(index.summary_json(rows()))
    assert whole["counts"] == {"fail": 4, "query": 1, "pass": 2}
    assert [job["verdict"] for job in whole["jobs"]][:4] == ["fail"] * 4
    assert whole["jobs"][-1].keys() == set(index.COLUMNS)


def test_methods_side_by_side(pages):
    tree = parsed(pages["compare"])
    assert tree.xpath("//tbody/tr/@class")[:2] == ["pass", "query"] and len(tree.xpath("//tbody/tr")) == len(
        EVERY
    )
    assert "No method" in parsed(compare.render_html([demo.failing()], None)).xpath("string(//h1)")


@pytest.mark.slow
@pytest.mark.parametrize("width", [320, 1200])
def test_in_a_browser_nothing_is_fetched_refused_or_cut_off(pages, width, tmp_path):
    """Chromium: no request, no message of the policy, no sideways scrolling."""
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    assert browser, "install Chromium (on Debian the package chromium)"
    with sync_playwright() as play:
        quiet = ("--disable-quic", "--no-first-run", "--disable-background-networking",
                 "--disable-component-update", "--disable-sync")  # fmt: skip
        chromium = play.chromium.launch(executable_path=browser, args=["--no-sandbox", *quiet])
        for name, page in pages.items():
            (tmp_path / f"{name}.html").write_text(page, "utf-8")
            tab = chromium.new_page(viewport={"width": width, "height": 800})
            heard = []
            tab.on("console", lambda message, heard=heard: heard.append(message.text))
            tab.on(
                "request",
                lambda request, heard=heard: (
                    heard.append(request.url[:80]) if not request.url.startswith(("file:", "data:")) else None
                ),
            )
            tab.goto((tmp_path / f"{name}.html").as_uri())
            tab.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
            assert tab.evaluate("document.documentElement.scrollWidth") <= width, name
            assert heard == [], name
            tab.close()
        chromium.close()
