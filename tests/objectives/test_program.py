"""The compiled program against its slow twin: the parts of goals read from a survey."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import Axle, Rocker
from geometry.lanes import LANES
from objectives.catalogue.catalogue import figure_names
from objectives.evaluate import Evaluator
from objectives.goals import Goal
from objectives.parts import goal_parts
from objectives.program import Program
from objectives.survey import plan_states
from tests.axles import KINDS, arm, front, travel_of
from tests.batches import scatter
from tests.forms import FORMS


def both(goals: Sequence[Goal], axle: Axle) -> tuple[tuple[int, ...], list[Array], list[Array]]:
    """Which goals the program knows, its parts and those of the twin, a goal each."""
    travel = travel_of(axle)
    program = Program(goals, axle, plan_states(travel))
    columns = np.split(program.run(axle), np.cumsum(program.sizes)[:-1], axis=1)
    surveyed = Evaluator(travel).survey(axle)
    twin = [
        part.reshape(-1, part.shape[-1]) for part in goal_parts([goals[place] for place in program.known], surveyed)
    ]
    return program.known, columns, twin


def in_order(parts: Array) -> Array:
    return np.sort(np.where(np.isnan(parts), np.inf, parts), axis=1)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("kind", KINDS)
def test_the_program_makes_the_parts_that_a_survey_gives(kind: str, form: str) -> None:
    axle = scatter(KINDS[kind](), (2, LANES), links=False)
    goals: list[Goal] = [FORMS[form](name) for name in figure_names(axle)]
    known, columns, twin = both(goals, axle)
    assert len(known) > 15
    for place, own, expected in zip(known, columns, twin, strict=True):
        whole = np.isfinite(expected).all(axis=1)
        np.testing.assert_allclose(
            own[whole].max(axis=1), expected[whole].max(axis=1), rtol=1e-8, atol=1e-8, err_msg=str(goals[place])
        )
        assert np.isnan(own[~whole]).any(axis=1).all(), goals[place]
        if own.shape == expected.shape:
            np.testing.assert_allclose(in_order(own)[whole], in_order(expected)[whole], rtol=1e-8, atol=1e-8)


def test_links_of_their_own_are_followed() -> None:
    axle = scatter(front(), (1, LANES), links=True)
    goals: list[Goal] = [FORMS["minimise"](name) for name in figure_names(axle)]
    _, columns, twin = both(goals, axle)
    for own, expected in zip(columns, twin, strict=True):
        np.testing.assert_allclose(own.max(axis=1), expected.max(axis=1), rtol=1e-8, atol=1e-8)


def test_what_cannot_be_is_nan_in_both() -> None:
    """Arms from far too short to long: loops that open, that open between two states, and that never do."""
    base = front()
    rocker: Rocker = base.rocker
    lengths = np.linspace(8.0, 80.0, 4 * LANES).reshape(-1, LANES)
    axle = replace(base, rocker=replace(rocker, rod=replace(arm(76, 52, 0), length=lengths)))
    goals: list[Goal] = [FORMS["minimise"](name) for name in figure_names(axle)]
    known, columns, twin = both(goals, axle)
    voided = 0
    for place, own, expected in zip(known, columns, twin, strict=True):
        nan = np.isnan(expected).all(axis=1)
        np.testing.assert_array_equal(np.isnan(own).any(axis=1), nan, err_msg=str(goals[place]))
        voided += int(nan.sum())
    assert voided > 100


def test_one_block_or_many_give_the_same_bits() -> None:
    base = front()
    rocker: Rocker = base.rocker
    pivots = rocker.pivot + np.random.default_rng(5).normal(0.0, 3.0, (3, LANES, 3))
    goals: list[Goal] = [FORMS["a band"](name) for name in figure_names(base)]
    program = Program(goals, base, plan_states(travel_of(base)))
    whole = program.run(replace(base, rocker=replace(rocker, pivot=pivots)))
    for block in range(3):
        alone = program.run(replace(base, rocker=replace(rocker, pivot=pivots[block : block + 1])))
        np.testing.assert_array_equal(alone, whole[block * LANES : (block + 1) * LANES])


def test_a_figure_that_it_does_not_know_is_left_to_the_survey() -> None:
    goals: list[Goal] = [FORMS["at least"]("rocker.toggle_margin"), FORMS["at most"]("heave.crosstalk")]
    program = Program(goals, front(), plan_states(travel_of(front())))
    assert program.known == (1,)
