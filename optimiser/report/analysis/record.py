"""What one axle does: the record behind `rockwright analyse`, computed once from a study, then shown or written out.

Every travel, length and ratio is in mm and mm/mm, every angle in deg. N = travel points of a sweep.

    sweep       travel t               state (z_left, z_right, rack)   motion ratio dc/dt
    heave       h, both wheels         (h, h, 0)                       by_left + by_right
    roll        r, left up, right down (r, -r, 0)                      by_left - by_right
    one_wheel   b, left wheel alone    (b, 0, 0)                       by_left
    rack        s, to the left         (0, 0, s)                       by_rack

c = element compression, static length - length: a motion ratio is -d(length)/dt. Rocker angles and a corner strut's
numbers are the left side's.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from geometry.axle import AntiRollBar, Axle, Bar, CornerStrut, Strut, TorsionBar
from geometry.status import Status
from geometry.strut import StrutMotion
from geometry.travel import Travel
from objectives.adjustment.table import AdjustmentTable, adjustment_table
from objectives.catalogue.catalogue import asked_names
from objectives.evaluate import measure
from objectives.readings import FigureStatus
from objectives.survey import StateSet, Survey, UprightMemory, survey
from objectives.tolerance.build import Build
from optimiser.report.analysis.built_record import BuiltRow, built_rows
from optimiser.report.analysis.case_record import CaseRow, case_rows
from optimiser.report.analysis.joint_record import JointRow, joint_rows
from optimiser.report.analysis.room_record import NearPair, near_pairs
from optimiser.report.analysis.spring_record import OnSprings, on_springs
from optimiser.report.analysis.verdicts import Verdict, Wish, verdicts, wishes
from optimiser.report.analysis.wheel_record import WheelWays, wheel_ways
from optimiser.study.study import Study

OK = Status.OK.word
"""The word of a state, or a figure, in which nothing is wrong."""

SWEEPS = (StateSet.HEAVE, StateSet.ROLL, StateSet.ONE_WHEEL, StateSet.RACK)
"""The sweeps shown, in order; the last where a link follows a rack."""

ATTITUDE_SWEEPS = (StateSet.HEAVE, StateSet.RACK)
"""The sweeps over which the wheel's attitude is shown."""


@dataclass(frozen=True)
class ElementSweep:
    """One element over a sweep, each array (N,): NaN where the axle's status is not ok."""

    length: Array
    """Eye to eye [mm]."""
    compression: Array
    """Static length - length [mm], positive when squeezed."""
    motion_ratio: Array
    """-d(length)/d(travel of this sweep) [mm/mm]."""
    transmission: Array
    """Angle between rocker arm and strut line [deg], 0..90, at the worse end."""
    over_centre: tuple[bool, ...]
    """Whether the strut's arm about a rocker axis has changed sign against static."""


@dataclass(frozen=True)
class Sweep:
    """The inboard half over a sweep, each array (N,)."""

    travel: Array
    """Travel [mm]."""
    rocker_angle: Array
    """Angle of the left rocker against static [deg]."""
    transmission: Array
    """Angle between the left rocker's rod arm and the rod's line [deg], 0..90."""
    status: tuple[str, ...]
    """The word of each state."""
    elements: Mapping[str, ElementSweep]
    """Struts, by name."""
    twist: Mapping[str, Array]
    """Twist of each bar (N,) [deg], a left torsion bar's its rocker's angle in the sense of bump; by name."""


@dataclass(frozen=True)
class WheelSweep:
    """The left wheel over a sweep, against the sprung mass."""

    travel: Array
    """(N,) [mm]."""
    camber: Array
    """(N,) [deg], top outward positive."""
    toe: Array
    """(N,) [deg], toe-in positive."""
    centre: Array
    """(N, 3) wheel centre [mm]."""
    rod_outboard: Array
    """(N, 3) the rod's outboard eye [mm]."""


@dataclass(frozen=True)
class Analysis:
    """All that `analyse` shows of one axle."""

    name: str
    elements: Mapping[str, Strut]
    """Struts, by name."""
    bars: Mapping[str, Bar]
    """Bars, by name."""
    travel: Travel
    sweeps: Mapping[str, Sweep]
    """heave, roll, one_wheel and, where a link follows a rack, rack."""
    wheel: Mapping[str, WheelSweep]
    """heave and, where a link follows a rack, rack."""
    ways: WheelWays
    """The wheel's steering axis, and its ways in heave."""
    figures: Mapping[str, float | None]
    """Every figure of the axle; None where it is null."""
    figure_status: Mapping[str, str]
    """The word of every figure that is not ok."""
    verdicts: tuple[Verdict, ...]
    """Held goals, the one nearest to being missed (or the most missed) first."""
    wishes: tuple[Wish, ...]
    """Objectives, in the study's order."""
    notes: tuple[str, ...]
    """What the reader of the file did that its user should know."""
    on_springs: OnSprings | None
    """Springs and dampers; None where neither is fitted."""
    cases: Mapping[str, CaseRow]
    """Load cases, by name."""
    near: tuple[NearPair, ...]
    """The nearest pairs of bodies."""
    joints: tuple[JointRow, ...]
    """Spherical joints that something is said of."""
    adjustment: AdjustmentTable | None
    """What each turn of the rods and each hole changes; None where nothing can be set."""
    build: Build | None
    """How exactly the axle is built; None where nothing is said of it."""
    built: tuple[BuiltRow, ...]
    """What that does to each figure that a goal asks for."""


