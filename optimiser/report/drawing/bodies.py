"""An axle at one state as marks of a view: links, uprights, rods, rockers, struts, bars and wheels."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from optimiser.report.drawing.inks import BLACK, BLUE, GREEN, GREY, ORANGE, PURPLE, VERMILION, WHITE
from optimiser.report.drawing.marks import Disc, Ink, Mark, Path
from optimiser.report.drawing.poses import Line, Pose
from optimiser.report.drawing.projection import View

INKS = {
    "link": Ink(BLACK, 0.35),
    "upright": Ink(GREY, 0.18),
    "rod": Ink(VERMILION, 0.6),
    "axis": Ink(BLUE, 0.3, (1.6, 0.6)),
    "arm": Ink(BLUE, 0.7),
    "strut": Ink(GREEN, 0.9, (3.0, 0.8)),
    "bar": Ink(PURPLE, 0.7, (1.2, 0.8)),
    "drop_link": Ink(ORANGE, 0.5, (4.0, 0.8, 0.8, 0.8)),
}
"""A kind of part by colour, width and dash."""
NAMES = {
    "link": "link",
    "upright": "upright",
    "rod": "rod",
    "axis": "rocker axis",
    "arm": "rocker arm",
    "strut": "strut",
    "bar": "bar's arm",
    "drop_link": "drop link",
}
RIM = Ink(GREY, 0.25, (6.0, 1.2, 1.2, 1.2))
JOINT = 0.7
"""Radius of a joint's circle [mm]."""

Restyle = Callable[[Ink], Ink]


def bodies(pose: Pose, view: View, joints: bool = True, restyle: Restyle = lambda ink: ink) -> Iterator[Mark]:
    """The marks of a pose; without circles for its joints where not `joints`."""
    for rim in pose.rims:
        yield Path(view.path(rim), restyle(RIM), closed=True)
    for line in pose.lines:
        yield Path((view.place(line.begin), view.place(line.end)), restyle(INKS[line.kind]))
    if joints:
        yield from (_joint(line, view) for line in pose.lines if line.kind not in ("upright", "axis"))
        yield from (
            Disc(view.place(line.begin), 1.2, replace(INKS["arm"], width=0.3, fill=WHITE)) for line in _pivots(pose)
        )


def ghost(dash: tuple[float, ...], width: float) -> Restyle:
    """A way of drawing a pose that is not static: each part in its own colour, thinner, in one dash."""
    return lambda ink: Ink(ink.colour, width, dash)


def kinds(pose: Pose) -> tuple[str, ...]:
    """The kinds of part that a pose has, each once."""
    return tuple(dict.fromkeys(line.kind for line in pose.lines))


def _joint(line: Line, view: View) -> Disc:
    return Disc(view.place(line.end), JOINT, Ink(BLACK, 0.2, fill=WHITE))


def _pivots(pose: Pose) -> list[Line]:
    return [line for line in pose.lines if line.kind == "arm"]
