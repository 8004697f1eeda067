"""A child that crashes, hangs or eats memory makes its file unreadable, and nothing else."""

import time
from pathlib import Path

import pytest

from pdf_made import pdf_of
from preflight import guard
from preflight.findings import Verdict, report_from_json
from preflight.order import order_from
from preflight.task import Done, Task

ORDER = order_from({"method": "foil", "width": "50"})


def task(path, **more):
    return Task(path=path, name=path.name, order=ORDER, methods=("foil",), **more)


def crash(task: Task, notes: Path | None = None) -> Done:
    import ctypes

    ctypes.string_at(0)
    raise AssertionError("not reached")


def hang(task: Task, notes: Path | None = None) -> Done:
    import os
    import subprocess
    import sys

    assert notes is not None
    notes.write_text(str(os.getpid()))
    child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(600)"])
    Path(task.path).with_suffix(".pid").write_text(str(child.pid))
    time.sleep(600)
    raise AssertionError("not reached")


def eat(task: Task, notes: Path | None = None) -> Done:
    hoard = []
    while True:
        hoard.append(bytearray(64 << 20))


@pytest.mark.parametrize("mischief, words", [(crash, "memory"), (eat, "memory"), (hang, "longer than")])
def test_mischief_is_unreadable_and_the_rest_goes_on(mischief, words, tmp_path, monkeypatch):
    good, bad = tmp_path / "good.pdf", tmp_path / "bad.pdf"
    for path in (good, bad):
        path.write_bytes(pdf_of("0 g 10 10 50 30 re f"))
    monkeypatch.setattr(guard, "run", mischief)
    (ended,) = [done for _, done in guard.guarded([task(bad)], seconds=4 if mischief is hang else 60)]
    monkeypatch.undo()
    report = report_from_json(ended.reports[0])
    assert report.verdict is Verdict.FAIL
    assert words in report.findings[0].says
    (ended,) = [done for _, done in guard.guarded([task(good)])]
    assert report_from_json(ended.reports[0]).art is not None


def test_a_hung_job_leaves_no_process_behind(tmp_path, monkeypatch):
    path = tmp_path / "bad.pdf"
    path.write_bytes(b"")
    monkeypatch.setattr(guard, "run", hang)
    list(guard.guarded([task(path)], seconds=4))
    child = int(path.with_suffix(".pid").read_text())
    for _ in range(50):
        state = Path(f"/proc/{child}/stat")
        if not state.exists() or state.read_text().rsplit(")", 1)[1].split()[0] == "Z":
            return
        time.sleep(0.1)
    pytest.fail("the grandchild lives on")


def test_every_task_yields_once_and_in_any_order(tmp_path):
    paths = []
    for number in range(5):
        path = tmp_path / f"{number}.pdf"
        path.write_bytes(pdf_of("0 g 10 10 50 30 re f") if number % 2 else b"GIF89a")
        paths.append(path)
    ended = dict(guard.guarded([task(path) for path in paths], workers=2))
    assert sorted(ended) == [0, 1, 2, 3, 4]
    verdicts = [report_from_json(ended[n].reports[0]).findings[0].check for n in (0, 2, 4)]
    assert verdicts == ["unreadable"] * 3
