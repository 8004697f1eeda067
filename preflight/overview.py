"""An inbox run: the jobs of a folder, a progress bar, and the overview of them all; once, or for as long as files arrive."""

import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

from preflight import inbox
from preflight.errors import PreflightError
from preflight.findings import Report, report_from_json
from preflight.quantity import plain
from preflight.report import index, wording
from preflight.shop import Shop, read_shop

#: What this program writes into the reports' folder besides the jobs' own.
OVERVIEW = ("index.html", "summary.csv", "summary.json")
#: A file still being copied changes; it is left until nothing changed for so long, milliseconds.
QUIET_MS = 800


class Inbox:
    """One folder of jobs and where its reports go."""

    def __init__(
        self, folder: Path, orders: Path | None, out: Path, workers: int, shop: Path | None, defaults: Mapping[str, Any],
        form: str,
    ) -> None:  # fmt: skip
        self.folder, self.orders, self.out = folder, orders, out
        self.workers, self.shop, self.defaults, self.form = workers, shop, defaults, form
        self.settings = read_shop(shop) if shop else Shop()
        self.console = Console(stderr=True, highlight=False, markup=False)

    def once(self) -> list[bytes]:
        """Check everything that changed, write the overview, print one line a job; the reports in the jobs' order."""
        jobs = inbox.jobs_in(self.folder, self.orders, self.out, self.defaults, self._own())
        try:
            self.out.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise PreflightError(
                f"the folder {plain(str(self.out))} for the reports cannot be made: {error.strerror}; give another with --out"
            ) from error
        results = self._run(jobs)
        inbox.drop_stale(self.out, jobs)
        self._overview(results)
        kept = sum(result.kept for result in results)
        if self.form == "text":
            for result in results:
                print(_one_line(report_from_json(result.report)))
            sys.stdout.flush()
        unchanged = f" ({kept} unchanged)" if kept else ""
        self.console.print(
            f"{wording.count(len(results), 'job')}{unchanged}; overview: {self.out / 'index.html'}"
        )
        return [result.report for result in results]

    def _own(self) -> dict[str, Any]:
        own = self.settings
        return {"charts": own.charts, "tags": own.tags, "machines": own.machines}

    def watch(self) -> list[bytes]:
        """Go on as files arrive, until interrupted."""
        from watchfiles import watch

        reports = self.once()
        skipped = str(self.out.resolve())
        self.console.print(f"watching {self.folder}; end with Ctrl-C")

        def concerns(_: Any, path: str) -> bool:
            return not path.startswith(skipped) and not Path(path).name.startswith(".")

        for _ in watch(self.folder, watch_filter=concerns, debounce=QUIET_MS, raise_interrupt=True):
            try:
                reports = self.once()
            except PreflightError as error:  # a half-written orders file: the next change mends it
                self.console.print(f"preflight: {error}")
        return reports

    def _run(self, jobs: Sequence[inbox.Job]) -> list[inbox.Result]:
        columns = (
            TextColumn("checking"),
            BarColumn(),
            MofNCompleteColumn(),
            TimeElapsedColumn(),
            TextColumn("{task.description}"),
        )
        with Progress(*columns, console=self.console, transient=True) as progress:
            bar = progress.add_task("", total=len(jobs))

            def done(result: inbox.Result) -> None:
                progress.update(bar, advance=1, description=plain(result.job.name, 40).replace("[", "("))
                for line in result.log:
                    self.console.print(f"preflight: {plain(result.job.name, 60)}: {plain(line, 300)}")

            rules = inbox.fingerprint_of_rules(self.shop)
            return inbox.run(jobs, self.out, workers=self.workers, shop=self.shop, rules=rules, done=done)

    def _overview(self, results: Sequence[inbox.Result]) -> None:
        rows = [
            index.JobRow(
                report=report_from_json(r.report), folder=r.job.folder, thumbnail=r.thumbnail,
                note="unchanged since the last run" if r.kept else "", documents=tuple(inbox.DOCUMENTS),
            )
            for r in results
        ]  # fmt: skip
        for name, made in zip(
            OVERVIEW, (index.render(rows), index.summary_csv(rows), index.summary_json(rows)), strict=True
        ):
            (self.out / name).write_bytes(made.encode())


def _one_line(report: Report) -> str:
    """A job on one line: verdict, file, method, answer; of a file or row that could not be read, why."""
    name = plain(report.file, 60)
    if wording.is_unreadable(report):
        return f"{report.verdict.value:<5}  {name}  {plain(report.findings[0].says, 200)}"
    return f"{report.verdict.value:<5}  {name}  ({wording.method_name(report)})  {wording.headline(report)}"
