"""What a drawing is made of: plain marks on sheets of paper, which the writers turn into SVG, PDF or PNG.

Positions and sizes are mm of paper, x to the right and y up from a sheet's lower left corner; angles are deg,
counter-clockwise.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

Point: TypeAlias = tuple[float, float]
"""A place on the paper [mm]."""

SHEET_WIDTH, SHEET_HEIGHT = 420.0, 297.0
"""A3 across (ISO 216)."""


class Anchor(StrEnum):
    """Which end of a text stands at its point; `CENTRE` is its middle."""

    LEFT = "start"
    CENTRE = "middle"
    RIGHT = "end"


@dataclass(frozen=True)
class Ink:
    """How a line is drawn: `colour` and `fill` as `#rrggbb` (`fill` empty: none), `width` and `dash` in mm."""

    colour: str
    width: float
    dash: tuple[float, ...] = ()
    fill: str = ""


@dataclass(frozen=True)
class Path:
    """A line through `points`, closed where `closed`."""

    points: tuple[Point, ...]
    ink: Ink
    closed: bool = False


@dataclass(frozen=True)
class Disc:
    """A circle."""

    centre: Point
    radius: float
    ink: Ink


@dataclass(frozen=True)
class Words:
    """One line of text; `size` is the height of its letters' square [mm], `at` lies on its base line."""

    at: Point
    text: str
    size: float
    anchor: Anchor = Anchor.LEFT
    angle: float = 0.0
    colour: str = "#000000"
    bold: bool = False


@dataclass(frozen=True)
class Measure:
    """A dimension: what it `says`, the `line` that is it, and the marks that say so.

    A length runs along `line`, from arrow tip to arrow tip: it is `scale` (mm of paper per mm of the car) times what
    it says [mm]. An angle [deg] runs about `centre` from the first to the last point of `line`.
    """

    says: float
    line: Path
    scale: float
    marks: tuple[Path | Words, ...]
    centre: Point | None = None


Mark: TypeAlias = Path | Disc | Words | Measure


@dataclass(frozen=True)
class Sheet:
    """One page."""

    title: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class Drawing:
    """The sheets of one file, and its name."""

    name: str
    sheets: tuple[Sheet, ...]
