"""What `geometry.nearest` works on: points that move, bodies between them, and charts of the states they are looked at.

Plain records of arrays; no compiler is needed to make them.
"""

from typing import NamedTuple

import numpy as np

from geometry.arrays import Array, Flags, Indices

CAPSULE, BOX, WHEEL = 0, 1, 2
"""Kinds of bodies; the wheel is a cylinder with flat ends."""
HALF = 2
"""Rows and columns of a patch of a chart to either side of its middle."""
WIDE = 2 * HALF + 1
PATCH = 28
"""States of a patch, row by row, and some to fill it up: so many that vectors of four or more divide it."""
LINE = 8
"""The same of a chart of one column."""


class Charts(NamedTuple):
    """The states that are looked at.

    `size` (C, 4): rows, columns, the first state's number, and which bodies it is for (0: of one side, 1: of both), of
    each chart. `left`, `right` (T,): side states, -1 where a place of the lattice holds no state; `place` (T, 2) [mm].
    `rough` (2, S): every few states of the charts of either kind, chart by chart, where the first look is taken
    and `rough_left`, `rough_right` their side states; of
    chart c they are `look[c, 0]` to `look[c, 1]`, and of kind k there are `looks[k]`. `about` (2, S, W): which of them
    are about each one, itself where there are fewer. `alike`: whether every state for bodies of both sides has its
    mirror image among them.
    """

    size: Indices
    left: Indices
    right: Indices
    place: Array
    rough: Indices
    rough_left: Indices
    rough_right: Indices
    look: Indices
    looks: Indices
    about: Indices
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


class Scratch(NamedTuple):
    """Room to work in, of one candidate. All in mm.

    Of points: `here` (M, 3, K) at side states; `spots` (M, 2, 2, 3, S) at the states of the first look, for bodies of
    one side and of both, on the left and on the right; `far` (M,) how far each gets from static; `reached` (M, 6) the
    least and the largest coordinates that it reaches. Of bodies: `body` (P, 6) both ends at static; `reach` (P,) how
    far it gets from there; `sweep` (P, 7) the box that its axis stays in, and its radius beyond that. Of meetings:
    `share` (R, 4) what is left out of the bodies; `floor` (R,) what their clearance does not fall below; `across`
    (R, 3) the way from the second body to the first at static. `seen` (S,): clearances at the first look;
    `patch` (4, 3, PATCH), `states`, `values` (PATCH,): ends, states and clearances of a patch;
    `line` (4, 3, LINE), `line_values` (LINE,): likewise of a chart of one column; `found` (4,): see
    `geometry.downhill`.
    """

    here: Array
    spots: Array
    far: Array
    reached: Array
    body: Array
    reach: Array
    sweep: Array
    share: Array
    floor: Array
    across: Array
    seen: Array
    patch: Array
    states: Indices
    values: Array
    line: Array
    line_values: Array
    way: Array
    found: Array


def scratch_for(points: Points, charts: Charts, bodies: Bodies) -> Scratch:
    """Room to work in."""
    count, meetings, parts = len(points.own), len(bodies.meetings), len(bodies.parts)
    return Scratch(
        here=np.zeros((count, 3, points.cos.shape[1])),
        spots=np.zeros((count, 2, 2, 3, charts.rough.shape[1])),
        far=np.zeros(count),
        reached=np.zeros((count, 6)),
        body=np.zeros((parts, 6)),
        reach=np.zeros(parts),
        sweep=np.zeros((parts, 7)),
        share=np.zeros((meetings, 4)),
        floor=np.zeros(meetings),
        across=np.zeros((meetings, 3)),
        seen=np.zeros(charts.rough.shape[1]),
        patch=np.zeros((4, 3, PATCH)),
        states=np.zeros(PATCH, dtype=np.intp),
        values=np.zeros(PATCH),
        line=np.zeros((4, 3, LINE)),
        line_values=np.zeros(LINE),
        way=np.zeros(3),
        found=np.zeros(4),
    )
