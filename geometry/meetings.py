"""What `geometry.nearest` works on: points that move, bodies between them, and charts of the states they are looked at.

Plain records of arrays; no compiler is needed to make them.
"""

from typing import NamedTuple

from geometry.arrays import Array, Flags, Indices

CAPSULE, BOX, WHEEL = 0, 1, 2
"""Kinds of bodies; the wheel is a cylinder with flat ends."""


class Charts(NamedTuple):
    """The states that are looked at.

    `size` (C, 4): rows, columns, the first state's number, and which bodies it is for (0: of one side, 1: of both), of
    each chart. `left`, `right` (T,): side states, -1 where a place of the lattice holds no state; `place` (T, 2) [mm].
    `rough` (2, S): every few states of the charts of either kind, chart by chart, where the first look is taken; of
    chart c they are `look[c, 0]` to `look[c, 1]`, and of kind k there are `looks[k]`. `alike`: whether every state for
    bodies of both sides has its mirror image among them.
    """

    size: Indices
    left: Indices
    right: Indices
    place: Array
    rough: Indices
    look: Indices
    looks: Indices
    alike: bool


class Bodies(NamedTuple):
    """`parts` (P, 5): kind, first point and whether it is mirrored (0 or 1), second point and likewise; `girth` (P, 2):
    radius, and of the wheel half its width [mm].

    A box goes from its first point to its second; the wheel's first point is its centre, its second its unit axis.
    `meetings` (R, 4): two parts, group, which states: 0 or 1 as in `Charts.size`; a box or the wheel comes second, a
    box after the wheel. `cuts` (R, 4): what is left out of the first part at its first and second end, then of the
    second one [mm]. `again` (R,): whether it is the mirror image of a meeting before it.
    """

    parts: Indices
    girth: Array
    meetings: Indices
    cuts: Array
    again: Flags


class Points(NamedTuple):
    """The points of the left side of N candidates, in this order, at K side states, of which 0 is static [mm].

    Those of the rocker: `levers` (E, N or 1, 9), centre, u and w of each, at the rocker's turn `cos`, `sin` (N, K).
    Those that stand still: `still` (S, N or 1, 3). All others, and unit vectors: `paths` (Q, N or 1, K, 3). `own` (M,):
    whether a point differs between candidates; it is taken to be the first one's where it does not.
    """

    cos: Array
    sin: Array
    levers: Array
    still: Array
    paths: Array
    own: Flags
