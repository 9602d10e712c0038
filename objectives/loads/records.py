"""Records that the compiled pass over load cases works on: what candidates share, one candidate, room to work in."""

from typing import NamedTuple

import numpy as np

from geometry.arrays import Array, Indices

EYE, TURN, ROD, SIDE = 0, 9, 13, 19
"""Places in the record of a side, and its length."""
CROSS, CORNER, TORSION = 0, 1, 2
"""Kinds of elements."""
START, RATE, START_BY, KNEES = 0, 1, 2, 3
"""Places in an element's law: start of its line, its rate, the start's growth with the static force, its knees."""
KNEE = 3
"""Numbers of a knee: where, how that grows with the static force, change of rate."""
FOUND = 12
"""Numbers of a case at rest: travels, rods, pivots, and along each rod, three numbers a side."""
LEAP = 8.0
"""A step longer than this may leap over an open loop [mm]; a shorter one ends in it."""


class Tables(NamedTuple):
    """What all candidates share.

    `travel` (N,) [mm]: known wheel travels, rising. `eye` (N - 1, 6, 3 or 12): polynomials of the rod's eye between
    them and, where its place varies, of three columns that its shift goes with. `work` (N - 1, 6, 2 M): of what the
    ground does in M cases on the left, then on the right; `largest` (M,) [N]: each case's largest force. `kinds`
    (E, 3): kind, near lever, far lever or chassis point. `laws` (E, numbers): springs. `rest` (E,): force at static but
    for the carrying spring's; `carrier`: the element that has it, or -1; `weight` [N]: on both wheels together.
    `states` (S, 2) [mm]: travels at which rates are asked for; `start` (M, 2) [mm]: where such axles rest in each case.
    """

    travel: Array
    eye: Array
    work: Array
    largest: Array
    kinds: Indices
    laws: Array
    rest: Array
    carrier: int
    weight: float
    states: Array
    start: Array


class Candidate(NamedTuple):
    """One candidate: lane `i` of its block's `rod` (17, LANES), `levers` (ends, 9, LANES), `chassis` (C, 3, LANES).

    `bump`: the sense of bump about the rocker's axis, +1 or -1; `static`: the carrying spring's static force.
    """

    rod: Array
    levers: Array
    chassis: Array
    i: int
    bump: float
    static: float


class Room(NamedTuple):
    """Room to work in: both sides' records; a strut's ends and line; results.

    `lengths` (E,): at static; `shift` (3,): of the eye; `moved`, `work`: functions of wheel travel. `here`, `there`
    (9,): a strut's ends; `line` (9,): its length, slopes and bends of its compression, u. `g` (8,). `pushed` (2, 3):
    force of all springs on each rocker, in its own left-hand axes. `arms` (E, 2): d compression by the turn of the left
    and the right rocker. `newton`: where it is, what it tries, its step, two of each. `felt`: Q and Q' of both sides.
    `found`: a case at rest.
    """

    left: Array
    right: Array
    lengths: Array
    shift: Array
    moved: Array
    here: Array
    there: Array
    line: Array
    g: Array
    pushed: Array
    arms: Array
    static_arms: Array
    newton: Array
    felt: Array
    work: Array
    found: Array


def room_for(tables: Tables) -> Room:
    """Room to work in with these tables."""
    elements = len(tables.kinds)
    return Room(
        left=np.empty(SIDE),
        right=np.empty(SIDE),
        lengths=np.empty(elements),
        shift=np.empty(3),
        moved=np.empty(3 * tables.eye.shape[2]),
        here=np.empty(9),
        there=np.empty(9),
        line=np.empty(9),
        g=np.empty(8),
        pushed=np.empty((2, 3)),
        arms=np.empty((elements, 2)),
        static_arms=np.empty((elements, 2)),
        newton=np.empty(6),
        felt=np.empty(4),
        work=np.empty(3),
        found=np.empty(FOUND),
    )
