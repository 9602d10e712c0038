"""The axle from the front at the ends of heave, roll, one wheel's travel and steer, over its place at static."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from geometry.axle import Axle
from geometry.travel import AxleStates, Travel
from optimiser.report.drawing.bodies import bodies, ghost
from optimiser.report.drawing.border import BLOCK_TOP, LEFT, RIGHT, TOP
from optimiser.report.drawing.dimensions import text_width
from optimiser.report.drawing.front_sheet import all_points
from optimiser.report.drawing.inks import THIN
from optimiser.report.drawing.marks import Ink, Mark, Path, Sheet, Words
from optimiser.report.drawing.poses import Pose, inboard, poses
from optimiser.report.drawing.projection import ACROSS, UP, View, largest_scale, scale_words

STYLES = (ghost((2.2, 0.9), 0.3), ghost((0.7, 0.7), 0.3))
"""Of the first and the second end of a range."""
STATIC = ghost((), 0.45)
COLUMNS = 2


@dataclass(frozen=True)
class Ends:
    """A motion at the two ends of its range: what it is called, and the states (left, right wheel, rack) [mm]."""

    title: str
    names: tuple[str, str]
    states: tuple[tuple[float, float, float], tuple[float, float, float]]


def ghost_sheet(axle: Axle, travel: Travel, static: Pose) -> tuple[Sheet, str]:
    """The whole axle, and its scale in words."""
    return _sheet(axle, travel, static, "Travel from the front", lambda pose: pose)


def inboard_ghost_sheet(axle: Axle, travel: Travel, static: Pose) -> tuple[Sheet, str]:
    """The rockers and what lies between them, larger, and the scale in words."""
    return _sheet(axle, travel, static, "Travel from the front, rockers and struts", inboard)


def _sheet(axle: Axle, travel: Travel, static: Pose, title: str, part: Callable[[Pose], Pose]) -> tuple[Sheet, str]:
    """`part`: what of a pose is drawn."""
    views = [(ends, tuple(map(part, poses(axle, _states(ends))))) for ends in _ends(travel)]
    rows = -(-len(views) // COLUMNS)
    cell = ((RIGHT - LEFT) / COLUMNS, (TOP - BLOCK_TOP) / rows)
    drawn = [part(static), *(pose for _, found in views for pose in found if pose.lines)]
    points = np.concatenate([all_points(pose) for pose in drawn])
    low, high = float(points[:, 2].min()), float(points[:, 2].max())
    width = 2.0 * float(np.abs(points[:, 1]).max())
    scale = largest_scale(width, high - low, (cell[0] - 6.0, cell[1] - 20.0))
    marks: list[Mark] = []
    for place, (ends, found) in enumerate(views):
        x, y = LEFT + (place % COLUMNS) * cell[0], TOP - (place // COLUMNS) * cell[1]
        at = (x + 0.5 * cell[0], y - 0.5 * (cell[1] + 13.0))
        view = View(np.array([0.0, 0.0, 0.5 * (low + high)]), ACROSS, UP, at, scale)
        marks += _ground(view, 0.5 * width) if low < 1.0 else ()
        marks += _view(found, part(static), view)
        marks += _heading(ends, found, x + 4.0, y)
    return Sheet(title, tuple(marks)), scale_words(scale)


def _ends(travel: Travel) -> list[Ends]:
    (down, up), (low, high), (drop, bump) = travel.heave, travel.roll, travel.wheel
    found = [
        Ends("Heave, both wheels", (f"{up:+g} mm", f"{down:+g} mm"), ((up, up, 0.0), (down, down, 0.0))),
        Ends(
            "Roll, left wheel against right (body roll of ISO 8855 is its negative)",
            (f"{high:+g} mm", f"{low:+g} mm"),
            ((high, -high, 0.0), (low, -low, 0.0)),
        ),
        Ends("One wheel, the left", (f"{bump:+g} mm", f"{drop:+g} mm"), ((bump, 0.0, 0.0), (drop, 0.0, 0.0))),
    ]
    if travel.rack is not None:
        right, left = travel.rack
        names = (f"rack {left:+g} mm", f"rack {right:+g} mm")
        found.append(Ends("Steer, wheel centres at static height", names, ((0.0, 0.0, left), (0.0, 0.0, right))))
    return found


def _states(ends: Ends) -> AxleStates:
    left, right, rack = np.array(ends.states).T
    return AxleStates(left, right, rack)


def _ground(view: View, reach: float) -> Iterator[Mark]:
    yield Path(tuple(view.place(np.array([0.0, side * reach, 0.0])) for side in (-1.0, 1.0)), THIN)


def _view(found: tuple[Pose, ...], static: Pose, view: View) -> Iterator[Mark]:
    for pose, style in zip(found, STYLES, strict=True):
        yield from bodies(pose, view, joints=False, restyle=style)
    yield from bodies(static, view, joints=False, restyle=STATIC)


def _heading(ends: Ends, found: tuple[Pose, ...], x: float, y: float) -> Iterator[Mark]:
    """The motion, and which line is which end; an end that is not reached says so."""
    yield Words((x, y - 7.0), ends.title, 3.0, bold=True)
    told = [("static", Ink("#000000", 0.45))]
    for name, pose, style in zip(ends.names, found, STYLES, strict=True):
        word = name if pose.status == "ok" else f"{name}: {pose.status}, not drawn"
        told.append((word, style(Ink("#000000", 0.3))))
    for word, ink in told:
        yield Path(((x, y - 11.2), (x + 10.0, y - 11.2)), ink)
        yield Words((x + 11.5, y - 12.0), word, 2.4)
        x += 18.0 + text_width(word, 2.4)
