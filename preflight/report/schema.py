"""The JSON Schema of a report as a file in the package; `python -m preflight.report.schema` writes it anew."""

import json
from pathlib import Path

from preflight.findings import json_schema

PATH = Path(__file__).parent.parent / "schema.json"


def text() -> str:
    """The schema as it stands in the file."""
    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"


def write() -> None:
    """Write the file."""
    PATH.write_text(text(), "utf-8")


if __name__ == "__main__":
    write()
