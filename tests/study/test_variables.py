"""Variables: a batch of candidates is the same as one by one, what does not vary stays as it is."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from geometry.arrays import Array
from geometry.axle import Arm, Axle
from geometry.hardpoints import batch_shape, place
from optimiser.study.keys import number_at
from optimiser.study.numbers import change_numbers, numbers_of
from optimiser.study.read import read_study, read_text
from optimiser.study.study import Study
from optimiser.study.variables import base_point, candidates, is_angle

EVERY_KIND = """\
vary:
  wheel.centre.z: [330, 340]
  wheel.toe: [-1, 1]
  links.upper_front.inboard.z: [430, 450]
  rod.outboard.z: [200, 210]
  rocker.pivot.y: [185, 230]
  rocker.axis.azimuth: [-5, 5]
  rocker.reference.z: [0, 0.5]
  rocker.rod.angle: [25, 85]
  rocker.pickups.heave.offset: [0, 40]
  rocker.pickups.free.y: [200, 220]
  elements.corner.chassis.x: [40, 60]
"""


@pytest.fixture
def study(changed: Callable[[dict[str, str]], str]) -> Study:
    """A study that varies a number of every kind."""
    text = changed(
        {
            "axis: [1, 0, 0]": "axis: {azimuth: 1, elevation: 2}\n    reference: [0, 1, 0.25]",
            "    pickups:\n": "    pickups:\n      free: [5, 210, 540]\n",
            "    heave: {kind": "    corner: {kind: strut, left: free, chassis: [50, 100, 300]}\n    heave: {kind",
        }
    )
    return read_text(text[: text.index("vary:")] + EVERY_KIND, "every.yaml")


def spread(study: Study, shape: tuple[int, ...]) -> Array:
    """Points of the search within bounds, the same each time."""
    low = np.array([one.low for one in study.variables])
    high = np.array([one.high for one in study.variables])
    x: Array = low + (high - low) * np.random.default_rng(7).random((*shape, len(low)))
    return x


@pytest.mark.parametrize("shape", [(), (12,), (3, 4), (0,)])
def test_a_batch_is_its_candidates_one_by_one(study: Study, shape: tuple[int, ...]) -> None:
    x = spread(study, shape)
    batch = candidates(study, x)
    assert batch_shape(batch) == shape
    together = numbers_of(batch)
    varied = {one.path for one in study.variables}
    for index in np.ndindex(shape):
        alone = numbers_of(candidates(study, x[index]))
        assert alone.keys() == together.keys()
        for path, value in alone.items():
            here = together[path][index] if together[path].shape == shape else together[path]
            assert value == here, path
    assert {path for path, value in together.items() if value.shape == shape} >= varied


def test_each_variable_reaches_its_number_in_its_unit(study: Study) -> None:
    x = spread(study, (5,))
    together = numbers_of(candidates(study, x))
    for column, variable in enumerate(study.variables):
        scale = np.pi / 180.0 if variable.path.split(".")[-1] in ("toe", "azimuth", "angle") else 1.0
        np.testing.assert_allclose(together[variable.path], x[:, column] * scale, rtol=1e-15)
        assert is_angle(variable.path) == (scale != 1.0)


def test_the_base_point_gives_the_studys_own_axle(study: Study) -> None:
    own, back = numbers_of(study.axle), numbers_of(candidates(study, base_point(study)))
    assert own == back
    assert base_point(study).shape == (len(study.variables),)


@pytest.mark.parametrize(
    ("bounds", "value"),
    [("[90, 220]", 200.0), ("[-180, -120]", -160.0), ("[-360, -300]", -160.0), ("[190, 195]", -160.0)],
)
def test_an_angle_worked_out_from_coordinates_is_turned_into_its_bounds(
    bounds: str, value: float, changed: Callable[[dict[str, str]], str]
) -> None:
    away = np.deg2rad(200.0)
    point = f"[44, {205 + 60 * np.cos(away)}, {475 + 60 * np.sin(away)}]"
    text = changed({"heave: {length: 74.43, angle: 76.42, offset: 34}": f"heave: {point}"})
    text = text[: text.index("vary:")] + f"vary:\n  rocker.pickups.heave.angle: {bounds}\n"
    assert base_point(read_text(text, "turned.yaml")) == pytest.approx([value], abs=1e-9)


def test_what_does_not_vary_keeps_its_shape(study: Study) -> None:
    batch = candidates(study, spread(study, (6,)))
    assert batch.links["lower_front"] is not study.axle.links["upper_front"]
    assert batch.links["lower_front"].inboard is study.axle.links["lower_front"].inboard
    assert batch.links["upper_front"].inboard.shape == (6, 3)
    assert batch.links["upper_front"].outboard.shape == (3,)
    heave = batch.rocker.pickups["heave"]
    assert isinstance(heave, Arm)
    assert (heave.offset.shape, heave.length.shape) == ((6,), ())


def test_only_the_rocker_varies_in_the_shipped_front_study() -> None:
    study = read_study(Path("configs/front.yaml"))
    batch = candidates(study, spread(study, (4,)))
    assert all(link.inboard.ndim == 1 and link.outboard.ndim == 1 for link in batch.links.values())
    assert batch.wheel.centre.ndim == 1
    assert place(batch).pickups["roll_lower"].shape == (4, 3)


def test_the_arguments_are_not_changed(study: Study) -> None:
    x = spread(study, (3,))
    before, own = x.copy(), {path: value.copy() for path, value in numbers_of(study.axle).items()}
    candidates(study, x)
    np.testing.assert_array_equal(x, before)
    assert numbers_of(study.axle) == own


def test_a_point_with_another_number_of_variables_is_refused(study: Study) -> None:
    with pytest.raises(ValueError, match="11 variables"):
        candidates(study, np.zeros((4, 10)))


def test_no_variables_give_the_axle_itself(sound: str) -> None:
    study = read_text(sound[: sound.index("vary:")], "a")
    assert numbers_of(candidates(study, np.zeros((0,)))) == numbers_of(study.axle)


def test_every_number_of_an_axle_can_be_changed(study: Study) -> None:
    shifted: Axle = change_numbers(study.axle, lambda _, value: value + 1.0)
    before, after = numbers_of(study.axle), numbers_of(shifted)
    assert len(before) == 64
    assert all(after[path] == value + 1.0 for path, value in before.items())


def test_the_catalogue_of_keys_knows_every_number_of_an_axle(study: Study) -> None:
    paths = numbers_of(study.axle)
    units = {path: form.unit for path in paths if (form := number_at(path)) is not None}
    assert units.keys() == paths.keys()
    angles = {path.rpartition(".")[2] for path, unit in units.items() if unit == "deg"}
    assert angles == {"toe", "camber", "azimuth", "elevation", "angle"}
    assert {path.split(".")[1] for path, unit in units.items() if unit == ""} == {"reference"}


@pytest.mark.parametrize(
    "path", ["", "wheel", "wheel.centre", "wheel.centre.w", "rod.carried_by", "links", "nothing.x"]
)
def test_what_is_no_number_has_no_form(path: str) -> None:
    assert number_at(path) is None
