"""An axle at rest under the load cases of a hand-off: where springs and ground balance, and what every part carries.

The state (z_left, z_right) is where the springs' energy resists the ground's work: dU/dz = Q on either side. Q is the
work of the ground's force per mm on the point of the upright that is on the ground, as solved poses move it.
"""

import math
from dataclasses import dataclass

import numpy as np

from optimiser.report.handoff.second_reading.plain import MIRROR, Tree, UnreadableError, Vector, section, skew, vector
from optimiser.report.handoff.second_reading.side import OK, SidePoint
from optimiser.report.handoff.second_reading.slopes import rough_slope, slope
from optimiser.report.handoff.second_reading.sprung import LEFT, RIGHT, Derivative, Sprung
from optimiser.report.handoff.second_reading.statics import Carried, hold
from optimiser.report.handoff.second_reading.statics import Side as StaticSide
from optimiser.report.handoff.second_reading.struts import State, strut_points

NEWTONS = 80
"""Steps at most until the axle rests."""
RESTS = 1e-9
"""The axle rests when no wheel's force misses by more than this share of the case's largest force."""
ROUGHLY = 1e-5
"""The same share for a start by rough derivatives."""
LONGEST = 15.0
"""Longest step of either wheel [mm]."""
NUDGE = 1e-3
"""Travel over which the springs' resistance is taken [mm]."""
PAST_END = 30.0
"""How far past either end of its travel a wheel may come to rest [mm]."""


@dataclass(frozen=True)
class PlainCase:
    """The ground's force on each tyre, left and right, in left-hand axes [N]: the right one's is mirrored."""

    forces: tuple[Vector, Vector]
    brake_inboard: bool


@dataclass(frozen=True)
class Rest:
    """Where an axle rests and how: `status` is `ok`, `past_travel`, `no_balance` or the axle's own."""

    state: State
    status: str
    sides: tuple[Carried, Carried] | None
    pivots: tuple[float, float] = (math.nan, math.nan)


def plain_cases(tree: Tree) -> dict[str, PlainCase]:
    """The load cases of a hand-off. Raises UnreadableError, naming the entry."""
    loads = section(tree, "loads", "") if "loads" in tree else {}
    cases = section(loads, "cases", "loads") if "cases" in loads else {}
    return {name: _case(section(cases, name, "loads.cases"), f"loads.cases.{name}") for name in cases}


def rest_under(sprung: Sprung, case: PlainCase) -> Rest:
    """Let an axle come to rest under a case, from static."""
    return _Settling(sprung, case).rest()


def _case(tree: Tree, path: str) -> PlainCase:
    keys = ("both", "both") if "both" in tree else ("left", "right")
    left, right = (vector(tree, key, path) for key in keys)
    torque = tree.get("torque_on", "upright")
    if torque not in ("upright", "chassis"):
        raise UnreadableError(f"{path}.torque_on: upright or chassis is needed here, found {torque!r}")
    return PlainCase((left, MIRROR * right), torque == "chassis")


