"""A car as its file tells it, in the house's units: frozen records, and what masses follow from them.

Lengths mm, masses kg, rates N/mm, moments of inertia kg.m2, speeds m/s, frequencies Hz; roll gradient deg per g.
"""

from dataclasses import dataclass, replace

from geometry.axle import Axle
from geometry.travel import Travel
from objectives.fittings.fitted import Fittings
from objectives.vehicle.aero import Aero
from objectives.vehicle.transfer import GRAVITY

KERB = 25.0
"""Height of a kerb under one wheel [mm], where the file names none. Common practice, no source."""


@dataclass(frozen=True)
class CarAxle:
    """One axle of a car: `unsprung` mass per wheel, `tyre_rate` of each tyre."""

    axle: Axle
    travel: Travel
    fittings: Fittings
    unsprung: float
    tyre_rate: float


@dataclass(frozen=True)
class Targets:
    """What is asked of a car; None where nothing is.

    Frequencies in heave of the sprung mass on each axle, tyres included; `roll_gradient`; the front axle's share of the
    roll stiffness, tyres included; damping ratios in heave and in roll; `spring_rates` that are to be had.
    """

    front_heave_frequency: float | None = None
    rear_heave_frequency: float | None = None
    roll_gradient: float | None = None
    front_roll_share: float | None = None
    heave_damping: float | None = None
    roll_damping: float | None = None
    spring_rates: tuple[float, ...] = ()


@dataclass(frozen=True)
class Car:
    """All of a car: `mass` with everything, its `front_share`, height of its centre of mass; inertia of the sprung
    mass. `brake_front_share`: the front's share of the braking force; None: as the loads are at 1 g."""

    name: str
    mass: float
    front_share: float
    wheelbase: float
    cg_height: float
    roll_inertia: float
    pitch_inertia: float
    front: CarAxle
    rear: CarAxle
    aero: Aero | None = None
    speeds: tuple[float, ...] = ()
    targets: Targets = Targets()
    kerb: float = KERB
    brake_front_share: float | None = None

    @property
    def axles(self) -> tuple[CarAxle, CarAxle]:
        """Front and rear."""
        return self.front, self.rear

    @property
    def axle_masses(self) -> tuple[float, float]:
        """What stands on each axle, wheels included [kg]."""
        return self.mass * self.front_share, self.mass * (1.0 - self.front_share)


@dataclass(frozen=True)
class Masses:
    """`sprung` mass; its share `per_wheel` of each axle [kg]; `height` of its centre; `ahead`: each axle's x from it
    [mm]."""

    sprung: float
    per_wheel: tuple[float, float]
    height: float
    ahead: tuple[float, float]


def masses_of(car: Car) -> Masses:
    """The sprung mass: what is left of the whole without the wheels, each at the height of its centre."""
    front, rear = (whole / 2.0 - axle.unsprung for whole, axle in zip(car.axle_masses, car.axles, strict=True))
    sprung = 2.0 * (front + rear)
    wheels = sum(2.0 * one.unsprung * float(one.axle.wheel.centre[2]) for one in car.axles)
    behind = car.wheelbase * 2.0 * rear / sprung
    return Masses(
        sprung=sprung,
        per_wheel=(front, rear),
        height=(car.mass * car.cg_height - wheels) / sprung,
        ahead=(behind, behind - car.wheelbase),
    )


def carrying(axle: CarAxle, mass: float) -> Fittings:
    """What is fitted to an axle that carries `mass` per wheel [kg], whatever weight its own file names."""
    return replace(axle.fittings, loads=replace(axle.fittings.loads, sprung_per_wheel=mass * GRAVITY))
