"""The orders file as plain cells: CSV in UTF-8, parted by comma, semicolon or tab; and the door to the inbox folder.

Each line stands for itself: a stray quotation mark spoils its own row and no other.
"""

import csv
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any, Generic, TypeVar

from preflight.errors import PreflightError
from preflight.quantity import plain

MOST_BYTES = 16_000_000
MOST_ROWS = 20_000
MOST_LETTERS = 1_000  # of one cell
_DELIMITERS = ",;\t"
_DECIMAL_COMMA = re.compile(r"(\d+),(\d+)(\s*[a-z\"]*)", re.IGNORECASE)
#: (wrong name, valid names) -> words to append; see `preflight.order.nearest`.
NearestName = Callable[[str, Iterable[str]], str]


@dataclass(frozen=True, kw_only=True)
class Cells:
    """One row: its line in the file, its cells by column, or what is wrong with it."""

    line: int
    cells: dict[str, str]
    error: str = ""


OrderT = TypeVar("OrderT")


@dataclass(frozen=True, kw_only=True)
class Row(Generic[OrderT]):  # noqa: UP046 - the shorter form came with Python 3.12
    """One row of an orders file: a file below the inbox folder and its order, or `error` in one plain line.

    Attributes:
        line: its line in the orders file, from 1.
        file: as the row names it, safe to print.
        path: where it is; None when the row is bad.
        order: None when the cells of the row are bad; a file that is missing leaves it.
        said: its cells by column as they were written, safe to print: a bad row still says whose job it is.
    """

    line: int
    file: str
    path: Path | None = None
    order: OrderT | None = None
    error: str = ""
    said: Mapping[str, str] = field(default_factory=dict)


def read_text(source: Path) -> str:
    """The text of an orders file.

    Raises:
        PreflightError: in one plain line.
    """
    name = plain(source.name)
    try:
        with source.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise PreflightError(
            f"the orders file “{name}” cannot be read: {error.strerror or 'unknown error'}"
        ) from None
    if len(data) > MOST_BYTES:
        raise PreflightError(
            f"the orders file “{name}” is larger than {MOST_BYTES // 1_000_000} MB; split it"
        )
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise PreflightError(f"the orders file “{name}” is saved as UTF-16; save it as “CSV UTF-8”")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise PreflightError(
            f"the orders file “{name}” is not in UTF-8 (line {line}); save it as “CSV UTF-8”"
        ) from None


def rows(
    text: str, columns: Sequence[str], needed: Iterable[str], nearest: NearestName
) -> tuple[str, list[Cells]]:
    """The delimiter and the rows of an orders file.

    Args:
        text: the whole file.
        columns: the names a header may hold.
        needed: those it must hold.
        nearest: says which valid name is most like a wrong one.

    Raises:
        PreflightError: when the header cannot be used or there are too many rows.
    """
    lines = [(n, line) for n, line in _lines(text) if line.strip(_DELIMITERS + ' "')]
    if lines and re.fullmatch(r"sep=[,;\t]", lines[0][1].strip(' "')):  # some spreadsheets begin so
        lines = lines[1:]
    if not lines:
        raise PreflightError(
            f"the orders file is empty; its first line should name the columns: {', '.join(columns)}"
        )
    if len(lines) > MOST_ROWS + 1:
        raise PreflightError(f"the orders file has more than {MOST_ROWS} rows; split it")
    delimiter, header = _header(lines[0][1], columns)
    _check_header(header, columns, needed, nearest)
    return delimiter, [_row(n, line, delimiter, header) for n, line in lines[1:]]


def _lines(text: str) -> Iterator[tuple[int, str]]:
    return enumerate(re.split(r"\r\n|\n|\r", text.removeprefix("\ufeff")), start=1)


def _split(line: str, delimiter: str) -> list[str]:
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, strict=True))]
    except (csv.Error, StopIteration):
        raise ValueError("a quotation mark is missing or in the wrong place") from None


def _column(cell: str) -> str:
    return re.sub(r"[\s-]+", "_", cell.strip().lower())


def _header(line: str, columns: Sequence[str]) -> tuple[str, list[str]]:
    """The delimiter under which most of the header's names are known, and those names."""
    best: tuple[str, list[str]] = (",", [])
    for delimiter in _DELIMITERS:
        try:
            names = [_column(cell) for cell in _split(line, delimiter)]
        except ValueError:
            continue
        if (sum(n in columns for n in names), len(names)) > (
            sum(n in columns for n in best[1]),
            len(best[1]),
        ):
            best = delimiter, names
    while best[1] and not best[1][-1]:  # spreadsheets leave empty columns at the end
        best[1].pop()
    return best


