"""The whole car at its static height: masses, axles, and the models of its vibration and of its roll."""

from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import Array
from geometry.axle import Mode
from objectives.vehicle.axle_state import AxleState, axle_at_static
from objectives.vehicle.car import Car, Masses, carrying, masses_of
from objectives.vehicle.damping import critical_roll, damping_block, per_wheel
from objectives.vehicle.rates import MM, critical_damping, in_series, roll_stiffness
from objectives.vehicle.system import Body, System, WheelSet, assemble, axle_block, two_axles
from objectives.vehicle.transfer import RollingAxle

WHEELS = ("front left", "front right", "rear left", "rear right")
"""Names of the wheels, in the order of every list of four."""


@dataclass(frozen=True)
class CarState:
    """A car at static; each pair is front and rear.

    `damping`: of each axle by its wheels' travels (2, 2) [N.s/mm]. `critical`: the coefficient per wheel that is
    critical in each mode of each axle [N.s/mm], in heave of the sprung mass on its own axle with the tyre in series, in
    roll of the whole body about its centre of mass.
    """

    car: Car
    masses: Masses
    axles: tuple[AxleState, AxleState]
    damping: tuple[Array, Array]
    critical: tuple[dict[Mode, float], dict[Mode, float]]

    def ride_rate(self, end: int, mode: Mode) -> float:
        """Rate per wheel of an axle with its tyre in series [N/mm]."""
        return in_series(self.axles[end].rate(mode), self.car.axles[end].tyre_rate)

    def damping_ratio(self, end: int, mode: Mode) -> float:
        """Damping per wheel of an axle by the critical one; 0 where none is."""
        critical = self.critical[end][mode]
        return per_wheel(self.damping[end], mode) / critical if critical > 0.0 else 0.0

    @property
    def ride_roll_stiffness(self) -> tuple[float, float]:
        """Roll stiffness of each axle with its tyres [N.m/rad]."""
        front, rear = (roll_stiffness(self.ride_rate(end, Mode.ROLL), self.axles[end].track) for end in (0, 1))
        return front, rear

    @property
    def rolling(self) -> tuple[RollingAxle, RollingAxle]:
        """Both axles as they meet a corner, in SI units."""
        front, rear = (self._rolling(end) for end in (0, 1))
        return front, rear

    @property
    def system(self) -> System:
        """The car of seven degrees of freedom, in SI units."""
        blocks = [axle_block(one.rate(Mode.HEAVE), one.rate(Mode.ROLL), one.cross_rate) / MM for one in self.axles]
        front, rear = (block / MM for block in self.damping)
        return assemble(self._body, self._wheels, two_axles(*blocks), two_axles(front, rear))

    @property
    def _body(self) -> Body:
        return Body(self.masses.sprung, self.car.pitch_inertia, self.car.roll_inertia)

    @property
    def _wheels(self) -> WheelSet:
        ends = np.array([0, 0, 1, 1])
        half = np.array([one.track / 2.0 for one in self.axles]) * MM
        return WheelSet(
            WHEELS,
            x=np.array(self.masses.ahead)[ends] * MM,
            y=half[ends] * np.array([1.0, -1.0, 1.0, -1.0]),
            mass=np.array([one.unsprung for one in self.car.axles])[ends],
            tyre=np.array([one.tyre_rate for one in self.car.axles])[ends] / MM,
        )

    def _rolling(self, end: int) -> RollingAxle:
        state, axle = self.axles[end], self.car.axles[end]
        return RollingAxle(
            sprung_mass=2.0 * self.masses.per_wheel[end],
            unsprung_mass=2.0 * axle.unsprung,
            roll_centre=state.roll_centre * MM,
            unsprung_height=state.wheel_height * MM,
            track=state.contact_track * MM,
            stiffness=roll_stiffness(state.rate(Mode.ROLL), state.track),
            tyres=roll_stiffness(axle.tyre_rate, state.track),
        )


def car_at_static(car: Car) -> CarState:
    """The car at static, every axle carrying its share of the car's own weight.

    Raises ValueError where an axle carries no sprung mass, or where a rate in heave or roll is not above 0.
    """
    masses = masses_of(car)
    if min(masses.per_wheel) <= 0.0:
        raise ValueError("the wheels weigh more than what stands on them")
    front, rear = (
        axle_at_static(axle, carrying(axle, mass)) for axle, mass in zip(car.axles, masses.per_wheel, strict=True)
    )
    for name, state in (("front", front), ("rear", rear)):
        for mode in Mode:
            if not state.rate(mode) > 0.0:
                raise ValueError(f"the {name} axle has no rate in {mode}: {state.rate(mode):.3g} N/mm per wheel")
    bare = CarState(car, masses, (front, rear), (np.zeros((2, 2)), np.zeros((2, 2))), ({}, {}))
    critical = _critical(bare, 0), _critical(bare, 1)
    damping = tuple(
        damping_block(state.pulls, axle.fittings.dampers, one)
        for state, axle, one in zip(bare.axles, car.axles, critical, strict=True)
    )
    return replace(bare, damping=(damping[0], damping[1]), critical=critical)


def _critical(state: CarState, end: int) -> dict[Mode, float]:
    stiffness = state.ride_roll_stiffness
    return {
        Mode.HEAVE: critical_damping(state.ride_rate(end, Mode.HEAVE), state.masses.per_wheel[end]),
        Mode.ROLL: critical_roll(stiffness[end], sum(stiffness), state.car.roll_inertia, state.axles[end].track),
    }
