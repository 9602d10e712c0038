"""Where the rod's outboard eye goes: it rides on the upright, on a wishbone, or on one link."""

import numpy as np

from geometry.arrays import Array, cross, dot, dot_columns, turn, unit
from geometry.axle import Axle, Link
from geometry.hardpoints import rod_eye, share_along
from geometry.side import SideTree
from geometry.upright import UprightMotion
from geometry.upright_curve import UprightCurve

LEFTWARD = np.array([0.0, 1.0, 0.0])
"""The rack's positive direction: +y."""


def carry_rod_eye(axle: Axle, upright: UprightMotion, tree: SideTree) -> tuple[Array, Array]:
    """The rod's outboard eye at K side states.

    Returns its position (..., K, 3) [mm] and its velocity (..., K, 3, 2) [mm/mm] per mm of wheel travel and of rack;
    NaN where the links are locked.
    """
    eye = rod_eye(axle)
    links = [axle.links[name] for name in axle.rod.carried_by]
    if not links:
        return upright.carry(eye)
    outboard, velocity = upright.carry(links[0].outboard)
    if len(links) == 1:
        return _on_link(links[0], eye, outboard, velocity, tree)
    return _on_wishbone(links[0], links[1], eye, outboard, velocity)


def curve_rod_eye(axle: Axle, upright: UprightCurve, eye: Array) -> tuple[Array, Array]:
    """How the rod's outboard eye, at `eye` (..., N, 3) [mm] in the states of `upright`, moves with the wheel.

    Returns its velocity [mm/mm] and second derivative [1/mm] by wheel travel, the rack held, each (..., N, 3).
    """
    links = [axle.links[name] for name in axle.rod.carried_by]
    if not links:
        return upright.carry(rod_eye(axle))[1:]
    outboard, velocity, curve = upright.carry(links[0].outboard)
    if len(links) == 1:
        share = share_along(links[0], axle.rod.outboard)[..., None, None]
        return share * velocity, share * curve
    hinge, a = links[0].inboard[..., None, :], unit(links[1].inboard - links[0].inboard)[..., None, :]
    tangent, swing = cross(a, outboard - hinge), cross(a, eye - hinge)
    turning, bending = (dot(tangent, each)[..., None] / dot(tangent, tangent)[..., None] for each in (velocity, curve))
    return turning * swing, bending * swing + turning**2 * cross(a, swing)


def carry_bolt(axle: Axle, upright: UprightMotion, tree: SideTree, bolt: Array) -> Array:
    """A direction (3,) at static that turns with what carries the rod's outboard eye, at K side states (..., K, 3).

    One link turns with its line and not about it: how it stands about its own line, its two joints leave open.
    """
    links = [axle.links[name] for name in axle.rod.carried_by]
    if not links:
        return turn(upright.rotation, bolt)
    outboard, _ = upright.carry(links[0].outboard)
    if len(links) == 1:
        return _with_line(links[0], outboard, bolt, tree)
    hinge, a = links[0].inboard, unit(links[1].inboard - links[0].inboard)
    local = turn(np.swapaxes(_frame(a, links[0].outboard - hinge), -1, -2), bolt)
    return turn(_frame(a[..., None, :], outboard - hinge[..., None, :]), local[..., None, :])


def _with_line(link: Link, outboard: Array, bolt: Array, tree: SideTree) -> Array:
    """A direction turned as the line of a link is, on the shortest way.

    With d0 and d the line's directions and w = d0 x d: b + w x b + w x (w x b) / (1 + d0 . d).
    """
    inboard = link.inboard[..., None, :] + tree.rack[:, None] * LEFTWARD * float(link.follows_rack)
    start, now = unit(link.outboard - link.inboard)[..., None, :], unit(outboard - inboard)
    w = cross(start, now)
    first = cross(w, bolt)
    return np.asarray(bolt + first + cross(w, first) / (1.0 + dot(start, now))[..., None])


def _on_link(link: Link, eye: Array, outboard: Array, velocity: Array, tree: SideTree) -> tuple[Array, Array]:
    """A point that keeps its share of the link's length."""
    share = share_along(link, eye)[..., None, None]
    inboard, drive = link.inboard[..., None, :], np.zeros((3, 2))
    if link.follows_rack:
        inboard = inboard + tree.rack[:, None] * LEFTWARD
        drive[:, 1] = LEFTWARD
    return inboard + share * (outboard - inboard), drive + share[..., None] * (velocity - drive)


def _on_wishbone(first: Link, second: Link, eye: Array, outboard: Array, velocity: Array) -> tuple[Array, Array]:
    """A point fixed in the triangle of the two inboard points and the outboard point.

    The triangle turns about the line a through its inboard points. With rho the outboard point's vector from it,
    its angular rate about a is v . (a x rho) / |a x rho|^2.
    """
    hinge, a = first.inboard, unit(second.inboard - first.inboard)
    start = _frame(a, first.outboard - hinge)
    local = (np.swapaxes(start, -1, -2) @ (eye - hinge)[..., None])[..., None, :, :]
    hinge, a = hinge[..., None, :], a[..., None, :]
    lever = (_frame(a, outboard - hinge) @ local)[..., 0]
    tangent = cross(a, outboard - hinge)
    turning = dot_columns(tangent, velocity) / dot(tangent, tangent)[..., None]
    return hinge + lever, cross(a, lever)[..., None] * turning[..., None, :]


def _frame(a: Array, arm: Array) -> Array:
    """Matrix (..., 3, 3) whose columns are a, the part of `arm` square to a, and their product."""
    a, arm = np.broadcast_arrays(a, arm)
    n = unit(arm - dot(arm, a)[..., None] * a)
    return np.stack([a, n, cross(a, n)], axis=-1)
