"""Archive, hypervolume and search against fronts with published or closed-form answers.

The optimal hypervolumes of 10 and 100 points, reference (11, 11), are those of a machine-learning library's benchmark
table; its method is in T. Glasmachers, "Optimized approximation sets for low-dimensional benchmark Pareto fronts"
(2014). The volumes of whole fronts follow from their formulas by integration.

Two of that table's entries are not taken over. DTLZ2 with 100 points is printed as 120.210644: points at even angles
beat it, and the best places give 120.211034, which stands here. DTLZ7 does not follow from its published formula.
"""

from collections.abc import Callable
from typing import TypeAlias

import numpy as np
import pytest
from scipy.optimize import minimize

from geometry.arrays import Array
from optimiser.search.island import Budget, Settings, search
from optimiser.search.problem import Problem
from optimiser.search.snapshot import Snapshot
from optimiser.search.volume import nondominated, volume
from tests.problems import bnh, bnh_front, dtlz2, osy, tnk, tnk_front, zdt1, zdt2

Front: TypeAlias = Callable[[Array], Array]

FAR = np.array([11.0, 11.0])
LAST_DIGIT = 1.5e-6
"""The table prints six decimals."""
REACHED = 5e-5
"""How near a general minimiser comes to the best places."""


def zdt1_front(t: Array) -> Array:
    return np.stack([t, 1 - np.sqrt(t)], axis=1)


def zdt2_front(t: Array) -> Array:
    return np.stack([t, 1 - t**2], axis=1)


def zdt3_front(t: Array) -> Array:
    return np.stack([t, 1 - np.sqrt(t) - t * np.sin(10 * np.pi * t)], axis=1)


def zdt6_front(t: Array) -> Array:
    """f1 begins where 1 - exp(-4 x) sin^6(6 pi x) is smallest."""
    f = 0.2807753191 + (1 - 0.2807753191) * t
    return np.stack([f, 1 - f**2], axis=1)


def dtlz1_front(t: Array) -> Array:
    return np.stack([t / 2, (1 - t) / 2], axis=1)


def dtlz2_front(t: Array) -> Array:
    return np.stack([np.cos(t * np.pi / 2), np.sin(t * np.pi / 2)], axis=1)


TEN_HUNDRED: dict[str, tuple[Front, float, float]] = {
    "ZDT1, ZDT4": (zdt1_front, 120.613761, 120.662137),
    "ZDT2": (zdt2_front, 120.286820, 120.328881),
    "ZDT3": (zdt3_front, 128.748470, 128.775955),
    "ZDT6": (zdt6_front, 117.483246, 117.514950),
    "DTLZ1": (dtlz1_front, 120.86111, 120.873737),
    "DTLZ2": (dtlz2_front, 120.178966, 120.211034),
}
WHOLE: dict[str, tuple[Front, float]] = {
    "ZDT1": (zdt1_front, 121 - 1 / 3),
    "ZDT2": (zdt2_front, 121 - 2 / 3),
    "DTLZ1": (dtlz1_front, 121 - 1 / 8),
    "DTLZ2": (dtlz2_front, 121 - np.pi / 4),
}
SMOOTH = ("ZDT1, ZDT4", "ZDT2", "ZDT6", "DTLZ1", "DTLZ2")
"""Fronts in one piece, on which ten points can be moved to their best places."""


@pytest.mark.parametrize("name", TEN_HUNDRED)
def test_even_points_never_beat_the_optimal_set(name: str) -> None:
    front, ten, hundred = TEN_HUNDRED[name]
    assert volume(front(np.linspace(0, 1, 10)), FAR) < ten + LAST_DIGIT
    assert volume(front(np.linspace(0, 1, 100)), FAR) < hundred + LAST_DIGIT
    assert volume(front(np.linspace(0, 1, 1001)), FAR) > ten


@pytest.mark.parametrize(("name", "points"), [*((name, 10) for name in SMOOTH), ("DTLZ2", 100)])
def test_points_moved_to_their_best_places_reach_the_optimal_set(name: str, points: int) -> None:
    front, *optimal = TEN_HUNDRED[name]

    def placed(t: Array) -> Array:
        return front(np.concatenate([[0.0], np.sort(t), [1.0]]))

    def lost(t: Array) -> float:
        return -staircase(placed(t))

    even = np.linspace(0, 1, points)[1:-1]
    tries = [minimize(lost, start, method="L-BFGS-B", bounds=[(0, 1)] * len(even)) for start in (even, even**2)]
    best = max((placed(found.x) for found in tries), key=staircase)
    assert volume(best, FAR) == pytest.approx(staircase(best), rel=1e-12)
    assert volume(best, FAR) == pytest.approx(optimal[points == 100], abs=REACHED)


