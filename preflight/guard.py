"""A child process of limited memory and time for every job: it alone opens art, judges it and writes its reports.

The parent hands over plain data and gets plain data back.  A child that crashes, runs out of memory or of time makes the
file `unreadable`; it never takes the command or the other jobs down.
"""

import contextlib
import logging
import multiprocessing
import os
import signal
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, CancelledError, Future, wait
from concurrent.futures import TimeoutError as TimedOut
from dataclasses import replace
from pathlib import Path
from typing import Any

from pebble import ProcessExpired, ProcessPool

from preflight.errors import Unreadable
from preflight.task import Done, Task

log = logging.getLogger(__name__)

#: Address space of one child.  Large art needs about 1 GiB; what asks for more is hostile or hopeless.
MEMORY_BYTES = 4 << 30
#: Wall time of one job, seconds.
SECONDS = 180.0
#: Seconds that children have to end what they started when the command is ended.
PATIENCE = 3.0
#: Characters of a temporary folder's path that leave room for the name of a socket in it.
LONGEST_FOLDER = 60
#: What libraries of linear algebra read when they start.  Their threads would wait on each other for the small matrices of
#: this job, and on the other jobs'; a job runs on one core.
ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
#: Options of glibc's mallopt(3), and bytes.  Pictures come and go by the thousand: handed back to the system and asked for anew
#: each time, their pages are emptied again and again, for a twentieth of a job's time.
KEEP_FREED = {-1: 256 << 20, -2: 16 << 20, -3: 32 << 20}  # M_TRIM_THRESHOLD, M_TOP_PAD, M_MMAP_THRESHOLD
#: The option of Linux's prctl(2) that names the signal a process gets when its parent dies.
PR_SET_PDEATHSIG = 1


def run(task: Task, notes: Path | None = None) -> Done:
    """Do one job in this process.  Called in the child."""
    if notes is not None:
        notes.write_text(str(os.getpid()))
    from preflight import desk

    return desk.work(task)


def _begin() -> None:
    """Limits of a child, set before it sees a byte of art."""
    with contextlib.suppress(OSError, AttributeError):
        os.setsid()  # its own group, so that a Ghostscript it started can be ended with it
    # libraries that read pictures and pages print warnings of their own; what matters comes back with the report
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the parent's to handle
    signal.signal(signal.SIGTERM, _leave)
    _die_with_parent()
    keep_freed_memory()
    sys.setrecursionlimit(2000)
    try:
        import resource
    except ImportError:  # Windows has no such limit
        return
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    limit = MEMORY_BYTES if hard == resource.RLIM_INFINITY else min(MEMORY_BYTES, hard)
    resource.setrlimit(resource.RLIMIT_AS, (limit, hard))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _leave(number: int, frame: object) -> None:
    """End in good order, so that a Ghostscript that was started ends too."""
    sys.exit(128 + number)


def _die_with_parent() -> None:
    """Have Linux end this child when the process that started it is gone, even if it was killed outright."""
    if sys.platform == "linux":
        import ctypes

        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGKILL)


def keep_freed_memory() -> None:
    """Have glibc keep memory that is free for the next picture, within limits; other libraries go on as they do."""
    if sys.platform == "linux":
        import ctypes

        mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
        if mallopt is None:  # another C library than glibc
            return
        for option, size in KEEP_FREED.items():
            mallopt(option, size)


def _context() -> Any:
    for name in ONE_THREAD:  # before a child loads them; what the user has set stands
        os.environ.setdefault(name, "1")
    # the server listens on a Unix socket, whose path holds about a hundred characters
    served = (
        "forkserver" in multiprocessing.get_all_start_methods()
        and len(tempfile.gettempdir()) <= LONGEST_FOLDER
    )
    context = multiprocessing.get_context("forkserver" if served else "spawn")
    if served:
        context.set_forkserver_preload(["preflight.desk"])
    return context


def _end_group(notes: Path, patience: float = 0.0) -> None:
    """End a child and whatever it started; with patience it may first take so many seconds to end them itself."""
    try:
        group = int(notes.read_text())
    except (OSError, ValueError):
        return  # it never began
    if not hasattr(os, "killpg"):
        return
    with contextlib.suppress(ProcessLookupError, PermissionError):
        until = time.monotonic() + patience
        if patience:
            os.killpg(group, signal.SIGTERM)
        while time.monotonic() < until:
            os.killpg(group, 0)
            time.sleep(0.05)
        os.killpg(group, signal.SIGKILL)


def guarded(tasks: Sequence[Task], workers: int = 1, seconds: float = SECONDS) -> Iterator[tuple[int, Done]]:
    """Run the tasks, `workers` at a time; yields (its number, what came of it) as they end.

    A child that dies yields the report of an unreadable file, so every task yields once.
    """
    if not tasks:
        return
    workers = max(1, min(workers, len(tasks)))
    with tempfile.TemporaryDirectory(prefix="preflight-") as folder:
        pool = ProcessPool(max_workers=workers, max_tasks=1, context=_context(), initializer=_begin)
        try:
            waiting: dict[Future[Done], int] = {}
            for number, task in enumerate(tasks):
                notes = Path(folder) / f"{number}.pid"
                waiting[pool.schedule(run, args=(task, notes), timeout=seconds)] = number
            while waiting:
                ended, _ = wait(waiting, return_when=FIRST_COMPLETED)
                for future in ended:
                    number = waiting.pop(future)
                    yield number, _result(future, tasks[number], Path(folder) / f"{number}.pid", seconds)
        except BaseException:
            pool.stop()
            for notes in Path(folder).glob("*.pid"):
                _end_group(notes, PATIENCE)
            raise
        finally:
            pool.close()
            pool.join()


def _result(future: "Future[Done]", task: Task, notes: Path, seconds: float) -> Done:
    remedy = "Please save it again in a simpler form, or send a PDF or a large picture of it."
    try:
        return future.result()
    except TimedOut:
        trouble = Unreadable(
            f"Checking the file took longer than {seconds:.0f} seconds, so it was given up.", remedy
        )
    except (ProcessExpired, MemoryError, CancelledError) as error:
        log.info("job %s: child ended (%s)", task.name, error)
        trouble = Unreadable(
            "The file needs more memory than a job may have, or it is damaged so that it cannot be drawn.",
            remedy,
        )
    _end_group(notes)
    return _given_up(task, trouble)


def _given_up(task: Task, trouble: Unreadable) -> Done:
    """The reports of a file whose child died, written here: the art is not opened again."""
    from preflight import desk

    return desk.work(replace(task, trouble=(trouble.says, trouble.remedy)))
