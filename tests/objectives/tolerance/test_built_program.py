"""Goals on built axles compiled into a program against their slow twin, which differences re-solved axles."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import Axle
from geometry.lanes import LANES, in_lanes
from geometry.travel import Travel
from objectives.catalogue.tolerance_entries import Form
from objectives.evaluate import Evaluator, measure
from objectives.fittings.fitted import Fittings
from objectives.goals import Band, Best, Goal, Limit, Miss
from objectives.parts import goal_parts
from objectives.survey import StateSet, Survey, plan_states
from objectives.tolerance.build import Build, Spread
from objectives.tolerance.curves import ANCHORS, anchor_places, anchor_weights
from objectives.tolerance.program import BuiltProgram
from tests.axles import (
    FRONT_TRAVEL,
    arm,
    front,
    front_aligned,
    front_corner,
    front_tilted,
    rear_on_upper_wishbone,
    rear_tilted,
    travel_of,
)
from tests.batches import pick, scatter

BUILDS = {
    "all": Build(0.25, 0.05, 0.25, {}, Spread.ONE_SIGMA),
    "pivots alone": Build(pivots=0.5, spread=Spread.LIMITS),
    "one pick-up": Build(points={"rocker.pickups.roll_lower": 0.3}),
    "one of none": Build(0.1, 0.1, 0.0, {"rocker.pickups.roll_lower": 0.0}, Spread.THREE_SIGMA),
}
COUNT = 2 * LANES
NEAR = 2e-8
"""Share of the largest figure that the slow twin's differences are good to."""
WORDS = (
    "motion_ratio",
    "coupling",
    "progressivity",
    "progressivity_droop",
    "length_static",
    "ratio_spread",
    "ratio_drift",
    "crosstalk",
)
FIGURES = (*(f"{element}.{word}" for element in ("heave", "roll") for word in WORDS), "roll.left_right_split")


@cache
def wide() -> Axle:
    """Axles near and far from one that leaks little, so that leaks as drawn and as built rule in turn."""
    near, far = scatter(front(), (1, LANES), size=0.2), scatter(front(), (1, LANES), seed=2, size=6.0)
    rocker = replace(near.rocker, pivot=np.concatenate([near.rocker.pivot, far.rocker.pivot]))
    return replace(near, wheel=front().wheel, links=front().links, rod=front().rod, rocker=rocker)


@cache
def surveyed(build: str) -> Survey:
    """The wide batch, as its slow twin sees it."""
    return Evaluator(FRONT_TRAVEL, fittings=Fittings(build=BUILDS[build])).survey(wide())


def run(axle: Axle, build: Build, *figures: str, travel: Travel = FRONT_TRAVEL) -> Array:
    """Figures (N, G) of a batch in lanes, each known to the program."""
    goals = [Miss(figure, 0.0, 1.0) for figure in figures]
    program = BuiltProgram(goals, axle, plan_states(travel), build)
    assert program.known == tuple(range(len(figures)))
    assert program.sizes == (2,) * len(figures)
    return program.run(axle)[:, ::2]


@pytest.mark.parametrize("figure", FIGURES)
@pytest.mark.parametrize("build", BUILDS)
def test_it_is_what_its_slow_twin_says(build: str, figure: str) -> None:
    names = [f"{figure}.{form}" for form in Form]
    found = run(wide(), BUILDS[build], *names)
    for name, fast in zip(names, found.T, strict=True):
        slow = measure(surveyed(build), name).value.reshape(-1)
        assert fast == pytest.approx(slow, rel=NEAR, abs=NEAR * float(np.abs(slow).max()) + 1e-9), name
        assert np.isfinite(slow).all()


@pytest.mark.parametrize("make", [front_tilted, front_aligned, rear_on_upper_wishbone, rear_tilted])
def test_it_is_so_about_any_axis_and_for_any_rod(make: Callable[[], Axle]) -> None:
    axle, build = make(), BUILDS["all"]
    batch = replace(axle, rocker=replace(axle.rocker, pivot=axle.rocker.pivot + in_lanes(np.eye(3))))
    slow = Evaluator(travel_of(axle), fittings=Fittings(build=build)).survey(batch)
    names = [f"{one}.rss" for one in ("roll.coupling", "heave.progressivity", "heave.ratio_drift", "roll.crosstalk")]
    for name, fast in zip(names, run(batch, build, *names, travel=travel_of(axle)).T, strict=True):
        assert fast == pytest.approx(measure(slow, name).value.reshape(-1), rel=1e-7), name


