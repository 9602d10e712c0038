"""How a strut between rockers answers to the errors of the built axle, from formulas: for the batches of a search.

| symbol | meaning |
|---|---|
| N | candidates, in the order of the lanes |
| S | states of the axle |
| E | errors that the strut answers to |
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, Indices
from geometry.axle import CrossStrut, Mode
from geometry.built import PIVOT, ROD_END
from geometry.lanes import KERNEL, LANES
from geometry.rocker import Lever, lever_of
from geometry.rod import carry_rod_eye
from geometry.side_motion import SideMotion
from objectives.survey import StateSet, Survey
from objectives.tolerance.answers_compiled import OF_A_SIDE, answers_of
from objectives.tolerance.build import LEFT, RIGHT, ROD, Build, Error, errors_of, tolerances

STILL = (0.0, 0.0)
"""In place of a motion: what is asked for is the length."""
UP_BY_MODE = {Mode.HEAVE: (1.0, 1.0), Mode.ROLL: (1.0, -1.0)}
"""mm that the left and the right wheel go up by per mm of a mode."""


@dataclass(frozen=True)
class Answers:
    """A strut of a surveyed batch laid out in lanes; `errors` (E,) are those that it answers to, some or none."""

    surveyed: Survey
    name: str
    element: CrossStrut
    errors: tuple[Error, ...]
    _slots: Indices

    def of_compressions(self, states: StateSet, places: Indices | None = None) -> Array:
        """Slopes (N, S, E) [mm/mm] of the compression at all, or at some `places`, of a set's states.

        A strut is at rest at the length that it has at static once it is built: there they are 0.
        """
        return self.of_lengths(StateSet.STATIC) - self.of_lengths(states, places)

    def of_lengths(self, states: StateSet, places: Indices | None = None) -> Array:
        """Slopes (N, S, E) [mm/mm] of the length."""
        return self._at(states, places, STILL)

    def of_ratios(self, mode: Mode, states: StateSet, places: Indices | None = None) -> Array:
        """Slopes (N, S, E) [1/mm] of the compression per mm of a mode."""
        return -self._at(states, places, UP_BY_MODE[mode])

    def _at(self, states: StateSet, places: Indices | None, mode: tuple[float, float]) -> Array:
        pairs, side = self.surveyed.plan.pairs[states], self.surveyed.side
        both = np.stack([pairs.left, pairs.right])
        both = both if places is None else both[:, places]
        turn, rate = side.closing.turn, side.closing.rate[..., 0]
        turns = np.stack([part[..., both] for part in (turn.cos, turn.sin, rate)], axis=-1)
        eyes = _rows(side.eye)
        eye_rates = _rows(carry_rod_eye(side.axle, side.upright, side.tree)[1][..., 0]) if mode != STILL else eyes
        found = answers_of(
            turns.reshape(-1, 2, both.shape[1], 3),
            np.ascontiguousarray(eyes[:, both]),
            np.ascontiguousarray(eye_rates[:, both]),
            _levers(side, self.element),
            _frames(side),
            mode,
        )
        return found[..., self._slots]


def answers(surveyed: Survey, name: str, build: Build) -> Answers | None:
    """The answers of an element; None where formulas do not give them.

    That is for batches not laid out in lanes, what is no strut between rockers, and errors of links and rod eyes.
    """
    element = surveyed.axle.elements.get(name)
    in_lanes = surveyed.side.kernel is KERNEL and surveyed.batch[1:] == (LANES,)
    paths = [path for path in tolerances(build, surveyed.axle) if not path.startswith("elements.")]
    if not isinstance(element, CrossStrut) or not in_lanes or not all(path.startswith("rocker.") for path in paths):
        return None
    slots = {key: slot for slot, key in enumerate(_slots(element))}
    touching = [error for error in errors_of(build, surveyed.axle) if _key(error) in slots]
    places = np.array([slots[_key(error)] for error in touching], dtype=np.intp)
    return Answers(surveyed, name, element, tuple(touching), places)


def _key(error: Error) -> tuple[str, str, int | None]:
    return error.side, error.path, error.axis


def _slots(element: CrossStrut) -> list[tuple[str, str, int | None]]:
    """The errors of a strut in the order of `answers_of`."""
    slots: list[tuple[str, str, int | None]] = []
    for side, pickup in ((LEFT, element.left), (RIGHT, element.right)):
        points = (PIVOT, ROD_END, f"rocker.pickups.{pickup}")
        slots += [*((side, path, axis) for path in points for axis in range(3)), (side, ROD, None)]
    assert len(slots) == 2 * OF_A_SIDE
    return slots


def _rows(of_points: Array) -> Array:
    """Vectors (*B, K, 3) as (1 or N, K, 3)."""
    return of_points.reshape(-1, *of_points.shape[-2:])


def _levers(side: SideMotion, element: CrossStrut) -> Array:
    """(N, 3, 9) [mm]."""
    levers: tuple[Lever, ...] = (
        lever_of(side.points.rod_arm, side.points),
        side.lever(element.left),
        side.lever(element.right),
    )
    parts = [_spread(side, part) for lever in levers for part in (lever.centre, lever.u, lever.w)]
    return np.concatenate(parts, axis=-1).reshape(-1, 3, 9)


def _frames(side: SideMotion) -> Array:
    """Rocker axis and rod length (N, 4)."""
    return np.concatenate([_spread(side, side.points.axis), _spread(side, side.points.rod_length[..., None])], axis=-1)


def _spread(side: SideMotion, values: Array) -> Array:
    """Values (..., n) of each candidate: (N, n)."""
    return np.broadcast_to(values, (*side.batch, values.shape[-1])).reshape(-1, values.shape[-1])
