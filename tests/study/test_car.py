"""Reading a car file: its numbers, and every fault of it and of its axles' files in one go."""

from pathlib import Path

import pytest

from objectives.vehicle.aero import STANDARD_DENSITY
from objectives.vehicle.car import KERB
from optimiser.errors import UnreadableFileError
from optimiser.study.car import CarFaultsError, read_car
from tests.car_files import CAR, write_car


def faults(folder: Path, text: str) -> CarFaultsError:
    with pytest.raises(CarFaultsError) as caught:
        read_car(write_car(folder, text))
    return caught.value


def test_a_car_is_read(tmp_path: Path) -> None:
    car = read_car(write_car(tmp_path))
    assert (car.name, car.mass, car.front_share) == ("Two-seat track car", 1240.0, 0.43)
    assert (car.wheelbase, car.cg_height) == (2700.0, 430.0)
    assert (car.roll_inertia, car.pitch_inertia) == (310.0, 1150.0)
    assert [(one.unsprung, one.tyre_rate) for one in car.axles] == [(38.0, 270.0), (44.0, 300.0)]
    assert car.front.axle.has_rack
    assert not car.rear.axle.has_rack
    assert set(car.rear.fittings.springs) == {"heave", "roll"}
    assert car.aero is not None
    assert car.aero.density == STANDARD_DENSITY
    assert (car.aero.lift_area, car.aero.front_share, car.aero.growth) == (3.2, 0.44, (0.005, 0.0025))
    assert car.speeds == (30.0, 50.0, 70.0)
    assert (car.targets.front_heave_frequency, car.targets.roll_gradient) == (3.2, 1.2)
    assert car.targets.heave_damping is None
    assert car.targets.spring_rates == (180.0, 220.0)
    assert (car.kerb, car.brake_front_share) == (20.0, 0.6)


def test_what_may_be_missing(tmp_path: Path) -> None:
    short = "\n".join(line for line in CAR.splitlines() if line.split(":")[0] not in OPTIONAL)
    car = read_car(write_car(tmp_path, short))
    assert car.aero is None
    assert car.speeds == ()
    assert car.targets.roll_gradient is None
    assert car.kerb == KERB
    assert car.brake_front_share is None


OPTIONAL = ("aero", "targets", "kerb", "brake_front_share")


@pytest.mark.parametrize(
    ("old", "new", "path", "told"),
    [
        ("mass: 1240", "mass: -5", "mass", "above 0"),
        ("kerb: 20", "kerbs: 20", "kerbs", "did you mean kerb?"),
        ("front_share: 0.43", "front_share: 43", "front_share", "from 0.05 to 0.95"),
        ("cg_height: 430", "", "cg_height", "no key cg_height"),
        ("inertia: {roll: 310, pitch: 1150}", "inertia: {roll: 310}", "inertia.pitch", "no key pitch"),
        ("speeds: [30, 50, 70]", "speeds: []", "aero.speeds", "1 to 30 speeds"),
        ("speeds: [30, 50, 70]", "speeds: 30", "aero.speeds", "list"),
        ("spring_rates: [180, 220]", "spring_rates: [180, soft]", "targets.spring_rates[1]", "'soft'"),
        ("unsprung: 38", "unsprung: 300", "front.unsprung", "less than half of that"),
        ("axles/front.yaml", "axles/frnt.yaml", "front.axle", "which cannot be read"),
        ("axles/front.yaml", "axles", "front.axle", "which cannot be read"),
        ("axles/front.yaml", "3", "front.axle", "quotes"),
        ("roll_gradient: 1.2", "roll_gradient: 1_2", "targets.roll_gradient", "underscores"),
    ],
)
def test_each_fault_names_its_place(tmp_path: Path, old: str, new: str, path: str, told: str) -> None:
    assert old in CAR
    error = faults(tmp_path, CAR.replace(old, new))
    (own,) = error.errors
    (fault,) = own.faults
    assert fault.path == path
    assert told in str(error)
    assert "car.yaml:" in str(error)


def test_faults_of_all_three_files_come_at_once_each_under_its_own_name(tmp_path: Path) -> None:
    path = write_car(tmp_path, CAR.replace("mass: 1240", "mass: heavy"))
    for name in ("front.yaml", "rear.yaml"):
        axle = tmp_path / "axles" / name
        axle.write_text(axle.read_text(encoding="utf-8").replace("rate: 90", "rate: 0"), encoding="utf-8")
    with pytest.raises(CarFaultsError) as caught:
        read_car(path)
    told = str(caught.value)
    assert [Path(one.file_name).name for one in caught.value.errors] == ["car.yaml", "front.yaml", "rear.yaml"]
    assert all(f"{name}: 1 fault" in told for name in ("car.yaml", "front.yaml", "rear.yaml"))
    assert "springs.roll.rate" in told


def test_one_faulty_axle_file_for_both_ends_is_told_once(tmp_path: Path) -> None:
    path = write_car(tmp_path, CAR.replace("axles/rear.yaml", "axles/front.yaml"))
    axle = tmp_path / "axles" / "front.yaml"
    axle.write_text(axle.read_text(encoding="utf-8").replace("rate: 90", "rate: 0"), encoding="utf-8")
    with pytest.raises(CarFaultsError) as caught:
        read_car(path)
    assert len(caught.value.errors) == 1


def test_an_axle_without_springs_is_a_fault(tmp_path: Path) -> None:
    path = write_car(tmp_path)
    (tmp_path / "axles" / "rear.yaml").write_text(
        (Path(__file__).parents[2] / "configs" / "rear.yaml").read_text(encoding="utf-8"), encoding="utf-8"
    )
    with pytest.raises(CarFaultsError, match="an axle without springs") as caught:
        read_car(path)
    assert caught.value.errors[0].faults[0].path == "rear.axle"


def test_a_study_in_a_cars_place_is_told_by_one_fault(tmp_path: Path) -> None:
    write_car(tmp_path)
    with pytest.raises(CarFaultsError, match=r"under front\.axle or rear\.axle") as caught:
        read_car(tmp_path / "axles" / "front.yaml")
    assert [fault.path for fault in caught.value.errors[0].faults] == ["axle"]


def test_no_car_file_at_all(tmp_path: Path) -> None:
    with pytest.raises(UnreadableFileError, match=r"none\.yaml"):
        read_car(tmp_path / "none.yaml")


@pytest.mark.parametrize(
    "text", ["", "[]", "a: &x 1\nb: *x", "x: !!python/object:os.system {}", "format: 1\nformat: 1"]
)
def test_hostile_and_empty_files_are_faults(tmp_path: Path, text: str) -> None:
    assert faults(tmp_path, text).errors