def test_links_and_rods_that_differ_between_candidates() -> None:
    """Each candidate has its own outboard geometry."""
    batch, build = scatter(front(), (1, LANES), size=1.0), BUILDS["all"]
    slow = Evaluator(FRONT_TRAVEL, fittings=Fittings(build=build)).survey(batch)
    names = ["heave.motion_ratio.rss", "roll.crosstalk.p99"]
    for name, fast in zip(names, run(batch, build, *names).T, strict=True):
        assert fast == pytest.approx(measure(slow, name).value.reshape(-1), rel=1e-7), name


def test_goals_of_every_kind_have_the_parts_of_their_slow_twin() -> None:
    goals: list[Goal] = [
        Band("heave.motion_ratio.p99", 1.1, 0.05),
        Limit("roll.crosstalk.p99", 1.0, None),
        Limit("heave.progressivity.p01", 3.0, 12.0),
        Best("roll.ratio_spread.rss", "maximise"),
        Limit("roll.crosstalk", 1.0, None),
        Best("rod.tilt_max.rss", "minimise"),
    ]
    program = BuiltProgram(goals, wide(), plan_states(FRONT_TRAVEL), BUILDS["all"])
    assert program.known == (0, 1, 2, 3)
    slow = [part.reshape(COUNT, -1) for part in goal_parts(goals[:4], surveyed("all"))]
    assert program.sizes == tuple(part.shape[-1] for part in slow) == (2, 1, 2, 1)
    assert program.run(wide()) == pytest.approx(np.concatenate(slow, axis=-1), rel=1e-7, abs=1e-7)


def test_the_axles_tried_are_of_every_kind() -> None:
    """As drawn some leak more than errors do to them, and some less."""
    drawn, as_built = (measure(surveyed("all"), name).value for name in ("roll.crosstalk", "roll.crosstalk.p99"))
    assert (as_built < 1.5 * drawn).any()
    assert (as_built > 3.0 * drawn).any()
    assert as_built.max() > 2.0 * as_built.min()


def test_an_axle_that_cannot_be_is_null_and_its_neighbours_are_not() -> None:
    batch, names = wide(), [f"{figure}.{form}" for figure in FIGURES for form in ("rss", "p99")]
    pivot = np.array(batch.rocker.pivot)
    pivot[0, 3] += 400.0
    lost = replace(batch, rocker=replace(batch.rocker, pivot=pivot))
    found, whole = (run(one, BUILDS["all"], *names) for one in (lost, batch))
    assert np.isfinite(whole).all()
    assert 8 < np.isnan(found[3]).sum() < len(names)
    found[3] = whole[3]
    assert found == pytest.approx(whole, rel=1e-12)


def test_it_is_null_where_the_slow_twin_is() -> None:
    """A rod's arm so short that the loop opens within the travel: figures at static there are still, others none."""
    short = replace(front(), rocker=replace(front().rocker, rod=arm(12.0, 52.0, 0.0)))
    batch = replace(short, rocker=replace(short.rocker, pivot=short.rocker.pivot + in_lanes(np.eye(3))))
    names = [f"{figure}.rss" for figure in FIGURES]
    slow = Evaluator(FRONT_TRAVEL, fittings=Fittings(build=BUILDS["all"])).survey(batch)
    null = np.stack([np.isnan(measure(slow, name).value.reshape(-1)) for name in names], axis=-1)
    assert (np.isnan(run(batch, BUILDS["all"], *names)) == null).all()
    assert null.any(axis=0).sum() > 4
    assert not null.all(axis=0).all()