class _Settling:
    """One axle under one case."""

    def __init__(self, sprung: Sprung, case: PlainCase) -> None:
        self._sprung, self._case = sprung, case
        self._reading, self._axle = sprung.reading, sprung.reading.axle
        self._largest = max(float(np.max(np.abs(force))) for force in case.forces) or 1.0
        spin = self._axle.spin_axis
        self._radius = float(self._axle.wheel_centre[2]) / math.hypot(float(spin[0]), float(spin[1]))

    def rest(self) -> Rest:
        z = np.zeros(2) if not self._sprung.springs else self._balance()
        if z is None:
            return Rest((math.nan, math.nan, 0.0), "no_balance", None)
        state: State = (float(z[0]), float(z[1]), 0.0)
        status = self._reading.status(state)
        if status != OK:
            return Rest(state, status, None)
        sides = self._carried(state, 0), self._carried(state, 1)
        pivots = self._pivot(state, 0, sides[0]), self._pivot(state, 1, sides[1])
        low, high = self._reading.travel.wheel
        inside = all(low <= travel <= high for travel in state[:2])
        return Rest(state, OK if inside else "past_travel", sides, pivots)

    def _balance(self) -> Vector | None:
        """Where nothing is missed: found by rough derivatives, then by exact ones, and to come back when pushed."""
        near = self._descend(np.zeros(2), rough_slope, ROUGHLY * self._largest)
        z = self._descend(near, slope, 1e-3 * RESTS * self._largest)
        missed = np.max(np.abs(self._miss(z, slope)))
        return z if missed <= RESTS * self._largest and self._lasts(z) else None

    def _descend(self, z: Vector, derivative: Derivative, near: float) -> Vector:
        miss = self._miss(z, derivative)
        for _ in range(NEWTONS):
            if np.max(np.abs(miss)) <= near:
                break
            step = self._step(z, miss)
            share = 1.0
            while share > 1e-6:
                there = np.array(z + share * step, dtype=np.float64)
                missed = self._miss(there, derivative)
                if np.max(np.abs(missed)) < np.max(np.abs(miss)):
                    break
                share /= 2.0
            else:
                break
            z, miss = there, missed
        return z

    def _step(self, z: Vector, miss: Vector) -> Vector:
        """The step that undoes a miss, shortened; none where a neighbour is out of reach."""
        resistance = self._resistance(z)
        if not np.all(np.isfinite(resistance)):
            return np.zeros(2)
        step = np.linalg.lstsq(resistance, -miss, rcond=1e-9)[0]
        return np.array(step * min(1.0, LONGEST / max(float(np.max(np.abs(step))), 1e-300)), dtype=np.float64)

    def _lasts(self, z: Vector) -> bool:
        """Whether the axle comes back when it is pushed: it resists in every direction."""
        resistance = self._resistance(z)
        slopes = np.linalg.eigvalsh(resistance + resistance.T) if np.all(np.isfinite(resistance)) else np.zeros(1)
        return bool(slopes.min() >= -1e-7 * np.max(np.abs(slopes)))

    def _resistance(self, z: Vector) -> Vector:
        """How the miss (2,) grows with the travel of the left and of the right wheel (2, 2) [N/mm]."""
        sides = [(self._miss(z + step, rough_slope), self._miss(z - step, rough_slope)) for step in NUDGE * np.eye(2)]
        return np.column_stack([(ahead - behind) / (2.0 * NUDGE) for ahead, behind in sides])

    def _miss(self, z: Vector, derivative: Derivative) -> Vector:
        state: State = (float(z[0]), float(z[1]), 0.0)
        low, high = self._reading.travel.wheel
        if self._reading.status(state) != OK or not low - PAST_END <= min(z) <= max(z) <= high + PAST_END:
            return np.full(2, np.inf)
        resists = (self._sprung.push(state, direction, derivative) for direction in (LEFT, RIGHT))
        works = (self._work(travel, side, derivative) for side, travel in enumerate(state[:2]))
        return np.array([r - w for r, w in zip(resists, works, strict=True)])

    def _work(self, z: float, side: int, derivative: Derivative) -> float:
        """Work of the ground's force per mm of a wheel's travel [N], a shaft taking what is about the spin axis."""
        here = self._at(z)
        local = here.pose.frame.T @ (self._contact(here) - here.pose.centre)
        force = self._case.forces[side]

        def along(travel: float) -> float:
            there = self._reading.side.at(z + travel, 0.0)
            return math.nan if there is None else float(force @ there.pose.place(local))

        shaft = self._shaft(here, side)
        return derivative(along) - (float(shaft @ self._turning(z, derivative)) if np.any(shaft) else 0.0)

    def _turning(self, z: float, derivative: Derivative) -> Vector:
        """Angular velocity of the upright per mm of travel [rad/mm]."""
        frame = self._at(z).pose.frame

        def entry(row: int, column: int) -> float:
            def along(travel: float) -> float:
                there = self._reading.side.at(z + travel, 0.0)
                return math.nan if there is None else float((there.pose.frame @ frame.T)[row, column])

            return derivative(along)

        return np.array([entry(2, 1), entry(0, 2), entry(1, 0)])

    def _shaft(self, here: SidePoint, side: int) -> Vector:
        """The moment that a shaft takes to the chassis [N.mm], along the spin axis; none with the brake outboard."""
        if not self._case.brake_inboard:
            return np.zeros(3)
        spin = here.pose.frame @ self._axle.spin_axis
        moment = skew(self._contact(here) - here.pose.centre) @ self._case.forces[side]
        shaft: Vector = (moment @ spin) * spin
        return shaft

    def _contact(self, here: SidePoint) -> Vector:
        """The wheel plane's lowest point, a loaded radius below the centre."""
        spin = here.pose.frame @ self._axle.spin_axis
        down = -np.array([0.0, 0.0, 1.0]) + spin[2] * spin
        point: Vector = here.pose.centre + self._radius * down / np.linalg.norm(down)
        return point

    def _carried(self, state: State, side: int) -> Carried:
        here = self._at(state[side])
        contact = self._contact(here)
        return hold(self._axle, self._static_side(here), self._case.forces[side], contact, -self._shaft(here, side))

    def _static_side(self, here: SidePoint) -> StaticSide:
        links, centre = self._axle.links, self._axle.wheel_centre
        return StaticSide(
            {name: link.inboard for name, link in links.items()},
            {name: here.pose.place(link.outboard - centre) for name, link in links.items()},
            here.eye,
            self._reading.rocker.turned(self._axle.rod_inboard, here.angle),
        )

    def _pivot(self, state: State, side: int, carried: Carried) -> float:
        """Size of the force of a rocker on its bearing [N]."""
        total = -carried.rod * self._static_side(self._at(state[side])).rod
        for element in self._sprung.elements:
            total = total + self._on_rocker(element, state, side)
        return float(np.linalg.norm(total))

    def _on_rocker(self, element: str, state: State, side: int) -> Vector:
        """Force of an element on a rocker, in that side's left-hand axes [N]."""
        seen: State = state if side == 0 else (state[1], state[0], 0.0)
        if element in self._axle.bars:
            return self._sprung.reading.bar(element).on_pickup(seen, self._sprung.moment(element, state, side))
        strut = self._axle.elements[element]
        mirrored = side == 1 and strut.right is not None
        points = strut_points(self._axle, self._reading.side, strut, state if mirrored else seen)
        if points is None:
            return np.full(3, math.nan)
        near, far = (MIRROR * points[1], MIRROR * points[0]) if mirrored else points
        pushed = self._sprung.force(element, state if strut.right is not None else seen)
        force: Vector = pushed * (near - far) / np.linalg.norm(near - far)
        return force

    def _at(self, z: float) -> SidePoint:
        point = self._reading.side.at(z, 0.0)
        if point is None:
            raise ValueError(f"the axle does not reach {z}")
        return point
