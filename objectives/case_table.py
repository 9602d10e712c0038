"""The table of load cases of one axle: what each does to wheels, elements, rods, links and rockers, in plain records.

Forces in N, moments in N.m, lengths in mm, angles in deg. A number is None where its case has no answer.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from geometry.axle import AntiRollBar, Axle, TorsionBar
from objectives.fittings.forces import NEWTON_MM
from objectives.fittings.installed import Installed
from objectives.fittings.loads import RodTube
from objectives.loads.buckling import buckling_load
from objectives.loads.cases import CaseForces, SideForces
from objectives.readings import FigureStatus
from objectives.strain import ElementStrain
from objectives.survey import Survey

Number = float | None


@dataclass(frozen=True)
class SideRow:
    """One side in one case, the right one as seen in a mirror.

    `travel` of the wheel; `rod`: compression; `links`: tension at the inboard end, and `bending` of a link under the
    rod; `pivot`: size of the rocker's force on its bearing; `buckling_factor`: of the rod's tube, None where it is
    not pressed or no tube is given.
    """

    travel: Number
    rod: Number
    links: Mapping[str, Number]
    bending: Mapping[str, Number]
    pivot: Number
    buckling_factor: Number


@dataclass(frozen=True)
class ElementRow:
    """An element's springs in one case: `compression`, `force`, in mm and N, of a bar deg and N.m.

    The `right` ones are those of the right element where there is one on each side, else None. `notes`: `solid`,
    `slack` and `one spring slack`, for springs at their stop and springs that have let go.
    """

    compression: Number
    force: Number
    right_compression: Number
    right_force: Number
    of_bar: bool
    notes: tuple[str, ...]


@dataclass(frozen=True)
class CaseRow:
    """One load case: `status` a word of `FigureStatus`; `heave` and `roll` of the wheels; both sides; the elements."""

    name: str
    status: str
    heave: Number
    roll: Number
    left: SideRow
    right: SideRow
    elements: Mapping[str, ElementRow]


def case_table(survey: Survey) -> tuple[CaseRow, ...]:
    """Every load case of one axle, in the study's order. ValueError for a batch."""
    if survey.batch:
        raise ValueError(f"a table of load cases is of one axle; the batch has shape {survey.batch}: pick one")
    cases = survey.cases
    return tuple(_case(survey, cases, place) for place in range(len(cases.names)))


def _case(survey: Survey, cases: CaseForces, place: int) -> CaseRow:
    status = FigureStatus(int(cases.status[place]))
    void = status not in (FigureStatus.OK, FigureStatus.PAST_TRAVEL)
    left, right = cases.settled.travel[place]
    tube, length = survey.fittings.loads.rod_tube, survey.side.points.rod_length
    rows = [
        _side(survey.axle, side, place, _number(travel, void), None if void else _strength(tube, length), void)
        for side, travel in ((cases.left, left), (cases.right, right))
    ]
    elements = cases.settled.strain.elements
    return CaseRow(
        name=cases.names[place],
        status=status.word,
        heave=_number(0.5 * (left + right), void),
        roll=_number(0.5 * (left - right), void),
        left=rows[0],
        right=rows[1],
        elements={name: _element(survey.axle, name, one, place, void) for name, one in elements.items()},
    )


def _side(axle: Axle, side: SideForces, place: int, travel: Number, strength: Number, void: bool) -> SideRow:
    rod = float(side.upright.rod[place])
    bent = axle.rod.carried_by if len(axle.rod.carried_by) == 1 else ()
    places = {name: number for number, name in enumerate(axle.links)}
    return SideRow(
        travel=travel,
        rod=_number(rod, void),
        links={name: _number(side.upright.tension[place, number], void) for name, number in places.items()},
        bending={name: _number(side.bending[place, places[name]] / NEWTON_MM, void) for name in bent},
        pivot=_number(side.rocker.size[place], void or not side.pushes),
        buckling_factor=strength / rod if strength is not None and rod > 0.0 else None,
    )


def _strength(tube: RodTube | None, length: Array) -> Number:
    return None if tube is None else float(buckling_load(tube, length))


def _element(axle: Axle, name: str, strain: ElementStrain, place: int, void: bool) -> ElementRow:
    of_bar = isinstance(axle.elements[name], TorsionBar | AntiRollBar)
    squeezed, right = strain.compression, strain.compression_right
    lengths, forces = (180.0 / np.pi, 1.0 / NEWTON_MM) if of_bar else (1.0, 1.0)
    each = [squeezed[place]] if right is None else [squeezed[place], right[place]]
    return ElementRow(
        compression=_number(each[0] * lengths, void),
        force=_number(strain.force[place] * forces, void),
        right_compression=None if right is None else _number(each[-1] * lengths, void),
        right_force=None if strain.force_right is None else _number(strain.force_right[place] * forces, void),
        of_bar=of_bar,
        notes=() if void else _notes(strain.springs, np.array(each)),
    )


def _notes(springs: Installed, squeezed: Array) -> tuple[str, ...]:
    found = {
        "solid": np.any(squeezed >= springs.solid_at),
        "slack": np.any(squeezed <= springs.slack_at),
        "one spring slack": np.any(np.abs(squeezed) > springs.knee_at),
    }
    return tuple(word for word, holds in found.items() if holds)


def _number(value: Array | float, void: bool) -> Number:
    return None if void or not np.isfinite(value) else float(value)
