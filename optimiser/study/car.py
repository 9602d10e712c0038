"""Reads a car file and the files of its two axles: all their faults at once, each under its own file's name."""

from contextlib import suppress
from pathlib import Path

from objectives.vehicle.aero import STANDARD_DENSITY, Aero
from objectives.vehicle.car import KERB, Car, CarAxle, Targets
from optimiser.errors import RockwrightError, UnreadableFileError
from optimiser.study.car_keys import CAR
from optimiser.study.document import compose_into, load_text, shown_path
from optimiser.study.faults import Collector, FaultsError, TooManyFaultsError, shown
from optimiser.study.nodes import Branch, Node
from optimiser.study.read import read_study
from optimiser.study.reading import Reading, index
from optimiser.study.study import Study
from optimiser.study.walk import Quantity, Values, walk

ENDS = ("front", "rear")
PERCENT = 0.01


class CarFaultsError(RockwrightError):
    """The faults of a car file and of its axles' files, file by file."""

    def __init__(self, errors: list[FaultsError]) -> None:
        self.errors = tuple(errors)
        super().__init__("\n\n".join(str(error) for error in errors))


def read_car(path: Path) -> Car:
    """The car in a file; the paths of its axles count from that file's folder.

    Raises `CarFaultsError` with every fault of all three files, and `UnreadableFileError` where the car file cannot be
    read at all.
    """
    text, faults, errors = load_text(path), Collector(), list[FaultsError]()
    car = None
    with suppress(TooManyFaultsError):
        root = compose_into(faults, text)
        _no_study(root, faults)
        reading = index(walk(CAR, root, faults), faults)
        studies = {end: _study(reading, path.parent, end, errors) for end in ENDS}
        if not faults.faults:
            car = _car(reading, studies)
    if faults.faults:
        errors.insert(0, FaultsError(faults.faults, shown_path(path), text))
    if errors or car is None:
        raise CarFaultsError(errors)
    return car


def _no_study(root: Node, faults: Collector) -> None:
    """Tell a study or a hand-off file, of which a car has two, by one fault in place of one for each of its keys."""
    entry = next((one for one in root.entries if one.name == "axle"), None) if isinstance(root, Branch) else None
    if entry is not None:
        hint = "write a car file, and name this one in it under front.axle or rear.axle"
        faults.add(entry.place, "axle", "an axle of its own, as in a study", "a car on two axles", hint)
        raise TooManyFaultsError


def _study(reading: Reading, folder: Path, end: str, errors: list[FaultsError]) -> Study | None:
    """The study of an axle; None where there is none, and why is told."""
    key = f"{end}.axle"
    written = reading.text(key)
    if written is None:
        return None
    expected = "the path of a study or hand-off file, counted from the car file's folder"
    try:
        study = read_study(folder / written)
    except FaultsError as error:
        if all(error.file_name != one.file_name for one in errors):
            errors.append(error)
        return None
    except UnreadableFileError:
        reading.fault(key, f"{shown(written)}, which cannot be read", expected, "give the path of a file that is there")
        return None
    if not study.fittings.springs:
        hint = "add the section springs to that file"
        reading.fault(key, f"{shown(written)}, an axle without springs", "an axle that springs hold up", hint)
    return study


def _car(reading: Reading, studies: dict[str, Study | None]) -> Car | None:
    """The car; None, with the fault noted, where its parts do not fit each other."""
    front, rear = (_axle(reading, end, studies[end]) for end in ENDS)
    if not _stands(reading) or front is None or rear is None:
        return None
    return Car(
        name=reading.text("name") or "",
        mass=reading.number("mass"),
        front_share=reading.number("front_share"),
        wheelbase=reading.number("wheelbase"),
        cg_height=reading.number("cg_height"),
        roll_inertia=reading.number("inertia.roll"),
        pitch_inertia=reading.number("inertia.pitch"),
        front=front,
        rear=rear,
        aero=_aero(reading) if reading.has("aero") else None,
        speeds=_many(reading, "aero.speeds"),
        targets=_targets(reading),
        kerb=reading.number("kerb") if reading.has("kerb") else KERB,
        brake_front_share=_optional(reading, "brake_front_share"),
    )


def _axle(reading: Reading, end: str, study: Study | None) -> CarAxle | None:
    if study is None:
        return None
    unsprung, tyre_rate = (reading.number(f"{end}.{key}") for key in ("unsprung", "tyre_rate"))
    return CarAxle(study.axle, study.travel, study.fittings, unsprung, tyre_rate)


def _stands(reading: Reading) -> bool:
    """Whether each axle carries more than its own wheels."""
    mass, share = reading.number("mass"), reading.number("front_share")
    before = len(reading.faults)
    for end, part in zip(ENDS, (share, 1.0 - share), strict=True):
        wheels, whole = 2.0 * reading.number(f"{end}.unsprung"), mass * part
        if wheels >= whole:
            found = f"two wheels of {wheels / 2.0:g} kg under an axle that carries {whole:.6g} kg in all"
            reading.fault(f"{end}.unsprung", found, "less than half of that", "mend unsprung, mass or front_share")
    return len(reading.faults) == before


def _aero(reading: Reading) -> Aero:
    density = _optional(reading, "aero.air_density")
    front, rear = (PERCENT * (_optional(reading, f"aero.growth.{end}") or 0.0) for end in ENDS)
    return Aero(
        lift_area=reading.number("aero.lift_area"),
        front_share=reading.number("aero.front_share"),
        density=STANDARD_DENSITY if density is None else density,
        growth=(front, rear),
    )


def _targets(reading: Reading) -> Targets:
    def target(name: str) -> float | None:
        return _optional(reading, f"targets.{name}")

    return Targets(
        front_heave_frequency=target("front_heave_frequency"),
        rear_heave_frequency=target("rear_heave_frequency"),
        roll_gradient=target("roll_gradient"),
        front_roll_share=target("front_roll_share"),
        heave_damping=target("heave_damping"),
        roll_damping=target("roll_damping"),
        spring_rates=_many(reading, "targets.spring_rates"),
    )


def _optional(reading: Reading, path: str) -> float | None:
    return reading.number(path) if reading.has(path) else None


def _many(reading: Reading, path: str) -> tuple[float, ...]:
    """The list of numbers at a path; empty where there is none."""
    value = reading.values.get(path)
    items = value.items if isinstance(value, Values) else ()
    return tuple(item.number for item in items if isinstance(item, Quantity))
