"""Problems of listed values alone: every point is measured, once, and the search ends by itself."""

from collections.abc import Callable
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import Array
from optimiser.cli.main import main
from optimiser.report.results.loading import load
from optimiser.search.bench import CHUNK
from optimiser.search.choices import Choices
from optimiser.search.island import Budget, Settings, bounded, search
from optimiser.search.listed import MOST_LISTED, listed_points
from optimiser.search.parts import PartsProblem
from optimiser.search.plan import OPENING
from optimiser.search.problem import Batch, Problem
from optimiser.search.snapshot import Snapshot

FRONT = (Path(__file__).parents[2] / "configs" / "front.yaml").read_text(encoding="utf-8")
SIDES = (np.array([0.0, 1.0, 4.0]), np.arange(20.0), np.arange(10.0, 19.0))
"""540 points, more than are measured in one round."""
START = np.array([1.2, 3.4, 15.0])


def listed(seen: list[Array], sides: tuple[Array, ...] = SIDES, start: Array = START) -> Problem:
    """Two objectives over a lattice; `seen` collects what is measured."""

    def evaluate(x: Array) -> Batch:
        seen.append(x)
        objectives = np.stack([((x - 1.0) ** 2).sum(axis=1), ((x - 9.0) ** 2).sum(axis=1)], axis=1)
        return Batch(objectives, (20.0 - x.sum(axis=1))[:, None])

    lower, upper = (np.array([end(side) for side in sides]) for end in (np.min, np.max))
    names = tuple(f"x{k}" for k in range(len(sides)))
    return Problem(names, lower, upper, start, 2, evaluate, Choices(dict(enumerate(sides))))


def measured(seen: list[Array]) -> list[tuple[float, ...]]:
    return [tuple(row) for block in seen for row in block.tolist()]


def ended(problem: Problem, budget: Budget, start: Snapshot | None = None) -> Snapshot:
    parts = PartsProblem(problem.lower, problem.upper, 2, np.arange(2), lambda x: problem.evaluate(x).objectives)
    *_, end = search(problem, budget, Settings(1), start, parts=parts)
    return end


@pytest.mark.parametrize("seconds", [None, 600.0])
def test_every_point_is_measured_once_the_own_one_first_and_then_it_ends(seconds: float | None) -> None:
    seen: list[Array] = []
    end = ended(listed(seen), Budget(None, seconds))
    assert end.evaluations == 540 > CHUNK
    assert measured(seen)[0] == (1.0, 3.0, 15.0)
    assert sorted(measured(seen)) == sorted(product(*(side.tolist() for side in SIDES)))


def test_what_it_keeps_is_the_front_of_all_points() -> None:
    problem = listed([])
    end = ended(problem, Budget())
    x = np.array(list(product(*SIDES)))
    batch = problem.evaluate(x)
    kept, objectives = x[batch.feasible], batch.objectives[batch.feasible]
    no_better = np.all(objectives[:, None] >= objectives, axis=-1)
    worse = np.any(no_better & np.any(objectives[:, None] > objectives, axis=-1), axis=1)
    best = kept[~worse]
    found = {tuple(row) for row in end.objectives.tolist()}
    assert found == {tuple(row) for row in problem.evaluate(best).objectives.tolist()}
    assert problem.evaluate(end.x).feasible.all()


def test_one_that_is_stopped_goes_on_where_it_stood() -> None:
    seen: list[Array] = []
    problem = listed(seen)
    first = ended(problem, Budget(300))
    assert first.evaluations == 300
    second = ended(problem, Budget(5_000), first)
    assert second.evaluations == 540
    assert len(set(measured(seen))) == 540
    again = ended(problem, Budget(5_000), second)
    assert again.evaluations == 540


def test_a_start_outside_the_range_is_no_point() -> None:
    seen: list[Array] = []
    assert ended(listed(seen, start=np.array([9.0, 3.0, 15.0])), Budget()).evaluations == 540
    assert len(set(measured(seen))) == 540


def test_what_is_endless_or_too_large_is_searched_as_any_other() -> None:
    assert MOST_LISTED <= OPENING
    problem = listed([])
    free = Problem(problem.names, problem.lower, problem.upper, START, 2, problem.evaluate, Choices({0: SIDES[0]}))
    large = listed([], (np.arange(300.0), np.arange(300.0)), np.zeros(2))
    for other in (free, large):
        assert listed_points(other) is None
        assert bounded(other, Budget(77, 1.0, 7)) == Budget(77, 1.0, 7)
    assert bounded(problem, Budget(77, 1.0, 7)) == Budget(77, 1.0, 7)
    assert bounded(problem, Budget(None, 1.0)) == Budget(540, 1.0)


HOLES = "adjust: {rocker.pickups.heave: {holes: [{length: 72}, {length: 76}, {length: 80}]}}\n"
VARY = "vary:\n  rocker.pickups.heave.hole: [0, 1, 2]\n  rocker.rod.length: {among: [70, 74, 78, 82]}\n"
GOALS = "goals:\n  heave.motion_ratio: {at_least: 1.05}\n  rocker.arm_sum: minimise\n  heave.crosstalk: minimise\n"
SHORT = "travel: {wheel: [-12, 12], heave: [-12, 12], roll: [-8, 8], rack: [-4, 4], step: 4}\n"


@pytest.fixture
def study(tmp_path: Path) -> Callable[[str], Path]:
    """A study of 12 candidates, with such goals."""

    def written(goals: str) -> Path:
        path = tmp_path / "study.yaml"
        path.write_text(FRONT[: FRONT.index("travel:")] + SHORT + HOLES + VARY + goals, encoding="utf-8")
        return path

    return written


def test_a_search_says_that_there_are_no_other_candidates(
    study: Callable[[str], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "results"
    assert main(["search", str(study(GOALS)), "--for", "10m", "--out", str(out), "--workers", "2"]) == 0
    assert load(out).snapshot.evaluations == 12
    shown = capsys.readouterr().out
    assert "from 12 candidates" in shown
    assert "every candidate that the listed values allow was measured: there are no others" in shown


def test_nothing_feasible_is_said_of_all_of_them(
    study: Callable[[str], Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "results"
    goals = GOALS.replace("at_least: 1.05", "at_least: 9")
    assert main(["search", str(study(goals)), "--for", "10m", "--out", str(out)]) == 1
    assert "nothing is feasible of all 12 candidates that the listed values allow" in capsys.readouterr().out
