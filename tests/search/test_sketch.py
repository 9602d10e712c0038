"""The sketch of a study: the same problem at fewer travel points, and what refinement makes of it."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from geometry.arrays import Array
from geometry.travel import Travel, travel_points
from optimiser.search.parts import PartsProblem
from optimiser.search.problem import SKETCHED, parts_problem_of, sketched
from optimiser.search.refinement import refine
from optimiser.study.read import read_study
from tests.smooth import unit_box

FRONT = Path(__file__).parents[2] / "configs" / "front.yaml"


def test_a_sketch_has_few_points_all_of_them_the_study_s_own() -> None:
    travel = read_study(FRONT).travel
    rough = sketched(travel)
    for span in (travel.heave, travel.roll, travel.wheel):
        few, all_points = travel_points(span, rough.step), travel_points(span, travel.step)
        assert set(few) <= set(all_points)
        assert {span[0], span[1]} <= set(few)
    assert len(travel_points(travel.heave, rough.step)) <= SKETCHED + 4


def test_a_coarse_travel_is_its_own_sketch() -> None:
    coarse = Travel((-40.0, 40.0), (-30.0, 30.0), (-20.0, 20.0), None, 10.0)
    assert sketched(coarse) == coarse
    assert parts_problem_of(replace(read_study(FRONT), travel=coarse)).sketch is None


def test_a_sketch_never_says_that_a_candidate_is_worse() -> None:
    """It looks at fewer points of the same curves."""
    study = read_study(FRONT)
    problem = parts_problem_of(study)
    assert problem.sketch is not None
    rng = np.random.default_rng(5)
    x = problem.lower + rng.random((200, len(problem.lower))) * (problem.upper - problem.lower)
    objectives, violations = problem.largest(problem.measure(x))
    rough_objectives, rough_violations = problem.sketch.largest(problem.sketch.measure(x))
    able = (objectives < 1e3).all(axis=1) & (violations < 1e3).all(axis=1)
    assert able.sum() > 50
    assert (rough_objectives[able] <= objectives[able] + 1e-9).all()
    assert (rough_violations[able] <= violations[able] + 1e-9).all()
    assert 2 * len(problem.sketch.owner) < len(problem.owner)


def test_a_margin_is_kept_in_the_sketch_too() -> None:
    problem = parts_problem_of(read_study(FRONT))
    kept = problem.kept(np.full(problem.held, 0.25))
    assert problem.sketch is not None
    assert kept.sketch is not None
    middle = 0.5 * (problem.lower + problem.upper)[None]
    _, before = problem.sketch.largest(problem.sketch.measure(middle))
    _, after = kept.sketch.largest(kept.sketch.measure(middle))
    np.testing.assert_allclose(after, before + 0.25, atol=1e-12)


def crest(points: int) -> PartsProblem:
    """Minimise -x0 so that x0 + x1 (1 - s^2) <= 1 at `points` places s from -1 to 1: even ones miss s = 0."""
    s = np.linspace(-1.0, 1.0, points)

    def parts(x: Array) -> Array:
        rest = ((x[:, 1:] - 0.5) ** 2).sum(axis=1)
        held = x[:, :1] + x[:, 1:2] * (1.0 - s**2) - 1.0
        return np.column_stack([rest - x[:, 0], held])

    return unit_box(parts, 2, 1, [0, *[1] * points])


def test_what_a_sketch_overlooks_the_judge_brings_back() -> None:
    starts, one = np.array([[0.2, 0.5], [0.1, 0.9]]), np.ones((2, 1))
    alone = refine(crest(2), starts, one, np.zeros_like(one))
    assert (crest(21).largest(crest(21).measure(alone.x))[1] > 0.1).all()
    judged = refine(crest(2), starts, one, np.zeros_like(one), judge=crest(21))
    assert (judged.violations <= 0.0).all()
    assert judged.parts.shape == (2, 22)
    np.testing.assert_allclose(judged.parts, crest(21).measure(judged.x))
    assert judged.evaluations > alone.evaluations
