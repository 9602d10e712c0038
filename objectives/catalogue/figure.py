"""What the catalogue says of one figure, and the sources that figures share.

To add a figure, write what it measures (objectives/*_figures.py) and give it one entry in the file of its subject.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, TypeAlias

from geometry.axle import AntiRollBar, Axle, CornerStrut, CrossStrut, Mode, TorsionBar
from objectives.fittings.fitted import NOTHING_FITTED, Fittings
from objectives.readings import FigureStatus, Reading
from objectives.survey import Survey

SubjectMeasure: TypeAlias = Callable[[Survey, str], Reading]
"""A figure of one element, link or joint, by its name."""
AxleMeasure: TypeAlias = Callable[[Survey], Reading]
Need: TypeAlias = Callable[[Fittings, str], bool]
"""Whether what a figure tells of is fitted: to the element, link or joint of this name, or anywhere on the axle."""

ELEMENT = "E."
"""How the name of a figure of each element begins."""
PAIR = "clearance.PAIR"
"""The name of the figure of each pair of bodies."""
LINK = "link.NAME."
"""How the name of a figure of each link begins."""
JOINT = "joint.NAME."
"""How the name of a figure of each joint begins."""


def nothing_needed(_fittings: Fittings, _subject: str) -> bool:
    """The need of a figure that is there whatever is fitted."""
    return True


@dataclass(frozen=True)
class Figure:
    """One measured figure.

    `name` is `E.word` for a figure of each element, `link.NAME.word` for one of each link, `joint.NAME.word` for one of
    each joint that something is said of, else the whole name; `scale` [unit] is the difference that counts as one when
    a held goal is missed or an objective compared; `decimals` are those shown in tables. `of` says which elements have
    the figure; `fitted` what must be fitted, else the axle has it not; `of_carrier` that of all links the one has it
    that carries the rod alone.
    """

    name: str
    unit: str
    scale: float
    decimals: int
    definition: str
    source: str
    measure: SubjectMeasure | AxleMeasure
    needs_rack: bool = False
    decoupled_only: bool = False
    roll_only: bool = False
    of: Literal["strut", "bar", "element"] = "strut"
    fitted: Need = nothing_needed
    of_carrier: bool = False
    form: str = ""
    """Of a figure of the built axle: the last word of its name, behind the name of the figure that it is of."""

    @property
    def of_element(self) -> bool:
        """Whether every element has this figure."""
        return self.name.startswith(ELEMENT)

    @property
    def of_link(self) -> bool:
        """Whether every link has this figure."""
        return self.name.startswith(LINK)

    @property
    def of_joint(self) -> bool:
        """Whether every joint that something is said of has this figure."""
        return self.name.startswith(JOINT)

    @property
    def of_pair(self) -> bool:
        """Whether every pair of bodies has this figure."""
        return self.name == PAIR

    @property
    def word(self) -> str:
        """The last part of the name."""
        return self.name.rpartition(".")[2]

    def subject_of(self, name: str) -> str | None:
        """The element, link, joint or pair in a full name of this figure; None for a figure of the axle."""
        whole = name.removesuffix(f".{self.form}") if self.form else name
        if self.of_pair:
            return whole.removeprefix("clearance.")
        subject = whole.rpartition(".")[0]
        if self.of_link:
            return subject.removeprefix("link.")
        if self.of_joint:
            return subject.removeprefix("joint.")
        return subject if self.of_element else None

    def void_for(self, axle: Axle, element: str, fittings: Fittings = NOTHING_FITTED) -> FigureStatus:
        """Why this figure has no meaning for an element of an axle; OK where it has."""
        if not self.fitted(fittings, element):
            return FigureStatus.NOTHING_FITTED
        match axle.elements[element]:
            case TorsionBar() | AntiRollBar():
                return FigureStatus.OF_STRUTS if self.of == "strut" else FigureStatus.OK
            case _ if self.of == "bar":
                return FigureStatus.OF_BARS
            case CornerStrut():
                return FigureStatus.NOT_DECOUPLED if self.decoupled_only else FigureStatus.OK
            case CrossStrut(serves=mode):
                return FigureStatus.ROLL_ONLY if self.roll_only and mode is not Mode.ROLL else FigureStatus.OK

    def is_of_link(self, axle: Axle, link: str, fittings: Fittings = NOTHING_FITTED) -> bool:
        """Whether a link of an axle has this figure."""
        carries = not self.of_carrier or axle.rod.carried_by == (link,)
        return self.of_link and carries and self.fitted(fittings, link)

    def is_of(self, axle: Axle, element: str, fittings: Fittings = NOTHING_FITTED) -> bool:
        """Whether an element of an axle has this figure, be it null."""
        return self.void_for(axle, element, fittings) not in ABSENT


ABSENT = (FigureStatus.NOTHING_FITTED, FigureStatus.OF_STRUTS, FigureStatus.OF_BARS)
"""Where a figure has no meaning for one of these reasons, it is not listed."""

OWN = "defined by this project"
HANDBOOK = "W. F. and D. L. Milliken, Race Car Vehicle Dynamics, SAE 1995, ch. 16 (installation ratio), from memory"
RATES = "W. F. and D. L. Milliken, Race Car Vehicle Dynamics, SAE 1995, ch. 16 (wheel and roll rates), from memory"
TRANSMISSION = "R. L. Norton, Design of Machinery, ch. 4 (transmission angle), from memory"
VIRTUAL_WORK = "virtual work; no source needed"
