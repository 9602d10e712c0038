"""Variables of listed values in a search: all of them are looked at, and every member has one of them."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import Array
from objectives.goals import Goal, Miss
from optimiser.search.choices import FREE, Choices
from optimiser.search.clauses import Kind
from optimiser.search.conflict import find_conflict
from optimiser.search.derivatives import derivatives
from optimiser.search.evolution import scatter
from optimiser.search.island import Budget, Settings, search
from optimiser.search.parts import PartsProblem
from optimiser.search.problem import Problem, parts_problem_of, problem_of
from optimiser.search.refinement import reach, refine
from optimiser.search.snapshot import Snapshot
from optimiser.search.volume import reference_of, volume
from optimiser.study.read import read_text
from optimiser.study.study import Study
from tests.problems import free

FRONT = (Path(__file__).parents[2] / "configs" / "front.yaml").read_text()
LENGTH, HOLE = "  rocker.pickups.heave.length: [60, 95]\n", "rocker.pickups.heave.hole"
ADJUST = "adjust: {rocker.pickups.heave: {holes: [{length: 72}, {length: 76}, {length: 80}]}}\n"
HOLES = Choices({1: np.array([0.0, 1.0, 2.0])})


def drilled(vary: str = f"  {HOLE}: [0, 1, 2]\n") -> Study:
    """The front axle with three holes for its heave strut in place of a free length."""
    return read_text(FRONT.replace(LENGTH, vary).replace("vary:\n", f"{ADJUST}vary:\n"), "drilled.yaml")


def bored(hole: int) -> Study:
    """The front axle with its heave strut in one of the holes for good."""
    return read_text(FRONT.replace(LENGTH, "").replace("length: 74.43", f"length: {72 + 4 * hole}"), "bored.yaml")


def found(study: Study, evaluations: int, start: Snapshot | None = None) -> Snapshot:
    parts = parts_problem_of(study)
    *_, end = search(problem_of(study), Budget(evaluations), Settings(study.seed), start, parts=parts)
    return end


def only(study: Study, path: str, *goals: Goal) -> Study:
    """The study with one of its variables left."""
    return replace(study, variables=tuple(one for one in study.variables if one.path == path), goals=goals)


def test_the_best_hole_is_the_one_that_enumerating_finds() -> None:
    best = []
    for aim in (1.05, 1.12, 1.18):
        asked = only(drilled(), HOLE, Miss("heave.motion_ratio", aim, 0.1))
        misses = problem_of(asked).evaluate(np.array([[0.0], [1.0], [2.0]])).objectives[:, 0]
        end = found(asked, 300)
        assert end.x.tolist() == [[float(misses.argmin())]]
        assert end.objectives[0, 0] == pytest.approx(misses.min())
        best.append(int(misses.argmin()))
    assert best == [0, 1, 2]


def test_one_search_with_the_choice_does_as_well_as_the_best_of_three_without() -> None:
    together = found(drilled(), 12_000).objectives
    apart = [found(bored(hole), 4_000).objectives for hole in range(3)]
    reference = reference_of(np.concatenate([together, *apart]))
    assert volume(together, reference) > 0.97 * max(volume(one, reference) for one in apart)


def test_every_member_lies_in_a_hole_and_a_resumed_search_goes_on_with_them() -> None:
    study = drilled()
    column = [one.path for one in study.variables].index(HOLE)
    first = found(study, 6_000)
    again = found(study, 9_000, first)
    for end in (first, again):
        assert set(end.x[:, column]) <= {0.0, 1.0, 2.0}
        assert set(end.population[:, column]) <= {0.0, 1.0, 2.0}
        assert len(set(end.x[:, column])) > 1
    assert problem_of(study).evaluate(again.x).feasible.all()


def test_holes_left_out_are_never_chosen() -> None:
    study = drilled(f"  {HOLE}: [0, 2]\n")
    column = [one.path for one in study.variables].index(HOLE)
    assert set(found(study, 9_000).x[:, column]) == {0.0, 2.0}


def stepped() -> tuple[Problem, PartsProblem]:
    """Minimise (x - k)^2 + k + 1 - 4 [k = 2] over x in [-3, 3] and k in {0, 1, 2}: least at x = k = 2."""
    lower, upper = np.array([-3.0, 0.0]), np.array([3.0, 2.0])

    def value(x: Array) -> Array:
        k = HOLES.snapped(x)[:, 1]
        return np.asarray((x[:, 0] - k) ** 2 + k + 1.0 - 4.0 * (k == 2.0))

    problem = Problem(("x", "k"), lower, upper, np.zeros(2), 1, lambda x: free(value(x)), HOLES)
    parts = PartsProblem(lower, upper, 1, np.zeros(1, dtype=np.intp), lambda x: value(x)[:, None], choices=HOLES)
    return problem, parts


def test_refinement_holds_a_choice_and_spends_nothing_on_its_derivative() -> None:
    _, parts = stepped()
    starts = np.array([[2.5, 0.0], [-1.0, 1.0], [-2.0, 2.0]])
    refined = refine(parts, starts, np.ones((3, 1)), np.zeros((3, 1)))
    np.testing.assert_allclose(refined.x, [[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]], atol=1e-2)
    assert refined.x[:, 1].tolist() == [0.0, 1.0, 2.0]
    calls: list[int] = []

    def counted(x: Array) -> Array:
        calls.append(len(x))
        return parts.measure(x)

    fixed = HOLES.fixed(2)
    u = np.array([[0.5, 0.5], [0.2, 0.0]])
    slopes = derivatives(counted, u, parts.measure(u), fixed=fixed)
    assert calls == [2]
    assert fixed.tolist() == [False, True]
    assert (slopes[:, 0, 1] == 0.0).all()
    assert (slopes[:, 0, 0] != 0.0).all()


def test_reaching_holds_a_choice_too() -> None:
    lower, upper = np.array([-3.0, 0.0]), np.array([4.0, 2.0])

    def rows(x: Array) -> Array:
        return np.column_stack([x[:, 0], x[:, 1] + 1.0 - x[:, 0]])  # held: x at least k + 1

    parts = PartsProblem(lower, upper, 1, np.arange(2), rows, choices=HOLES)
    reached = reach(parts, np.array([[-3.0, 0.0], [-3.0, 1.0], [0.0, 2.0]]))
    assert reached.x[:, 1].tolist() == [0.0, 1.0, 2.0]
    assert (reached.violations <= 0.0).all()


def test_evolution_alone_leaves_the_start_s_choice_for_a_better_one() -> None:
    problem, _ = stepped()
    *_, end = search(problem, Budget(2_000), Settings(1, population=20))
    assert end.x[0, 1] == 2.0
    assert end.x[0, 0] == pytest.approx(2.0, abs=0.05)


def test_every_value_has_an_equal_share_of_fresh_points_and_children_stay_on_values() -> None:
    problem, _ = stepped()
    rng = np.random.default_rng(7)
    placed = HOLES.placed(rng.random((9_000, 2)), problem.lower, problem.upper)
    counts = np.unique(placed[:, 1], return_counts=True)[1]
    np.testing.assert_allclose(counts / 9_000, 1.0 / 3.0, atol=0.02)
    children = HOLES.mixed(np.tile([0.3, 0.4], (4_000, 1)), rng)
    assert set(children[:, 1]) == {0.0, 1.0, 2.0}
    assert (children[:, 1] == 0.0).mean() > 0.5  # half are put anywhere, a third of these back
    assert (children[:, 0] == 0.3).all()
    assert set(scatter(problem, 40, rng)[:, 1]) == {0.0, 1.0, 2.0}
    x = rng.random((5, 2))
    assert FREE.snapped(x) is x
    assert FREE.mixed(x, rng) is x


def held(value: Callable[[Array], Array]) -> PartsProblem:
    """Nothing to minimise, and one held goal, met where `value` (N,) is at most 0."""
    lower, upper = np.array([-3.0, 0.0]), np.array([3.0, 2.0])

    def rows(x: Array) -> Array:
        return np.column_stack([np.zeros(len(x)), value(HOLES.snapped(x))])

    return PartsProblem(lower, upper, 1, np.arange(2), rows, choices=HOLES)


def test_a_conflict_is_looked_for_in_every_choice_and_a_choice_is_no_bound() -> None:
    known = np.array([[0.0, 0.0]])
    only_there = find_conflict(held(lambda x: 1.0 - 2.0 * (x[:, 1] == 2.0)), known, seed=1)
    assert only_there is not None
    assert only_there.clauses == ()
    nowhere = find_conflict(held(lambda x: 5.0 - x[:, 0] + x[:, 1]), known, seed=1)
    assert nowhere is not None
    assert [(clause.kind, clause.index) for clause in nowhere.clauses] == [(Kind.GOAL, 0), (Kind.HIGH, 0)]