def _check_header(
    header: list[str], columns: Sequence[str], needed: Iterable[str], nearest: NearestName
) -> None:
    where = "the orders file's first line"
    if not header:
        raise PreflightError(f"{where} cannot be read; it should name the columns: {', '.join(columns)}")
    for name in header:
        if name not in columns:
            raise PreflightError(f"{where}: there is no column “{plain(name, 60)}”{nearest(name, columns)}")
        if header.count(name) > 1:
            raise PreflightError(f"{where}: the column “{name}” is there twice")
    for name in needed:
        if name not in header:
            raise PreflightError(f"{where}: the column “{name}” is missing")


def _row(line_number: int, line: str, delimiter: str, header: list[str]) -> Cells:
    try:
        cells = _split(line, delimiter)
    except ValueError as error:
        return Cells(line=line_number, cells={}, error=str(error))
    named = dict(zip(header, cells, strict=False))
    if any(cells[len(header) :]):
        return Cells(
            line=line_number,
            cells=named,
            error=f"the row has {len(cells)} cells, the header {len(header)} columns; put quotes round a cell that holds the "
            "separator",
        )
    if any(len(cell) > MOST_LETTERS for cell in cells):
        return Cells(line=line_number, cells={}, error=f"a cell is longer than {MOST_LETTERS} letters")
    return Cells(line=line_number, cells=named)


def order_row(
    row: Cells,
    delimiter: str,
    folder: Path,
    defaults: Mapping[str, Any],
    make: Callable[[Mapping[str, Any]], OrderT],
) -> Row[OrderT]:
    """A row with the order that `make` reads from its cells and the defaults; its error where that cannot be."""
    file = row.cells.get("file", "")
    cells = {column: plain(cell) for column, cell in row.cells.items() if cell}
    try:
        if row.error:
            raise PreflightError(row.error)
        said = {name.removesuffix("_mm"): value for name, value in defaults.items()}
        for column, cell in row.cells.items():
            if column != "file" and cell:
                said[column.removesuffix("_mm")] = _number(column, cell, delimiter)
        order = make(said)
    except (PreflightError, ValueError) as error:
        return Row(line=row.line, file=plain(file), error=f"line {row.line}: {error}", said=cells)
    try:
        path = inside(folder, file)
        if not path.is_file():
            raise PreflightError("there is no such file in the folder of jobs")
    except (
        PreflightError,
        ValueError,
    ) as error:  # what was ordered is known all the same: whom to ask for the file
        return Row(
            line=row.line, file=plain(file), error=f"line {row.line}: {error}", order=order, said=cells
        )
    return Row(line=row.line, file=plain(file), path=path, order=order, said=cells)


def _number(column: str, cell: str, delimiter: str) -> str:
    """A length with a decimal comma, as spreadsheets write it where the comma does not part the cells."""
    match = _DECIMAL_COMMA.fullmatch(cell) if column.endswith("_mm") else None
    if not match:
        return cell
    if delimiter == ",":
        raise PreflightError(f"{column}: write “{match[1]}.{match[2]}” with a point")
    return f"{match[1]}.{match[2]}{match[3]}"


def inside(folder: Path, name: str) -> Path:
    """The file of that name below the folder, wherever links lead; it need not exist.

    Raises:
        ValueError: in plain words, when the name leads out of the folder or is no file name.
    """
    if not name.strip() or name.strip() in (".", "/"):
        raise ValueError("the file name is missing")
    if any(ord(char) < 32 or ord(char) == 127 for char in name):
        raise ValueError("the file name holds a control character")
    windows, posix = PureWindowsPath(name), PurePosixPath(name)
    if windows.drive or windows.root or posix.is_absolute():
        raise ValueError("the file name must be relative to the folder of jobs")
    if ".." in windows.parts or ".." in posix.parts:
        raise ValueError("the file name leads out of the folder of jobs")
    path = folder / name
    if "\\" in name and not path.exists():
        path = folder.joinpath(*windows.parts)
    try:
        real, root = path.resolve(), folder.resolve()
    except (OSError, RuntimeError, ValueError):
        raise ValueError("the file name cannot be used") from None
    if root not in real.parents:
        raise ValueError("the file name leads out of the folder of jobs")
    return real
