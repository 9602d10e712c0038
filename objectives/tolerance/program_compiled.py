"""Figures of struts as built for candidates in lanes, compiled: one pass over each block, from the loop to the figure.

| symbol | meaning | unit |
|---|---|---|
| b, i, g | block, lane, figure | |
| r | row: a strut's length, or its change per mm along a mode, at a state of the axle | mm, - |
| r_0, r_e | the rows at static, and where the strut's own stroke is longest | |
| p | number of which the figure is the largest by absolute value, or itself | |

With c = r_0 - r the compression and m = -r the motion ratio, the numbers and what they change by are:

| op | number | change |
|---|---|---|
| ROW | a r | a dr |
| CHANGE | 100 (r / r_0 - 1) | 100 (dr - r / r_0 dr_0) / r_0 |
| SHARE | n = 100 c / abs(c_e) | 100 dc / abs(c_e) - n dc_e / c_e |
| SPLIT | n = 200 (c + c') / abs(c - c') | 200 (dc + dc') / abs(c - c') - n (dc - dc') / (c - c') |
"""

import math

import numpy as np

from geometry.arrays import Array, Indices
from geometry.compiled import compiled
from geometry.lanes import LANES
from geometry.records import LOOP, TURN
from geometry.turns import close_turns, void_beyond
from objectives.readings import NOTHING
from objectives.tolerance.answers_compiled import (
    ERRORS,
    OF_A_SIDE,
    SIDE_RECORD,
    answer_by_length,
    answer_by_rate,
    begin_side,
    measure_strut,
    pose_side,
)
from objectives.tolerance.curve_quantile import sample_curves

ROW, CHANGE, SHARE, SPLIT = range(4)
"""How a number is made of rows."""
SENSITIVITY, RSS, WORST, P99, P01 = range(5)
"""Forms."""
OP, MOVING, SIGN, UP, NEAR, FAR, FIRST, COUNT, OWN_FIRST, OWN_COUNT, FORM, ANCHORS, ENTRY = range(13)
"""Columns of a figure's entry, and how many. Rows are of rates where MOVING, as the right wheel goes UP by 1 or -1 per
mm of the mode; SIGN is a of ROW, or 0 where numbers count by their absolute values; NEAR and FAR are levers; pairs of
states, FIRST and how many, of the rows and of the strut's own stroke; ANCHORS among the numbers of a sampled curve."""
Place = tuple[Indices, Indices, Array, Array, Array]
"""Left and right side states of all pairs; turns, eyes and their velocities in records."""


def run_built(
    entries: Indices,
    tolerances: Array,
    curves: tuple[Indices, Array],
    pairs: tuple[Indices, Indices],
    tree: tuple[Indices, Array],
    eye: tuple[Array, Array],
    rod: Array,
    levers: Array,
    axles: Array,
) -> tuple[Array, Array]:
    """Each figure as drawn, and its form (G, blocks, LANES); NaN where it is null.

    P99 and P01 of a figure that is one number are its rss, for `tolerances` of one deviation. `entries` (G, ENTRY);
    `tolerances` (G, ERRORS) [mm]; `curves`: anchors (G, 4) and weights (G, Q, 4), see `objectives.tolerance.curves`;
    `pairs`: left and right side states; `tree`, `eye`, `rod`, `levers`: as of `geometry.tabulate.tabulate`, the rod's
    end as the last lever; `axles` (4, S): see `objectives.tolerance.cars`.
    """
    blocks, figures = len(rod), len(entries)
    drawn, found = np.empty((figures, blocks, LANES)), np.empty((figures, blocks, LANES))
    position, velocity = (one.reshape(len(one), -1) for one in eye)
    _run(entries, tolerances, *curves, *pairs, *tree, position, velocity, rod, levers, axles, drawn, found)
    return drawn, found


