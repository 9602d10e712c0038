"""Figures of built axles by formulas against their slow twin, which differences re-solved axles."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from geometry.axle import Axle
from geometry.kernel import PLAIN
from geometry.lanes import KERNEL, LANES, in_lanes, out_of_lanes
from geometry.travel import Travel
from objectives.catalogue.tolerance_entries import Form
from objectives.evaluate import Evaluator, measure
from objectives.figure_parts import measure_drawn
from objectives.fittings.fitted import Fittings
from objectives.survey import Survey
from objectives.tolerance.build import Build, Spread
from objectives.tolerance.curves import ANCHORS, anchor_places, anchor_weights
from objectives.tolerance.quick import quick
from tests.axles import FRONT_TRAVEL, front, front_aligned, front_tilted, rear_on_upper_wishbone, rear_tilted, travel_of
from tests.batches import pick, scatter

BUILDS = {
    "all": Build(0.25, 0.05, 0.25, {}, Spread.ONE_SIGMA),
    "pivots alone": Build(pivots=0.5, spread=Spread.LIMITS),
    "one pick-up": Build(points={"rocker.pickups.roll_lower": 0.3}),
    "one of none": Build(0.1, 0.1, 0.0, {"rocker.pickups.roll_lower": 0.0}, Spread.THREE_SIGMA),
}
COUNT = 2 * LANES
NEAR = 5e-6
"""Share of the largest figure: what the slow twin adds to a curve of fewer dimensions moves its 1 % quantile so far."""


def wide() -> Axle:
    """Axles near and far from one that leaks little, so that leaks as drawn and as built rule in turn."""
    near, far = scatter(front(), (1, LANES), size=0.2), scatter(front(), (1, LANES), seed=2, size=6.0)
    rocker = replace(near.rocker, pivot=np.concatenate([near.rocker.pivot, far.rocker.pivot]))
    return replace(near, wheel=front().wheel, links=front().links, rod=front().rod, rocker=rocker)


WORDS = (
    "motion_ratio",
    "coupling",
    "progressivity",
    "progressivity_droop",
    "length_static",
    "ratio_spread",
    "ratio_drift",
    "crosstalk",
    "left_right_split",
)
FIGURES = [f"{element}.{word}" for element in ("heave", "roll") for word in WORDS if word != "left_right_split"]


@pytest.mark.parametrize("figure", [*FIGURES, "roll.left_right_split"])
@pytest.mark.parametrize("build", BUILDS)
def test_it_is_what_its_slow_twin_says(build: str, figure: str) -> None:
    batch, fittings = wide(), Fittings(build=BUILDS[build])
    lanes = Evaluator(FRONT_TRAVEL, kernel=KERNEL, fittings=fittings).survey(batch)
    plain = Evaluator(FRONT_TRAVEL, kernel=PLAIN, fittings=fittings).survey(batch)
    assert quick(lanes, figure, BUILDS[build], measure_drawn(lanes, figure)) is not None
    for form in Form:
        fast, slow = (measure(surveyed, f"{figure}.{form}").value for surveyed in (lanes, plain))
        assert fast.shape == slow.shape == (2, LANES)
        assert fast == pytest.approx(slow, rel=1e-6, abs=NEAR * float(np.abs(slow).max()) + 1e-9), form
        assert np.isfinite(slow).all()


@pytest.mark.parametrize("make", [front_tilted, front_aligned, rear_on_upper_wishbone, rear_tilted])
def test_it_is_so_about_any_axis_and_for_any_rod(make: Callable[[], Axle]) -> None:
    """A roll strut of nearly even strokes has its slow differences across the kink where the longer one changes."""
    axle, build = make(), BUILDS["all"]
    batch = replace(axle, rocker=replace(axle.rocker, pivot=axle.rocker.pivot + in_lanes(np.eye(3))))
    evaluators = [Evaluator(travel_of(axle), kernel=one, fittings=Fittings(build=build)) for one in (KERNEL, PLAIN)]
    for figure in ("roll.coupling", "heave.progressivity", "heave.ratio_drift", "roll.crosstalk"):
        fast, slow = (measure(evaluator.survey(batch), f"{figure}.rss").value for evaluator in evaluators)
        assert fast == pytest.approx(slow, rel=1e-4 if figure == "roll.crosstalk" else 1e-6), figure


def test_the_axles_tried_are_of_every_kind() -> None:
    """As drawn some leak more than errors do to them, and some less."""
    batch, build = wide(), BUILDS["all"]
    surveyed = Evaluator(FRONT_TRAVEL, kernel=KERNEL, fittings=Fittings(build=build)).survey(batch)
    drawn, as_built = (measure(surveyed, name).value for name in ("roll.crosstalk", "roll.crosstalk.p99"))
    assert (as_built < 1.5 * drawn).any()
    assert (as_built > 3.0 * drawn).any()
    assert as_built.max() > 2.0 * as_built.min()


def test_an_axle_that_cannot_be_is_null_and_its_neighbours_are_not() -> None:
    batch = wide()
    pivot = np.array(batch.rocker.pivot)
    pivot[0, 3] += 400.0
    lost = replace(batch, rocker=replace(batch.rocker, pivot=pivot))
    evaluator = Evaluator(FRONT_TRAVEL, kernel=KERNEL, fittings=Fittings(build=BUILDS["all"]))
    found, whole = (measure(evaluator.survey(one), "roll.crosstalk.p99").value for one in (lost, batch))
    assert np.isnan(found[0, 3])
    found[0, 3] = whole[0, 3]
    assert found == pytest.approx(whole, rel=1e-12)


def test_it_changes_little_where_an_axle_does() -> None:
    """The same axles are built of every candidate: the figure has a slope that a search can follow."""
    fittings = Fittings(build=BUILDS["all"])
    turns = np.linspace(0.0, 1e-3, COUNT)
    axle = front()
    pivot = axle.rocker.pivot + in_lanes(turns[:, None] * np.array([0.0, 1.0, 0.0]))
    batch = replace(axle, rocker=replace(axle.rocker, pivot=pivot))
    surveyed = Evaluator(FRONT_TRAVEL, kernel=KERNEL, fittings=fittings).survey(batch)
    steps = np.diff(out_of_lanes(measure(surveyed, "roll.crosstalk.p99").value, COUNT))
    assert np.abs(steps).max() > 0.0
    assert steps == pytest.approx(np.full(COUNT - 1, steps.mean()), rel=1e-3)


def is_quick(surveyed: Survey, figure: str, build: Build) -> bool:
    return quick(surveyed, figure, build, measure_drawn(surveyed, figure)) is not None


def test_where_there_is_no_fast_way() -> None:
    build = BUILDS["all"]
    plain = Evaluator(FRONT_TRAVEL, fittings=Fittings(build=build)).survey(front())
    assert not is_quick(plain, "roll.crosstalk", build)
    on_links = replace(build, points={"links.upper_front.inboard": 0.5})
    lanes = Evaluator(FRONT_TRAVEL, kernel=KERNEL, fittings=Fittings(build=on_links)).survey(wide())
    assert not is_quick(lanes, "roll.crosstalk", on_links)
    assert is_quick(lanes, "roll.crosstalk", build)
    assert not is_quick(lanes, "rod.tilt_max", build)
    short = Travel(wheel=(-45.0, 48.0), heave=(-1.0, 1.0), roll=(-1.0, 1.0), rack=None, step=1.0)
    few = Evaluator(short, kernel=KERNEL, fittings=Fittings(build=build)).survey(wide())
    assert not is_quick(few, "roll.crosstalk", build)
    assert np.isfinite(measure(few, "roll.crosstalk.p99").value).all()


def test_anchors_give_any_curve_of_their_order() -> None:
    points = tuple(np.linspace(-30.0, 38.0, 35).tolist())
    places = anchor_places(points)
    assert len(set(places.tolist())) == ANCHORS
    assert {0, 34} <= set(places.tolist())
    along = np.array(points)
    curve = 0.3 * along - 0.02 * along**2 + 1e-4 * along**3 - 2e-6 * along**4
    assert anchor_weights(points) @ curve[places] == pytest.approx(curve, abs=1e-9)


def test_one_axle_is_what_it_is_among_others() -> None:
    batch, fittings = wide(), Fittings(build=BUILDS["all"])
    fast = measure(Evaluator(FRONT_TRAVEL, kernel=KERNEL, fittings=fittings).survey(batch), "roll.crosstalk.p99").value
    alone = pick(batch, (1, 5), (2, LANES))
    slow = measure(Evaluator(FRONT_TRAVEL, fittings=fittings).survey(alone), "roll.crosstalk.p99").value
    assert float(fast[1, 5]) == pytest.approx(float(slow), rel=2e-7)
