"""What every part of an axle carries under each load case: see `record`.

Forces are N, of bars N.m, bending moments N.m, travels mm; pairs are the left and the right side. Links: tension
positive; the rod: compression positive; springs: positive when they push their element longer.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from objectives.fittings.forces import NEWTON_MM
from objectives.loads.cases import CaseForces
from objectives.readings import FigureStatus
from objectives.strain import ElementStrain
from objectives.survey import Survey
from optimiser.report.analysis.spring_record import in_file_unit

Pair = tuple[float | None, float | None]
"""Of the left and the right side; None where the case has no answer."""

ANSWERED = (FigureStatus.OK, FigureStatus.PAST_TRAVEL)
"""Statuses of a case that has an answer."""


@dataclass(frozen=True)
class CaseRow:
    """One load case."""

    status: str
    """`ok`, `past_travel` where a wheel goes past its travel, `no_balance`, or why the geometry cannot be there."""
    heave: float | None
    """Travel of the mean of both wheels [mm]."""
    roll: float | None
    """Half the left wheel's travel less the right one's [mm]."""
    travel: Pair
    rod: Pair
    pivot: Pair
    links: Mapping[str, tuple[Pair, Pair]]
    """Tension at the outboard and at the inboard end: they differ where the link carries the rod."""
    bending: Mapping[str, Pair]
    """Of links that carry the rod alone."""
    forces: Mapping[str, Pair]
    """Of the springs on each element: one and the same across the car."""
    stops: tuple[str, ...]
    """Elements whose spring is solid or slack there, in words."""


def case_rows(surveyed: Survey) -> dict[str, CaseRow]:
    """Every load case of a surveyed axle (no batch axes), in the study's order."""
    if not surveyed.fittings.loads.cases:
        return {}
    cases = surveyed.cases
    return {name: _row(surveyed, cases, place) for place, name in enumerate(cases.names)}


def _row(surveyed: Survey, cases: CaseForces, place: int) -> CaseRow:
    status = FigureStatus(int(cases.status[place]))
    known = status in ANSWERED

    def pair(values: Array) -> Pair:
        left, right = (float(value) if known and np.isfinite(value) else None for value in values)
        return left, right

    left, right = pair(cases.settled.travel[place])
    elements = cases.settled.strain.elements
    names = list(surveyed.axle.links)
    ends = cases.tension[place]
    carriers = surveyed.axle.rod.carried_by if len(surveyed.axle.rod.carried_by) == 1 else ()
    return CaseRow(
        status=status.word,
        heave=None if left is None or right is None else 0.5 * (left + right),
        roll=None if left is None or right is None else 0.5 * (left - right),
        travel=(left, right),
        rod=pair(cases.rod[place]),
        pivot=pair(cases.pivot[place]),
        links={name: (pair(ends[:, k, 0]), pair(ends[:, k, 1])) for k, name in enumerate(names)},
        bending={name: pair(cases.bending[place][:, names.index(name)] / NEWTON_MM) for name in carriers},
        forces={name: pair(in_file_unit(surveyed, name, _both(one, place))) for name, one in elements.items()},
        stops=tuple(_stops(elements, place)) if known else (),
    )


def _both(element: ElementStrain, place: int) -> Array:
    right = element.force if element.force_right is None else element.force_right
    return np.array([element.force[place], right[place]])


def _stops(elements: Mapping[str, ElementStrain], place: int) -> list[str]:
    """Springs that are at a stop, or have let go, on either side."""
    told = []
    for name, element in elements.items():
        sides = [element.compression, element.compression_right]
        squeezed = [float(side[place]) for side in sides if side is not None]
        told += [f"{name} solid"] if max(squeezed) >= element.springs.solid_at else []
        told += [f"{name} slack"] if min(squeezed) <= element.springs.slack_at else []
    return told
