"""The invented car's front axle on straight springs, against numbers found by a separate calculation (no source).

That calculation has 138.9 and 95.7 N/mm per wheel for 220 and 180 N/mm, and 4077 N in the heave strut under 2240 N on
each wheel. Its heave ratio is 4480 / 4077 = 1.0988; the shipped axle's is 1.1001. So its force is 0.11 % more than ours
and its heave rate less by 220 (1.1001^2 - 1.0988^2) / 2 = 0.3 N/mm; the geometric parts agree.
"""

from collections.abc import Mapping
from pathlib import Path

import pytest

from objectives.evaluate import evaluate
from objectives.fittings.fitted import Fittings
from objectives.fittings.loads import Loads
from objectives.fittings.springs import CarriesWeight, CoilSpring, Spring
from optimiser.study.read import read_study
from optimiser.study.study import Study
from tests.on_springs import number

FRONT = Path(__file__).parents[2] / "configs" / "front.yaml"
WEIGHT = 2240.0


@pytest.fixture(scope="module")
def study() -> Study:
    return read_study(FRONT)


def fitted(heave: float, roll: float) -> Fittings:
    springs: dict[str, Spring] = {
        "heave": CoilSpring("heave", number(heave), CarriesWeight()),
        "roll": CoilSpring("roll", number(roll), number(0.0), pulls=True),
    }
    return Fittings(springs, {}, Loads(WEIGHT))


@pytest.fixture(scope="module")
def figures(study: Study) -> Mapping[str, float]:
    found = evaluate(study.axle, study.travel, None, fitted(220.0, 180.0))
    return {name: float(value) for name, value in found.values.items()}


def test_the_static_force_in_the_heave_strut(figures: Mapping[str, float]) -> None:
    assert figures["heave.force_static"] == pytest.approx(2 * WEIGHT / figures["heave.motion_ratio"])
    assert figures["heave.force_static"] == pytest.approx(4077, rel=2e-3)
    assert figures["heave.force_static"] == pytest.approx(4072.5, abs=0.05)


def test_heave_and_roll_rates(figures: Mapping[str, float]) -> None:
    assert figures["axle.heave_rate"] == pytest.approx(138.9, abs=0.3)
    assert figures["axle.roll_rate"] == pytest.approx(95.7, abs=0.05)
    ratio = 2 * WEIGHT / 4077
    theirs = figures["axle.heave_rate"] - 220 * (figures["heave.motion_ratio"] ** 2 - ratio**2) / 2
    assert theirs == pytest.approx(138.9, abs=0.05)


def test_the_heave_force_stiffens_roll(study: Study, figures: Mapping[str, float]) -> None:
    # F_h (d2c_h/dr2) / 2, about +6 N/mm per wheel: measured by leaving the heave spring's rate out of it.
    assert figures["axle.roll_rate_geometric"] == pytest.approx(6.0, abs=0.5)
    soft = evaluate(study.axle, study.travel, ["axle.roll_rate"], fitted(1e-6, 180.0)).values["axle.roll_rate"]
    alone = 180 * figures["roll.motion_ratio"] ** 2 / 2
    assert float(soft) - alone == pytest.approx(6.0, abs=0.5)


def test_without_the_geometric_part_roll_is_too_soft(figures: Mapping[str, float]) -> None:
    # Negative control: k MR^2 / 2 alone misses by those 6 N/mm.
    alone = 180 * figures["roll.motion_ratio"] ** 2 / 2
    assert abs(alone - 95.7) > 5
    assert figures["axle.roll_rate_spring"] == pytest.approx(alone, abs=1e-6)


def test_one_wheel_meets_the_mean_of_both_rates(figures: Mapping[str, float]) -> None:
    mean = (figures["axle.heave_rate"] + figures["axle.roll_rate"]) / 2
    assert figures["axle.one_wheel_rate"] == pytest.approx(mean + figures["axle.cross_rate"])
    assert figures["axle.cross_rate"] == pytest.approx(0.0, abs=0.01)
