"""The compiled leak of built axles against its slow twin, which differences re-solved axles."""

from dataclasses import replace

import numpy as np
import pytest

from geometry.axle import Axle
from geometry.kernel import PLAIN
from geometry.lanes import KERNEL, LANES, in_lanes, out_of_lanes
from geometry.travel import Travel
from objectives.evaluate import Evaluator, measure
from objectives.fittings.fitted import Fittings
from objectives.tolerance.build import Build, Spread
from objectives.tolerance.curves import ANCHORS, anchor_places, anchor_weights
from objectives.tolerance.leak import leak_p99
from tests.axles import FRONT_TRAVEL, front
from tests.batches import pick, scatter

BUILDS = {
    "all": Build(0.25, 0.05, 0.25, {}, Spread.ONE_SIGMA),
    "pivots alone": Build(pivots=0.5, spread=Spread.LIMITS),
    "one pick-up": Build(points={"rocker.pickups.roll_lower": 0.3}),
    "one of none": Build(0.1, 0.1, 0.0, {"rocker.pickups.roll_lower": 0.0}, Spread.THREE_SIGMA),
}
COUNT = 2 * LANES


def wide() -> Axle:
    """Axles near and far from one that leaks little, so that leaks as drawn and as built rule in turn."""
    near, far = scatter(front(), (1, LANES), size=0.2), scatter(front(), (1, LANES), seed=2, size=6.0)
    rocker = replace(near.rocker, pivot=np.concatenate([near.rocker.pivot, far.rocker.pivot]))
    return replace(near, wheel=front().wheel, links=front().links, rod=front().rod, rocker=rocker)


@pytest.mark.parametrize("figure", ["roll.crosstalk.p99", "heave.crosstalk.p99"])
@pytest.mark.parametrize("build", BUILDS)
def test_it_is_what_its_slow_twin_says(build: str, figure: str) -> None:
    batch, fittings = wide(), Fittings(build=BUILDS[build])
    fast = measure(Evaluator(FRONT_TRAVEL, kernel=KERNEL, fittings=fittings).survey(batch), figure)
    slow = measure(Evaluator(FRONT_TRAVEL, kernel=PLAIN, fittings=fittings).survey(batch), figure)
    assert fast.value.shape == slow.value.shape == (2, LANES)
    assert fast.value == pytest.approx(slow.value, rel=1e-6, nan_ok=True)
    assert np.isfinite(slow.value).all()
    assert figure == "heave.crosstalk.p99" or slow.value.max() > 2.0 * slow.value.min()


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


def test_where_there_is_no_fast_way() -> None:
    build = BUILDS["all"]
    plain = Evaluator(FRONT_TRAVEL, fittings=Fittings(build=build)).survey(front())
    assert leak_p99(plain, "roll", build) is None
    on_links = replace(build, points={"links.upper_front.inboard": 0.5})
    lanes = Evaluator(FRONT_TRAVEL, kernel=KERNEL, fittings=Fittings(build=on_links)).survey(wide())
    assert leak_p99(lanes, "roll", on_links) is None
    assert leak_p99(lanes, "roll", build) is not None
    short = Travel(wheel=(-45.0, 48.0), heave=(-1.0, 1.0), roll=(-1.0, 1.0), rack=None, step=1.0)
    few = Evaluator(short, kernel=KERNEL, fittings=Fittings(build=build)).survey(wide())
    assert leak_p99(few, "roll", build) is None
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
