"""The catalogue of figures: every measured figure once, with its unit, definition and source.

It feeds the goals of a study, the faults for unknown names, table headings and the `figures` command. To add a figure,
write what it measures (objectives/*_figures.py) and give it one entry here.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TypeAlias

from geometry.axle import Axle, CornerStrut, Mode
from objectives import axle_figures, strut_figures
from objectives.readings import FigureStatus, Reading
from objectives.survey import Survey

ElementMeasure: TypeAlias = Callable[[Survey, str], Reading]
AxleMeasure: TypeAlias = Callable[[Survey], Reading]


class UnknownFigureError(Exception):
    """A name that no figure has; `suggestion` is the nearest one that a figure has, or None."""

    def __init__(self, name: str, suggestion: str | None) -> None:
        nearest = f"; the nearest name is {suggestion}" if suggestion else ""
        super().__init__(f"there is no figure {name}{nearest}")
        self.name, self.suggestion = name, suggestion


@dataclass(frozen=True)
class Figure:
    """One measured figure.

    `name` is `E.word` for a figure of each element, else the whole name; `scale` [unit] is the difference that counts
    as one when a held goal is missed or an objective compared; `decimals` are those shown in tables.
    """

    name: str
    unit: str
    scale: float
    decimals: int
    definition: str
    source: str
    measure: ElementMeasure | AxleMeasure
    needs_rack: bool = False
    decoupled_only: bool = False
    roll_only: bool = False

    @property
    def of_element(self) -> bool:
        """Whether every element has this figure."""
        return self.name.startswith("E.")

    def void_for(self, axle: Axle, element: str) -> FigureStatus:
        """Why this figure has no meaning for an element of an axle; OK where it has."""
        served = axle.elements[element]
        if isinstance(served, CornerStrut):
            return FigureStatus.NOT_DECOUPLED if self.decoupled_only else FigureStatus.OK
        return FigureStatus.ROLL_ONLY if self.roll_only and served.serves is not Mode.ROLL else FigureStatus.OK


OWN = "defined by this project"
HANDBOOK = "W. F. and D. L. Milliken, Race Car Vehicle Dynamics, SAE 1995, ch. 16 (installation ratio), from memory"
TRANSMISSION = "R. L. Norton, Design of Machinery, ch. 4 (transmission angle), from memory"

FIGURES: tuple[Figure, ...] = (
    Figure(
        "E.motion_ratio",
        "mm/mm",
        0.01,
        4,
        "MR_m at static: element compression per mm of travel of both wheels in the mode m that it serves; a corner"
        " strut's is dc_left/dz_left.",
        HANDBOOK,
        strut_figures.motion_ratio,
    ),
    Figure(
        "E.coupling",
        "mm/mm",
        0.01,
        5,
        "MR_n at static: the same ratio in the other mode n.",
        OWN,
        strut_figures.coupling,
        decoupled_only=True,
    ),
    Figure(
        "E.progressivity",
        "%",
        1.0,
        2,
        "100 (MR_m at the bump (positive) end / MR_m at static - 1).",
        OWN,
        strut_figures.progressivity,
    ),
    Figure(
        "E.progressivity_droop",
        "%",
        1.0,
        2,
        "100 (MR_m at the droop (negative) end / MR_m at static - 1).",
        OWN,
        strut_figures.progressivity_droop,
    ),
    Figure(
        "E.ratio_spread",
        "%",
        1.0,
        2,
        "Largest 100 abs(MR_m / MR_m(0) - 1) over the travel points of m.",
        OWN,
        strut_figures.ratio_spread,
    ),
    Figure(
        "E.crosstalk",
        "%",
        1.0,
        3,
        "100 largest abs(c) over the pure n sweep / largest abs(c) over the pure m sweep, c the compression.",
        OWN,
        strut_figures.crosstalk,
        decoupled_only=True,
    ),
    Figure(
        "E.ratio_drift",
        "%",
        1.0,
        3,
        "Largest 100 abs(MR_m(m = 0, n) / MR_m(0, 0) - 1) over the travel points of n.",
        OWN,
        strut_figures.ratio_drift,
        decoupled_only=True,
    ),
    Figure(
        "E.left_right_split",
        "%",
        1.0,
        3,
        "200 abs(c(r) + c(-r)) / abs(c(r) - c(-r)) at r = the smaller end of the roll range; for elements that serve"
        " roll.",
        OWN,
        strut_figures.left_right_split,
        decoupled_only=True,
        roll_only=True,
    ),
    Figure(
        "E.steer_even",
        "mm",
        1.0,
        3,
        "Largest abs((c(s) + c(-s)) / 2) over the travel points of [-s, s], s = the smaller end of the rack range:"
        " the part of steering that lifts the car.",
        OWN,
        strut_figures.steer_even,
        needs_rack=True,
    ),
    Figure(
        "E.steer_odd",
        "mm",
        1.0,
        3,
        "Largest abs((c(s) - c(-s)) / 2) over the same points: the part of steering that rolls the car.",
        OWN,
        strut_figures.steer_odd,
        needs_rack=True,
    ),
    Figure("E.length_static", "mm", 1.0, 2, "Length between the eyes at static.", OWN, strut_figures.length_static),
    Figure(
        "E.length_min",
        "mm",
        1.0,
        2,
        "Smallest length over all states of heave and roll.",
        OWN,
        strut_figures.length_min,
    ),
    Figure(
        "E.length_max",
        "mm",
        1.0,
        2,
        "Largest length over all states of heave and roll.",
        OWN,
        strut_figures.length_max,
    ),
    Figure(
        "E.compression_stroke",
        "mm",
        1.0,
        2,
        "Static length - smallest length.",
        OWN,
        strut_figures.compression_stroke,
    ),
    Figure(
        "E.extension_stroke",
        "mm",
        1.0,
        2,
        "Largest length - static length.",
        OWN,
        strut_figures.extension_stroke,
    ),
    Figure(
        "E.transmission_min",
        "deg",
        1.0,
        1,
        "Smallest angle, folded to 0..90, between arm and strut line, both projected along the axis, over all states,"
        " the worse end.",
        TRANSMISSION,
        strut_figures.transmission_min,
    ),
    Figure(
        "E.tilt_max",
        "deg",
        1.0,
        2,
        "Largest angle of the strut line out of the rocker's plane, the worse end, over all states.",
        OWN,
        strut_figures.tilt_max,
    ),
    Figure(
        "E.angle_static",
        "deg",
        1.0,
        1,
        "Angle of the strut's line to the ground plane at static, 0..90.",
        OWN,
        strut_figures.angle_static,
    ),
    Figure("rocker.sweep", "deg", 1.0, 2, "Largest - smallest rocker angle over all states.", OWN, axle_figures.sweep),
    Figure(
        "rocker.transmission_min",
        "deg",
        1.0,
        1,
        "Smallest angle, folded to 0..90, between rod and arm, both projected along the axis, over all states.",
        TRANSMISSION,
        axle_figures.transmission_min,
    ),
    Figure(
        "rocker.toggle_margin",
        "mm",
        1.0,
        1,
        "One wheel's travel, at rack 0, beyond either end of its range until rod and arm line up, the loop opens or"
        " the links lock; the smaller of both; searched to 100 mm.",
        OWN,
        axle_figures.toggle_margin,
    ),
    Figure(
        "rocker.arm_sum",
        "mm",
        1.0,
        1,
        "Sum of the in-plane radii of the rod end and every pick-up that an element names, each once.",
        OWN,
        axle_figures.arm_sum,
    ),
    Figure(
        "rocker.top_height",
        "mm",
        1.0,
        1,
        "Highest z that any of those points reaches over all states.",
        OWN,
        axle_figures.top_height,
    ),
    Figure(
        "rod.tilt_max",
        "deg",
        1.0,
        2,
        "Largest angle of the rod out of the rocker's plane at its rocker end, over all states.",
        OWN,
        axle_figures.tilt_max,
    ),
    Figure(
        "rod.angle_static",
        "deg",
        1.0,
        1,
        "Angle of the rod's line to the ground plane at static, 0..90.",
        OWN,
        axle_figures.rod_angle_static,
    ),
)

BY_NAME: Mapping[str, Figure] = {figure.name: figure for figure in FIGURES}
AXLE_PARTS = frozenset(figure.name.split(".")[0] for figure in FIGURES if not figure.of_element)
"""First words of figures that belong to no element (`rocker`, `rod`): no element may be called so."""


def figure_names(axle: Axle) -> tuple[str, ...]:
    """Every figure that an axle has, in the catalogue's order, element by element."""
    has = [figure for figure in FIGURES if axle.has_rack or not figure.needs_rack]
    of_elements = [element + figure.name[1:] for element in axle.elements for figure in has if figure.of_element]
    return (*of_elements, *(figure.name for figure in has if not figure.of_element))


def describe(name: str) -> Figure:
    """The catalogue's entry for a figure's name (`heave.motion_ratio`) or pattern (`E.motion_ratio`).

    Raises UnknownFigureError for a name that no entry fits.
    """
    if name in BY_NAME:
        return BY_NAME[name]
    element, _, word = name.rpartition(".")
    if element and element not in AXLE_PARTS and f"E.{word}" in BY_NAME:
        return BY_NAME[f"E.{word}"]
    head = element if element and element not in AXLE_PARTS else "E"
    known = [head + figure.name[1:] if figure.of_element else figure.name for figure in FIGURES]
    raise UnknownFigureError(name, next(iter(get_close_matches(name, known, 1)), None))
