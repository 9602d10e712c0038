"""Objectives that are one quantity: found, and refined by one of them alone; a trade is never taken for one."""

import numpy as np
import pytest
from scipy.stats import spearmanr

from geometry.arrays import Array
from optimiser.search import rounds
from optimiser.search.island import Budget, Settings, search
from optimiser.search.one_quantity import FEWEST, surplus
from optimiser.search.parts import PartsProblem
from optimiser.search.problem import Batch
from optimiser.search.refinement import Refined, refine
from tests.problems import box
from tests.smooth import of_problem


def columns(*wanted: Array) -> Array:
    return np.stack(wanted, axis=1)


def test_what_rises_together_is_one_and_what_runs_against_it_is_not() -> None:
    a = np.linspace(1.0, 2.0, 80)
    other = np.random.default_rng(2).random(80)
    assert surplus(columns(a, a**3, -a, other)).tolist() == [False, True, False, False]
    assert surplus(columns(a, other, np.exp(a), a)).tolist() == [False, False, True, True]
    assert surplus(columns(a, np.full(80, 3.0))).tolist() == [False, False]
    assert surplus(a[:, None]).tolist() == [False]


def test_few_members_say_nothing() -> None:
    a = np.arange(float(FEWEST))
    assert surplus(columns(a, a)).tolist() == [False, True]
    assert surplus(columns(a, a)[1:]).tolist() == [False, False]


@pytest.mark.parametrize("noise", [0.1, 0.3, 0.5, 0.6])
def test_the_measure_is_spearman_s(noise: float) -> None:
    random = np.random.default_rng(5)
    a = random.random(300).round(2)
    b = a + noise * random.random(300).round(2)
    told = float(spearmanr(a, b).statistic)
    assert abs(told - 0.98) > 1e-3
    assert surplus(columns(a, b)).tolist() == [False, told > 0.98]


def test_of_three_in_a_chain_the_last_is_compared_with_what_is_kept() -> None:
    random = np.random.default_rng(7)
    a = random.random(400)
    b = a + 0.18 * random.random(400)
    c = b + 0.18 * random.random(400)
    assert surplus(columns(a, b)).tolist() == [False, True]
    assert surplus(columns(b, c)).tolist() == [False, True]
    assert surplus(columns(a, c)).tolist() == [False, False]
    assert surplus(columns(a, b, c)).tolist() == [False, True, False]


def test_a_campaign_goes_on_with_one_of_two(monkeypatch: pytest.MonkeyPatch) -> None:
    """f1 and f2 = f1 + a trace of x3 are one; f3 is traded against them."""

    def evaluate(x: Array) -> Batch:
        first = x[:, 0] + x[:, 1] ** 2
        third = (1.0 - x[:, 0]) ** 2 + x[:, 1] ** 2
        return Batch(columns(first, first**2 + 1e-4 * x[:, 2], third), np.zeros((len(x), 0)))

    asked: list[tuple[Array, Array]] = []

    def watched(
        parts: PartsProblem,
        starts: Array,
        weights: Array,
        shifts: Array,
        steps: int,
        tolerance: float,
        judge: PartsProblem,
        corrections: int,
    ) -> Refined:
        asked.append((weights, shifts))
        return refine(parts, starts, weights, shifts, steps, tolerance=tolerance, judge=judge, corrections=corrections)

    monkeypatch.setattr(rounds, "refine", watched)
    problem = box(evaluate, 3, objectives=3)
    *_, end = search(problem, Budget(60_000), Settings(1), parts=of_problem(problem))
    weights, shifts = asked[-1]
    assert (asked[0][0] > 0.0).all()
    assert (weights[:, 1] == 0.0).all()
    assert (shifts[:, 1] > 100.0).all()
    assert (weights[:, [0, 2]].sum(axis=1) > 0.0).all()
    assert surplus(end.objectives).tolist() == [False, True, False]
    assert np.ptp(end.objectives[:, 0]) > 0.9
