"""Goals on the room as compiled for a search, against the same goals read from a survey."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.axle import Axle
from geometry.lanes import KERNEL, LANES
from objectives.envelope.program import RoomProgram
from objectives.evaluate import Evaluator
from objectives.fittings.fitted import Fittings
from objectives.goals import Best, Goal, Limit
from objectives.parts import goal_parts
from objectives.survey import plan_states
from tests.axles import FRONT_TRAVEL, front
from tests.batches import scatter
from tests.rooms import ROOM

GOALS: list[Goal] = [
    Limit("clearance.reserve", at_least=0.0),
    Limit("envelope.overstep", at_most=0.0),
    Best("clearance.min", "maximise"),
]
BLOCKS = 3


def batch(size: float) -> Axle:
    return replace(scatter(front(), (BLOCKS, LANES), seed=2, size=size), wheel=front().wheel)


@pytest.mark.parametrize("size", [3.0, 150.0])
def test_both_readings_agree(size: float) -> None:
    """Axles that cannot move, of which the wider scatter has some, are null in both."""
    axle = batch(size)
    program = RoomProgram(GOALS, axle, FRONT_TRAVEL, plan_states(FRONT_TRAVEL), ROOM)
    assert program.known == (0, 1, 2)
    found = np.split(program.run(axle), np.cumsum(program.sizes)[:-1], axis=1)
    surveyed = Evaluator(FRONT_TRAVEL, kernel=KERNEL, fittings=Fittings(envelope=ROOM)).survey(axle)
    null = 0
    for goal, own, other in zip(GOALS, found, goal_parts(GOALS, surveyed), strict=True):
        expected = np.broadcast_to(other, (BLOCKS, LANES, other.shape[-1])).reshape(BLOCKS * LANES, -1)
        if goal.figure.startswith("clearance"):
            assert own == pytest.approx(expected, abs=1e-7, nan_ok=True)
        assert own.max(axis=1) == pytest.approx(expected.max(axis=1), abs=1e-7, nan_ok=True)
        null += int(np.isnan(own).any(axis=1).sum())
    assert (null > 0) == (size > 10.0)


def test_an_axle_whose_links_vary_is_left_to_the_survey() -> None:
    axle = scatter(front(), (1, LANES), seed=2, links=True)
    assert RoomProgram(GOALS, axle, FRONT_TRAVEL, plan_states(FRONT_TRAVEL), ROOM).known == ()
    assert RoomProgram(GOALS, batch(1.0), FRONT_TRAVEL, plan_states(FRONT_TRAVEL), None).known == ()
