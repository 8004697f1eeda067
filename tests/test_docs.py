"""The README keeps its word: every command and option is in it, and its table of limits is the one in force.

`python tests/test_docs.py` renews the table.
"""

import re
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))

from preflight.cli import REPORTS, cli  # noqa: E402
from preflight.methods import limits_table  # noqa: E402
from preflight.order import COLUMNS, METHODS  # noqa: E402

README = ROOT / "README.md"
TABLE = re.compile(r"(<!-- limits -->\n)(.*?)(<!-- /limits -->)", re.S)


def test_every_command_and_option_is_in_the_readme():
    text = README.read_text("utf-8")
    for name, command in cli.commands.items():
        assert f"preflight {name}" in text
        for parameter in command.params:
            for option in getattr(parameter, "opts", ()):
                if option.startswith("--"):
                    assert f"{option}" in text, f"{name} {option}"


def test_every_command_and_option_has_help():
    for name, command in cli.commands.items():
        assert command.help, name
        for parameter in command.params:
            if parameter.param_type_name == "option":
                assert parameter.help, f"{name} {parameter.name}"


def test_methods_columns_and_report_endings_are_in_the_readme():
    text = README.read_text("utf-8")
    for word in (*METHODS, *COLUMNS, *REPORTS):
        assert f"`{word}`" in text, word


def test_the_table_of_limits_is_the_one_in_force():
    found = TABLE.search(README.read_text("utf-8"))
    assert found and found[2].strip() == limits_table().strip(), "run `python tests/test_docs.py`"


def test_no_sentence_names_a_machine():
    for name in ("README.md", "DEVELOPERS.md", "sample_art/README.md"):
        absolute = re.findall(r"(?<![\w.:/~<-])/(?:[\w.-]+/)+", (ROOT / name).read_text("utf-8"))
        assert not absolute, name


if __name__ == "__main__":
    text = README.read_text("utf-8")
    README.write_text(
        TABLE.sub(lambda m: m[1] + "\n" + limits_table().strip() + "\n\n" + m[3], text), "utf-8"
    )