def test_the_printed_volume_of_a_hundred_points_on_dtlz2_is_beaten_by_even_angles() -> None:
    printed = 120.210644
    assert staircase(dtlz2_front(np.linspace(0, 1, 100))) > printed + 2e-5


def staircase(f: Array) -> float:
    """The hypervolume of two objectives against `FAR` as a sum of columns, the slow twin."""
    f = f[np.argsort(f[:, 0], kind="stable")]
    widths = np.diff(np.append(f[:, 0], FAR[0]))
    return float((widths * (FAR[1] - f[:, 1])).sum())


@pytest.mark.parametrize("name", WHOLE)
def test_many_points_tend_to_the_whole_front_from_below(name: str) -> None:
    front, whole = WHOLE[name]
    reached = volume(front(np.linspace(0, 1, 20_001)), FAR)
    assert whole - 1e-3 < reached < whole


def test_three_objectives_tend_to_the_whole_sphere_from_below() -> None:
    a, b = np.meshgrid(*[np.linspace(0, np.pi / 2, 70)] * 2)
    f = np.stack([np.cos(a) * np.cos(b), np.cos(a) * np.sin(b), np.sin(a)], axis=-1).reshape(-1, 3)
    whole = 1.1**3 - np.pi / 6
    assert 0.95 * whole < volume(f[nondominated(f)], np.full(3, 1.1)) < whole


def test_the_two_unit_cases_are_exact() -> None:
    assert volume(np.array([[1.0, 2.0], [2.0, 1.0]]), np.array([3.0, 3.0])) == 3.0
    assert volume(np.array([[1.0, 1.0, 1.0]]), np.full(3, 2.0)) == 1.0


# Search. Each reference and each whole volume is named with its source; `share` is a bound for this search at this
# budget, a little below what three seeds reached (ZDT1 0.995, ZDT2 0.989 at the worst).


def found(problem: Problem, evaluations: int, population: int = 100) -> Snapshot:
    *_, last = search(problem, Budget(evaluations), Settings(seed=1, population=population))
    assert last.evaluations == evaluations
    return last


@pytest.mark.parametrize(("problem", "whole"), [(zdt1(), 0.876667), (zdt2(), 1.21 - 2 / 3)], ids=["ZDT1", "ZDT2"])
def test_zdt_is_found(problem: Problem, whole: float) -> None:
    reached = volume(found(problem, 12_000, population=30).objectives, np.full(2, 1.1))
    assert 0.97 * whole < reached < whole


@pytest.mark.parametrize(
    ("objectives", "whole", "share"), [(2, 1.21 - np.pi / 4, 0.99), (3, 1.331 - np.pi / 6, 0.96)], ids=["two", "three"]
)
def test_dtlz2_is_found(objectives: int, whole: float, share: float) -> None:
    reached = volume(found(dtlz2(objectives, 10), 8_000).objectives, np.full(objectives, 1.1))
    assert share * whole < reached < whole


def test_bnh_is_found_with_its_ends() -> None:
    """Reference (140, 50): usual in the literature. Ends (0, 50), (136, 4): Deb (2001), from memory, worked again."""
    f = found(bnh(), 6_000).objectives
    whole = volume(bnh_front(20_001), np.array([140.0, 50.0]))
    assert 0.99 * whole < volume(f, np.array([140.0, 50.0])) < 1.0001 * whole
    assert f[f[:, 0].argmin()] == pytest.approx([0.0, 50.0], abs=0.1)
    assert f[f[:, 1].argmin()] == pytest.approx([136.0, 4.0], abs=0.5)


def test_the_known_ends_of_osy_are_feasible_and_the_front_comes_near_them() -> None:
    """Ends: Deb (2001), from memory, worked again; reference (-75, 75) as in a Bayesian optimisation library."""
    problem = osy()
    ends = problem.evaluate(np.array([[5.0, 1, 5, 0, 5, 0], [1.0, 1, 1, 0, 1, 0]]))
    assert ends.feasible.all()
    assert ends.objectives.tolist() == [[-274.0, 76.0], [-42.0, 4.0]]
    f = found(problem, 20_000).objectives
    assert (f[:, 0] >= -274.0).all()
    assert (f[:, 1] >= 4.0).all()
    assert f[:, 0].min() < -0.95 * 274.0
    assert f[:, 1].min() < 4.0 + 0.05 * 72.0


def test_tnk_is_found_and_its_front_is_never_beaten() -> None:
    """The front lies on the wavy constraint; Tanaka and others (1995), from memory."""
    reference = np.full(2, 1.2)
    f = found(tnk(), 10_000).objectives
    whole = volume(tnk_front(40_001), reference)
    assert 0.98 * whole < volume(f, reference) < 1.0001 * whole
    wave = 1 + 0.1 * np.cos(16 * np.arctan2(f[:, 0], f[:, 1]))
    assert ((f**2).sum(axis=1) - wave).min() >= 0.0
