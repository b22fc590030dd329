"""Worker processes: they take tasks from the durable queue, and a supervisor keeps them alive."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
import time
import traceback
from datetime import UTC, datetime
from multiprocessing.process import BaseProcess
from pathlib import Path

from pourwright.errors import InputError
from pourwright.store.store import Store
from pourwright.store.tasks import Task

LANES = ("plan", "picture")
"""Plans and papers in one process, pictures in another, so that a picture delays no plan."""
LOOK_S = 0.2
BEAT_S = 4.0
TELL_S = 0.35
STUCK_S = 15.0
"""A worker asked to stop that does not answer for this long is ended [s]."""


class Stopped(Exception):
    """The task was cancelled, or belongs to somebody else by now."""


def work_on_lane(place: str, data: str, lane: str, name: str) -> None:
    """Body of a worker process: do the tasks of `lane` [-] as `name` until the parent is gone.

    `place` [-] is the store, `data` the folder for named texts and faults.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = os.getppid()
    threading.Thread(target=_end_with, args=(parent,), daemon=True).start()
    if lane == "picture" and hasattr(os, "nice"):
        os.nice(5)
    store = Store(place, migrate=False)
    while True:
        task = None
        with contextlib.suppress(InputError):
            task = store.tasks.claim(lane, name, os.getpid()) if store.tasks.any(lane) else None
        if task is None:
            time.sleep(LOOK_S)
        else:
            run_task(store, task, name, Path(data))


def _end_with(parent: int) -> None:
    """End this process when its parent is gone, even by a kill that it could not see coming."""
    while os.getppid() == parent:
        time.sleep(0.5)
    os._exit(3)


def run_task(store: Store, task: Task, name: str, data: Path) -> None:
    """Do one claimed `task` of `store` as worker `name` [-], and note how it ended.

    `data` [-] is the folder for named texts and the file of faults.
    """
    from pourwright.web.refusals import kept_error
    from pourwright.web.work import do_task

    over = threading.Event()
    last = [0.0]

    def beat() -> None:
        while not over.wait(BEAT_S):
            with contextlib.suppress(InputError):
                store.tasks.beat(task.id, name)

    def tell(share: float, words: str) -> None:
        if time.monotonic() - last[0] < TELL_S:
            return
        last[0] = time.monotonic()
        if not store.tasks.beat(task.id, name, share, words):
            raise Stopped

    threading.Thread(target=beat, daemon=True).start()
    try:
        tell(0.0, "starting")
        result = do_task(store, task, data / "texts", tell)
        store.tasks.finish(task.id, name, "done", result)
    except Stopped:
        store.tasks.finish(task.id, name, "cancelled")
    except InputError as err:
        store.tasks.finish(task.id, name, "failed", error=kept_error(err))
    except Exception as err:
        _note_fault(data, task, err)
        words = " ".join(f"{type(err).__name__}: {err}".split())[:160]
        fault = InputError(
            task.kind, words, "this is a fault of the program, nothing was lost",
            "Change the job and try again; faults.log in the data folder says where it was.",
        )  # fmt: skip
        store.tasks.finish(task.id, name, "failed", error={**kept_error(fault), "fault": "yes"})
    finally:
        over.set()


def _note_fault(data: Path, task: Task, err: Exception) -> None:
    lines = "".join(traceback.format_exception(err))
    with contextlib.suppress(OSError), (data / "faults.log").open("a", encoding="utf-8") as f:
        f.write(f"{datetime.now(UTC).isoformat()} {task.kind} of {task.job_id}\n{lines}\n")


class Workers:
    """Starts a worker for each lane and a new one whenever one dies."""

    def __init__(self, store: Store, data: Path) -> None:
        self._store = store
        self._data = data
        self._running: dict[str, tuple[BaseProcess, str]] = {}
        self._asked: dict[str, float] = {}
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._count = 0

    def start(self, after_s: float = 0.0) -> None:
        """Put the tasks of workers long dead back, and start workers `after_s` [s]."""
        self._store.tasks.hand_out_again(everything=self._store.engine.dialect.name == "sqlite")
        self._thread = threading.Thread(target=self._watch, args=(after_s,), daemon=True)
        self._thread.start()

    def pids(self) -> dict[str, int]:
        """Process ids of the workers by lane [-]."""
        return {lane: p.pid for lane, (p, _) in self._running.items() if p.pid is not None}

    def stop(self) -> None:
        """End the workers; what they were at goes back to the queue."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join(30.0)
        for process, name in self._running.values():
            _end(process)
            with contextlib.suppress(InputError):
                self._store.tasks.hand_out_again(worker=name, forgive=True)
        self._running.clear()

    def _watch(self, after_s: float) -> None:
        self._stop.wait(after_s)
        while not self._stop.is_set():
            for lane in LANES:
                with contextlib.suppress(InputError):
                    self._tend(lane)
            self._stop.wait(0.5)

    def _tend(self, lane: str) -> None:
        if lane in self._running:
            process, name = self._running[lane]
            if process.is_alive():
                self._end_if_stuck(process, name)
                return
            self._store.tasks.hand_out_again(worker=name)
            del self._running[lane]
        self._count += 1
        name = f"{lane}-{os.getpid()}-{self._count}-{time.time_ns() % 10**9}"
        process = multiprocessing.get_context("spawn").Process(
            target=work_on_lane,
            args=(self._store.place, str(self._data), lane, name),
            name=name,
            daemon=True,
        )
        process.start()
        self._running[lane] = (process, name)

    def _end_if_stuck(self, process: BaseProcess, name: str) -> None:
        """A worker deep in a computation cannot hear: after a while it is ended for it."""
        if not self._store.tasks.stop_asked_of(name):
            self._asked.pop(name, None)
            return
        first = self._asked.setdefault(name, time.monotonic())
        if time.monotonic() - first > STUCK_S:
            _end(process)


def _end(process: BaseProcess) -> None:
    process.terminate()
    process.join(2.0)
    if process.is_alive():
        process.kill()
        process.join(2.0)
