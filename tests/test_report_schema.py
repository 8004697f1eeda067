"""The JSON Schema that ships, and reports held against it by another library."""

import json

import jsonschema
import pytest

import report_demo as demo
from preflight.findings import report_from_json, to_json
from preflight.report import schema

SHIPPED = json.loads(schema.PATH.read_text("utf-8"))


def test_the_shipped_schema_is_current():
    assert schema.PATH.read_text("utf-8") == schema.text(), "run `python -m preflight.report.schema`"


def test_the_schema_is_one():
    jsonschema.Draft202012Validator.check_schema(SHIPPED)


@pytest.mark.parametrize("name", ["failing", "asking", "passing", "unreadable", "crowded"])
def test_reports_hold_to_it_and_come_back_whole(name):
    report = demo.reports()[name]
    data = json.loads(to_json(report))
    jsonschema.Draft202012Validator(SHIPPED).validate(data)
    assert report_from_json(to_json(report)) == report


@pytest.mark.parametrize(
    "change", [{"verdict": "maybe"}, {"findings": [{"rule": "a/b"}]}, {"sha256": None}, {"colours": "red"}]
)
def test_it_refuses_what_is_no_report(change):
    data = json.loads(to_json(demo.failing())) | change
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(SHIPPED).validate(data)
