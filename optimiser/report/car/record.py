"""What a whole car does: the record behind `rockwright car`, computed once, then shown or written out.

Lengths mm, angles deg, forces N, rates N/mm, damping N.s/mm, frequencies Hz, speeds m/s. Pairs are front and rear,
fours front left, front right, rear left, rear right. Roll as in ISO 8855: positive lifts the left side, the wheel state
r < 0; pitch positive is nose down.
"""

from dataclasses import dataclass

from geometry.arrays import Array
from geometry.axle import Mode
from objectives.vehicle.asked import AskedRate
from objectives.vehicle.asked_dampers import AskedDamper
from objectives.vehicle.budget import Budget
from objectives.vehicle.car import Car
from objectives.vehicle.corner_springs import OnCornerSprings
from objectives.vehicle.lap import AxleInLap, Manoeuvre
from objectives.vehicle.mode_names import NamedMode
from objectives.vehicle.platform import Braking, Cornering
from objectives.vehicle.ride_height import RideHeight


@dataclass(frozen=True)
class AxleRecord:
    """One axle at static. `sprung_mass` per wheel; `rate`, its `geometric` part, `ride` (tyre in series): per wheel.

    `roll_stiffness` of the springs and `ride_roll_stiffness` with the tyres [N.m/deg]. `heave_frequency` of the sprung
    mass on this axle. `forces` of the springs [N, of a bar N.m]. `centre_travel`, `centre_height` (N,): the roll
    centre's height through heave.
    """

    end: str
    sprung_mass: float
    unsprung: float
    tyre_rate: float
    track: float
    contact_track: float
    rate: dict[Mode, float]
    geometric: dict[Mode, float]
    ride: dict[Mode, float]
    cross: float
    one_wheel: float
    heave_frequency: float
    roll_stiffness: float
    ride_roll_stiffness: float
    roll_centre: float
    static_miss: float
    forces: dict[str, float]
    centre_travel: Array
    centre_height: Array


@dataclass(frozen=True)
class StrutAtSpeed:
    """Springs of one element at each speed (N,): compression and force [mm, N; of a bar deg, N.m], and how
    far the element is from slack and from solid [mm] (inf where there is no such thing)."""

    name: str
    of_bar: bool
    compression: Array
    force: Array
    to_slack: Array
    to_solid: Array


@dataclass(frozen=True)
class AxleAtSpeed:
    """One axle at each speed. `frequency` in heave there; `travel_left` until the axle's range of heave ends [mm];
    `gain`: downforce by loss of ride height, `spare`: the ride rate in heave less it, both of the axle [N/mm]."""

    end: str
    balance: RideHeight
    frequency: Array
    travel_left: Array
    gain: Array
    spare: Array
    struts: tuple[StrutAtSpeed, ...]


@dataclass(frozen=True)
class Kerb:
    """One `wheel` of the left side on a kerb of `height`: `fast`, the body has not moved yet; `slow`, it has settled.

    Each (4,): what the ground presses more on every wheel [N], fast by the springs as they are, slow by their rates at
    static. Fast: `travel` of the wheel in the body [mm], and the elements with a coil that is `solid`; NaN where that
    lies beyond the axle's range. Slow: `heave` [mm], `pitch`, `roll` [deg] of the body.
    """

    wheel: str
    height: float
    fast: Array
    slow: Array
    travel: float
    solid: tuple[str, ...]
    heave: float
    pitch: float
    roll: float


@dataclass(frozen=True)
class CarAnalysis:
    """A whole car. `weight` [N]; `warp` stiffness [N.m/deg]; `at_speed` is empty where no air is.

    `speed_pitch`: how far the body pitches against standing still at each speed, nose down positive [deg], and
    `speed_front_share` of the downforce there (N,), NaN where an axle does not balance, or at no downforce.

    `lap`: each axle in each of `manoeuvres`; `budgets` of bump travel; `lets_go`: lateral acceleration at which an
    opposed spring of each axle lets go [g].
    """

    car: Car
    weight: float
    sprung_mass: float
    sprung_height: float
    axles: tuple[AxleRecord, AxleRecord]
    modes: tuple[NamedMode, ...]
    warp: float
    cornering: Cornering
    braking: Braking
    at_speed: tuple[AxleAtSpeed, ...]
    speed_pitch: Array
    speed_front_share: Array
    kerbs: tuple[Kerb, ...]
    manoeuvres: tuple[Manoeuvre, ...]
    lap: tuple[tuple[AxleInLap, ...], tuple[AxleInLap, ...]]
    budgets: tuple[Budget, ...]
    lets_go: tuple[float, float]
    rates: tuple[AskedRate, ...]
    dampers: tuple[AskedDamper, ...]
    corners: OnCornerSprings
    front_roll_share: float
    notes: tuple[str, ...]