def analyse(study: Study) -> Analysis:
    """Move a study's own axle through its sweeps, measure every figure and judge its goals. Never fails on geometry."""
    surveyed = survey(study.axle, study.travel, UprightMemory(), fittings=study.fittings)
    sweeps = [name for name in SWEEPS if name in surveyed.plan.points]
    asked = asked_names(study.axle, study.fittings, (goal.figure for goal in study.goals))
    figures, status = _figures(surveyed, asked)
    return Analysis(
        name=study.name,
        elements=study.axle.struts,
        bars=bars_of(study.axle),
        travel=study.travel,
        sweeps={name.value: _sweep(surveyed, name) for name in sweeps},
        wheel={name.value: _wheel(surveyed, name) for name in sweeps if name in ATTITUDE_SWEEPS},
        ways=wheel_ways(surveyed),
        figures=figures,
        figure_status=status,
        verdicts=verdicts(study.goals, figures, status),
        wishes=wishes(study.goals, figures, status),
        notes=study.notes,
        on_springs=on_springs(surveyed),
        cases=case_rows(surveyed),
        near=near_pairs(surveyed),
        joints=joint_rows(surveyed),
        adjustment=_adjustment(study),
        build=study.fittings.build,
        built=built_rows(surveyed, study.goals),
    )


def _adjustment(study: Study) -> AdjustmentTable | None:
    return adjustment_table(study.axle, study.travel, study.fittings) if study.fittings.adjust else None


def bars_of(axle: Axle) -> dict[str, Bar]:
    """The elements that twist, by name."""
    return {name: one for name, one in axle.elements.items() if isinstance(one, TorsionBar | AntiRollBar)}


def own_mode(element: Strut) -> str:
    """The sweep in which an element works: the mode it serves; heave for a corner strut."""
    return "heave" if isinstance(element, CornerStrut) else element.serves.value


def word_over(sweep: Sweep, element: str) -> str:
    """`ok`, or the word of the first state of a sweep that is not, or `over_centre` where the strut is so."""
    trouble = [word for word in sweep.status if word != OK]
    trouble += [Status.OVER_CENTRE.word] if any(sweep.elements[element].over_centre) else []
    return trouble[0] if trouble else OK


def stroke(sweep: Sweep, element: str) -> float | None:
    """Largest |compression| of an element over a sweep [mm]; None where it is not ok in some state."""
    if word_over(sweep, element) != OK:
        return None
    return float(np.max(np.abs(sweep.elements[element].compression)))


def share(analysis: Analysis, sweep: str, element: str) -> float | None:
    """An element's stroke over a sweep in % of its stroke over its own mode; None where either is not to be had.

    Over the other mode of a cross-car strut this is its `crosstalk`.
    """
    here = stroke(analysis.sweeps[sweep], element)
    own = stroke(analysis.sweeps[own_mode(analysis.elements[element])], element)
    return 100.0 * here / own if here is not None and own else None


def _sweep(surveyed: Survey, name: StateSet) -> Sweep:
    motion = surveyed.motion(name)
    return Sweep(
        travel=surveyed.plan.points[name],
        rocker_angle=np.degrees(motion.rocker_angle),
        transmission=np.degrees(motion.rod_transmission),
        status=tuple(Status(code).word for code in motion.status),
        elements={element: _element(name, surveyed.strut(element, name)) for element in surveyed.axle.struts},
        twist={bar: np.degrees(motion.squeeze(bar).compression) for bar in bars_of(surveyed.axle)},
    )


def _element(name: StateSet, strut: StrutMotion) -> ElementSweep:
    return ElementSweep(
        length=strut.length,
        compression=strut.compression,
        motion_ratio=_ratio(name, strut),
        transmission=np.degrees(np.fmin(strut.transmission_left, strut.transmission_right)),
        over_centre=tuple(bool(flag) for flag in strut.over_centre),
    )


def _ratio(sweep: StateSet, strut: StrutMotion) -> Array:
    """d compression / d travel of the sweep: see the table at the top of this module."""
    match sweep:
        case StateSet.HEAVE:
            return strut.by_left + strut.by_right
        case StateSet.ROLL:
            return strut.by_left - strut.by_right
        case StateSet.ONE_WHEEL:
            return strut.by_left
        case _:
            return strut.by_rack


def _wheel(surveyed: Survey, name: StateSet) -> WheelSweep:
    motion = surveyed.motion(name)
    return WheelSweep(
        travel=surveyed.plan.points[name],
        camber=np.degrees(motion.wheel.camber),
        toe=np.degrees(motion.wheel.toe),
        centre=motion.wheel.centre,
        rod_outboard=motion.rod_outboard,
    )


def _figures(surveyed: Survey, names: Sequence[str]) -> tuple[dict[str, float | None], dict[str, str]]:
    """The figures of these names, and the word of each that is not ok."""
    readings = {name: measure(surveyed, name) for name in names}
    words = {name: FigureStatus(int(reading.status)).word for name, reading in readings.items()}
    values = {name: float(reading.value) for name, reading in readings.items()}
    figures = {name: value if np.isfinite(value) else None for name, value in values.items()}
    return figures, {name: word for name, word in words.items() if word != OK}
