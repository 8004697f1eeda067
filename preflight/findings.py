"""Findings, the report of one job, and the verdict: plain data, its JSON and the schema of that JSON.

These names are the contract with users' scripts: see README.md, "JSON".
"""

from enum import StrEnum
from typing import Any

import msgspec

from preflight.artwork import Box

SCHEMA = "artwork-preflight/1"


class Check(StrEnum):
    """What kind of thing a finding is about."""

    UNREADABLE = "unreadable"
    ORDER_DETAILS = "order-details"
    VECTOR_REQUIRED = "vector-required"
    RESOLUTION = "resolution"
    ART_SIZE = "art-size"
    LINE_WIDTH = "line-width"
    GAP_WIDTH = "gap-width"
    ISOLATED_DETAIL = "isolated-detail"
    LETTERING_HEIGHT = "lettering-height"
    GRADIENT = "gradient"
    COLOUR_COUNT = "colour-count"
    SPOT_COLOUR = "spot-colour"
    GROUND_CONTRAST = "ground-contrast"
    BACKGROUND = "background"
    TRANSPARENCY = "transparency"
    OVERPRINT = "overprint"
    REGISTRATION = "registration"
    SOLID_AREA = "solid-area"
    FONT = "font"
    HIDDEN_CONTENT = "hidden-content"
    BLEED = "bleed"
    CUT_SHAPE = "cut-shape"
    MATERIAL = "material"
    STITCH_COUNT = "stitch-count"
    COLOUR_MATCH = "colour-match"
    CODE_LEGIBILITY = "code-legibility"
    RENDERING = "rendering"


class Severity(StrEnum):
    """What a finding asks for."""

    MUST = "must"  # has to be mended: the job fails
    QUERY = "query"  # someone must answer or accept
    NOTE = "note"


class Outcome(StrEnum):
    """How one rule came out."""

    OK = "ok"
    MUST = "must"
    QUERY = "query"
    NOTE = "note"
    NOT_MEASURED = "not measured"
    DOES_NOT_APPLY = "does not apply"


class Verdict(StrEnum):
    """The answer for one job."""

    PASS = "pass"
    QUERY = "query"  # can go on once a person has answered
    FAIL = "fail"


class Place(msgspec.Struct, frozen=True, kw_only=True):
    """Where something is: mm from the top left of the art bounds."""

    page: int
    box_mm: Box


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """One rule's conclusion, in words ready to send."""

    rule: str
    check: Check
    severity: Severity
    measured: float | None = None
    limit: float | None = None
    unit: str = ""
    where: tuple[Place, ...] = ()
    says: str
    why: str = ""
    remedy: str
    source: str
    accepted: bool = False  # someone has answered it: a query that became a note


class Checked(msgspec.Struct, frozen=True, kw_only=True):
    """One line of what was looked at, found well or not."""

    rule: str
    title: str = ""
    outcome: Outcome
    measured: float | None = None
    limit: float | None = None
    unit: str = ""
    reason: str = ""  # why it was not measured, or does not apply
    source: str = ""


class Colour(msgspec.Struct, frozen=True, kw_only=True):
    """One ink of the art."""

    name: str
    kind: str
    hex: str
    lab: tuple[float, float, float]
    white: str = "D50"  # the white that lab is relative to
    area_mm2: float | None
    share: float | None = None  # of the print box, 0 to 1
    tints: tuple[float, ...] = ()
    chart_entry: str | None = None
    delta_e: float | None = None


class ImageFacts(msgspec.Struct, frozen=True, kw_only=True):
    """One bitmap in the art."""

    ppi: float
    true_ppi: float | None
    box_mm: Box
    pixels: tuple[int, int] = (0, 0)
    jpeg_quality: float | None = None


class FontFacts(msgspec.Struct, frozen=True, kw_only=True):
    """One font of live text."""

    name: str
    embedded: bool


class ArtFacts(msgspec.Struct, frozen=True, kw_only=True):
    """What the art is."""

    format: str
    kind: str  # vector, bitmap or mixed
    width_mm: float
    height_mm: float
    file_width_mm: float
    file_height_mm: float
    images: tuple[ImageFacts, ...] = ()
    fonts: tuple[FontFacts, ...] = ()


class Measures(msgspec.Struct, frozen=True, kw_only=True):
    """The figures a craftsman would ask for; null where one does not apply or could not be taken, which `not_taken` says."""

    finest_line_mm: float | None = None
    narrowest_gap_mm: float | None = None
    smallest_lettering_mm: float | None = None
    smallest_detail_mm: float | None = None
    lowest_ppi: float | None = None
    colour_count: int | None = None
    ink_area_mm2: float | None = None
    has_gradient: bool | None = None
    not_taken: dict[str, str] = {}  # why a figure above is null, by its name


class SizeWindow(msgspec.Struct, frozen=True, kw_only=True):
    """Between which widths every limit holds; None where nothing bounds that end."""

    min_width_mm: float | None = None
    max_width_mm: float | None = None
    possible: bool = True
    because: tuple[str, ...] = ()  # the checks that decide the ends
    unmeasured: tuple[str, ...] = ()  # checks that could bound the size and could not be measured


class Report(msgspec.Struct, frozen=True, kw_only=True):
    """Everything about one job."""

    schema: str = SCHEMA
    file: str
    sha256: str
    page: int = 1
    pages: int = 1
    job: dict[str, Any] = {}
    verdict: Verdict
    art: ArtFacts | None = None
    colours: tuple[Colour, ...] = ()
    measures: Measures = Measures()
    findings: tuple[Finding, ...] = ()
    size_window: SizeWindow | None = None
    production: dict[str, Any] = {}
    checked: tuple[Checked, ...] = ()
    cautions: tuple[str, ...] = ()
    seconds: float = 0.0


_ORDER = {Severity.MUST: 0, Severity.QUERY: 1, Severity.NOTE: 2}


def worst_first(findings: "tuple[Finding, ...] | list[Finding]") -> tuple[Finding, ...]:
    """Musts, then queries, then notes; otherwise as the rules stand."""
    return tuple(sorted(findings, key=lambda finding: _ORDER[finding.severity]))


def verdict(findings: "tuple[Finding, ...] | list[Finding]") -> Verdict:
    """What the findings add up to."""
    severities = {finding.severity for finding in findings}
    if Severity.MUST in severities:
        return Verdict.FAIL
    return Verdict.QUERY if Severity.QUERY in severities else Verdict.PASS


def to_json(value: Any, indent: int = 2) -> bytes:
    """A Report, or a list of them, as JSON (UTF-8)."""
    return msgspec.json.format(msgspec.json.encode(value), indent=indent)


def report_from_json(data: bytes) -> Report:
    """The Report a JSON text holds.

    Raises:
        msgspec.MsgspecError: when it is not one.
    """
    return msgspec.json.decode(data, type=Report)


def json_schema() -> dict[str, Any]:
    """The JSON Schema of one Report (draft 2020-12)."""
    schema = msgspec.json.schema(Report)
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["$id"] = SCHEMA
    return schema
