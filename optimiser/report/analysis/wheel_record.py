"""The left wheel against the body through heave and rack: its steering axis, roll centre, track and attitude."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from geometry.attitude import attitude_rate
from geometry.motion import Motion
from geometry.status import Status
from geometry.steering import Held, SteeringAxis, steering_axis
from objectives.survey import StateSet, Survey
from objectives.vehicle.centres import lateral_lift, roll_centre
from objectives.wheel_figures import track_changes, wheelbase_changes


@dataclass(frozen=True)
class AxisSweep:
    """The steering axis over a sweep, arrays (N,): NaN where the axle's status is not ok."""

    travel: Array
    """Travel of the sweep [mm]."""
    by_held: Mapping[Held, SteeringAxis]
    """The axis by what is held while the rack moves; angles in rad."""


@dataclass(frozen=True)
class HeaveWays:
    """What heave does to the wheel, arrays (N,): NaN where the axle's status is not ok."""

    travel: Array
    """Heave [mm]."""
    roll_centre: Array
    """Height of the roll centre above the ground on which the tyre then stands [mm]."""
    jacking: Array
    """Vertical force on the springs per N that pushes the tyre outward [N/N]."""
    camber_gradient: Array
    """Change of camber per mm of bump [deg/mm]."""
    toe_gradient: Array
    """Change of toe per mm of bump [deg/mm]."""
    track_change: Array
    """Of the track between both contact points, from static [mm]."""
    wheelbase_change: Array
    """Way of the contact point forward from static [mm]: what a front axle adds to the wheelbase and a rear takes."""


@dataclass(frozen=True)
class WheelWays:
    """The wheel's ways: `axis` by sweep, heave and rack, empty where no link follows a rack; `heave`."""

    axis: Mapping[str, AxisSweep]
    heave: HeaveWays


def wheel_ways(surveyed: Survey) -> WheelWays:
    """The left wheel of one axle through its travel."""
    sweeps = (StateSet.RACK, StateSet.HEAVE) if surveyed.axle.has_rack else ()
    return WheelWays({sweep.value: _axis(surveyed, sweep) for sweep in sweeps}, _heave(surveyed))


def _axis(surveyed: Survey, sweep: StateSet) -> AxisSweep:
    motion = surveyed.motion(sweep)
    axes = {held: steering_axis(motion, held) for held in Held}
    kept = {
        held: SteeringAxis(**{name: _kept(motion, values) for name, values in vars(axis).items()})
        for held, axis in axes.items()
    }
    return AxisSweep(surveyed.plan.points[sweep], kept)


def _heave(surveyed: Survey) -> HeaveWays:
    motion = surveyed.motion(StateSet.HEAVE)
    rate = attitude_rate(motion)
    return HeaveWays(
        travel=surveyed.plan.points[StateSet.HEAVE],
        roll_centre=_kept(motion, roll_centre(motion.contact)),
        jacking=_kept(motion, lateral_lift(motion.contact)),
        camber_gradient=_kept(motion, np.degrees(rate.camber)),
        toe_gradient=_kept(motion, np.degrees(rate.toe)),
        track_change=_kept(motion, track_changes(motion)),
        wheelbase_change=_kept(motion, wheelbase_changes(motion)),
    )


def _kept(motion: Motion, values: Array) -> Array:
    return np.where(motion.status == Status.OK, values, np.nan)
