"""The command line: options in, exit status out, nothing else.

Nothing heavy is imported before a command needs it, so that `preflight --help` answers at once.
"""

import os
import signal
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import click

from preflight import __version__
from preflight.errors import ExitStatus, PreflightError
from preflight.order import METHODS
from preflight.quantity import plain

#: Endings a report may have, and what is written for each.
REPORTS = {".html": "html", ".pdf": "pdf", ".json": "json", ".txt": "txt", ".eml": "eml"}

_JOB_OPTIONS: tuple[Callable[[Any], Any], ...] = (
    click.option("--width", metavar="MM", help="Width it will be produced at: 80, 80mm, 8cm, 3.15in."),
    click.option("--height", metavar="MM", help="Height it will be produced at; one of the two is enough."),
    click.option("--item", metavar="TEXT", help="The article: cap, polo shirt, mug, pen ..."),
    click.option("--position", metavar="TEXT", help="Where on it: left chest, front, barrel ..."),
    click.option(
        "--ground",
        metavar="COLOUR",
        help="Colour of the article: #rrggbb, a CSS colour name or a chart entry.",
    ),
    click.option(
        "--material", metavar="TEXT", help="What it is made of: cotton, bamboo, stainless steel ..."
    ),
    click.option("--colours", metavar="TEXT", help="Inks or threads the client named, parted by commas."),
    click.option("--quantity", metavar="N", help="How many pieces."),
    click.option("--diameter", metavar="MM", help="Diameter of a round article."),
    click.option("--page", metavar="N", help="Page of the file; the first if not given."),
    click.option("--customer", metavar="TEXT", help="Who ordered."),
    click.option("--job", metavar="TEXT", help="Name or number of the job."),
)


