"""A room as a constraint of a search: it moves the best geometry to where a clearance holds it."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from geometry.travel import Travel
from objectives.envelope.envelope import Envelope, KeepOutBox, Margins
from objectives.fittings.fitted import Fittings
from objectives.goals import Best, Goal, Limit
from optimiser.search.problem import parts_problem_of, problem_of
from optimiser.study.read import read_text
from optimiser.study.study import Study, Variable
from tests.axles import vector

FRONT = (Path(__file__).parents[2] / "configs" / "front.yaml").read_text(encoding="utf-8")
BELOW = Envelope(
    diameters={"rocker": 16.0, "rod": 20.0},
    keep_out={"floor": KeepOutBox(vector(-100, 0, 300), vector(100, 400, 400))},
    margins=Margins(to_fixed=5.0, to_moving=3.0),
)


def study(envelope: Envelope | None) -> Study:
    """How low the rocker may lie: one number varied, one objective."""
    goals: list[Goal] = [Best("rocker.top_height", "minimise")]
    goals += [Limit("clearance.reserve", at_least=0.0)] if envelope else []
    return replace(
        read_text(FRONT, "x"),
        travel=Travel((-12.0, 12.0), (-8.0, 8.0), (-4.0, 4.0), None, 4.0),
        variables=(Variable("rocker.pivot.z", 445.0, 510.0, 475.0),),
        goals=tuple(goals),
        fittings=Fittings(envelope=envelope),
    )


def test_a_keep_out_takes_the_nominal_best_and_holds_the_next_one() -> None:
    z = np.linspace(445.0, 510.0, 66)[:, None]
    free, held = (problem_of(study(envelope)).evaluate(z) for envelope in (None, BELOW))
    assert np.array_equal(free.objectives, held.objectives)
    assert free.objectives[:, 0].argmin() == 0
    assert not held.feasible[0]
    best = int(np.where(held.feasible, held.objectives[:, 0], np.inf).argmin())
    assert 0 < best < 65
    assert -1.5 < held.violations[best, 0] <= 0.0 < held.violations[best - 1, 0]


def test_clearances_reach_derivatives_pair_by_pair() -> None:
    problem = parts_problem_of(study(BELOW))
    parts = problem.measure(np.array([[470.0], [480.0]]))
    assert (problem.owner == 1).sum() > 3
    objectives, violations = problem.largest(parts)
    batch = problem_of(study(BELOW)).evaluate(np.array([[470.0], [480.0]]))
    assert np.allclose(violations, batch.violations[:, :1], atol=1e-9)
    assert np.allclose(objectives, batch.objectives, atol=1e-9)
