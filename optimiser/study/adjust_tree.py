"""What can be set, written out again as the section `adjust` of a study, and in words."""

from collections.abc import Mapping, Sequence
from typing import TypeAlias

import numpy as np

from geometry.axle import Axle
from geometry.hardpoints import place
from objectives.adjustment.holes import with_hole
from objectives.adjustment.records import COORDINATES, Adjustments, Hole
from optimiser.study.variables import PICKUPS

Tree: TypeAlias = "bool | float | str | Sequence[Tree] | Mapping[str, Tree]"
"""A branch of a YAML file."""


def adjust_tree(adjust: Adjustments) -> dict[str, Tree]:
    """The section `adjust` of a study; nothing where nothing can be set."""
    tree: dict[str, Tree] = {}
    if adjust.rod is not None:
        tree["rod"] = {"thread": adjust.rod.thread, "turns": list(adjust.rod.turns)}
    return tree | {
        f"{PICKUPS}{name}": {"holes": [hole_tree(hole) for hole in holes]} for name, holes in adjust.holes.items()
    }


def hole_tree(hole: Hole) -> Tree:
    """One hole as in a study: its numbers [mm, deg], a point where it gives all coordinates."""
    if set(hole) == set(COORDINATES):
        return [hole[name] for name in COORDINATES]
    return {name: _degrees(value) if name == "angle" else value for name, value in hole.items()}


def at_points(axle: Axle, adjust: Adjustments) -> Adjustments:
    """The adjustments of an axle (no batch axes) with every hole as a point of it, as it is placed."""

    def points(name: str, holes: Sequence[Hole]) -> tuple[Hole, ...]:
        index = np.arange(len(holes))
        bored = np.broadcast_to(place(with_hole(axle, name, holes, index)).pickups[name], (len(holes), 3))
        return tuple(
            {key: float(value) + 0.0 for key, value in zip(COORDINATES, point, strict=True)} for point in bored
        )

    return Adjustments(adjust.rod, {name: points(name, holes) for name, holes in adjust.holes.items()})


def adjust_in_words(adjust: Adjustments) -> list[str]:
    """All that can be set, a line each."""
    lines = []
    if adjust.rod is not None:
        low, high = adjust.rod.turns
        lines.append(f"rod: {adjust.rod.thread:g} mm of length a turn, {low:g} to {high:+g} turns from as drawn")
    for name, holes in adjust.holes.items():
        told = ", ".join(f"{at} ({hole_in_words(hole)})" for at, hole in enumerate(holes))
        lines.append(f"{PICKUPS}{name}: holes {told}")
    return lines


def hole_in_words(hole: Hole) -> str:
    """`length 72, angle 80`."""
    return ", ".join(f"{name} {_degrees(value) if name == 'angle' else value:g}" for name, value in hole.items())


def _degrees(angle: float) -> float:
    """The shortest decimal that gives the same angle [rad] back."""
    exact = float(np.rad2deg(angle))
    rounded = (round(exact, places) for places in range(17))
    return next((value for value in rounded if float(np.deg2rad(value)) == angle), exact) + 0.0
