"""A folder of jobs: find them, run them beside each other, keep what has not changed, write the overview.

One folder of reports a job, `index.html`, `summary.csv` and `summary.json`.  A job is checked again when the bytes of
its art, its order row, the rules, the shop file or the program's version changed.
"""

import hashlib
import json
import os
import re
import shutil
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from preflight import __version__
from preflight.errors import PreflightError
from preflight.guard import guarded
from preflight.order import METHODS, Order, OrderRow, order_from, read_orders
from preflight.quantity import plain
from preflight.task import Done, Task

#: Not artwork, and nobody sent it as such.
PASSED_OVER = re.compile(
    r"^(\..*|~\$.*|thumbs\.db|desktop\.ini|.*\.(csv|tsv|toml|md|part|crdownload|tmp))$", re.IGNORECASE
)
ORDERS = "orders.csv"
STATE = "state.json"
#: The documents of a job's folder and the kind of each.
DOCUMENTS = {
    "report.html": "html",
    "report.pdf": "pdf",
    "reply.txt": "txt",
    "reply.eml": "eml",
    "report.json": "json",
}
#: Files an inbox run looks at.
MOST_FILES = 100_000


@dataclass(frozen=True, kw_only=True)
class Job:
    """One job of the folder: its art, its order (None with `error`), and the folder of its reports, by name."""

    path: Path
    name: str
    order: Order | None
    folder: str
    error: str = ""


@dataclass(frozen=True)
class Result:
    """One job with its report as JSON bytes."""

    job: Job
    report: bytes
    thumbnail: bytes | None
    kept: bool  # nothing changed since the last run
    log: tuple[str, ...] = ()


def jobs_in(
    folder: Path,
    orders: Path | None,
    out: Path,
    defaults: Mapping[str, Any],
    own: Mapping[str, Any] | None = None,
) -> list[Job]:
    """The jobs of a folder: the rows of its orders file if there is one, else every file below it.

    Args:
        folder: the inbox.
        orders: the orders file; `folder`/orders.csv when None and there is one.
        out: where the reports go: what lies there is no job.
        defaults: options that hold where an order says nothing.
        own: the shop's charts, tags and machines, by these names.

    Raises:
        PreflightError: no such folder, a bad orders file, no method for files without orders.
    """
    if not folder.is_dir():
        raise PreflightError(f"there is no folder {plain(str(folder))}; give the folder that holds the jobs")
    if orders is None and (folder / ORDERS).is_file():
        orders = folder / ORDERS
    if orders is not None:
        if not orders.is_file():
            raise PreflightError(f"there is no orders file {plain(str(orders))}")
        return _named(
            _of_row(row, folder) for row in read_orders(orders, folder, defaults=defaults, **(own or {}))
        )
    if not defaults.get("method"):
        raise PreflightError(
            f"the folder has no {ORDERS}, so give --method for all its files; choose from {', '.join(METHODS)}"
        )
    order = order_from(defaults, **(own or {}))
    return _named(
        Job(path=path, name=path.relative_to(folder).as_posix(), order=order, folder="")
        for path in _files(folder, out)
    )


def _of_row(row: OrderRow, folder: Path) -> Job:
    path = row.path or folder / "-"
    order = row.order
    if order is None:  # a row that cannot be used still says whose it is
        order = Order(job=row.said.get("job", ""), customer=row.said.get("customer", ""))
    return Job(path=path, name=row.file or f"line {row.line}", order=order, folder="", error=row.error)


def _files(folder: Path, out: Path) -> list[Path]:
    """Files below a folder that may be art; links are not followed out of it."""
    found: list[Path] = []
    skipped = out.resolve()
    for parent, folders, names in os.walk(folder, followlinks=False):
        here = Path(parent)
        folders[:] = sorted(f for f in folders if not f.startswith(".") and (here / f).resolve() != skipped)
        for name in sorted(names):
            path = here / name
            if not PASSED_OVER.match(name) and path.is_file() and not path.is_symlink():
                found.append(path)
                if len(found) > MOST_FILES:
                    raise PreflightError(f"the folder holds more than {MOST_FILES} files; check it in parts")
    return found


def _named(jobs: Iterable[Job]) -> list[Job]:
    """Each job with a folder name of its own, made of safe characters only."""
    used: set[str] = set()
    named = []
    for job in jobs:
        method = job.order.method if job.order else ""
        stem = re.sub(r"[^A-Za-z0-9]+", "-", f"{job.name} {method}").strip("-").lower()[:80] or "job"
        name, count = stem, 1
        while name in used:
            count += 1
            name = f"{stem}-{count}"
        used.add(name)
        named.append(replace(job, folder=name))
    return named


