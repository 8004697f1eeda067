"""Text for terminals, the reply, and the sentences they share."""

import re
import unicodedata

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

import report_demo as demo
from preflight.findings import Check, Outcome, Severity, SizeWindow, Verdict
from preflight.report import compare, facts, reply, text, wording
from preflight.report.data import clean, day, numbered, shade
from preflight.report.production import in_brief

EVERY = demo.reports()


def controls(words, allowed="\n"):
    """Characters that could steer a terminal or turn the direction of reading."""
    return {c for c in words if unicodedata.category(c).startswith("C") and c not in allowed}


@pytest.mark.parametrize("name", EVERY)
@pytest.mark.parametrize("width", [30, 60, 88, 200])
def test_text_is_plain_fits_and_leads_with_the_verdict(name, width):
    words = text.render(EVERY[name], width=width)
    assert not controls(words)
    assert max(map(len, words.splitlines())) < width
    assert words.startswith(wording.VERDICTS[EVERY[name].verdict].upper())


def test_colour_is_only_our_own_and_says_nothing_more():
    painted = text.render(demo.hostile(), colour=True)
    assert set(re.findall(r"\x1b\[([^m]*)m", painted)) <= {"1;31", "1;36", "1;32", "2", "0"}
    assert re.sub(r"\x1b\[[0-9;]*m", "", painted) == text.render(demo.hostile())


def test_findings_are_numbered_worst_first_with_number_limit_and_remedy():
    words = " ".join(text.render(demo.failing()).split())
    at = [
        words.index(part)
        for part in ("1 To mend:", "2 To mend:", "3 Question:", "4 Question:", "5 Note:", "6 Accepted:")
    ]
    assert at == sorted(at)
    assert "1.5 mm; at least 5 mm is needed" in words and demo.LETTERING.remedy in words
    assert "embroidery/capital-height" in words and "There is no width" in words
    assert "Stitch density the cloth bears: The cloth's weight was not stated." in words


@pytest.mark.parametrize("name", EVERY)
def test_the_reply_is_wrapped_plain_and_without_ids(name):
    words = reply.render(EVERY[name], demo.LETTERHEAD)
    assert not controls(words)
    assert max(map(len, words.splitlines())) <= 72
    if name != "hostile":
        assert not re.search(r"\b[a-z-]+/[a-z-]+\b", words.replace("and/or", "")), (
            "a rule id is no word for a client"
        )
        assert "!" not in words


def test_the_reply_answers_in_order():
    words = " ".join(reply.render(demo.failing(), demo.LETTERHEAD).split())
    parts = [
        "Dear Heron Hide Kite Club,",
        "“otter-badge.pdf” (job KF-0412)",
        "In short: two things to mend",
        "1. " + demo.LETTERING.says,
        demo.LETTERING.why,
        demo.LETTERING.remedy,
        "3. " + demo.GAPS.says,
        "There is no width",
        "With kind regards Samphire Yard Printing",
    ]
    at = [words.index(part) for part in parts]
    assert at == sorted(at)
    assert reply.render(demo.passing()).startswith("Hello,")


@pytest.mark.parametrize(
    "report, headline",
    [
        (demo.failing(), "Two things to mend before we can make it"),
        (demo.report(demo.LINE), "One thing to mend before we can make it"),
        (demo.asking(), "One question before we can make it"),
        (demo.report(demo.GAPS, demo.SPECK), "Two questions before we can make it"),
        (demo.passing(), "Ready to make"),
        (demo.unreadable(), "We could not read this file"),
        (msgspec.structs.replace(demo.unreadable(), job={}), "We could not read this order"),
        (demo.crowded(60), "20 things to mend before we can make it"),
    ],
)
def test_headlines_agree_in_number(report, headline):
    assert wording.headline(report) == headline


@pytest.mark.parametrize(
    "report, words",
    [
        (demo.failing(), "; also 2 questions, 2 notes"),
        (demo.asking(), "; also 1 note"),
        (demo.report(demo.LINE), ""),
    ],
)
def test_a_headline_is_not_said_twice(report, words):
    assert wording.besides(report) == words
    first = text.render(report).split("\n\n")[0]
    assert f"before we can make it{words}." in " ".join(first.split())


