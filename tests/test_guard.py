"""A child that crashes, hangs or eats memory makes its file unreadable, and nothing else."""

import contextlib
import os
import platform
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

from pdf_made import pdf_of
from preflight import guard
from preflight.findings import Verdict, report_from_json
from preflight.order import order_from
from preflight.task import Done, Task

ROOT = Path(__file__).parent.parent
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


@pytest.mark.parametrize("number, status", [(signal.SIGTERM, 128 + signal.SIGTERM), (signal.SIGINT, 130)])
def test_a_command_that_is_ended_ends_its_children(number, status, tmp_path):
    """A hostile PostScript that never ends: the child that waits for it and Ghostscript itself go with the command."""
    path = tmp_path / "endless.eps"
    path.write_bytes(b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 100 100\n{} loop\n")
    with tempfile.TemporaryDirectory() as short:  # the path of a Unix socket holds a hundred characters
        _ended(path, Path(short), number, status)


def _ended(path: Path, scratch: Path, number: int, status: int) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "preflight", "check", str(path), "--method", "foil", "--width", "40"],
        cwd=ROOT, env={**os.environ, "TMPDIR": str(scratch)}, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert _soon(lambda: _running(scratch), 60), "Ghostscript never began"
    process.send_signal(number)
    _, errors = process.communicate(timeout=30)
    assert process.returncode == status
    assert "Traceback" not in errors
    assert _soon(lambda: not _running(scratch), 10), _running(scratch)


def _running(scratch: Path) -> list[str]:
    """Command lines of live processes that work in this folder."""
    found = []
    for line in Path("/proc").glob("[0-9]*/cmdline"):
        with contextlib.suppress(OSError):
            if str(scratch).encode() in (words := line.read_bytes()):
                found.append(words.replace(b"\0", b" ").decode("utf-8", "replace"))
    return found


def _soon(condition, seconds: float) -> bool:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if condition():
            return True
        time.sleep(0.1)
    return False


def test_a_temporary_folder_may_have_a_long_path(tmp_path):
    folder = tmp_path / ("reed" * 20)
    folder.mkdir()
    path = tmp_path / "art.pdf"
    path.write_bytes(pdf_of("0 g 10 10 50 30 re f"))
    ended = subprocess.run(
        [sys.executable, "-m", "preflight", "check", str(path), "--method", "foil", "--width", "40"],
        cwd=ROOT, env={**os.environ, "TMPDIR": str(folder)}, capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert ended.returncode in (0, 1), ended.stderr
    assert "foil" in ended.stdout.lower()


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


def test_a_child_counts_on_one_core_unless_the_user_says_otherwise():
    seen_by_child = (
        "import os; from preflight import guard\n"
        "with guard._context().Pool(1) as pool: print(pool.map(os.getenv, guard.ONE_THREAD))"
    )
    given = {name: value for name, value in os.environ.items() if name not in guard.ONE_THREAD}
    for more, seen in (({}, ["1", "1", "1"]), ({"OMP_NUM_THREADS": "3"}, ["3", "1", "1"])):
        ran = subprocess.run(
            [sys.executable, "-c", seen_by_child],
            env=given | more,
            capture_output=True,
            text=True,
            check=True,
        )
        assert ran.stdout.strip() == str(seen)


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="no other C library has these options")
def test_a_child_keeps_the_memory_of_pictures_that_come_and_go():
    """Counted by the system: memory that a process holds, see proc_pid_statm(5)."""
    come_and_go = (
        "import resource, pathlib, numpy as np; from preflight import guard\n"
        "{}\n"
        "held = lambda: int(pathlib.Path('/proc/self/statm').read_text().split()[1]) * resource.getpagesize()\n"
        "before = held()\n"
        "for _ in range(3):\n"
        "    pictures = [np.ones(1 << 20, np.uint8) for _ in range(40)]\n"
        "    del pictures\n"
        "print((held() - before) >> 20)"
    )

    def held_after(first: str) -> int:
        ran = subprocess.run(
            [sys.executable, "-c", come_and_go.format(first)], capture_output=True, text=True, check=True
        )
        return int(ran.stdout)

    assert held_after("guard.keep_freed_memory()") >= 35
    assert held_after("") <= 10
