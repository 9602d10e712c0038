"""A joint's limit as a constraint of a search: it takes the nominal best and holds the next one."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from geometry.travel import Travel
from objectives.fittings.fitted import Fittings
from objectives.fittings.joints import Joint
from objectives.goals import Best, Goal, Limit
from optimiser.search.problem import parts_problem_of, problem_of
from optimiser.search.recheck import Recheck
from optimiser.study.read import read_text
from optimiser.study.study import Study, Variable
from tests.axles import vector

FRONT = (Path(__file__).parents[2] / "configs" / "front.yaml").read_text(encoding="utf-8")
RESERVE = "joint.rod_outboard.angle_reserve"


def study(limit: float | None) -> Study:
    """How far back the rocker may stand: one number varied, one objective."""
    goals: list[Goal] = [Best("joint.rod_inboard.angle_max", "maximise")]
    goals += [] if limit is None else [Limit(RESERVE, at_least=0.0)]
    joints = {"rod_outboard": Joint(vector(1, 0, 0), limit), "rod_inboard": Joint()}
    return replace(
        read_text(FRONT, "x"),
        travel=Travel((-24.0, 24.0), (-16.0, 16.0), (-8.0, 8.0), (-16.0, 16.0), 4.0),
        variables=(Variable("rocker.pivot.x", -60.0, 10.0, 10.0),),
        goals=tuple(goals),
        fittings=Fittings(joints=joints),
    )


def test_a_limit_takes_the_nominal_best_and_holds_the_next_one() -> None:
    x = np.linspace(-60.0, 10.0, 71)[:, None]
    free, held = (problem_of(study(limit)).evaluate(x) for limit in (None, 9.0))
    assert np.array_equal(free.objectives, held.objectives)
    best = int(free.objectives[:, 0].argmin())
    assert not held.feasible[best]
    assert held.feasible.any()
    next_best = int(np.where(held.feasible, held.objectives[:, 0], np.inf).argmin())
    assert next_best != best
    edge = held.violations[:, 0]
    assert -0.2 < edge[next_best] <= 0.0


def test_angles_reach_derivatives_state_by_state() -> None:
    asked = study(9.0)
    problem, x = parts_problem_of(asked), np.array([[-20.0], [-5.0], [5.0]])
    parts = problem.measure(x)
    assert (problem.owner == 1).sum() > 20
    objectives, violations = problem.largest(parts)
    batch = problem_of(asked).evaluate(x)
    np.testing.assert_allclose(violations, batch.violations[:, :1], rtol=0, atol=1e-12)
    np.testing.assert_allclose(objectives, batch.objectives, rtol=0, atol=1e-12)
    step = 1e-4
    ahead, behind = problem.measure(x + step), problem.measure(x - step)
    wide = (problem.measure(x + 10 * step) - problem.measure(x - 10 * step)) / (20 * step)
    np.testing.assert_allclose((ahead - behind) / (2 * step), wide, rtol=0, atol=1e-5)


def test_between_the_travel_points_a_limit_is_looked_at_too() -> None:
    """On the finer grid an angle is never smaller, and hardly larger: it turns slowly."""
    asked, x = study(9.0), np.linspace(-20.0, 8.0, 8)[:, None]
    finer, own = Recheck(asked)(x)[:, 0], problem_of(asked).evaluate(x).violations[:, 0]
    assert np.all(finer >= own - 1e-9)
    assert np.all(finer < own + 0.05)