def job_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options that describe a job, shared by the commands."""
    for option in reversed(_JOB_OPTIONS):
        command = option(command)
    return command


_shop = click.option(
    "--shop", metavar="FILE", type=click.Path(path_type=Path),
    help="The workshop's own limits, charts and letterhead (TOML).",
)  # fmt: skip
_format = click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", help="What is printed."
)
_report = click.option(
    "--report", "reports", metavar="PATH", multiple=True, type=click.Path(path_type=Path),
    help="Also write a report; its ending says which: .html .pdf .json .txt .eml. May be given several times.",
)  # fmt: skip


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="preflight %(version)s")
def cli() -> None:
    """Is this art fit to be made, by this method, at this size?

    Exit status: 0 every job passes (questions allowed), 1 a job fails, 2 the command could not run.
    """


@cli.command()
@click.argument("files", nargs=-1, required=True, metavar="FILE...", type=click.Path(path_type=Path))
@click.option(
    "--method", metavar="METHOD", required=True, help="How it will be made: " + ", ".join(METHODS) + "."
)
@job_options
@_format
@_report
@_shop
def check(
    files: tuple[Path, ...],
    method: str,
    form: str,
    reports: tuple[Path, ...],
    shop: Path | None,
    **options: Any,
) -> None:
    """Check artwork against one method."""
    from preflight.guard import guarded
    from preflight.task import Task

    order = _order({**options, "method": method}, shop)
    if not order.method:
        raise PreflightError("--method is empty; choose from " + ", ".join(METHODS))
    folder = next((path for path in files if path.is_dir()), None)
    if folder is not None:
        raise PreflightError(f"{plain(str(folder))} is a folder; check its files with preflight inbox")
    missing = [path for path in files if not path.is_file()]
    present = [path for path in files if path.is_file()]
    tasks = [
        Task(path=path, name=path.name, order=order, methods=(order.method,), shop=shop, documents=documents)
        for path, documents in zip(present, _documents(present, reports, len(files)), strict=True)
    ]
    found: dict[int, bytes] = {}
    for number, done in guarded(tasks, workers=_cores()):
        found[number] = done.reports[0]
        _log(done.log)
    ordered = [found[number] for number in range(len(tasks))]
    _finish(ordered, form, missing)


@cli.command()
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@job_options
@_format
@_report
@_shop
def advise(file: Path, form: str, reports: tuple[Path, ...], shop: Path | None, **options: Any) -> None:
    """Hold one artwork against every method: which way would it work, and at which size?"""
    from preflight.guard import guarded
    from preflight.task import Task

    if not file.is_file():
        raise PreflightError(f"there is no file {plain(str(file))}")
    order = _order(options, shop)
    documents = tuple(("compare" if _kind(path) == "html" else _kind(path), path) for path in reports)
    strange = next((path for kind, path in documents if kind not in ("compare", "json")), None)
    if strange is not None:
        raise PreflightError(
            f"advise writes .html and .json, not {plain(strange.suffix)}; use check for one method's reports"
        )
    task = Task(path=file, name=file.name, order=order, methods=METHODS, shop=shop, documents=documents)
    _, done = next(iter(guarded([task])))
    _log(done.log)
    if form == "json":
        _print_json(done.reports)
    else:
        from preflight.findings import report_from_json
        from preflight.report import compare

        _print(compare.render_text([report_from_json(report) for report in done.reports]))
    sys.exit(_status(done.reports, any_passes=True))


@cli.command()
@click.argument("folder", metavar="FOLDER", type=click.Path(path_type=Path))
@click.option(
    "--orders",
    metavar="CSV",
    type=click.Path(path_type=Path),
    help="One row a job; FOLDER/orders.csv if there is one.",
)
@click.option(
    "--out",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    help="Where the reports go; FOLDER/preflight-reports if not given.",
)
@click.option(
    "--workers",
    metavar="N",
    type=click.IntRange(1, 256),
    help="Jobs at the same time; one a core if not given.",
)
@click.option("--watch", is_flag=True, help="Keep going: check files as they arrive, until Ctrl-C.")
@click.option("--method", metavar="METHOD", help="For files without an order: how they will be made.")
@job_options
@_format
@_shop
def inbox(
    folder: Path, orders: Path | None, out: Path | None, workers: int | None, watch: bool, method: str | None, form: str,
    shop: Path | None, **options: Any,
) -> None:  # fmt: skip
    """Check every job of a folder, and write one folder of reports a job with an overview."""
    from preflight.overview import Inbox

    defaults = {
        name: value for name, value in {**options, "method": method}.items() if value not in (None, "")
    }
    place = Inbox(
        folder, orders, out or folder / "preflight-reports", workers or _cores(), shop, defaults, form
    )
    reports = place.watch() if watch else place.once()
    if form == "json":
        _print_json(reports)
    sys.exit(_status(reports))


@cli.command()
@click.argument("method", required=False, metavar="[METHOD]")
@_format
@_shop
def limits(method: str | None, form: str, shop: Path | None) -> None:
    """The limits in force, each with its reason and source."""
    from preflight.methods import limits as table
    from preflight.order import order_from

    chosen = order_from({"method": method}).method if method else None
    rows = table(chosen, _shop_of(shop))
    if form == "json":
        import json

        _print(json.dumps(rows, indent=2, ensure_ascii=False))
        return
    from preflight.report.limits import render

    _print(render(rows, _columns()))


# -- what the commands share


def _shop_of(path: Path | None) -> Any:
    """The shop's settings; the built-in ones where there is no file."""
    from preflight.shop import Shop, read_shop

    return read_shop(path) if path else Shop()


def _order(options: dict[str, Any], shop: Path | None) -> Any:
    from preflight.order import order_from

    own = _shop_of(shop)
    return order_from(options, charts=own.charts, tags=own.tags, machines=own.machines)


def _kind(path: Path) -> str:
    kind = REPORTS.get(path.suffix.lower())
    if kind is None:
        raise PreflightError(f"--report {plain(str(path))}: end its name with one of {' '.join(REPORTS)}")
    return kind