def test_counts_agree():
    assert wording.tally_words(demo.failing()) == "2 to mend, 2 questions, 2 notes"
    assert wording.tally_words(demo.asking()) == "1 question, 1 note"
    assert "There is 1 note below" in wording.answer(demo.report(demo.NOTE))
    assert "1 does not apply" in facts.checked_summary(demo.failing())


@pytest.mark.parametrize(
    "low, high, words",
    [
        (62, 104, "between 62 and 104 mm wide"),
        (61.3, 104.8, "between 62 and 104 mm wide"),  # both printed widths lie inside
        (62.31, 62.84, "between 62.4 and 62.8 mm wide"),
        (3.14, 9.99, "between 3.2 and 9.9 mm wide"),
        (None, 104.8, "up to 104 mm wide"),
        (61.3, None, "62 mm or more wide"),
        (80.0, 80.0, "at 80 mm wide"),
    ],
)
def test_size_windows_are_said_so_that_the_printed_widths_hold(low, high, words):
    said = wording.size_window(demo.report(size_window=SizeWindow(min_width_mm=low, max_width_mm=high)))
    assert words in said and said.count("wide") == 1


@given(st.floats(0.5, 3000), st.floats(0.05, 3000))
def test_printed_ends_lie_inside_the_window(low, more):
    said = wording.widths(SizeWindow(min_width_mm=low, max_width_mm=low + more))
    numbers = [float(n) for n in re.findall(r"[0-9.]+", said)]
    assert numbers and all(low - 1e-6 <= n <= low + more + 1e-6 for n in numbers)


def test_impossible_and_unbound_windows():
    never = demo.report(size_window=SizeWindow(possible=False, because=("lettering-height",)))
    assert "no width" in wording.size_window(never) and "small lettering" in wording.size_window(never)
    assert wording.widths(SizeWindow()) == "any" and wording.size_window(demo.report(size_window=None)) == ""


@pytest.mark.parametrize(
    ("because", "unmeasured", "said"),
    [
        ((), (), "can be made between 40 and 60 mm wide."),
        (("gap-width",), (), "wide (because of narrow gaps)."),
        (
            ("gap-width",),
            ("line-width",),
            "wide (because of narrow gaps; thin lines could not be measured).",
        ),
        ((), ("line-width",), "wide (thin lines could not be measured)."),
    ],
)
def test_what_bounds_the_size_and_what_could_not_be_measured(because, unmeasured, said):
    window = SizeWindow(min_width_mm=40.0, max_width_mm=60.0, because=because, unmeasured=unmeasured)
    assert wording.size_window(demo.report(size_window=window)).endswith(said)


def test_a_row_that_says_no_order_was_not_checked():
    said = reply.render(msgspec.structs.replace(demo.unreadable(), job={}))
    assert "has not been checked yet" in said and "as soon as the order can be read" in said
    assert "checked for" not in said and "a file that opens" not in said


def test_a_size_that_would_do_is_no_promise_while_something_else_has_to_be_mended():
    window = SizeWindow(min_width_mm=40.0, max_width_mm=60.0)
    outlines = msgspec.structs.replace(demo.LINE, check=Check.VECTOR_REQUIRED)
    assert wording.size_window(demo.report(demo.LINE, size_window=window)).startswith(
        "As drawn, this art can"
    )
    assert wording.size_window(demo.report(outlines, size_window=window)).startswith(
        "Once the rest is mended, this art"
    )


@pytest.mark.parametrize(
    "measured, limit, unit, well, words",
    [
        (3.4, 5.0, "mm", False, "3.4 mm; at least 5 mm is needed"),
        (13.0, 12.0, "colours", False, "13 colours; at most 12 colours are allowed"),
        (3.0, 12.0, "colours", True, "3 colours; at most 12 colours are allowed"),
        (6.0, 5.0, "mm", True, "6 mm; at least 5 mm is needed"),
        (2.0, 0.0, "", False, ""),  # its sentence says so
        (0.0, 0.0, "", True, ""),
        (2.0, 0.0, "colours", False, "2 colours; none is expected"),
        (9.0, 4.0, "", False, "9; at most 4 are allowed"),
        (5.0, 5.0, "mm", True, "5 mm; the limit is 5 mm"),
        (None, 5.0, "mm", False, "limit 5 mm"),
        (float("nan"), None, "mm", False, ""),
        (float("inf"), 5.0, "mm", False, "limit 5 mm"),
    ],
)
def test_figures_say_which_way_the_limit_binds(measured, limit, unit, well, words):
    assert facts.figures(measured, limit, unit, well) == words


