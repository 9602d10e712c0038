"""The rocker's turn of a batch of axles at the states of a tree: one compiled pass over blocks of lanes."""

import numpy as np

from geometry.arrays import Array, Indices
from geometry.compiled import compiled
from geometry.lanes import LANES
from geometry.records import COS, LOOP, SIN, TURN
from geometry.turns import close_turns, void_beyond


def turn_batch(tree: tuple[Indices, Array], eye: tuple[Array, Array], rod: Array) -> tuple[Array, Array]:
    """Cosine and sine of the rocker's turn from static (blocks * LANES, K); NaN where an axle cannot be at a state.

    `tree`: parents (K,) and steps (K, 2) [mm]; `eye`: the rod's outboard eye (1 or blocks, K, 3, LANES) [mm] and its
    velocities per mm of travel and rack (1 or blocks, K, 6, LANES); `rod` (blocks, 17, LANES) as in `geometry.placing`.
    """
    blocks, states = len(rod), len(tree[0])
    cos, sin = np.empty((blocks * LANES, states)), np.empty((blocks * LANES, states))
    position, velocity = (one.reshape(len(one), one.shape[1] * one.shape[2] * LANES) for one in eye)
    _turn_batch(*tree, position, velocity, rod.reshape(blocks, 17 * LANES), cos, sin)
    return cos, sin


@compiled
def _turn_batch(parent: Indices, step: Array, eye: Array, eye_rate: Array, rod: Array, cos: Array, sin: Array) -> None:
    states = len(parent)
    turns, loop = np.empty(states * TURN), np.empty(states * LOOP)
    for b in range(len(rod)):
        own = b if len(eye) > 1 else 0
        close_turns(states, eye[own], eye_rate[own], rod[b], turns, loop)
        void_beyond(parent, step, turns, loop)
        for i in range(LANES):
            for k in range(states):
                cos[b * LANES + i, k] = turns[k * TURN + COS + i]
                sin[b * LANES + i, k] = turns[k * TURN + SIN + i]
