"""Tolerance stacks with known sums, and a chain that is not linear, through the figures of the built axle."""

from collections.abc import Sequence

import numpy as np
import pytest

from geometry.arrays import Array
from objectives.catalogue.tolerance_entries import Form
from objectives.readings import Reading
from objectives.tolerance.build import LEFT, Build, Error, Spread
from objectives.tolerance.linear import Linear
from objectives.tolerance.toleranced import form_of, sampled
from tests.loops import RodLoop

BUILD = Build(spread=Spread.THREE_SIGMA)


def chain(slopes: Sequence[float], tolerances: Sequence[float], nominal: float = 0.0) -> Linear:
    """A figure of one number."""
    errors = tuple(Error(LEFT, "a.part", 0, size) for size in tolerances)
    reading = Reading(np.array(nominal), np.zeros((), dtype=np.int8))
    return Linear(reading, np.array([nominal]), np.array([slopes], dtype=np.float64), "largest", errors)


def worst_and_rss(linear: Linear) -> tuple[float, float]:
    return float(form_of(Form.WORST, linear, BUILD)), float(form_of(Form.RSS, linear, BUILD))


# Worst case = sum abs(S) t, RSS = root of the sum of (S t)^2: worked examples of articles on tolerance stacks.
@pytest.mark.parametrize(
    ("count", "tolerance", "worst", "rss"), [(10, 0.1, 1.0, 0.316), (4, 0.2, 0.8, 0.4)], ids=["ten parts", "four parts"]
)
def test_equal_parts_in_a_row(count: int, tolerance: float, worst: float, rss: float) -> None:
    found = worst_and_rss(chain([1.0] * count, [tolerance] * count))
    assert found == pytest.approx((worst, rss), abs=5e-4)


def test_three_parts_in_a_housing() -> None:
    """A 2.000 +- .005, B 1.500 +- .003, C 0.500 +- .002 in a housing of 4.020 +- .005 (an article's example)."""
    gap = chain([1.0, -1.0, -1.0, -1.0], [0.005, 0.005, 0.003, 0.002], nominal=4.020 - 2.000 - 1.500 - 0.500)
    assert float(gap.parts[0]) == pytest.approx(0.020, abs=1e-12)
    assert worst_and_rss(gap) == pytest.approx((0.015, 0.00794), abs=5e-6)


def test_three_sigma_hold_9973_of_10000() -> None:
    """RSS of three-sigma tolerances covers 99.73 % of normal, centred, independent parts (textbook statistics)."""
    linear = chain([1.0, -2.0, 0.5], [0.1, 0.2, 0.3])
    values = sampled(linear, BUILD)
    held = float(np.mean(np.abs(values) <= worst_and_rss(linear)[1]))
    assert held == pytest.approx(0.9973, abs=1.0 / len(values))


# ISO 2768-1, linear dimensions in mm, from memory: limits of classes f, m and c from 30 to 120 and from 120 to 400 mm.
ISO_2768 = {"f": (0.15, 0.2), "m": (0.3, 0.5), "c": (0.8, 1.2)}


@pytest.mark.parametrize("grade", ISO_2768)
def test_two_plates_by_a_standard_class(grade: str) -> None:
    """A plate of 90 mm on one of 300 mm: the worst case is the sum of both limits, the RSS their hypotenuse."""
    small, large = ISO_2768[grade]
    assert worst_and_rss(chain([1.0, 1.0], [small, large])) == pytest.approx((small + large, np.hypot(small, large)))


def test_one_turn_of_a_rods_threads() -> None:
    """M8 x 1.25 left and right hand: 2.5 mm a turn; half a turn off on each of two rods, acting against each other."""
    turn = 2.0 * 1.25
    assert worst_and_rss(chain([1.0, -1.0], [turn / 2.0] * 2)) == pytest.approx((2.5, 2.5 / np.sqrt(2.0)))


# R. L. Norton, Design of Machinery, example 4-1 (from memory): ground 100, crank 40, coupler 120, rocker 80, at 40 deg.
NORTON = np.array([100.0, 40.0, 120.0, 80.0])


def rocker_angle(lengths: Array) -> float:
    """Angle [rad] of the rocker of the open four-bar with these lengths, by the package's own closure."""
    ground, crank, coupler, rocker = lengths
    gap = ground - crank
    start = np.pi - np.arccos((gap**2 + rocker**2 - coupler**2) / (2 * gap * rocker))
    pivot = np.array([ground, 0.0, 0.0])
    loop = RodLoop.of(
        pivot,
        np.array([0.0, 0.0, 1.0]),
        pivot + rocker * np.array([np.cos(start), np.sin(start), 0.0]),
        np.array([crank, 0.0, 0.0]),
    )
    eye = crank * np.array([[np.cos(np.radians(40.0)), np.sin(np.radians(40.0)), 0.0]])
    end = loop.inboard(eye)[0] - pivot
    return float(np.arctan2(end[1], end[0]))


def test_a_chain_that_is_not_linear_agrees_to_second_order() -> None:
    """Deviation of sampled four-bars against sqrt(sum (S s)^2): half the errors, a quarter of the difference."""
    assert np.degrees(rocker_angle(NORTON)) == pytest.approx(57.325, abs=5e-4)
    step = 1e-4
    slopes = [(rocker_angle(NORTON + e) - rocker_angle(NORTON - e)) / (2.0 * step) for e in step * np.eye(4)]
    draws = np.random.default_rng(4).standard_normal((1500, 4))
    draws = np.concatenate([draws, -draws])
    draws = np.linalg.solve(np.linalg.cholesky(draws.T @ draws / len(draws)), draws.T).T
    misses = []
    for size in (2.0, 1.0):
        linear = chain(slopes, [size] * 4)
        expected = float(form_of(Form.RSS, linear, Build(spread=Spread.ONE_SIGMA)))
        solved = np.std([rocker_angle(NORTON + size * draw) for draw in draws])
        misses.append(float(solved) / expected - 1.0)
        assert sampled(linear, Build(spread=Spread.ONE_SIGMA)).std() == pytest.approx(expected, rel=1e-9)
    assert 1e-4 < abs(misses[0]) < 0.02
    assert misses[0] / misses[1] == pytest.approx(4.0, rel=0.2)