def fingerprint_of_rules(shop: Path | None) -> str:
    """What a verdict depends on besides art and order: the program, its rules and the shop file with its charts."""
    import rules

    digest = hashlib.sha256(__version__.encode())
    program = Path(__file__).parent
    sources = [
        *sorted(Path(p) for base in rules.__path__ for p in Path(base).glob("*.*")),
        *sorted(program.rglob("*.py")),
    ]
    if shop is not None:
        sources += [shop, *sorted(shop.parent.glob("*.csv"))]
    for source in sources:
        if source.is_file() and source.suffix in (".py", ".toml", ".csv"):
            digest.update(source.name.encode() + b"\0" + source.read_bytes())
    return digest.hexdigest()


def _key(job: Job, rules: str) -> str:
    digest = hashlib.sha256(rules.encode())
    digest.update(repr((job.name, job.error, _plain_order(job.order))).encode())
    try:
        with job.path.open("rb") as file:
            while block := file.read(1 << 20):
                digest.update(block)
    except OSError as error:
        digest.update(f"unreadable {error.errno}".encode())
    return digest.hexdigest()


def _plain_order(order: Order | None) -> Any:
    return None if order is None else replace(order, charts=(), tags=frozenset()), sorted(
        order.tags
    ) if order else ()


def run(
    jobs: Sequence[Job], out: Path, *, workers: int, shop: Path | None, rules: str,
    done: Callable[[Result], None] = lambda result: None,
) -> list[Result]:  # fmt: skip
    """Check the jobs, write each one's reports below `out`, and give the results in the order of the jobs.

    `done` is called as each ends.  Jobs that have not changed since the last run are kept as they are.
    """
    results: dict[int, Result] = {}
    tasks: list[tuple[int, Task, str]] = []
    for number, job in enumerate(jobs):
        key = _key(job, rules)
        kept = _unchanged(job, out, key)
        if kept:
            results[number] = kept
            done(kept)
            continue
        shutil.rmtree(out / job.folder, ignore_errors=True)
        documents = tuple((kind, out / job.folder / name) for name, kind in DOCUMENTS.items())
        trouble = None
        if job.error:
            end = "" if job.error.endswith(("?", ".")) else "."
            trouble = (
                f"The order could not be read: {job.error}{end}",
                "Please correct this row of the orders file, or put the file where it says.",
            )
        order = job.order or Order()
        tasks.append(
            (
                number,
                Task(
                    path=job.path, name=job.name, order=order, methods=(order.method,), shop=shop, documents=documents,
                    thumbnail=True, trouble=trouble,
                ),
                key,
            )
        )  # fmt: skip
    for index, ended in guarded([task for _, task, _ in tasks], workers):
        number, _, key = tasks[index]
        result = _stored(jobs[number], out, key, ended)
        results[number] = result
        done(result)
    return [results[number] for number in range(len(jobs))]


def _stored(job: Job, out: Path, key: str, ended: Done) -> Result:
    folder = out / job.folder
    folder.mkdir(parents=True, exist_ok=True)
    if ended.thumbnail:
        (folder / "small.png").write_bytes(ended.thumbnail)
    (folder / STATE).write_text(json.dumps({"key": key}), encoding="utf-8")
    return Result(job, ended.reports[0], ended.thumbnail, False, ended.log)


def _unchanged(job: Job, out: Path, key: str) -> Result | None:
    """What the last run left of a job, when nothing it depends on changed."""
    folder = out / job.folder
    try:
        state = json.loads((folder / STATE).read_text(encoding="utf-8"))
        if state.get("key") != key or not all((folder / name).is_file() for name in DOCUMENTS):
            return None
        report = (folder / "report.json").read_bytes()
        small = folder / "small.png"
        return Result(job, report, small.read_bytes() if small.is_file() else None, True)
    except (OSError, ValueError, AttributeError):
        return None  # no last run, or what it left is damaged: the job is checked again


def drop_stale(out: Path, jobs: Sequence[Job]) -> None:
    """Remove report folders of jobs that are gone; only folders this program made."""
    if not out.is_dir():
        return
    current = {job.folder for job in jobs}
    for folder in out.iterdir():
        if folder.is_dir() and folder.name not in current and (folder / STATE).is_file():
            shutil.rmtree(folder, ignore_errors=True)
