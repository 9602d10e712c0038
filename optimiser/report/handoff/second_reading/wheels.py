"""The wheel against the body: its steering axis and its ways in heave, by differences of solved poses.

| symbol | meaning | unit |
|---|---|---|
| c | the upright's wheel centre | mm |
| v, w | change of c and turn of the upright at static per mm of travel or of rack | mm/mm, rad/mm |
| v_i | velocity of a link's outboard end, v + w x (its lever from c) | mm/mm |

Steering is rack travel with so much wheel travel that the sum of |v_i|^2 over the links that the rack does not move is
least. The axis is where such a motion has no velocity but along w.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from optimiser.report.handoff.second_reading.plain import PlainAxle, Vector
from optimiser.report.handoff.second_reading.reading import Reading, Reckoned, worst
from optimiser.report.handoff.second_reading.side import OK
from optimiser.report.handoff.second_reading.slopes import slope
from optimiser.report.handoff.second_reading.states import sweep
from optimiser.report.handoff.second_reading.upright import Pose

STILL = 1e-9
"""An upright that turns by less than this per mm of rack [rad/mm] has no steering axis."""
OF_AXIS = (
    "castor",
    "steering_axis_inclination",
    "castor_offset_at_ground",
    "steering_axis_offset_at_ground",
    "castor_offset_at_centre",
    "steering_axis_offset_at_centre",
)
"""Figures of the steering axis, in the order in which they are reckoned."""
UP = np.array([0.0, 0.0, 1.0])
_Number: TypeAlias = Callable[[Pose], float]


def wheel_figures(reading: Reading) -> dict[str, Reckoned]:
    """Every figure of the wheel by its full name."""
    steered = _steering(reading) if reading.axle.has_rack else {}
    return {f"wheel.{name}": value for name, value in (steered | _at_static(reading) | _over_heave(reading)).items()}


@dataclass(frozen=True)
class _Motion:
    """Velocity of the wheel centre and turn of the upright at static, per mm."""

    v: Vector
    w: Vector

    def of(self, lever: Vector) -> Vector:
        moved: Vector = self.v + np.cross(self.w, lever)
        return moved


def _steering(reading: Reading) -> dict[str, Reckoned]:
    axle = reading.axle
    motion = _steered(reading)
    turns = float(np.linalg.norm(motion.w))
    if not turns >= STILL:
        return dict.fromkeys(OF_AXIS, (math.nan, "no_motion"))
    k = motion.w / math.copysign(turns, float(motion.w[2]))
    point = axle.wheel_centre + np.cross(motion.w, motion.v) / turns**2
    x, y, _ = axle.spin_axis / math.hypot(axle.spin_axis[0], axle.spin_axis[1])
    values = [math.degrees(math.atan(-k[0] / k[2])), math.degrees(math.atan(-k[1] / k[2]))]
    for foot in (axle.wheel_centre + _foot(axle, axle.spin_axis), axle.wheel_centre):
        away = point + k * (foot[2] - point[2]) / k[2] - foot
        values += [float(y * away[0] - x * away[1]), float(-x * away[0] - y * away[1])]
    return {name: (value, OK) for name, value in zip(OF_AXIS, values, strict=True)}


def _steered(reading: Reading) -> _Motion:
    axle = reading.axle
    by_rack, by_travel = (_motion(reading, along) for along in ((0.0, 1.0), (1.0, 0.0)))
    levers = [link.outboard - axle.wheel_centre for link in axle.links.values() if not link.follows_rack]
    ends = np.concatenate([by_travel.of(lever) for lever in levers])
    share = float(np.linalg.lstsq(ends[:, None], np.concatenate([by_rack.of(lever) for lever in levers]))[0][0])
    return _Motion(by_rack.v - share * by_travel.v, by_rack.w - share * by_travel.w)


def _motion(reading: Reading, along: tuple[float, float]) -> _Motion:
    """The upright's motion at static along (wheel travel, rack), by differences."""

    def rate(number: _Number) -> float:
        return slope(lambda t: _of_pose(reading, t * along[0], t * along[1], number))

    v = np.array([rate(_coordinate(row)) for row in range(3)])
    w = np.array([rate(_entry(row, column)) for row, column in ((2, 1), (0, 2), (1, 0))])
    return _Motion(v, w)


def _of_pose(reading: Reading, z: float, rack: float, number: _Number) -> float:
    point = reading.side.at(z, rack)
    return math.nan if point is None else number(point.pose)


def _coordinate(row: int) -> _Number:
    return lambda pose: float(pose.centre[row])


def _entry(row: int, column: int) -> _Number:
    return lambda pose: float(pose.frame[row, column])


def _at_static(reading: Reading) -> dict[str, Reckoned]:
    axle = reading.axle
    tyre = _foot(axle, axle.spin_axis)

    def rate(number: _Number) -> float:
        return slope(lambda z: _of_pose(reading, z, 0.0, number))

    lift = rate(lambda pose: float(pose.place(tyre)[1])) / rate(lambda pose: float(pose.place(tyre)[2]))
    values = {
        "roll_centre_height": float(axle.wheel_centre[1] + tyre[1]) * lift,
        "jacking": lift,
        "camber_gradient": rate(lambda pose: _camber(axle, pose)),
        "toe_gradient": rate(lambda pose: _toe(axle, pose)),
    }
    return {name: (value, OK) for name, value in values.items()}


def _over_heave(reading: Reading) -> dict[str, Reckoned]:
    states = [state for _, state in sweep("heave", *reading.travel.heave, reading.travel.step)]
    status = worst(reading.status(state) for state in states)
    poses = [point.pose for state in states if (point := reading.side.at(state[0], 0.0)) is not None]

    def largest(number: _Number, share: float = 1.0) -> Reckoned:
        if status != OK:
            return math.nan, status
        static = _of_pose(reading, 0.0, 0.0, number)
        return share * max(abs(number(pose) - static) for pose in poses), OK

    return {
        "camber_change": largest(lambda pose: _camber(reading.axle, pose)),
        "toe_change": largest(lambda pose: _toe(reading.axle, pose)),
        "track_change": largest(lambda pose: float(_ground(reading.axle, pose)[1]), 2.0),
        "wheelbase_change": largest(lambda pose: float(_ground(reading.axle, pose)[0])),
    }


def _camber(axle: PlainAxle, pose: Pose) -> float:
    return -math.degrees(math.asin(float((pose.frame @ axle.spin_axis)[2])))


def _toe(axle: PlainAxle, pose: Pose) -> float:
    x, y, _ = pose.frame @ axle.spin_axis
    return math.degrees(math.atan2(x, y))


def _ground(axle: PlainAxle, pose: Pose) -> Vector:
    """The lowest point of the wheel's plane, a loaded radius from its centre [mm]."""
    lowest: Vector = pose.centre + _foot(axle, pose.frame @ axle.spin_axis)
    return lowest


def _foot(axle: PlainAxle, spin_axis: Vector) -> Vector:
    """From the wheel centre to that point [mm]."""
    radius = float(axle.wheel_centre[2]) / math.sqrt(1.0 - float(axle.spin_axis[2]) ** 2)
    down: Vector = (spin_axis[2] * spin_axis - UP) / math.sqrt(1.0 - float(spin_axis[2]) ** 2)
    return radius * down
