"""The house's own search in one process, called as its command line calls it, without the look at the finer grid."""

import time
from collections.abc import Callable, Iterator

from optimiser.search.campaign import unbegun
from optimiser.search.crew import Tools
from optimiser.search.explore import explored
from optimiser.search.island import Budget, Settings
from optimiser.search.problem import parts_problem_of, problem_of
from optimiser.search.snapshot import Snapshot
from optimiser.study.study import Study
from tests.benchmarks.traces import Trace, processor_time

WARM_UP = 1.0
"""Two searches of so many seconds [s], with another seed, come before the one that counts: whatever is compiled on the
way is compiled in them."""


def run_ours(study: Study, seed: int, seconds: float, start_up: Callable[[], float]) -> Trace:
    """Search a study for so many seconds, keeping every snapshot that is handed out.

    A front counts from the moment it was handed out; making the problem is part of the time. `start_up` says how long
    imports took [s]; what the warm-up took beyond its own budget is added, a last round that overran it too.
    """
    imported, before = start_up(), time.perf_counter()
    for _ in range(2):
        for _ in _searched(study, seed + 1_000_000, WARM_UP):
            pass
    began, used = time.perf_counter(), processor_time()
    times, fronts, evaluations = [], [], 0
    for snapshot in _searched(study, seed, seconds):
        times.append(time.perf_counter() - began)
        fronts.append(snapshot.objectives)
        evaluations = snapshot.evaluations
    compiling = max(0.0, began - before - 2 * WARM_UP)
    return Trace(tuple(times), tuple(fronts), evaluations, times[-1], imported + compiling, processor_time() - used)


def _searched(study: Study, seed: int, seconds: float) -> Iterator[Snapshot]:
    tools = Tools(problem_of(study), parts_problem_of(study))
    begin = unbegun(len(tools.problem.lower), tools.problem.objectives)
    return explored(study, tools, Budget(seconds=seconds), Settings(seed), begin)
