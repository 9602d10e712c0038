"""What is held, held between the travel points too: the finer grid against its slow twin, and the search with it.

The slow twin evaluates the figures of a travel whose step is a tenth, over every state of heave and roll.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import Array
from objectives.evaluate import evaluate
from objectives.goals import FAILED, Band, Goal, Held, Limit, held, violations
from optimiser.search.finer_grid import FINER, Grid
from optimiser.search.island import Budget, Settings, search
from optimiser.search.problem import parts_problem_of, problem_of
from optimiser.search.recheck import OF_BOTH_WHEELS, Recheck
from optimiser.search.snapshot import Snapshot
from optimiser.study.read import read_study
from optimiser.study.study import Study
from optimiser.study.variables import base_point, candidates

CONFIGS = Path(__file__).parents[2] / "configs"
FRONT, REAR, SPRUNG = (CONFIGS / f"{name}.yaml" for name in ("front", "rear", "front_sprung"))
OVER_BOTH: tuple[Goal, ...] = (
    Limit("heave.length_min", at_least=340.0),
    Band("roll.length_max", 420.0, 30.0),
    Limit("heave.compression_stroke", at_most=45.0),
    Limit("roll.extension_stroke", at_least=20.0),
    Limit("heave.transmission_min", at_least=60.0),
    Band("roll.transmission_min", 60.0, 20.0),
    Limit("heave.tilt_max", at_most=4.0),
    Limit("roll.tilt_max", at_least=0.0),
)
ALONG: tuple[Goal, ...] = (
    Limit("heave.crosstalk", at_most=1.9),
    Band("roll.ratio_spread", 1.0, 0.5),
    Limit("roll.ratio_drift", at_most=0.3),
    Limit("rocker.sweep", at_most=50.0),
    Limit("rod.tilt_max", at_most=12.0),
    Limit("rocker.top_height", at_most=560.0),
    Limit("rocker.toggle_margin", at_least=20.0),
    Limit("rocker.transmission_min", at_least=55.0),
)


def coarse(path: Path, step: float, goals: tuple[Goal, ...] | None = None) -> Study:
    """A study with a step so coarse that something happens between its travel points."""
    study = read_study(path)
    return replace(study, travel=replace(study.travel, step=step), goals=study.goals if goals is None else goals)


def spread(study: Study, count: int, width: float = 0.1) -> Array:
    """Points around a study's own geometry."""
    problem = problem_of(study)
    scatter = (
        width * (problem.upper - problem.lower) * np.random.default_rng(8).standard_normal((count, len(problem.lower)))
    )
    return np.clip(problem.start + scatter, problem.lower, problem.upper)


def twin(study: Study, x: Array) -> Array:
    """The violations (N, H) of a travel whose step is a tenth."""
    travel = replace(study.travel, step=study.travel.step / FINER)
    names = [goal.figure for goal in held(study.goals)]
    found = [evaluate(candidates(study, row), travel, names).values for row in x]
    return np.stack([violations(study.goals, values) for values in found])


@pytest.mark.parametrize("path", [FRONT, REAR])
def test_what_is_found_is_what_all_states_of_the_finer_grid_say(path: Path) -> None:
    goals = (*OVER_BOTH, *ALONG)
    if path == FRONT:
        goals = (*goals, Limit("heave.steer_even", at_most=0.1))
    study = coarse(path, 15.0, goals)
    x = spread(study, 12)
    wanted = twin(study, x)
    assert 0 < (wanted >= FAILED).any(axis=1).sum() < 12 or (wanted < FAILED).all()
    np.testing.assert_allclose(Recheck(study)(x), wanted, rtol=1e-9, atol=1e-9)


def test_the_study_s_own_travel_points_say_less() -> None:
    study = coarse(FRONT, 15.0, (*OVER_BOTH, *ALONG))
    x = spread(study, 12)
    own = problem_of(study).evaluate(x).violations[:, : len(study.goals)]
    gap = (twin(study, x) - own).max(axis=0)
    places = {goal.figure: k for k, goal in enumerate(study.goals)}
    for figure in ("rocker.transmission_min", "roll.transmission_min", "heave.length_min"):
        assert gap[places[figure]] > 1e-4, figure


def test_a_candidate_is_told_the_same_in_any_company() -> None:
    study = coarse(FRONT, 15.0, (*OVER_BOTH, *ALONG))
    x = spread(study, 70, 0.2)
    look = Recheck(study)
    together = look(x)
    assert np.array_equal(look(x[::-1])[::-1], together)
    alone = np.concatenate([Recheck(study)(row[None]) for row in x[:5]])
    assert np.array_equal(alone, together[:5])
    assert look(x[:0]).shape == (0, len(study.goals))


