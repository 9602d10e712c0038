"""Cost by size: what more variables, more objectives and more travel points do to the house's search.

    python tests/benchmarks/bench_sizes.py [--seconds 60] [--only variables,objectives,points] [--sizes 3,10]

Problems are the shipped front study with other numbers varied, other objectives asked, or another step of travel, one
of the three at a time. Each is searched once, in a process of its own; `0.95 after` is the time to 0.95 of the
hypervolume that this very run has at its end (reference as in bench_search.py), to the snapshot, so to about 0.5 s.
The kernel's speed is of whole batches of `BATCH` through all goals, on one core. From the 21st variable on links move
too, and the wheel's motion is solved anew for each candidate.
"""

import argparse
import os
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from optimiser.search.problem import problem_of
from optimiser.study.read import read_study
from optimiser.study.study import Study
from optimiser.study.variables import base_point
from tests.benchmarks.one_run import OURS, OverTimeError, run_apart
from tests.benchmarks.studies import FRONT, THIRTEEN, axis_by_angles, lines_of, replaced, with_lines
from tests.benchmarks.yardstick import yardstick_of

SIZES: Mapping[str, Sequence[int]] = {
    "variables": (3, 6, 10, 13, 20, 40),
    "objectives": (2, 3, 4, 5, 6, 8),
    "points": (5, 10, 20, 35, 50),
}
"""What is varied, and the sizes of it: `points` are travel points of the heave range."""
ENOUGH = 0.95
BATCH, TURNS = 512, 8
"""Candidates of a batch, and different batches, by which the kernel is timed."""
MORE_VARIABLES = {
    **THIRTEEN,
    "rocker.axis.elevation": "[-5, 5]",
    "rocker.rod.offset": "[-8, 8]",
    "rocker.pickups.roll_upper.offset": "[-44, -24]",
    "rocker.pickups.roll_lower.offset": "[-44, -24]",
    "rocker.pivot.x": "[0, 20]",
    "rod.outboard.x": "[0, 20]",
    "rod.outboard.z": "[196, 216]",
}
"""Up to 20 variables nothing but rocker and rod vary,"""
LINKS = {"upper_front": (443, 492), "upper_rear": (434, 488), "lower_front": (168, 176), "lower_rear": (153, 180)}
ENDS_Y = {"upper_front": (395, 711), "upper_rear": (405, 732), "lower_front": (318, 761), "lower_rear": (330, 773)}
ENDS_X = {"upper_front": (140, -11), "upper_rear": (-175, -38)}
"""and then the links' points, inboard and outboard, in z, y and x [mm], each by `REACH` either way."""
REACH = 2
MORE_OBJECTIVES = {
    "rod.tilt_max": "minimise",
    "heave.ratio_spread": "minimise",
    "roll.ratio_spread": "minimise",
    "roll.tilt_max": "minimise",
}


@dataclass(frozen=True)
class Cost:
    """What one problem cost: candidates a second of the kernel and of the search; time to `ENOUGH` [s]; members."""

    size: int
    kernel: float
    search: float
    enough: float
    members: int


def variables_study(count: int) -> str:
    """The front study with `count` variables."""
    text = axis_by_angles(FRONT.read_text(encoding="utf-8"))
    named = {**lines_of(text, "vary"), **MORE_VARIABLES, **_link_variables()}
    return with_lines(text, "vary", dict(list(named.items())[:count]))


def objectives_study(count: int) -> str:
    """The front study with `count` objectives and its held goals."""
    text = FRONT.read_text(encoding="utf-8")
    goals = lines_of(text, "goals")
    wished = {name: goal for name, goal in goals.items() if goal in ("minimise", "maximise")}
    held = {name: goal for name, goal in goals.items() if name not in wished}
    return with_lines(text, "goals", {**held, **dict(list({**wished, **MORE_OBJECTIVES}.items())[:count])})


def points_study(count: int) -> str:
    """The front study with about `count` travel points over the heave range, and as fine in the others."""
    text = FRONT.read_text(encoding="utf-8")
    return replaced(text, r"step: 2\}", f"step: {68 / max(count - 1, 1):.4f}}}")


STUDIES = {"variables": variables_study, "objectives": objectives_study, "points": points_study}


def cost(path: Path, size: int, seconds: float, folder: Path) -> Cost:
    """Search a study once, and time its kernel. Where nothing was found or the run did not end, there is no time."""
    kernel = kernel_speed(read_study(path))
    try:
        trace = run_apart(path, OURS, 1, seconds, folder)
    except OverTimeError:
        return Cost(size, kernel, np.nan, np.inf, 0)
    if not len(trace.last):
        return Cost(size, kernel, trace.speed, np.inf, 0)
    shares = yardstick_of(trace.fronts).fractions(trace.fronts)
    rows = zip(trace.times, shares, strict=True)
    enough = next(time for time, share in rows if share >= ENOUGH * shares[-1])
    return Cost(size, kernel, trace.speed, enough, len(trace.last))


def kernel_speed(study: Study, seconds: float = 0.5) -> float:
    """Candidates a second of a search's kernel, on points within 3 % of their bounds around the study's own.

    No point comes twice in a row: what one batch leaves behind is of no use to the next.
    """
    problem = problem_of(study)
    span = problem.upper - problem.lower
    scatter = np.random.default_rng(7).uniform(-0.03, 0.03, (TURNS, BATCH, len(span)))
    batches = np.clip(base_point(study) + scatter * span, problem.lower, problem.upper)
    problem.evaluate(batches[-1])
    done, began = 0, time.perf_counter()
    while (elapsed := time.perf_counter() - began) < seconds or not done:
        problem.evaluate(batches[done // BATCH % TURNS])
        done += BATCH
    return done / elapsed


def lines(kind: str, costs: Sequence[Cost]) -> Iterator[str]:
    """The costs as a table."""
    yield f"{kind:>10s}  kernel candidates/s  search candidates/s  {ENOUGH:g} after [s]  members"
    for one in costs:
        yield f"{one.size:10d}  {one.kernel:19.0f}  {one.search:19.0f}  {one.enough:14.1f}  {one.members:7d}"


def main(argv: list[str] | None = None) -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="what a search costs by the size of its problem")
    parser.add_argument("--seconds", type=float, default=60.0, help="length of each search (default 60)")
    parser.add_argument("--only", default=",".join(SIZES), help="some of variables, objectives, points (default all)")
    parser.add_argument("--sizes", help="these sizes in place of the usual ones")
    args = parser.parse_args(argv)
    sys.stdout.write(f"{args.seconds:g} s a search; {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}\n")
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        for kind in args.only.split(","):
            sizes = [int(size) for size in args.sizes.split(",")] if args.sizes else SIZES[kind]
            costs = [cost(_written(kind, size, folder), size, args.seconds, folder) for size in sizes]
            sys.stdout.write("".join(f"{line}\n" for line in lines(kind, costs)))
            sys.stdout.flush()
    return 0


def _written(kind: str, size: int, folder: Path) -> Path:
    path = folder / f"{kind}-{size}.yaml"
    path.write_text(STUDIES[kind](size), encoding="utf-8")
    return path


def _link_variables() -> dict[str, str]:
    ends = {"z": LINKS, "y": ENDS_Y, "x": ENDS_X}
    return {
        f"links.{name}.{end}.{axis}": f"[{value - REACH}, {value + REACH}]"
        for axis, table in ends.items()
        for name, values in table.items()
        for end, value in zip(("inboard", "outboard"), values, strict=True)
    }


if __name__ == "__main__":
    raise SystemExit(main())