def test_a_findings_figures_are_a_sentence():
    assert facts.finding_figures(demo.LETTERING) == "Measured: 1.5 mm; at least 5 mm is needed."
    assert facts.finding_figures(demo.NOTE) == ""
    assert facts.finding_figures(demo.unreadable().findings[0]) == ""


def test_every_check_and_severity_has_its_words():
    assert set(wording.NOUNS) == set(Check)
    assert set(wording.ASKS) == set(wording.GROUPS) == set(Severity)
    assert set(wording.VERDICTS) == set(Verdict) and set(facts.OUTCOMES) == set(Outcome)


def test_methods_are_called_by_name():
    names = {
        m: wording.method_name(demo.report(job={"method": m}))
        for m in ("screen-print", "uv-print", "yag-laser", "co2-laser")
    }
    assert list(names.values()) == ["Screen print", "UV print", "YAG laser", "CO₂ laser"]
    assert (
        wording.in_sentence("Screen print") == "screen print"
        and wording.in_sentence("UV print") == "UV print"
    )


def test_production_facts_get_labels_and_units():
    lines = dict(facts.production_lines(demo.PRODUCTION))
    assert lines["Stitches"] == "about 6\u202f120 for one piece" and lines["Sewing time"] == "8.4 min a run"
    assert lines["Machine"] == "3 needles" and lines["Threads used"] == "not known"
    assert lines["Underlay"] == "yes" and lines["Hoop: width"] == "120 mm" and lines["Backing"] == "cut-away"
    assert lines["Threads"] == "Beacon red, length 18.2 m; Sluice teal, length 13.3 m"


@pytest.mark.parametrize(
    ("production", "words"),
    [
        (
            {"screens": 3, "plates": [{"name": "Kite red"}], "printed_area_cm2": 4.4},
            "3 screens, 4.4 cm² printed",
        ),
        ({"plates": 1, "plate_list": [], "printed_area_cm2": 0.52}, "1 plate, 0.52 cm² printed"),
        ({"stitches": 6120, "heads": 12}, "about 6\u202f120 stitches"),
        ({"stitches": None, "stitches_note": "there is nothing to sew"}, ""),
        (
            {"cut_length_mm": 233.0, "printed_area_cm2": 32.6, "white_base": True},
            "233 mm to cut, 32.6 cm² printed",
        ),
    ],
)
def test_a_row_of_a_comparison_says_the_making_in_a_few_words(production, words):
    assert in_brief(production) == words


