"""Who works on islands: this process alone, or workers of its own, one process each.

A crew begins tasks and reports where their islands stand. It decides nothing: what an island finds depends on its task
alone, and so one crew finds what another finds.

A worker is spawned, not forked. It is told to stop through its pipe, and ends by itself where the pipe does: when the
process that it works for is gone, killed or not. A worker that dies is replaced, and its island goes on from where it
last reported; what it had done since, it does again, to the same end.
"""

import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection, wait
from typing import Protocol

from optimiser.errors import RockwrightError
from optimiser.search.island import search
from optimiser.search.keeper import FinerLook
from optimiser.search.parts import PartsProblem
from optimiser.search.plan import Task
from optimiser.search.problem import Problem, parts_problem_of, problem_of
from optimiser.search.recheck import Recheck
from optimiser.search.snapshot import Snapshot
from optimiser.study.study import Study
from optimiser.threads import ONE_THREAD

PATIENCE = 0.2
"""A crew of workers is listened to for at most so long [s] before its caller looks at the clock again."""
DEATHS = 3
"""Workers that may die one after the other without one report from their island."""
FAREWELL = 5.0
"""How long workers are waited for in the end [s] before they are killed."""


class WorkersLostError(RockwrightError):
    """Workers that die again and again."""

    exit_code = 3


@dataclass(frozen=True)
class Tools:
    """What islands work with: the problem, the same as derivatives see it, and a look at a finer grid."""

    problem: Problem
    parts: PartsProblem
    look: FinerLook | None = None


def tools_of(study: Study) -> Tools:
    """What islands of a study work with."""
    return Tools(problem_of(study), parts_problem_of(study), Recheck(study))


@dataclass(frozen=True)
class Report:
    """Where an island stands; `over`: it is worked on no longer, at its end or halted."""

    island: int
    snapshot: Snapshot
    over: bool


class Crew(Protocol):
    """Takes tasks, one at a time for each of its workers, and reports."""

    @property
    def free(self) -> int:
        """How many tasks it can begin now."""

    def begin(self, task: Task) -> None:
        """Begin an island; only while it is `free`."""

    def reports(self) -> list[Report]:
        """What has been reported since it was asked last, waiting a moment for something."""

    def halt(self) -> None:
        """Have all islands stop after the round they are in; each is reported once more, as over."""


class Alone:
    """This process itself: one island at a time. `stop` is asked between rounds."""

    def __init__(self, tools: Tools, stop: Callable[[], bool] = lambda: False) -> None:
        self._tools, self._stop, self._halted = tools, stop, False
        self._island = -1
        self._states: Iterator[Snapshot] | None = None
        self._limit = 0

    @property
    def free(self) -> int:
        return int(self._states is None)

    def begin(self, task: Task) -> None:
        self._island, self._limit = task.island, (task.budget.evaluations or 0) - task.budget.spare
        self._states = explore(self._tools, task, lambda: self._halted or self._stop())

    def reports(self) -> list[Report]:
        if self._states is None:
            return []
        snapshot = next(self._states, None)
        if snapshot is None:
            self._states = None
            return []
        over = snapshot.evaluations >= self._limit or self._halted or self._stop()
        if over:
            snapshot, self._states = _last(snapshot, self._states), None
        return [Report(self._island, snapshot, over)]

    def halt(self) -> None:
        self._halted = True