@compiled
def _run(
    entries: Indices,
    tolerances: Array,
    anchors: Indices,
    weights: Array,
    left: Indices,
    right: Indices,
    parent: Indices,
    step: Array,
    eye: Array,
    eye_rate: Array,
    rod: Array,
    levers: Array,
    axles: Array,
    drawn: Array,
    found: Array,
) -> None:
    states, most = len(parent), weights.shape[1]
    turns, loop, sides = np.empty(states * TURN), np.empty(states * LOOP), np.empty((2, SIDE_RECORD, LANES))
    rows, still, longest = np.empty((most, LANES)), np.empty((3, LANES)), np.empty(LANES, dtype=np.intp)
    numbers, answers, shares = np.empty((LANES, most)), np.empty((3, ERRORS, LANES)), np.empty((3, LANES))
    rates, worst = np.empty((LANES, anchors.shape[1], ERRORS)), np.empty(LANES)
    for b in range(len(rod)):
        own = b if len(eye) > 1 else 0
        close_turns(states, eye[own], eye_rate[own], rod[b].reshape(17 * LANES), turns, loop)
        void_beyond(parent, step, turns, loop)
        place = (left, right, turns, eye[own], eye_rate[own])
        for g in range(len(entries)):
            entry, count = entries[g], entries[g, ANCHORS]
            near, far, rod_end = levers[entry[NEAR], b], levers[entry[FAR], b], levers[len(levers) - 1, b]
            begin_side(near, far, rod_end, rod[b], sides[0])
            begin_side(far, near, rod_end, rod[b], sides[1])
            _measure(entry, place, sides[0], rows, still, longest)
            made = _make(entry, rows, still, numbers, drawn[g, b])
            _answer_fixed(entry, place, sides, longest, answers)
            found[g, b], worst[:] = -math.inf, -math.inf
            for k in range(count if count else made):
                p = anchors[g, k] if count else k
                _share(entry[OP], entry[SIGN], rows, still, numbers[:, p], p, shares)
                _answer(entry, place, sides, entry[FIRST] + p, answers[0])
                _combine(shares, answers)
                if count:
                    _keep_rates(answers[0], tolerances[g], rates[:, k])
                else:
                    _stack(entry, answers[0], tolerances[g], numbers[:, p], worst, found[g, b])
            if count:
                share = 0.99 if entry[FORM] == P99 else 0.01
                curve, rate, weight = numbers[:, :made], rates[:, :count], weights[g, :made]
                sample_curves(curve, rate, weight, anchors[g, :count], axles, share, found[g, b])
            for i in range(LANES):
                found[g, b, i] -= 0.0 * drawn[g, b, i] if count or entry[FORM] == SENSITIVITY else drawn[g, b, i]


@compiled
def _measure(entry: Indices, place: Place, side: Array, rows: Array, still: Array, longest: Indices) -> None:
    """The rows; `still` (3, LANES): static's rate, static's row, the row where the own stroke is `longest`."""
    left, right, turns, eye, eye_rate = place
    arms, moving, up, there = np.zeros((4, LANES)), entry[MOVING] == 1, float(entry[UP]), np.empty(LANES)
    pose_side(turns, eye, eye_rate, 0, 0, 1.0, up, side)
    measure_strut(True, side, arms, still[0])
    measure_strut(moving, side, arms, still[1])
    arms[:2] = arms[2:]
    for r in range(entry[COUNT]):
        pair = entry[FIRST] + r
        pose_side(turns, eye, eye_rate, left[pair], right[pair], 1.0, up, side)
        measure_strut(moving, side, arms, rows[r])
    still[2], longest[:] = still[1], -1
    for pair in range(entry[OWN_FIRST], entry[OWN_FIRST] + entry[OWN_COUNT]):
        pose_side(turns, eye, eye_rate, left[pair], right[pair], 1.0, up, side)
        measure_strut(moving, side, arms, there)
        for i in range(LANES):
            longer = abs(there[i] - still[1, i]) > abs(still[2, i] - still[1, i])
            if longer or math.isnan(there[i]):
                still[2, i], longest[i] = there[i], pair


@compiled
def _make(entry: Indices, rows: Array, still: Array, numbers: Array, drawn: Array) -> int:
    """The numbers (LANES, P), NaN where they are null, and the figure as drawn (LANES,); how many there are."""
    op, sign, count = entry[OP], float(entry[SIGN]), 1 if entry[OP] == SPLIT else entry[COUNT]
    for i in range(LANES):
        rate, static, stroke = still[0, i], still[1, i], still[1, i] - still[2, i]
        idle = op != ROW and not (abs(rate) >= NOTHING and (op != SHARE or abs(stroke) >= NOTHING))
        drawn[i] = -math.inf if sign == 0.0 else 0.0
        for p in range(count):
            row = rows[p, i]
            number = sign * row
            if op == CHANGE:
                number = 100.0 * (row / static - 1.0)
            elif op == SHARE:
                number = 100.0 * (static - row) / abs(stroke)
            elif op == SPLIT:
                number = 200.0 * (2.0 * static - row - rows[1, i]) / abs(rows[1, i] - row)
                idle = idle or not abs(rows[1, i] - row) >= NOTHING
            number = math.nan if idle else number
            numbers[i, p] = number
            size = abs(number) if sign == 0.0 else number
            drawn[i] = size if sign != 0.0 or size > drawn[i] or math.isnan(size) else drawn[i]
    return count


