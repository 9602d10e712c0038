"""The same axle sprung by corner springs and an anti-roll bar: what heave and roll struts buy.

| symbol | meaning | unit |
|---|---|---|
| K_h, K_r | rates per wheel in heave and roll, the same for both cars where that can be | N/mm |
| W | sprung weight per wheel | N |

A corner spring gives K_h in heave and in roll; the bar adds K_r - K_h in roll and never takes away: below K_h no car on
corner springs comes. The bar brings no damping: corner dampers that are right in heave have the same coefficient per
wheel in roll. A corner strut put where the heave strut is, with its inner end on the chassis in the middle of the car,
has half its ratio and so the same force, 2 W / MR_h; but the chassis takes that force, at each side, where the heave
strut takes it from the other rocker.
"""

from dataclasses import dataclass, replace

import numpy as np

from geometry.axle import Mode
from objectives.loads.pose import side_pose
from objectives.loads.pushes import element_pushes
from objectives.loads.rocker import Push, hold_rocker
from objectives.vehicle.asked import ENDS, serving
from objectives.vehicle.axle_state import AxleState
from objectives.vehicle.car_state import CarState
from objectives.vehicle.damping import per_wheel
from objectives.vehicle.rates import MM, roll_stiffness
from objectives.vehicle.transfer import GRAVITY, load_transfer, roll_gradient


@dataclass(frozen=True)
class CornerSprung:
    """One axle on corner springs beside the one that is there (`now`). Rates per wheel [N/mm], forces [N].

    `spring` in heave and roll; `bar` what the bar adds in roll (below 0: no bar does it), `bar_stiffness` of the axle
    [N.m/deg]. `one_wheel`: one wheel alone, of what can be built. `roll_damping`: handbook ratio in roll of corner
    dampers that are as now in heave. `mounts`: force into the chassis at each corner spring's inner end, standing, and
    the outer and inner one at 1 g; `pivot`: of each rocker on its bearing, standing, in both cars.
    """

    end: str
    spring: float
    bar: float
    bar_stiffness: float
    one_wheel: float
    one_wheel_now: float
    roll_damping: float
    roll_damping_now: float
    mount: float
    mount_outer: float
    mount_inner: float
    pivot: float

    @property
    def bar_does(self) -> bool:
        """Whether a bar of at least no stiffness does it."""
        return self.bar >= 0.0


@dataclass(frozen=True)
class OnCornerSprings:
    """Both axles, and the car's roll gradient with no less roll stiffness than corner springs give [rad/(m/s2)]."""

    axles: tuple[CornerSprung, CornerSprung]
    roll_gradient: float
    roll_gradient_now: float


def on_corner_springs(state: CarState) -> OnCornerSprings:
    """The same car on corner springs of the same K_h, with a bar for the rest of K_r where a bar can do it."""
    height = state.masses.height * MM
    rolling = tuple(
        replace(one, stiffness=max(one.stiffness, roll_stiffness(axle.rate(Mode.HEAVE), axle.track)))
        for one, axle in zip(state.rolling, state.axles, strict=True)
    )
    return OnCornerSprings(
        axles=(_corner_sprung(state, 0), _corner_sprung(state, 1)),
        roll_gradient=roll_gradient(rolling, height),
        roll_gradient_now=roll_gradient(state.rolling, height),
    )


def _corner_sprung(state: CarState, end: int) -> CornerSprung:
    axle = state.axles[end]
    heave, roll = axle.rate(Mode.HEAVE), axle.rate(Mode.ROLL)
    critical = state.critical[end]
    standing, outer, inner = _mounts(state, end)
    return CornerSprung(
        end=ENDS[end],
        spring=heave,
        bar=roll - heave,
        bar_stiffness=float(np.radians(roll_stiffness(roll - heave, axle.track))),
        one_wheel=(heave + max(heave, roll)) / 2.0,
        one_wheel_now=axle.one_wheel_rate,
        roll_damping=per_wheel(state.damping[end], Mode.HEAVE) / critical[Mode.ROLL],
        roll_damping_now=state.damping_ratio(end, Mode.ROLL),
        mount=standing,
        mount_outer=outer,
        mount_inner=inner,
        pivot=_pivot(axle),
    )


def _mounts(state: CarState, end: int) -> tuple[float, float, float]:
    """Force of a corner strut in the heave strut's place: standing, and at 1 g outside and inside; NaN beside a bar.

    In the corner it takes its share, K_h / K_r at most all, of what the springs shift from the inner wheel.
    """
    axle = state.axles[end]
    element = serving(axle, Mode.HEAVE)
    if not element or axle.pulls[element].bar:
        return np.nan, np.nan, np.nan
    pull = axle.pulls[element]
    ratio = abs(pull.ratio(Mode.HEAVE)) * (1.0 if pull.twin else 0.5)
    weight = state.masses.per_wheel[end] * GRAVITY
    shifted = load_transfer(state.rolling, state.masses.height * MM, GRAVITY)[end].elastic
    shifted *= min(1.0, axle.rate(Mode.HEAVE) / axle.rate(Mode.ROLL))
    return weight / ratio, (weight + shifted) / ratio, (weight - shifted) / ratio


def _pivot(axle: AxleState) -> float:
    """Force of the left rocker on its bearing, standing, whatever the struts' inner ends stand on [N]."""
    motion = axle.motion
    pose = side_pose(motion.side, motion.pairs.left)
    pushes: list[Push] = []
    for name, force in axle.forces.items():
        own = np.array([force])
        pushes.append(element_pushes(motion.side, name, motion.pairs, own, own).left)
    none, one = (hold_rocker(pose, np.array([rod]), pushes).unbalanced for rod in (0.0, 1.0))
    return float(hold_rocker(pose, -none / (one - none), pushes).size[0])
