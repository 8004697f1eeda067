"""Imports point one way.  This table is the architecture; DEVELOPERS.md prints it."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

#: Module: what it may import of the project.  Read upwards: nothing imports a row below its own.
MAY_IMPORT = {
    "preflight": "",
    "preflight.errors": "",
    "preflight.quantity": "",
    "preflight.artwork": "",
    "preflight.colour": "artwork errors quantity",
    "preflight.charts": "artwork colour errors quantity",
    "preflight.reading": "artwork quantity",
    "preflight.findings": "artwork",
    "preflight.articles": "errors quantity",
    "preflight.orders_file": "errors quantity",
    "preflight.order": "articles colour errors findings orders_file quantity",
    "preflight.pixels": "colour",
    "preflight.load": "artwork colour errors order pixels quantity",
    "preflight.measure": "artwork charts colour findings order pixels quantity reading",
    "preflight.rulebook": "artwork findings measure order quantity reading",
    "rules": "measure rulebook",
    "preflight.shop": "charts errors order quantity report rulebook",
    "preflight.methods": "errors order quantity rulebook rules shop",
    "preflight.clearing": "findings",
    "preflight.size_window": "artwork findings measure methods order quantity reading rulebook",
    "preflight.job": "artwork clearing errors findings load measure order quantity rulebook size_window",
    "preflight.report": "artwork findings quantity",
    "preflight.task": "order",
    "preflight.desk": "errors findings job methods report shop task",
    "preflight.guard": "desk errors task",
    "preflight.inbox": "errors guard order quantity rules task",
    "preflight.overview": "errors findings inbox quantity report shop",
    "preflight.cli": "errors findings guard methods order overview quantity report shop task",
    "preflight.__main__": "cli",
}
#: Rows that a row above them may name: plain data that reports and settings share.
LATER = {("preflight.shop", "preflight.report")}
#: Third-party package: the rooms that may know it.
MAY_USE = {
    "click": ("preflight.cli",),
    "rich": ("preflight.overview",),
    "watchfiles": ("preflight.overview",),
    "pebble": ("preflight.guard",),
    "pymupdf": ("preflight.load", "preflight.report"),
    "pymupdf_fonts": ("preflight.load", "preflight.report"),
    "typst": ("preflight.load", "preflight.report"),
    "resvg_py": ("preflight.load",),
    "lxml": ("preflight.load",),
    "jinja2": ("preflight.report",),
    "markupsafe": ("preflight.report",),
    "colormath": ("preflight.colour",),
    "cv2": ("preflight.load", "preflight.pixels", "preflight.measure"),
    "scipy": ("preflight.pixels", "preflight.measure"),
    "skimage": ("preflight.colour", "preflight.pixels", "preflight.measure"),
    "msgspec": ("preflight.findings", "preflight.clearing", "preflight.report", "preflight.cli"),
}
FILES = sorted(p for top in ("preflight", "rules") for p in (ROOT / top).rglob("*.py"))


def module_of(path):
    """preflight/measure/tone.py -> preflight.measure.tone"""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def layer_of(module):
    """The row of MAY_IMPORT a module belongs to: its longest matching name."""
    return max(
        (row for row in MAY_IMPORT if module == row or module.startswith(row + ".")), key=len, default=None
    )


def imports_of(path):
    """Every module a file imports, also inside functions."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: write imports in full"
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def test_the_table_itself_points_one_way():
    rows = list(MAY_IMPORT)
    for position, (row, allowed) in enumerate(MAY_IMPORT.items()):
        for name in allowed.split():
            there = name if name == "rules" else f"preflight.{name}"
            assert there in rows, f"{row} names {there}, which has no row"
            assert there in rows[:position] or (row, there) in LATER, f"{row} may only import rows above it"


@pytest.mark.parametrize("path", FILES, ids=module_of)
def test_imports_point_one_way(path):
    module = module_of(path)
    here = layer_of(module)
    own = "preflight." + module.split(".")[1] if module.startswith("preflight.") else module.split(".")[0]
    assert here == (own if own in MAY_IMPORT else "preflight") and (
        here != "preflight" or module == "preflight"
    ), f"{module} has no row in MAY_IMPORT"
    for name in imports_of(path):
        there = layer_of(name)
        if there and there != "preflight":
            allowed = {
                here,
                *(row if row == "rules" else f"preflight.{row}" for row in MAY_IMPORT[here].split()),
            }
            assert there in allowed, f"{module} ({here}) may not import {there}"
        users = MAY_USE.get(name.split(".")[0])
        assert users is None or here in users, f"{module} may not use {name}"


def test_help_imports_nothing_heavy():
    import subprocess
    import sys

    code = (
        "import sys; from click.testing import CliRunner; from preflight.cli import cli;"
        "assert CliRunner().invoke(cli, ['--help']).exit_code == 0;"
        "print(' '.join(sorted(sys.modules)))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    loaded = set(ran.stdout.split())
    assert not loaded & {
        "numpy",
        "cv2",
        "pymupdf",
        "scipy",
        "skimage",
        "PIL",
        "typst",
        "lxml",
        "jinja2",
        "pebble",
        "rich",
    }