@compiled
def _answer(entry: Indices, place: Place, sides: Array, pair: int, out: Array) -> None:
    """How a row answers to each error (ERRORS, LANES); static's where `pair` is -1."""
    left, right, turns, eye, eye_rate = place
    near, far = (0, 0) if pair < 0 else (left[pair], right[pair])
    pose_side(turns, eye, eye_rate, near, far, 1.0, float(entry[UP]), sides[0])
    pose_side(turns, eye, eye_rate, far, near, float(entry[UP]), 1.0, sides[1])
    for side in range(2):
        own = out[OF_A_SIDE * side : OF_A_SIDE * (side + 1)]
        if entry[MOVING]:
            answer_by_rate(sides[side], own)
        else:
            answer_by_length(sides[side], own)


@compiled
def _answer_fixed(entry: Indices, place: Place, sides: Array, longest: Indices, answers: Array) -> None:
    """The answers that all numbers are made of besides their own: static's and, of SHARE and SPLIT, one more."""
    answers[1:] = 0.0
    if entry[OP] != ROW:
        _answer(entry, place, sides, -1, answers[1])
    if entry[OP] == SPLIT:
        _answer(entry, place, sides, entry[FIRST] + 1, answers[2])
    for pair in range(entry[OWN_FIRST], entry[OWN_FIRST] + entry[OWN_COUNT]):
        rules = False
        for i in range(LANES):
            rules = rules or longest[i] == pair
        if rules:
            _answer(entry, place, sides, pair, answers[0])
            for j in range(ERRORS):
                for i in range(LANES):
                    answers[2, j, i] = answers[0, j, i] if longest[i] == pair else answers[2, j, i]


@compiled
def _share(op: int, sign: int, rows: Array, still: Array, number: Array, p: int, shares: Array) -> None:
    """What a number changes by per change of its own row, of static's and of the third (3, LANES)."""
    for i in range(LANES):
        static = still[1, i]
        if op == ROW:
            shares[0, i], shares[1, i], shares[2, i] = float(sign), 0.0, 0.0
        elif op == CHANGE:
            shares[0, i], shares[1, i], shares[2, i] = 100.0 / static, -100.0 * rows[p, i] / (static * static), 0.0
        elif op == SHARE:
            stroke = static - still[2, i]
            by_stroke = number[i] / stroke
            shares[0, i], shares[1, i], shares[2, i] = -100.0 / abs(stroke), 100.0 / abs(stroke) - by_stroke, by_stroke
        else:
            odd = rows[1, i] - rows[0, i]
            even, uneven = 200.0 / abs(odd), number[i] / odd
            shares[0, i], shares[1, i], shares[2, i] = uneven - even, 2.0 * even, -even - uneven


@compiled
def _combine(shares: Array, answers: Array) -> None:
    for j in range(ERRORS):
        for i in range(LANES):
            own = shares[0, i] * answers[0, j, i]
            answers[0, j, i] = own + shares[1, i] * answers[1, j, i] + shares[2, i] * answers[2, j, i]


@compiled
def _keep_rates(slopes: Array, tolerance: Array, rates: Array) -> None:
    for j in range(ERRORS):
        for i in range(LANES):
            rates[i, j] = tolerance[j] * slopes[j, i]


@compiled
def _stack(entry: Indices, slopes: Array, tolerance: Array, number: Array, worst: Array, found: Array) -> None:
    """Raise `found` by one number's stack on top of it; a sensitivity is that of the number whose worst case is."""
    form = entry[FORM]
    for i in range(LANES):
        square, total, steepest = 0.0, 0.0, 0.0
        for j in range(ERRORS):
            size, steep = tolerance[j], abs(slopes[j, i])
            square += size * size * steep * steep
            total += size * steep
            steepest = max(steepest, steep if size > 0.0 else 0.0)
        base = abs(number[i]) if entry[SIGN] == 0 else number[i]
        if form == SENSITIVITY:
            found[i] = steepest if base + total > worst[i] else found[i]
            worst[i] = max(worst[i], base + total)
        else:
            found[i] = max(found[i], base + (total if form == WORST else math.sqrt(square)))
