"""What a room costs a search: candidates a second with ten bodies and four keep-outs, beside those without.

    python tests/benchmarks/bench_clearance.py [--turns N]

Both problems evaluate the same batches of the front study in turns, by the processor's time: points spread over the
whole range. Ends with exit code 1 where a search in a room evaluates less than `AT_LEAST` of the candidates.
"""

import argparse
import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from objectives.envelope.envelope import Envelope
from optimiser.search.problem import problem_of
from optimiser.study.envelope import room_goals
from optimiser.study.read import read_study
from tests.rooms import ROOM

ROOT = Path(__file__).resolve().parents[2]
AT_LEAST = 1.0 / 3.0
"""Share of the candidates a second that a search in a room may be left with."""
BATCH = 256
LINKS = 8.0
"""Diameter of the links [mm]: the shipped room's foul one another at every candidate, and nothing else would matter."""


@dataclass(frozen=True)
class Costs:
    """Shortest time a candidate [s], without a room and in one; share of the candidates of which nothing fouls."""

    free: float
    in_room: float
    clear: float


def measure(turns: int, batch: int = BATCH, room: Envelope = ROOM) -> Costs:
    """The shortest of some turns at batches of candidates spread over the whole range."""
    free = read_study(ROOT / "configs" / "front.yaml")
    fittings = replace(free.fittings, envelope=replace(room, diameters={**room.diameters, "links": LINKS}))
    held = replace(free, fittings=fittings, goals=room_goals(free.goals, fittings))
    problems = [problem_of(study) for study in (free, held)]
    low, high = problems[0].lower, problems[0].upper
    points = low + (high - low) * np.random.default_rng(1).random((batch, len(low)))
    best, clear = [np.inf, np.inf], 0.0
    for turn in range(turns + 1):
        for place, problem in enumerate(problems):
            begun = time.process_time()
            found = problem.evaluate(points)
            if turn:
                best[place] = min(best[place], time.process_time() - begun)
            clear = float((found.violations[:, len(free.goals) - 4] <= 0.0).mean())
    return Costs(best[0] / batch, best[1] / batch, clear)


def main() -> int:
    """Measure and tell; 1 where too few candidates a second are left."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--turns", type=int, default=40)
    costs = measure(parser.parse_args().turns)
    ratio = costs.free / costs.in_room
    sys.stdout.write(
        f"without a room {1e6 * costs.free:.1f} us a candidate, in one {1e6 * costs.in_room:.1f} us:"
        f" {1.0 / costs.in_room:,.0f} candidates a second, {ratio:.3f} of those without;"
        f" {100.0 * costs.clear:.0f} % of them clear\n"
    )
    return int(ratio < AT_LEAST)


if __name__ == "__main__":
    sys.exit(main())
