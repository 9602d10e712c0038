"""Why nothing can be met: conflicts planted in closed form and into a study, each named and nothing else."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import Array
from objectives.evaluate import evaluate
from objectives.goals import Goal, Limit, held, violations
from optimiser.search.clauses import Asked, Clause, Kind, problem_for
from optimiser.search.conflict import Conflict, find_conflict
from optimiser.search.parts import PartsProblem
from optimiser.search.problem import parts_problem_of
from optimiser.study.read import read_study
from optimiser.study.study import Study
from optimiser.study.variables import base_point, candidates

CONFIGS = Path(__file__).parents[2] / "configs"
EXACT = 1e-4
"""The share of a scale that is kept in hand of what is met, and what an end is found to."""


def goals_of(variables: int, *goals: Callable[[Array], Array]) -> PartsProblem:
    """Held goals over the box [0, 2]^V, met where a function (N, V) -> (N,) is at most 0; the objective is x1."""

    def parts(x: Array) -> Array:
        return np.stack([x[:, 0], *(goal(x) for goal in goals)], axis=1)

    return PartsProblem(np.zeros(variables), np.full(variables, 2.0), 1, np.arange(len(goals) + 1), parts)


def goal(number: int) -> Clause:
    return Clause(Kind.GOAL, number)


def found(problem: PartsProblem, seed: int = 1) -> Conflict:
    conflict = find_conflict(problem, (problem.lower + problem.upper)[None] / 2, seed)
    assert conflict is not None
    return conflict


def triangle() -> PartsProblem:
    """Goals 0, 2 and 3 exclude each other, any two of them go together; 1 and 4 ask something easy of the same x."""
    return goals_of(
        3,
        lambda x: 0.6 - x[:, 0],
        lambda x: x[:, 2] - 1.5,
        lambda x: 0.6 - x[:, 1],
        lambda x: (x[:, 0] + x[:, 1] - 1.0) / 0.5,
        lambda x: 0.1 - x[:, 0],
    )


def test_three_goals_of_which_any_two_can_be_met() -> None:
    conflict = found(triangle())
    assert conflict.clauses == (goal(0), goal(2), goal(3))
    assert conflict.others_met


def test_each_goal_s_nearest_is_what_the_others_allow() -> None:
    first, second, sum_of_both = found(triangle()).nearest
    assert [row.gives for row in (first, second, sum_of_both)] == [goal(0), goal(2), goal(3)]
    assert first.x[0] == pytest.approx(0.4, abs=EXACT)
    assert second.x[1] == pytest.approx(0.4, abs=EXACT)
    assert sum_of_both.x[0] + sum_of_both.x[1] == pytest.approx(1.2, abs=EXACT)


def test_the_trade_goes_from_one_goal_s_limit_to_the_other_s() -> None:
    trade = found(triangle()).trade
    x = np.array([row.x for row in trade])
    np.testing.assert_allclose(x[:, 0], [0.6, 0.55, 0.5, 0.45, 0.4], atol=EXACT)
    np.testing.assert_allclose(x[:, 1], [0.4, 0.45, 0.5, 0.55, 0.6], atol=EXACT)
    assert [(row.gives, row.second) for row in trade] == [(goal(2), goal(0))] * 4 + [(goal(0), goal(2))]


def test_a_goal_that_makes_a_conflict_worse_is_not_of_it_but_counts_for_what_is_nearest() -> None:
    """x1 >= 0.6 and x1 + x2 <= 0.5 exclude each other where x2 >= 0; x2 >= 0.1 takes more, and has a price."""
    conflict = found(goals_of(2, lambda x: 0.6 - x[:, 0], lambda x: x[:, 0] + x[:, 1] - 0.5, lambda x: 0.1 - x[:, 1]))
    assert conflict.clauses == (goal(0), goal(1))
    assert conflict.nearest[0].x == pytest.approx([0.4, 0.1], abs=EXACT)
    assert conflict.nearest[1].x == pytest.approx([0.6, 0.1], abs=EXACT)


def test_a_bound_belongs_to_a_conflict_and_has_a_nearest_value() -> None:
    conflict = found(goals_of(2, lambda x: x[:, 1] - 1.0, lambda x: 2.3 - x[:, 0] + 0.1 * x[:, 1] ** 2))
    high = Clause(Kind.HIGH, 0)
    assert conflict.clauses == (goal(1), high)
    by_goal, by_bound = conflict.nearest
    assert by_goal.x == pytest.approx([2.0, 0.0], abs=0.01)
    assert by_bound.x[0] == pytest.approx(2.3, abs=0.001)


def test_a_lower_bound_likewise() -> None:
    conflict = found(goals_of(2, lambda x: x[:, 0] + 0.2, lambda x: x[:, 1] - 1.0))
    assert conflict.clauses == (goal(0), Clause(Kind.LOW, 0))
    assert conflict.nearest[1].x[0] == pytest.approx(-0.2, abs=0.001)


def test_a_goal_that_nothing_can_meet_stands_alone() -> None:
    conflict = found(goals_of(2, lambda x: 1.0 + (x[:, 0] - 0.7) ** 2, lambda x: x[:, 1] - 1.0))
    assert conflict.clauses == (goal(0),)
    assert conflict.nearest[0].x[0] == pytest.approx(0.7, abs=0.001)
    assert conflict.trade == ()


def test_two_conflicts_at_once_name_one_and_say_that_there_is_another() -> None:
    conflict = found(
        goals_of(
            2,
            lambda x: x[:, 0] - 0.5,
            lambda x: 1.0 - x[:, 0],
            lambda x: x[:, 1] - 0.5,
            lambda x: 0.8 - x[:, 1],
        )
    )
    assert conflict.clauses in ((goal(0), goal(1)), (goal(2), goal(3)))
    assert not conflict.others_met


def test_goals_that_can_all_be_met_have_no_conflict() -> None:
    assert found(goals_of(2, lambda x: x[:, 0] - 0.5, lambda x: 0.4 - x[:, 0])) == Conflict(())


def test_what_cannot_be_measured_anywhere_has_no_nearest() -> None:
    conflict = found(goals_of(2, lambda x: np.full(len(x), np.nan), lambda x: x[:, 1] - 1.0))
    assert goal(0) in conflict.clauses
    assert np.isnan(conflict.nearest[0].x).all()


def test_one_seed_gives_one_conflict() -> None:
    a, b, c = found(triangle(), 4), found(triangle(), 4), found(triangle(), 5)
    assert np.array_equal([row.x for row in a.nearest], [row.x for row in b.nearest])
    assert not np.array_equal([row.x for row in a.nearest], [row.x for row in c.nearest])


@pytest.mark.parametrize("patience", [0, 1, 5])
def test_it_ends_without_an_answer_when_it_is_asked_to(patience: int) -> None:
    left = patience

    def stop() -> bool:
        nonlocal left
        left -= 1
        return left < 0

    assert find_conflict(triangle(), np.full((1, 3), 1.0), 1, stop) is None


def test_a_question_lets_out_what_it_says() -> None:
    whole = triangle()
    asked = Asked((0, 3)).letting(goal(3), 0.25).letting(Clause(Kind.LOW, 1), 0.5).wishing(Clause(Kind.HIGH, 2))
    posed = problem_for(asked, whole)
    assert posed.lower.tolist() == [0.0, -1.0, 0.0]
    assert posed.upper.tolist() == [2.0, 2.0, 4.0]
    x = np.array([[0.5, 0.9, 3.0]])
    wished, missed = posed.largest(posed.measure(x))
    assert wished.tolist() == [[0.5]]
    assert missed[0] == pytest.approx([0.1, 0.8 - 0.25])


@cache
def study(name: str) -> Study:
    return read_study(CONFIGS / f"{name}.yaml")


def asking(goals: tuple[Goal, ...], *paths: str) -> Study:
    """The front study with other goals, and only some of its variables."""
    front = study("front")
    kept = tuple(variable for variable in front.variables if variable.path in paths)
    return replace(front, goals=goals, variables=kept)


def named(asked: Study, conflict: Conflict) -> list[str]:
    names = [one.figure for one in held(asked.goals)]
    return [
        names[one.index] if one.kind is Kind.GOAL else f"{asked.variables[one.index].path} {one.kind.name.lower()}"
        for one in conflict.clauses
    ]


def of_study(asked: Study) -> Conflict:
    conflict = find_conflict(parts_problem_of(asked), base_point(asked)[None], asked.seed)
    assert conflict is not None
    return conflict


def test_the_shipped_conflict_names_progressivity_and_crosstalk_and_what_they_ask_of_each_other() -> None:
    asked = study("conflict")
    conflict = of_study(asked)
    assert named(asked, conflict) == ["heave.progressivity", "heave.crosstalk"]
    assert conflict.others_met
    x = np.array([row.x for row in (*conflict.nearest, *conflict.trade)])
    values = evaluate(candidates(asked, x), asked.travel, [one.figure for one in held(asked.goals)]).values
    rising, leak = values["heave.progressivity"], values["heave.crosstalk"]
    assert leak[0] == pytest.approx(2.0, abs=1e-3)
    assert rising[1] == pytest.approx(20.0, abs=1e-3)
    assert 3.5 < leak[1] < 4.0
    missed = violations(asked.goals, values) > 1e-9
    assert [int(number) for number in missed.sum(axis=1)] == [1, 1, 1, 2, 2, 2, 1]
    assert np.all(np.diff(rising[2:]) < 0.0)
    assert np.all(np.diff(leak[2:]) < 0.0)


def test_three_goals_of_an_axle_any_two_of_which_can_be_met() -> None:
    """A rocker's ratios grow with its arms: two large ratios and small arms exclude each other."""
    asked = asking(
        (
            Limit("heave.motion_ratio", at_least=1.25),
            Limit("rocker.transmission_min", at_least=20.0),
            Limit("roll.motion_ratio", at_least=1.15),
            Limit("rocker.arm_sum", at_most=300.0),
        ),
        "rocker.pickups.heave.length",
        "rocker.pickups.roll_upper.length",
        "rocker.pickups.roll_lower.length",
    )
    assert named(asked, of_study(asked)) == ["heave.motion_ratio", "roll.motion_ratio", "rocker.arm_sum"]


def test_a_height_above_a_bound_names_the_bound_and_where_it_would_have_to_be() -> None:
    asked = asking(
        (Limit("rocker.top_height", at_least=590.0), Limit("rocker.transmission_min", at_least=20.0)), "rocker.pivot.z"
    )
    conflict = of_study(asked)
    assert named(asked, conflict) == ["rocker.top_height", "rocker.pivot.z high"]
    x = conflict.nearest[1].x
    assert x[0] > asked.variables[0].high
    top = evaluate(candidates(asked, x), asked.travel, ["rocker.top_height"]).values["rocker.top_height"]
    assert float(top) == pytest.approx(590.0, abs=0.01)
