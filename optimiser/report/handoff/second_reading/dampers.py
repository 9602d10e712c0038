"""Dampers of a hand-off that are given by their curve: force against the speed of compression."""

from optimiser.report.handoff.second_reading.laws import plain_points
from optimiser.report.handoff.second_reading.plain import Tree, section

Curve = tuple[tuple[float, float], ...]
"""Speed [m/s] and force [N] of each point, both rising."""


def plain_dampers(tree: Tree) -> dict[str, Curve]:
    """The curves of the dampers that have one, by the element that they damp."""
    dampers = section(tree, "dampers", "") if "dampers" in tree else {}
    curves = {name: section(dampers, name, "dampers") for name in dampers}
    return {name: plain_points(damper, f"dampers.{name}") for name, damper in curves.items() if "points" in damper}


def damper_force(curve: Curve, speed: float) -> float:
    """The force [N] at a speed of compression [m/s]: straight between the points and beyond the last ones."""
    inner = [point[0] for point in curve[1:-1]]
    piece = sum(speed > at for at in inner)
    (v0, f0), (v1, f1) = curve[piece], curve[piece + 1]
    return f0 + (f1 - f0) / (v1 - v0) * (speed - v0)
