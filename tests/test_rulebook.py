"""How a rule judges, fills its words and refuses to be written wrongly."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from preflight.artwork import Artwork
from preflight.clearing import cleared, gathered
from preflight.findings import Check, Finding, Outcome, Severity, Verdict, verdict
from preflight.measure import measures
from preflight.order import Order
from preflight.quantity import rounded
from preflight.reading import Reading
from preflight.rulebook import Rule

ART = Artwork(
    format="svg", kind="vector", page=1, pages=1, width_mm=50, height_mm=30, file_width_mm=50, file_height_mm=30,
    ground="#ffffff", inks=(), marks=(), text=(), pictures=(), fonts=(), fades=(), facts=(), plates=None,
)  # fmt: skip
BOX = (0.0, 0.0, 1.0, 1.0)


def giving(unit, *readings):
    @measures(unit)
    def fake(art, order):
        yield from readings

    return fake


def rule(measure=None, **more):
    given_words = {
        "id": "kite-print/line-width", "check": "line-width", "title": "Lines thick enough", "minimum": "0.2 mm",
        "says": "{what} is {measured} wide; at least {limit}.", "why": "Thin lines break.", "fix": "Thicken to {wanted}.",
        "source": "our default",
    }  # fmt: skip
    return Rule(measure=measure or giving("mm"), **given_words | more)


def test_the_worst_place_is_named_and_the_others_counted():
    readings = [Reading(value=v, what=f"line {n}", where=(BOX,)) for n, v in enumerate((0.18, 0.1, 0.3))]
    finding, checked = rule(giving("mm", *readings)).check_art(ART, Order())
    assert finding.severity is Severity.MUST and finding.measured == 0.1 and len(finding.where) == 2
    assert (
        finding.says.startswith("Line 1 is 0.1 mm wide; at least 0.2 mm.") and "2 such places" in finding.says
    )
    assert finding.remedy == "Thicken to 0.2 mm." and checked.outcome is Outcome.MUST


def test_places_past_the_softer_limit_only_are_counted_apart():
    values = (0.18, 0.1, 0.3, 0.33, 0.5)
    readings = [Reading(value=v, what=f"line {n}", where=(BOX,)) for n, v in enumerate(values)]
    both = rule(giving("mm", *readings), wanted_minimum="0.35 mm")
    finding, _ = both.check_art(ART, Order())
    assert finding.says == (
        "Line 1 is 0.1 mm wide; at least 0.2 mm. There are 2 such places; the worst is given. "
        "2 more places keep to that, but not to the 0.35 mm that we advise."
    )
    finding, _ = replace(both, measure=giving("mm", *readings[1:3])).check_art(ART, Order())
    assert finding.says.endswith(
        "at least 0.2 mm. 1 more place keeps to that, but not to the 0.35 mm that we advise."
    )
    finding, _ = replace(both, measure=giving("mm", *readings[2:4])).check_art(ART, Order())
    assert finding.says.endswith("at least 0.35 mm. There are 2 such places; the worst is given.")


def test_of_very_many_places_some_are_marked():
    crowd = [Reading(value=0.1, where=(BOX,)) for _ in range(50)]
    finding, _ = rule(giving("mm", *crowd)).check_art(ART, Order())
    assert finding.says.endswith(
        "There are 50 such places; the worst is given. 40 of the 50 places are marked."
    )
    assert len(finding.where) == 40


def test_nothing_of_the_kind_does_not_apply_and_is_not_a_pass():
    finding, checked = rule().check_art(ART, Order())
    assert finding is None and checked.outcome is Outcome.DOES_NOT_APPLY and checked.reason


def test_a_reading_without_a_value_asks_even_beside_good_ones():
    readings = [Reading(value=1.0), Reading(value=None, reason="half of it is hidden.")]
    finding, checked = rule(giving("mm", *readings)).check_art(ART, Order())
    assert finding.severity is Severity.QUERY and "half of it is hidden" in finding.says
    assert checked.outcome is Outcome.NOT_MEASURED


def test_a_margin_of_measurement_makes_a_fail_a_question():
    just = Reading(value=0.15, margin=0.06)
    assert rule(giving("mm", just)).check_art(ART, Order())[0].severity is Severity.QUERY


def test_an_exact_limit_gives_no_tolerance_but_keeps_the_margin_of_measurement():
    size = rule(giving("mm", Reading(value=60.2)), minimum=None, maximum="60 mm", exact=True)
    assert size.check_art(ART, Order())[0].severity is Severity.MUST
    loose = rule(giving("mm", Reading(value=60.2)), minimum=None, maximum="60 mm")
    assert loose.check_art(ART, Order())[0].severity is Severity.QUERY


def test_counts_get_no_tolerance():
    pieces = rule(giving("pieces", Reading(value=31)), minimum=None, maximum="30 pieces")
    assert pieces.check_art(ART, Order())[0].severity is Severity.MUST


def test_values_past_only_to_are_left_to_the_other_rule():
    thin, narrow = Reading(value=0.5), Reading(value=0.9)
    satin = rule(giving("mm", thin, narrow), minimum=None, wanted_minimum="1 mm", only_to="0.8 mm")
    finding, _ = satin.check_art(ART, Order())
    assert finding.measured == 0.9 and "such places" not in finding.says
    assert satin.check_art(ART, Order())[1].outcome is Outcome.QUERY
    assert replace(satin, measure=giving("mm", Reading(value=0.8))).check_art(ART, Order())[0].measured == 0.8


def test_a_number_brings_its_noun():
    for count, words in ((1, "1 hidden layer."), (3, "3 hidden layers.")):
        says = "There is {measured:hidden layer|hidden layers}."
        layers = rule(giving("", Reading(value=count)), minimum=None, maximum="0", says=says)
        assert layers.check_art(ART, Order())[0].says == f"There is {words}"


@pytest.mark.parametrize(
    "wrong, message",
    [
        ({"minimum": "5"}, "should be in mm"),
        ({"minimum": "300 ppi"}, "should be in mm"),
        ({"minimum": 5}, "not a quantity"),
        ({"minimum": "5,5 mm"}, "not a quantity"),
        ({"minimum": None}, "one side"),
        ({"maximum": "1 mm"}, "one side"),
        ({"wanted_minimum": "0.1 mm"}, "stricter"),
        ({"only_to": "0.3 mm"}, "only_to"),
        ({"check": "line-thickness"}, "line-thickness"),
        ({"says": "Only {minimal}."}, "minimal"),
        ({"says": "Only {measured:layer}."}, "unpack"),
    ],
)
def test_a_rule_written_wrongly_says_which_and_why(wrong, message):
    with pytest.raises(ValueError, match=message) as error:
        rule(**wrong)
    assert "kite-print/line-width" in str(error.value)


def test_how_values_scale_follows_from_the_unit_unless_it_is_said():
    assert rule().scales == "with size"
    assert rule(giving("ppi"), minimum="300 ppi").scales == "against size"
    assert rule(giving("mm2"), minimum=None, maximum="4 cm2").scales == "with its square"
    assert rule(giving(""), minimum="1").scales == ""
    assert rule(scales="").scales == ""


def test_another_limit_drops_a_wanted_one_that_is_no_longer_stricter():
    two = rule(wanted_minimum="0.3 mm")
    assert (two.with_limit("0.25 mm").must, two.with_limit("0.25 mm").query) == (0.25, 0.3)
    assert (two.with_limit("0.4 mm").must, two.with_limit("0.4 mm").query) == (0.4, None)
    assert (two.with_wanted("0.5 mm").must, two.with_wanted("0.5 mm").query) == (0.2, 0.5)
    with pytest.raises(ValueError, match="should be in mm"):
        two.with_limit("5 ppi")
    asks = rule(minimum=None, wanted_minimum="1 mm", only_to="0.8 mm")
    assert asks.with_limit("0.9 mm").only_to == "0.8 mm" and asks.with_limit("0.7 mm").only_to is None


@given(value=st.floats(0, 1, allow_nan=False), limit=st.integers(1, 99))
def test_the_printed_figure_is_the_judged_figure(value, limit):
    """No report says "0.2 mm measured, at least 0.2 mm: fails", and none passes what prints as too little."""
    one = rule(giving("mm", Reading(value=value)), minimum=f"{limit / 100} mm")
    finding, checked = one.check_art(ART, Order())
    assert (finding is None) == (rounded(value, "mm") >= limit / 100)
    if finding:
        assert finding.measured < finding.limit
        assert (finding.severity is Severity.QUERY) == (limit / 100 - value <= 0.05 * limit / 100 + 1e-9)


@given(st.floats(0.05, 0.95), st.floats(1.05, 20))
def test_worse_is_never_judged_milder(low, factor):
    order = {None: 0, Severity.NOTE: 1, Severity.QUERY: 2, Severity.MUST: 3}
    two = rule(minimum="0.3 mm", wanted_minimum="0.6 mm")

    def severity(value):
        finding, _ = replace(two, measure=giving("mm", Reading(value=value))).check_art(ART, Order())
        return order[finding.severity if finding else None]

    assert severity(low) >= severity(low * factor)


# ------------------------------------------------------------------------------------------------ accepted


def found(severity_limit, value=0.1):
    return rule(giving("mm", Reading(value=value, where=(BOX,))), **severity_limit).check_art(ART, Order())[0]


ASKS = {"minimum": None, "wanted_minimum": "0.2 mm"}


@pytest.mark.parametrize("name", ["line-width", "kite-print/line-width"])
def test_an_accepted_query_becomes_a_note_that_says_so(name):
    (finding,) = cleared([found(ASKS)], (name,))
    assert finding.severity is Severity.NOTE and finding.accepted and "ccepted" in finding.says
    assert verdict([finding]) is Verdict.PASS


@pytest.mark.parametrize("names", [(), ("gap-width",), ("line",), ("embroidery/line-width",)])
def test_a_query_nobody_answered_stays(names):
    assert cleared([found(ASKS)], names) == [found(ASKS)]


def test_a_must_stays_a_must_whoever_accepts_it():
    finding = found({"minimum": "0.2 mm"})
    assert cleared([finding], ("line-width", "kite-print/line-width")) == [finding]
    assert verdict([finding]) is Verdict.FAIL


@pytest.mark.parametrize(
    ("says", "said"),
    [
        (
            "{what} is {measured} wide; {limit} is needed.",
            "The string is a hairline without a width of its own (0 mm); ",
        ),
        ("Touching colours overlap by {measured} ({what}).", "Touching colours do not overlap (the string)."),
        ("Colour runs only {measured} past the cut.", "Colour stops at the cut (0 mm past it)."),
        ("{what} is {measured} long.", "The string is 0 mm long."),
    ],
)
def test_a_length_of_nothing_is_said_in_words(says, said):
    one = rule(giving("mm", Reading(value=0.0, what="the string")), minimum="0.2 mm", says=says)
    assert one.check_art(ART, Order())[0].says.startswith(said)


def finding(name, severity, check="lettering-height", measured=1.0):
    return Finding(
        rule=f"kite-print/{name}", check=Check(check), severity=severity, measured=measured, limit=2.0, unit="mm",
        says="It is.", why="So.", remedy="Mend it.", source="our default",
    )  # fmt: skip


def test_one_cause_is_told_once():
    blank = finding("art-present", Severity.MUST, "unreadable")
    gone = finding("vanishing-colour", Severity.MUST, "ground-contrast")
    assert cleared([blank, gone], ()) == [gone] and cleared([blank], ()) == [blank]
    doubtful = finding("vanishing-colour", Severity.QUERY, "ground-contrast")
    assert cleared([blank, doubtful], ()) == [blank, doubtful]
    read = [finding("reading-capitals", Severity.NOTE), finding("reading-lower-case", Severity.NOTE)]
    small = finding("capital-height", Severity.QUERY)
    assert cleared([small, *read], ()) == [small] and cleared(read, ()) == read
    asked = finding("reading-capitals", Severity.QUERY)
    assert cleared([small, asked], ()) == [small, asked]


def missed(title, reason, **more):
    return rule(giving("mm", Reading(value=None, reason=reason)), title=title, **more).check_art(
        ART, Order()
    )[0]


def test_what_was_missed_for_one_reason_is_said_once():
    crowded, broken = "the art is too full.", "the file is damaged."
    all_of_it = [missed(t, crowded) for t in ("Lines and dots", "Gaps", "Dots")] + [
        missed("Fonts", broken),
        found(ASKS),
    ]
    lines, fonts, other = gathered(all_of_it)
    assert lines.says == f"“Lines and dots”, “Gaps” and “Dots” could not be checked: {crowded}"
    assert lines.severity is Severity.QUERY and fonts == all_of_it[3] and other == all_of_it[4]


def test_notes_and_questions_are_not_gathered_together():
    noted = missed("Gaps", "the art is too full.", notes_only=True)
    asked = missed("Lines", "the art is too full.")
    assert gathered([asked, noted]) == [asked, noted]
    assert cleared([asked, noted], ()) == [asked, noted]