def _documents(
    files: Sequence[Path], reports: Sequence[Path], asked: int
) -> list[tuple[tuple[str, Path], ...]]:
    """The reports to write for each file."""
    if asked == 1:
        return [tuple((_kind(path), path) for path in reports) for _ in files]
    for path in reports:
        if path.suffix or path.is_file():
            raise PreflightError(
                f"--report {plain(str(path))}: with several files give a folder for their reports"
            )
    taken: set[str] = set()
    named = []
    for file in files:
        stem, count = file.stem, 1
        while stem in taken:
            count += 1
            stem = f"{file.stem}-{count}"
        taken.add(stem)
        named.append(
            tuple((kind, folder / f"{stem}.{kind}") for folder in reports for kind in ("html", "json"))
        )
    return named


def _finish(reports: Sequence[bytes], form: str, missing: Sequence[Path]) -> None:
    if form == "json":
        _print_json(reports)
    elif reports:
        from preflight.findings import report_from_json
        from preflight.report import text

        colour = sys.stdout.isatty() and "NO_COLOR" not in os.environ
        _print("\n".join(text.render(report_from_json(report), colour=colour) for report in reports))
    for path in missing:
        click.echo(f"preflight: there is no file {plain(str(path))}; check its name", err=True)
    sys.exit(ExitStatus.TROUBLE if missing else _status(reports))


def _print_json(reports: Sequence[bytes]) -> None:
    import msgspec

    _print(msgspec.json.format(b"[" + b",".join(reports) + b"]", indent=2).decode())


def _print(text: str) -> None:
    """Results on standard output.  A reader who has seen enough (`| head`) ends the printing, not the verdict."""
    try:
        click.echo(text)
        sys.stdout.flush()
    except BrokenPipeError:
        sys.stdout = open(os.devnull, "w")  # noqa: PTH123, SIM115 - the flush at exit must find somewhere to go


def _log(lines: Sequence[str]) -> None:
    for line in lines:
        click.echo(f"preflight: {plain(line, 500)}", err=True)


def _status(reports: Sequence[bytes], any_passes: bool = False) -> ExitStatus:
    import msgspec

    verdicts = [msgspec.json.decode(report)["verdict"] for report in reports]
    if any_passes:  # of several ways one that works is enough
        return ExitStatus.PASS if any(v != "fail" for v in verdicts) else ExitStatus.FAIL
    return ExitStatus.FAIL if "fail" in verdicts else ExitStatus.PASS


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _columns() -> int:
    import shutil

    return shutil.get_terminal_size((100, 24)).columns


def _terminated(number: int, frame: object) -> None:
    """End as asked, with the children and what they started, and not by leaving them behind."""
    sys.exit(128 + number)


def main() -> None:
    """The program's entry: every way out has its exit status, and no traceback reaches a user."""
    signal.signal(signal.SIGTERM, _terminated)
    try:
        cli(standalone_mode=False)
        status = ExitStatus.PASS
    except click.exceptions.Exit as end:
        sys.exit(end.exit_code)
    except click.UsageError as error:
        hint = f" (see preflight {error.ctx.info_name} --help)" if error.ctx and error.ctx.info_name else ""
        click.echo(f"preflight: {plain(error.format_message(), 400)}{hint}", err=True)
        status = ExitStatus.TROUBLE
    except PreflightError as error:
        click.echo(f"preflight: {plain(str(error), 600)}", err=True)
        status = error.status
    except (KeyboardInterrupt, click.Abort):
        click.echo("preflight: interrupted", err=True)
        status = ExitStatus.INTERRUPTED
    except Exception as error:  # a crash must not read as a verdict
        click.echo(
            f"preflight: internal error ({type(error).__name__}: {plain(str(error))}); please report it",
            err=True,
        )
        status = ExitStatus.TROUBLE
    sys.exit(status)


if __name__ == "__main__":
    main()
