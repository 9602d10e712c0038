"""The spherical joints of one axle: how far out of true at static and at most, and in which state."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from geometry.joints import joint_places
from geometry.status import Status
from objectives.joint_figures import angle_max, misalignments, states_of
from objectives.survey import Survey
from optimiser.report.analysis.state_words import state_words

SAME = 1e-9
"""Angles nearer than this are one [deg]."""


@dataclass(frozen=True)
class JointRow:
    """One joint: misalignment at static and the largest [deg], the state of that in words, limit and reserve [deg].

    `largest` and `reserve` are None where the axle cannot be in some state, which `state` says then.
    """

    name: str
    static: float
    largest: float | None
    state: str
    limit: float | None
    reserve: float | None


def joint_rows(surveyed: Survey) -> tuple[JointRow, ...]:
    """Every joint of one axle that something is said of, in the study's order."""
    return tuple(_row(surveyed, name) for name in surveyed.fittings.joints)


def _row(surveyed: Survey, name: str) -> JointRow:
    angles, states = misalignments(surveyed, name), states_of(surveyed, name)
    static = float(angles[np.flatnonzero(~states.any(axis=-1))[0]])
    limit, reading = surveyed.fittings.joints[name].limit, angle_max(surveyed, name)
    if reading.status != Status.OK:
        return JointRow(name, static, None, Status(int(reading.status)).word, limit, None)
    largest = float(reading.value)
    of_rod = joint_places(surveyed.axle)[name].strut is None
    state = "static" if largest - static < SAME else _words(states[int(angles.argmax())], of_rod)
    return JointRow(name, static, largest, state, limit, None if limit is None else limit - largest)


def _words(state: Array, of_rod: bool) -> str:
    left, right, rack = (float(value) for value in state)
    if of_rod:
        return state_words({"wheel": left, "rack": rack})
    return state_words({"heave": 0.5 * (left + right), "roll": 0.5 * (left - right), "rack": rack})
