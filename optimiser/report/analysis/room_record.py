"""The pairs of bodies that come nearest to one another, with the state in which they do."""

import math
from dataclasses import dataclass

import numpy as np

from geometry.status import Status
from objectives.envelope.room import Room
from objectives.envelope.states import OF_BOTH
from objectives.survey import Survey
from optimiser.report.analysis.state_words import state_words

SHOWN = 12
"""Pairs that are told, the nearest first."""


@dataclass(frozen=True)
class NearPair:
    """Two bodies: their least clearance, the margin to be kept [mm] and the state of the axle, in words."""

    name: str
    clearance: float
    margin: float
    state: str


def near_pairs(surveyed: Survey) -> tuple[NearPair, ...]:
    """The nearest pairs of one axle; none without bodies, or where the axle cannot move."""
    room = surveyed.room
    if room is None or not room.names or room.status != Status.OK:
        return ()
    least = room.nearest(room=math.inf).least
    order = np.argsort(least - room.margins)[:SHOWN]
    return tuple(NearPair(room.names[k], float(least[k]), float(room.margins[k]), _state(room, int(k))) for k in order)


def _state(room: Room, pair: int) -> str:
    """Where a pair is nearest: heave, roll and rack, or one wheel's travel and its rack."""
    found = room.nearest(room=math.inf)
    number = int(found.state[pair])
    if number < 0:
        return "static"
    left, right, rack = (float(value) for value in room.states.state[number])
    along, across = (float(value) for value in found.beside[pair])
    of_both = room.states.charts.size[room.states.chart[number], 3] == OF_BOTH
    swept = left == right == 0.0 and rack != 0.0
    if swept:
        return state_words({"rack": rack + along})
    if not of_both:
        return state_words({"wheel": left + along, "rack": rack})
    return state_words({"heave": 0.5 * (left + right) + along, "roll": 0.5 * (left - right) + across, "rack": rack})
