"""A batch is one call and equals a loop over its axles: every output of `move` and of `evaluate`."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import Arm, Axle
from geometry.motion import move
from geometry.status import Status
from geometry.travel import AxleStates
from objectives.evaluate import evaluate
from tests.axles import KINDS, arm, front, travel_of, vector
from tests.batches import pick, scatter

SHAPES = [(), (12,), (3, 4)]
OF_MOTION = ("status", "rocker_angle", "rod_outboard", "rod_transmission", "rod_tilt")
OF_WHEEL = ("centre", "spin_axis", "camber", "toe")
OF_ENDS = ("transmission_left", "transmission_right", "tilt_left", "tilt_right")
OF_STRUT = ("length", "compression", "by_left", "by_right", "by_rack", "over_centre", *OF_ENDS)
ROUNDING = 1e-10
"""A batch takes as many steps of Newton's method as its slowest member: lengths and angles differ by rounding alone."""


def states(axle: Axle) -> AxleStates:
    rack = [0.0, 0.0, 0.0, 0.0, 12.0, -25.0] if axle.has_rack else [0.0] * 6
    left, right = [0.0, 30.0, -40.0, 17.0, 0.0, 9.0], [0.0, 30.0, 25.0, 0.0, 0.0, -14.0]
    return AxleStates(*(np.array(values, dtype=np.float64) for values in (left, right, rack)))


def everything(axle: Axle, where: AxleStates, shape: tuple[int, ...]) -> dict[str, Array]:
    """Every output of `move`, each with its batch axes broadcast to `shape`."""
    motion = move(axle, where)
    found = {name: np.asarray(getattr(motion, name)) for name in OF_MOTION}
    found |= {f"wheel.{name}": np.asarray(getattr(motion.wheel, name)) for name in OF_WHEEL}
    for element in axle.struts:
        strut = motion.strut(element)
        found |= {f"{element}.{name}": np.asarray(getattr(strut, name)) for name in OF_STRUT}
    s = len(where)
    for name, value in found.items():
        tail = value.shape[value.ndim - 1 :] if value.shape[-1:] == (s,) else value.shape[-2:]
        found[name] = np.broadcast_to(value, (*shape, *tail))
    return found


def every_index(shape: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    return iter(np.ndindex(*shape))


def assert_same(batch: Mapping[str, Array], single: Mapping[str, Array], index: tuple[int, ...]) -> None:
    assert batch.keys() == single.keys()
    for name, value in single.items():
        one = batch[name][index]
        assert one.shape == value.shape, name
        np.testing.assert_allclose(one, value, rtol=ROUNDING, atol=ROUNDING, err_msg=f"{name} at {index}")


def with_short_arm(axle: Axle, shape: tuple[int, ...]) -> Axle:
    """The first axle of a batch gets a rocker arm too short for the travel, so that a batch holds a failure."""
    rod = axle.rocker.rod
    assert isinstance(rod, Arm)
    length = np.array(np.broadcast_to(rod.length, shape))
    length[(0,) * len(shape)] = 12.0
    return replace(axle, rocker=replace(axle.rocker, rod=replace(rod, length=length)))


@pytest.mark.parametrize("links", [False, True], ids=["one set of links", "links of its own"])
@pytest.mark.parametrize("shape", SHAPES, ids=str)
@pytest.mark.parametrize("kind", KINDS)
def test_motion_of_a_batch_equals_a_loop(kind: str, shape: tuple[int, ...], links: bool) -> None:
    axle = with_short_arm(scatter(KINDS[kind](), shape, links=links), shape)
    where = states(axle)
    batch = everything(axle, where, shape)
    assert batch["status"].shape == (*shape, len(where))
    assert (batch["status"] != Status.OK).any()
    for index in every_index(shape):
        assert_same(batch, everything(pick(axle, index, shape), where, ()), index)


@pytest.mark.parametrize("shape", SHAPES, ids=str)
@pytest.mark.parametrize(
    "kind", ["five split links, rod on the upright", "two wishbones, tilted rocker", "corner struts"]
)
def test_figures_of_a_batch_equal_a_loop(kind: str, shape: tuple[int, ...]) -> None:
    axle = with_short_arm(scatter(KINDS[kind](), shape, links=True), shape)
    travel = travel_of(axle)
    batch = evaluate(axle, travel)
    assert any(np.isnan(value).any() for value in batch.values.values())
    for index in every_index(shape):
        single = evaluate(pick(axle, index, shape), travel)
        for name, value in single.values.items():
            assert batch.values[name].shape == shape, name
            assert batch.status[name].shape == shape, name
            assert np.shape(value) == (), name
            np.testing.assert_allclose(batch.values[name][index], value, rtol=1e-9, atol=1e-9, err_msg=name)
            assert batch.status[name][index] == single.status[name], name


@pytest.mark.parametrize("links", [False, True])
def test_an_empty_batch_gives_empty_arrays(links: bool) -> None:
    axle = scatter(front(), (0,), links=links)
    where = states(axle)
    found = everything(axle, where, (0,))
    assert found["rocker_angle"].shape == (0, len(where))
    assert found["heave.by_left"].shape == (0, len(where))
    figures = evaluate(axle, travel_of(axle))
    assert {value.shape for value in figures.values.values()} == {(0,)}
    assert {status.shape for status in figures.status.values()} == {(0,)}


def test_no_states_give_empty_arrays() -> None:
    none = AxleStates(np.zeros(0), np.zeros(0), np.zeros(0))
    motion = move(scatter(front(), (5,)), none)
    assert motion.status.shape == (5, 0)
    assert motion.strut("heave").length.shape == (5, 0)


def test_batch_axes_of_different_numbers_broadcast() -> None:
    base = front()
    pivots = base.rocker.pivot + np.arange(3)[:, None, None] * vector(0, 2, 1)
    arms = Arm(np.array([72.0, 74.0, 76.0, 78.0]), arm(0, 52, 0).angle, np.asarray(0.0))
    axle = replace(base, rocker=replace(base.rocker, pivot=pivots, rod=arms))
    where = states(axle)
    batch = everything(axle, where, (3, 4))
    for index in every_index((3, 4)):
        assert_same(batch, everything(pick(axle, index, (3, 4)), where, ()), index)


def test_members_of_a_batch_differ() -> None:
    """Negative control: the comparison would see a batch that repeats its first member."""
    shape = (12,)
    axle = scatter(front(), shape)
    lengths = move(axle, states(axle)).strut("heave").length[:, 1]
    assert np.unique(np.round(lengths, 6)).size == 12