class Workers:
    """Processes of its own, `count` of them, each with tools that `make` makes there; a context manager.

    `make` is called in each worker, and so has to be a function that a new process can import.
    """

    def __init__(self, make: Callable[[], Tools], count: int) -> None:
        self._make = make
        self._workers = [_Worker(make) for _ in range(count)]
        self._halted = False

    def __enter__(self) -> "Workers":
        return self

    def __exit__(self, *_: object) -> None:
        for worker in self._workers:
            worker.close()

    @property
    def free(self) -> int:
        return sum(worker.task is None for worker in self._workers)

    def begin(self, task: Task) -> None:
        next(worker for worker in self._workers if worker.task is None).begin(task)

    def reports(self) -> list[Report]:
        pipes = {worker.pipe: worker for worker in self._workers if worker.task is not None}
        ready = wait(list(pipes), PATIENCE)
        found = [self._heard(worker) for pipe, worker in pipes.items() if pipe in ready]
        return [report for report in found if report is not None]

    def halt(self) -> None:
        self._halted = True
        for worker in self._workers:
            worker.halt()

    def _heard(self, worker: "_Worker") -> Report | None:
        """A worker's report; None where it is dead, and another has taken its place."""
        try:
            return worker.hear()
        except (EOFError, OSError):
            worker.replace(self._make)
            if self._halted:
                worker.halt()
            return None


class _Worker:
    """One process, and the task that it is at."""

    def __init__(self, make: Callable[[], Tools]) -> None:
        self.task: Task | None = None
        self._deaths = 0
        self._spawn(make)

    def begin(self, task: Task) -> None:
        self.task = task
        with suppress(OSError):  # it is dead: that is heard of when it is listened to
            self.pipe.send(task)

    def hear(self) -> Report:
        assert self.task is not None
        snapshot, over = self.pipe.recv()
        report = Report(self.task.island, snapshot, over)
        self.task = None if over else replace(self.task, start=snapshot)
        self._deaths = 0
        return report

    def halt(self) -> None:
        if self.task is not None:
            with suppress(OSError):
                self.pipe.send(None)

    def replace(self, make: Callable[[], Tools]) -> None:
        """Put a new process in the place of a dead one, at the same task."""
        self._deaths += 1
        self.process.join()
        if self._deaths >= DEATHS:
            raise WorkersLostError(
                f"{self._deaths} workers in a row ended at one island (exit code {self.process.exitcode}); the system "
                f"may have ended them for want of memory: go on with --resume and fewer --workers"
            )
        self.pipe.close()
        self._spawn(make)
        if self.task is not None:
            self.begin(self.task)

    def close(self) -> None:
        self.pipe.close()
        self.process.join(FAREWELL)
        if self.process.is_alive():
            self.process.kill()
            self.process.join()

    def _spawn(self, make: Callable[[], Tools]) -> None:
        context = multiprocessing.get_context("spawn")
        self.pipe, theirs = context.Pipe()
        self.process = context.Process(target=_serve, args=(theirs, make), daemon=True)
        with _one_thread():
            self.process.start()
        theirs.close()


def cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def explore(tools: Tools, task: Task, stop: Callable[[], bool]) -> Iterator[Snapshot]:
    """The states of an island, from its task's start to its end, or until `stop` says so."""
    return search(tools.problem, task.budget, task.settings, task.start, stop, tools.parts, tools.look)


def _last(snapshot: Snapshot, states: Iterator[Snapshot]) -> Snapshot:
    """The last of the states that are left, `snapshot` where there is none."""
    for later in states:
        snapshot = later
    return snapshot


def _serve(pipe: "Connection[object, object]", make: Callable[[], Tools]) -> None:
    """The life of a worker: task after task, until there is nobody to work for."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C reaches all processes of a terminal: the parent decides
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    with suppress(EOFError, OSError):
        tools = make()
        while True:
            task = pipe.recv()
            if isinstance(task, Task):
                _serve_one(pipe, tools, task)


def _serve_one(pipe: "Connection[object, object]", tools: Tools, task: Task) -> None:
    for snapshot in explore(tools, task, pipe.poll):
        pipe.send((snapshot, False))
    pipe.send((snapshot, True))


@contextmanager
def _one_thread() -> Iterator[None]:
    """An environment in which a new process keeps to one core."""
    before = {name: os.environ.get(name) for name in ONE_THREAD}
    os.environ.update(ONE_THREAD)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value