def test_what_cannot_be_there_fails() -> None:
    study = coarse(FRONT, 15.0, (*OVER_BOTH, *ALONG))
    base = problem_of(study).start
    x = base + (spread(study, 60, 0.9) - base) * np.linspace(0.05, 3.0, 60)[:, None]
    found, wanted = Recheck(study)(x), twin(study, x)
    assert 0 < (wanted >= FAILED).any(axis=1).sum() < 60
    assert np.array_equal(found >= FAILED, wanted >= FAILED)


def test_every_figure_of_both_wheels_is_tried_here() -> None:
    assert {f"E.{goal.figure.split('.')[1]}" for goal in OVER_BOTH} == OF_BOTH_WHEELS


def test_crests_are_the_states_that_no_neighbour_tops() -> None:
    grid = Grid(replace(read_study(FRONT).travel, step=10.0))
    states = grid.plan.pairs
    assert len(grid) > 30
    heights = np.random.default_rng(1).standard_normal((2, len(grid)))
    heights[1] = np.arange(len(grid))
    crests = grid.crests(heights)
    assert states
    assert crests[np.arange(2), heights.argmax(axis=1)].all()
    assert crests[0].sum() > 3
    assert not crests[np.arange(2), heights.argmin(axis=1)].any()


def searched(study: Study, evaluations: int, *, looking: bool, start: Snapshot | None = None) -> Snapshot:
    look = Recheck(study) if looking else None
    budget, settings = Budget(evaluations), Settings(study.seed)
    *_, end = search(problem_of(study), budget, settings, start, parts=parts_problem_of(study), look=look)
    return end


@pytest.fixture(scope="module")
def rough() -> Study:
    """A study whose travel points are so far apart that its members miss what is held between them."""
    return coarse(FRONT, 20.0)


@pytest.fixture(scope="module")
def kept(rough: Study) -> Snapshot:
    return searched(rough, 60_000, looking=True)


def test_a_search_that_does_not_look_keeps_members_that_miss(rough: Study) -> None:
    end = searched(rough, 60_000, looking=False)
    missed = (twin(rough, end.x[:: max(1, len(end.x) // 40)]) > 0.0).any(axis=1)
    assert missed.sum() > 5
    assert end.growth[-1].taken_out == 0
    assert end.margin == ()


def test_a_search_that_looks_keeps_none_of_them(rough: Study, kept: Snapshot) -> None:
    assert len(kept.ids) > 50
    some = kept.x[:: len(kept.x) // 50]
    assert (twin(rough, some) <= 0.0).all()
    assert (Recheck(rough)(kept.x) <= 0.0).all()
    assert kept.growth[-1].taken_out > 5


def test_the_margin_is_kept_where_something_was_missed_and_nowhere_else(rough: Study, kept: Snapshot) -> None:
    goals: dict[str, tuple[Held, float]] = {
        goal.figure: (goal, margin) for goal, margin in zip(held(rough.goals), kept.margin, strict=True)
    }
    assert goals["rocker.transmission_min"][1] > 0.1
    assert goals["heave.motion_ratio"][1] == goals["heave.length_static"][1] == 0.0
    assert all(margin < 1.0 for goal, margin in goals.values() if isinstance(goal, Band))


def test_a_resumed_search_goes_on_with_the_margin_and_the_count(rough: Study, kept: Snapshot) -> None:
    more = searched(rough, 90_000, looking=True, start=kept)
    assert (Recheck(rough)(more.x) <= 0.0).all()
    assert all(now >= then for now, then in zip(more.margin, kept.margin, strict=True))
    assert more.growth[-1].taken_out >= kept.growth[-1].taken_out
    assert more.growth[-1].hypervolume >= kept.growth[-1].hypervolume


def test_rates_and_loads_are_what_they_are_on_any_grid() -> None:
    study = read_study(SPRUNG)
    goals = {goal.figure: place for place, goal in enumerate(held(study.goals))}
    x = base_point(study)[None]
    found = Recheck(study)(x)
    assert found.shape == (1, len(goals))
    assert (found[0, [goals["axle.heave_rate"], goals["axle.roll_rate"], goals["rod.buckling_factor"]]] < 0.0).all()
    assert found[0, goals["roll.crosstalk"]] == pytest.approx(0.0266 - 1.0, abs=2e-3)
