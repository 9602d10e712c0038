"""Figures of an axle under its load cases, from their definitions."""

import math
from collections.abc import Mapping

from optimiser.report.handoff.second_reading.cases import Rest, plain_cases, rest_under
from optimiser.report.handoff.second_reading.laws import MILLI
from optimiser.report.handoff.second_reading.plain import Tree, number, section
from optimiser.report.handoff.second_reading.reading import SEVERITY, Reckoned
from optimiser.report.handoff.second_reading.side import OK
from optimiser.report.handoff.second_reading.sprung import Sprung
from optimiser.report.handoff.second_reading.statics import Carried

ORDER = (OK, "past_travel", "no_balance", *SEVERITY[1:])
"""Statuses of a case, from the best to the worst."""
KEPT = (OK, "past_travel", "never_pressed")
"""Statuses under which a figure keeps its number."""


def load_figures(sprung: Sprung, tree: Tree) -> dict[str, Reckoned]:
    """Every figure of load cases by its full name; none without cases."""
    cases = plain_cases(tree)
    if not cases:
        return {}
    rests = [rest_under(sprung, case) for case in cases.values()]
    status = max((rest.status for rest in rests), key=ORDER.index)
    sides = [side for rest in rests for side in rest.sides or ()]
    if status not in KEPT:
        sides = []
    figures = {
        "rod.force_max": max((side.rod for side in sides), default=math.nan),
        "rod.tension_max": max((-side.rod for side in sides), default=math.nan),
    }
    if sprung.springs:
        figures["axle.travel_reserve"] = _reserve(sprung, rests) if sides else math.nan
        figures["rocker.pivot_force_max"] = max((p for rest in rests for p in rest.pivots if sides), default=math.nan)
    told = {name: (value, status) for name, value in figures.items()} | _links(sprung, sides, status)
    return told | _buckling(sprung, tree, figures["rod.force_max"], status)


def _reserve(sprung: Sprung, rests: list[Rest]) -> float:
    low, high = sprung.reading.travel.wheel
    return min(min(high - z, z - low) for rest in rests for z in rest.state[:2])


def _links(sprung: Sprung, sides: list[Carried], status: str) -> dict[str, Reckoned]:
    axle, told = sprung.reading.axle, {}
    for name in axle.links:
        ends = [force for side in sides for force in (side.outer[name], side.inner[name])]
        told[f"link.{name}.force"] = (max(ends, key=abs, default=math.nan), status)
    for name in axle.carried_by if len(axle.carried_by) == 1 else ():
        moments = [side.bending[name] / MILLI for side in sides]
        told[f"link.{name}.bending"] = (max(moments, default=math.nan), status)
    return told


def _buckling(sprung: Sprung, tree: Tree, pressed: float, status: str) -> dict[str, Reckoned]:
    loads = section(tree, "loads", "")
    if "rod_tube" not in loads:
        return {}
    tube = section(loads, "rod_tube", "loads")
    written = {key: number(tube, key, "loads.rod_tube") for key in ("outer", "wall", "modulus", "yield")}
    if status in KEPT and pressed <= 0.0:
        return {"rod.buckling_factor": (math.nan, "never_pressed")}
    return {"rod.buckling_factor": (_buckles(written, sprung.reading.rocker.rod_length) / pressed, status)}


def _buckles(tube: Mapping[str, float], length: float) -> float:
    """Load at which a tube with pinned ends buckles [N]: Euler's, or where that is above half the yield, Johnson's."""
    outer, inner = tube["outer"], tube["outer"] - 2.0 * tube["wall"]
    area = math.pi * (outer**2 - inner**2) / 4.0
    euler = math.pi**2 * tube["modulus"] * math.pi * (outer**4 - inner**4) / 64.0 / length**2
    squash = tube["yield"] * area
    return euler if euler <= squash / 2.0 else squash * (1.0 - squash / (4.0 * euler))
