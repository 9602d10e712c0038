"""What `geometry.nearest` works on: points that move, bodies between them, and charts of the states they are looked at.

Plain records of arrays; no compiler is needed to make them.
"""

from dataclasses import dataclass

from geometry.arrays import Array, Indices

CAPSULE, BOX, WHEEL = 0, 1, 2
"""Kinds of bodies; the wheel is a cylinder with flat ends."""


@dataclass(frozen=True)
class Charts:
    """The states that are looked at.

    `size` (C, 4): rows, columns, the first state's number, and which bodies it is for (0: of one side, 1: of both), of
    each chart. `left`, `right` (T,): side states, -1 where a place of the lattice holds no state; `place` (T, 2) [mm].
    `least`, `most` (T, 2): the side states of the left and the right side's travel at that place, or, where there is
    none, the next one below and above. `chain` (E, 3): three neighbouring side states each, `reach` (E, 2) [mm] from
    the first to the second and from the second to the third.
    """

    size: Indices
    left: Indices
    right: Indices
    place: Array
    least: Indices
    most: Indices
    chain: Indices
    reach: Array


@dataclass(frozen=True)
class Bodies:
    """`parts` (P, 5): kind, first point and whether it is mirrored (0 or 1), second point and likewise; `girth` (P, 2):
    radius, and of the wheel half its width [mm].

    A box goes from its first point to its second; the wheel's first point is its centre, its second its unit axis.
    `meetings` (R, 4): two parts, group, which states: 0 or 1 as in `Charts.size`; a box or the wheel comes second, a
    box after the wheel. `cuts` (R, 4): what is left out of the first part at its first and second end, then of the
    second one [mm].
    """

    parts: Indices
    girth: Array
    meetings: Indices
    cuts: Array


@dataclass(frozen=True)
class Points:
    """The points of the left side of N candidates, in this order, at K side states, of which 0 is static [mm].

    Those of the rocker: `levers` (E, N or 1, 9), centre, u and w of each, at the rocker's turn `cos`, `sin` (N, K).
    Those that stand still: `still` (S, N or 1, 3). All others, and unit vectors: `paths` (Q, N or 1, K, 3).
    """

    cos: Array
    sin: Array
    levers: Array
    still: Array
    paths: Array