def test_each_plate_gets_one_readable_line_after_their_number():
    plates = [
        {"name": "Kite red", "hex": "#d83043", "coverage_cm2": 13.79, "coverage_percent": 19.3},
        {"name": "navy #14324e", "hex": "#14324e", "coverage_cm2": 4.1, "coverage_percent": 5.7,
         "chart_entry": "Channel navy", "delta_e": 1.2},
    ]  # fmt: skip
    lines = facts.production_lines({"screens": 2, "plates": plates, "white_base": False, "positives": 2})
    assert lines == [
        ("Screens", "2, one film positive each"),
        ("Screen 1", "Kite red, #d83043, 13.79 cm², 19.3% of the box round the art"),
        ("Screen 2", "navy #14324e, 4.1 cm², 5.7% of the box round the art, nearest in our chart: Channel navy, 1.2 ΔE00 away"),
        ("White beneath", "not needed"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("production", "line"),
    [
        ({"threads_per_cm_of_mesh": 62, "mesh_opening_um": 97, "mesh_note": "general work"},
         ("Mesh", "62 threads a cm, openings of 97 µm, general work")),
        ({"threads_per_cm_of_mesh": None, "mesh_note": "the line is too thin"}, ("Mesh", "not known (the line is too thin)")),
        ({"white_base": None, "white_base_note": "no ground is stated"}, ("White beneath", "not known (no ground is stated)")),
        ({"pieces": 1, "holes": 0, "outline": "in the file"}, ("Cut outline", "in the file, 1 piece, no holes")),
        ({"quantity": None, "quantity_note": "not stated"}, ("Quantity", "not known (not stated)")),
        ({"plates": 3, "plate_width_mm": 95.0, "plate_height_mm": 62.5}, ("Plates", "3, 95 × 62.5 mm each")),
        ({"blob_mm": 2}, ("Blob", "2 mm")),
        ({"height_fall": None, "height_fall_note": "the measurement failed on this file"},
         ("Height fall", "not known (the measurement failed on this file)")),
    ],
)  # fmt: skip
def test_a_fact_is_one_line_and_an_unknown_one_says_why(production, line):
    assert facts.production_lines(production) == [line]


def test_numbers_stay_beside_their_units():
    assert (
        wording.bound("at least 5 mm tall, 4.5 : 1, in 3 of 4 places")
        == "at least 5\u00a0mm tall, 4.5\u00a0: 1, in 3 of 4 places"
    )
    for words in (text.render(demo.failing(), width=40), reply.render(demo.failing())):
        assert not re.search(r"\d\n +mm\b", words)


def test_cleaning_leaves_no_control_character_anywhere():
    def strings(value):
        if isinstance(value, str):
            yield value
        elif isinstance(value, dict):
            for key, item in value.items():
                yield key
                yield from strings(item)
        elif isinstance(value, list | tuple):
            for item in value:
                yield from strings(item)

    everything = list(strings(msgspec.to_builtins(clean(demo.hostile()))))
    assert len(everything) > 60 and not any(controls(s, allowed="") for s in everything)
    assert clean(demo.hostile()).colours[0].hex == "#ffffff"
    assert clean(demo.failing()) == demo.report(
        *demo.failing().findings, size_window=demo.failing().size_window
    )


def test_only_a_colour_is_a_colour():
    assert shade("#C8312b") == "#c8312b"
    assert {shade(bad) for bad in ("red", "#fff", "#12345g", "#123456;", "#123456\n", None, 7)} == {"#ffffff"}


def test_days_are_written_out():
    from datetime import date

    assert day(date(2031, 5, 3)) == "3 May 2031"


def test_one_numbering_whatever_the_order():
    found = demo.failing().findings
    assert [n.finding.rule for n in numbered(found)] == [
        n.finding.rule for n in numbered([n.finding for n in numbered(found)])
    ]


def against_methods():
    pairs = (
        (demo.failing(), "embroidery"),
        (demo.asking(), "screen-print"),
        (demo.passing(), "uv-print"),
        (demo.report(demo.LINE), "foil"),
    )
    return [msgspec.structs.replace(r, job={**r.job, "method": m}) for r, m in pairs]


@pytest.mark.parametrize("width", [30, 70, 110])
def test_methods_are_compared_best_first(width):
    words = compare.render_text(against_methods(), width)
    at = [words.index(name) for name in ("UV print", "Screen print", "Foil", "Embroidery")]
    assert at == sorted(at) and max(map(len, words.splitlines())) < width
    flat = " ".join(words.split())
    assert "1 method can make this art as it is" in flat


def test_comparing_hostile_or_no_reports_is_safe():
    assert not controls(compare.render_text([demo.hostile()] * 2, 100))
    assert compare.render_text([]) == "No method was asked for.\n"


@pytest.mark.parametrize("width", [40, 100])
def test_a_file_that_cannot_be_read_is_advised_in_two_sentences(width):
    refused = demo.unreadable()
    words = " ".join(compare.render_text([refused] * 11, width).split())
    (finding,) = refused.findings
    assert words.count(finding.says) == 1 and words.endswith(finding.remedy)
    assert "Widths" not in words and "No method" not in words
    page = compare.render_html([refused] * 11)
    assert page.count("<table") == 0 and finding.remedy in page