def test_a_figure_of_one_state_sees_what_lies_on_the_way_to_it() -> None:
    """Rods and arms of all sizes: the loop of some opens on the way to a state, and closes there again."""
    draw, axle = np.random.default_rng(5), front()
    length, angle = in_lanes(draw.uniform(8.0, 60.0, 512)), in_lanes(draw.uniform(-180.0, 180.0, 512))
    batch = replace(axle, rocker=replace(axle.rocker, rod=arm(length, angle, 0.0)))
    found = run(batch, BUILDS["all"], "heave.progressivity_droop.rss")[:, 0]
    plain = Evaluator(FRONT_TRAVEL, fittings=Fittings(build=BUILDS["all"])).survey(batch)
    drawn = measure(plain, "heave.progressivity_droop").value.reshape(-1)
    assert (np.isnan(found) == np.isnan(drawn)).all()
    closes = plain.side.closing.reserve[..., plain.plan.pairs[StateSet.HEAVE].left[0]].reshape(-1) > 0.0
    assert (closes & np.isnan(drawn)).any()


def test_an_idle_strut_has_no_ratios_to_its_stroke() -> None:
    """A strut from pivot to pivot: pick-ups on the rocker's axis, but for rounding, do not move."""
    axle = front()
    pickups = {**axle.rocker.pickups, "heave": arm(1e-9, 0.0, 34.0)}
    batch = replace(
        axle, rocker=replace(axle.rocker, pickups=pickups, pivot=axle.rocker.pivot + np.zeros((1, LANES, 3)))
    )
    slow = Evaluator(FRONT_TRAVEL, fittings=Fittings(build=BUILDS["all"])).survey(batch)
    for name in ("heave.crosstalk.rss", "heave.progressivity.rss", "heave.ratio_drift.p99", "heave.ratio_spread.worst"):
        assert np.isnan(measure(slow, name).value).all(), name
        assert np.isnan(run(batch, BUILDS["all"], name)).all(), name


def test_it_changes_little_where_an_axle_does() -> None:
    """The same axles are built of every candidate: the figure has a slope that a search can follow."""
    turns = np.linspace(0.0, 1e-3, COUNT)
    axle = front()
    pivot = axle.rocker.pivot + in_lanes(turns[:, None] * np.array([0.0, 1.0, 0.0]))
    batch = replace(axle, rocker=replace(axle.rocker, pivot=pivot))
    steps = np.diff(run(batch, BUILDS["all"], "roll.crosstalk.p99")[:, 0])
    assert np.abs(steps).max() > 0.0
    assert steps == pytest.approx(np.full(COUNT - 1, steps.mean()), rel=1e-3)


def test_what_it_does_not_know() -> None:
    build, plan = BUILDS["all"], plan_states(FRONT_TRAVEL)

    def known(figure: str, axle: Axle = front(), build: Build | None = build) -> bool:  # noqa: B008 - made once
        return BuiltProgram([Best(figure, "minimise")], axle, plan, build).known == (0,)

    assert known("roll.crosstalk.p99")
    assert not known("roll.crosstalk")
    assert not known("roll.crosstalk.p99", build=None)
    assert not known("roll.crosstalk.p99", build=replace(build, points={"links.upper_front.inboard": 0.5}))
    assert not known("rod.tilt_max.p99")
    assert not known("heave.left_right_split.p99")
    assert not known("corner.motion_ratio.rss", axle=front_corner())
    assert known("roll.motion_ratio.rss", axle=front_corner())
    short = Travel(wheel=(-45.0, 48.0), heave=(-1.0, 1.0), roll=(-1.0, 1.0), rack=None, step=1.0)
    few = [Best(f"roll.crosstalk.{form}", "minimise") for form in ("p99", "rss")]
    assert BuiltProgram(few, front(), plan_states(short), build).known == (1,)


def test_anchors_give_any_curve_of_their_order() -> None:
    points = tuple(np.linspace(-30.0, 38.0, 35).tolist())
    places = anchor_places(points)
    assert len(set(places.tolist())) == ANCHORS
    assert {0, 34} <= set(places.tolist())
    along = np.array(points)
    curve = 0.3 * along - 0.02 * along**2 + 1e-4 * along**3 - 2e-6 * along**4
    assert anchor_weights(points) @ curve[places] == pytest.approx(curve, abs=1e-9)


def test_one_axle_is_what_it_is_among_others() -> None:
    name, fittings = "roll.crosstalk.p99", Fittings(build=BUILDS["all"])
    fast = run(wide(), BUILDS["all"], name)[LANES + 5, 0]
    alone = pick(wide(), (1, 5), (2, LANES))
    slow = measure(Evaluator(FRONT_TRAVEL, fittings=fittings).survey(alone), name).value
    assert float(fast) == pytest.approx(float(slow), rel=NEAR)
