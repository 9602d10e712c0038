"""What the catalogue says of one figure, and the sources that figures share.

To add a figure, write what it measures (objectives/*_figures.py) and give it one entry in the file of its subject.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

from geometry.axle import Axle, CornerStrut, Mode
from objectives.readings import FigureStatus, Reading
from objectives.survey import Survey

ElementMeasure: TypeAlias = Callable[[Survey, str], Reading]
AxleMeasure: TypeAlias = Callable[[Survey], Reading]


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
        served = axle.struts[element]
        if isinstance(served, CornerStrut):
            return FigureStatus.NOT_DECOUPLED if self.decoupled_only else FigureStatus.OK
        return FigureStatus.ROLL_ONLY if self.roll_only and served.serves is not Mode.ROLL else FigureStatus.OK


OWN = "defined by this project"
HANDBOOK = "W. F. and D. L. Milliken, Race Car Vehicle Dynamics, SAE 1995, ch. 16 (installation ratio), from memory"
TRANSMISSION = "R. L. Norton, Design of Machinery, ch. 4 (transmission angle), from memory"
