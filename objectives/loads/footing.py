"""How one newton of compression in the rod reaches the upright, the links and the chassis.

A rod on the upright presses it at the eye. A rod on a wishbone or on one link presses that part, which is held by the
upright at its outboard joint O and by the chassis at its inboard joints.

| symbol | meaning | shape | unit |
|---|---|---|---|
| u | along the rod, from the rocker outwards | (..., 3) | - |
| E, O, I | the rod's eye; a link's outboard and inboard joint | (..., 3) | mm |
| s | share of the link's length at which the eye lies, from I | (...) | - |
| a, n, m | wishbone: along its hinge from I_1 to I_2; square to it towards O; a x n | (..., 3) | - |
| D, alpha, beta | |I_2 - I_1|; O - I_1 = alpha a + beta n | (...) | mm |
| kappa | force of the wishbone on the upright along m per newton of rod | (...) | - |

One link, moments about I: the joint presses the upright with s times the rod's part square to the link; the chassis
takes 1 - s of that part and all of the part along the link. The link bends, most at the eye: s (1 - s) length.
A wishbone, moments about its hinge: kappa beta = a . ((E - I_1) x u). Its plane's balance gives what the rod adds to
the force along n at each inboard joint. A force along the hinge may be shared by the two joints in any way: statics
does not say. The tension of such a link is the one whose part along n is what its inboard joint carries along n;
what is left along the hinge is halved.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array, cross, dot, norm, unit
from objectives.loads.pose import SidePose


@dataclass(frozen=True)
class Footing:
    """Per newton of compression in the rod.

    `force` (..., 3) on the upright at `point` (..., 3) [mm]; `tension` (..., 5): what each link carries at its inboard
    end beyond what it carries at its outboard end; `aside` (..., 5, 3): force on the chassis at each inboard joint
    beside that of the link's tension; `bending` (..., 5) [mm]: largest bending moment in each link, 0 in a wishbone.
    """

    force: Array
    point: Array
    tension: Array
    aside: Array
    bending: Array


def footing(pose: SidePose) -> Footing:
    """How the rod stands on what carries it, at every state of a side."""
    if len(pose.carriers) == 1:
        return _on_link(pose, pose.carriers[0])
    if pose.carriers:
        return _on_wishbone(pose, *pose.carriers)
    nothing = np.zeros(len(pose.links))
    return Footing(pose.rod, pose.eye, nothing, np.zeros((len(pose.links), 3)), nothing)


def _on_link(pose: SidePose, place: int) -> Footing:
    inner, outer, u = pose.inboard[..., place, :], pose.outboard[..., place, :], pose.rod
    along, length = unit(outer - inner), norm(outer - inner)
    share = dot(pose.eye - inner, along) / length
    pressed = dot(u, along)
    aside = u - pressed[..., None] * along
    return Footing(
        force=share[..., None] * aside,
        point=outer,
        tension=_at(place, pressed, pose),
        aside=_at(place, (1.0 - share)[..., None] * aside, pose),
        bending=_at(place, share * (1.0 - share) * length * norm(aside), pose),
    )


def _on_wishbone(pose: SidePose, first: int, second: int) -> Footing:
    start, end, joint = pose.inboard[..., first, :], pose.inboard[..., second, :], pose.outboard[..., first, :]
    a, width = unit(end - start), norm(end - start)
    alpha = dot(joint - start, a)
    n = unit(joint - start - alpha[..., None] * a)
    m = cross(a, n)
    moment = cross(pose.eye - start, pose.rod)
    kappa = dot(moment, a) / dot(joint - start, n)
    # The chassis holds the wishbone by these parts at its second joint, and by the rest of the balance at its first.
    along_n, along_m = -dot(moment, m) / width, (dot(moment, n) + kappa * alpha) / width
    inward = {place: unit(pose.inboard[..., place, :] - joint) for place in (first, second)}
    pull = {
        first: (-dot(pose.rod, n) - along_n) / dot(inward[first], n),
        second: along_n / dot(inward[second], n),
    }
    square = {first: kappa - dot(pose.rod, m) - along_m, second: along_m}
    left_over = -dot(pose.rod, a) - sum(pull[place] * dot(inward[place], a) for place in pull)
    aside = {place: -square[place][..., None] * m - 0.5 * left_over[..., None] * a for place in pull}
    return Footing(
        force=kappa[..., None] * m,
        point=joint,
        tension=_at(first, pull[first], pose) + _at(second, pull[second], pose),
        aside=_at(first, aside[first], pose) + _at(second, aside[second], pose),
        bending=np.zeros(len(pose.links)),
    )


def _at(place: int, value: Array, pose: SidePose) -> Array:
    """A value (..., [3]) of one link among zeros of the others (..., 5, [3])."""
    vector = value.ndim == pose.rod.ndim
    one = np.eye(len(pose.links))[place]
    return np.asarray(value[..., None, :] * one[:, None] if vector else value[..., None] * one)
