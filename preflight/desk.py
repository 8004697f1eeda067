"""What a child process does with one job: reads the file, has it judged, draws the pictures and writes the reports."""

import hashlib
import logging
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from preflight import job
from preflight.errors import PreflightError, Unreadable
from preflight.findings import to_json
from preflight.methods import methods as all_methods
from preflight.report import compare, html, mail, pdf, picture, reply
from preflight.report.data import Letterhead
from preflight.shop import Shop, read_shop
from preflight.task import MOST_BYTES, Done, Task

log = logging.getLogger(__name__)


class _Kept(logging.Handler):
    """Log records kept as lines, for the parent to print: children do not write to the terminal."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Keep one record."""
        line = record.getMessage()
        if record.exc_info and record.exc_info[0]:
            line += f" ({record.exc_info[0].__name__}: {record.exc_info[1]})"
        self.lines.append(line)


def work(task: Task) -> Done:
    """One task from bytes to written reports."""
    kept = _Kept()
    root = logging.getLogger("preflight")
    root.addHandler(kept)
    root.propagate = False
    try:
        shop = read_shop(task.shop) if task.shop else Shop()
        judged = _judged(task, shop)
        pictures = _pictures(judged[0]) if _wants_pictures(task) else None
        _write(task, judged, pictures, shop.letterhead)
        reports = tuple(to_json(j.report) for j in judged)
        small = pictures.thumbnail if task.thumbnail and pictures else None
        return Done(reports, small, tuple(kept.lines))
    finally:
        root.removeHandler(kept)


def _judged(task: Task, shop: Shop) -> list[job.Judged]:
    known = all_methods(shop)

    def refused(trouble: Unreadable, digest: str = "") -> list[job.Judged]:
        named = [(replace(task.order, method=m), known[m].name if m in known else "") for m in task.methods]
        return [
            job.Judged(job.unreadable(task.name, digest, order, trouble, name), None) for order, name in named
        ]

    if task.trouble:
        return refused(Unreadable(*task.trouble), _digest(task.path))
    try:
        if task.path.stat().st_size > MOST_BYTES:
            limit = f"Please send it with less than {MOST_BYTES >> 20} MB."
            return refused(Unreadable("The file is too large to check.", limit))
        data = task.path.read_bytes()
    except OSError as error:
        why = f"The file cannot be opened ({error.strerror or type(error).__name__})."
        return refused(Unreadable(why, "Please send it again."))
    return job.check_against(data, task.name, task.order, [known[m] for m in task.methods], shop.cut_words)


def _digest(path: Path) -> str:
    """sha256 of a file that is small enough to be read; "" of any other."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest() if path.stat().st_size <= MOST_BYTES else ""
    except OSError:
        return ""


def _wants_pictures(task: Task) -> bool:
    return task.thumbnail or any(kind in ("html", "pdf", "eml", "compare") for kind, _ in task.documents)


def _pictures(judged: job.Judged) -> "picture.Pictures | None":
    if judged.art is None:
        return None
    # a laser's art is read as on white whatever the article, but it is shown on the article, as the words beside it say
    ground = judged.report.job.get("ground") or judged.art.ground
    return picture.make(judged.art, judged.report.findings, str(ground))


def _write(
    task: Task,
    judged: Sequence[job.Judged],
    pictures: "picture.Pictures | None",
    letterhead: Letterhead | None,
) -> None:
    made = _Documents(judged, pictures, letterhead)
    for kind, path in task.documents:
        data = made.of(kind)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        except OSError as error:
            raise PreflightError(f"the report {path} cannot be written: {error.strerror}") from error


class _Documents:
    """The documents of one task; the proof is made once, for itself and for the mail."""

    def __init__(
        self,
        judged: Sequence[job.Judged],
        pictures: "picture.Pictures | None",
        letterhead: Letterhead | None,
    ) -> None:
        self.reports = [j.report for j in judged]
        self.art = judged[0].art
        self.pictures = pictures
        self.letterhead = letterhead
        self._proof: bytes | None = None

    def of(self, kind: str) -> bytes:
        """One document by its kind."""
        report = self.reports[0]
        match kind:
            case "json":
                return to_json(report if len(self.reports) == 1 else self.reports)
            case "compare":
                return compare.render_html(self.reports, self.pictures).encode()
            case "html":
                return html.render(report, self.pictures, self.letterhead).encode()
            case "txt":
                return reply.render(report, self.letterhead).encode()
            case "eml":
                return mail.render(report, self.proof(), self.letterhead)
            case "pdf":
                return self.proof()
        raise ValueError(f"no document is called {kind}")

    def proof(self) -> bytes:
        """The PDF report, with the art as outlines where it came as a page."""
        if self._proof is None:
            self._proof = pdf.render(self.reports[0], self.pictures, self._page(), self.letterhead)
        return self._proof

    def _page(self) -> bytes | None:
        if self.art is None or self.art.page_pdf is None:
            return None
        try:
            return picture.page_alone(self.art.page_pdf, self.art)
        except ValueError as error:
            log.info("the art could not be placed as outlines, its picture is used: %s", error)
            return None
