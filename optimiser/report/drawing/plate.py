"""The rocker plate as DXF for CAD, at 1:1 in mm: its centres and arms, in the plane square to its axis.

The plate's x is e0, from which arm angles count, its y is the axis turned into that plane's other direction, and z is
the offset along the axis; the pivot is the origin. Layers CENTRES, ARMS, NAMES and NOTES.
"""

import textwrap
from io import StringIO
from typing import TYPE_CHECKING

import numpy as np

from geometry.axle import Arm, Axle
from geometry.hardpoints import element_pickups, place
from optimiser.errors import RockwrightError
from optimiser.report.drawing.border import Title
from optimiser.report.handoff.caution import CAUTION

if TYPE_CHECKING:
    from ezdxf.layouts.layout import Modelspace

CENTRES, ARMS, NAMES, NOTES = "CENTRES", "ARMS", "NAMES", "NOTES"
COLOURS = {CENTRES: 7, ARMS: 5, NAMES: 3, NOTES: 8}
"""Of the layers, by their number in CAD."""
MARK = 2.0
"""Radius of the circle about a centre [mm]."""
TEXT = 3.0
"""Height of letters [mm]."""
BELOW = 40.0
"""Of the notes, under the longest arm [mm]."""


class NoDxfError(RockwrightError):
    """A DXF asked for without the library that writes it."""


def plate_dxf(axle: Axle, title: Title) -> bytes:
    """The bytes of the file for the left rocker at static; the right one is its mirror. Raises NoDxfError."""
    try:
        from ezdxf.filemanagement import new  # noqa: PLC0415 - of an extra, and slow to import
        from ezdxf.units import MM  # noqa: PLC0415
    except ImportError as error:
        raise NoDxfError(
            "a DXF file needs the extra `dxf`: pip install 'rockwright[dxf]', or draw an svg, pdf or png"
        ) from error
    document = new("R2010", units=MM)
    for name, colour in COLOURS.items():
        document.layers.add(name, color=colour)
    points = place(axle)
    space = document.modelspace()
    _centre(space, "pivot", (0.0, 0.0, 0.0))
    arms = {"rod": points.rod_arm} | {name: points.arms[name] for name in element_pickups(axle)}
    for name, arm in arms.items():
        _arm(space, name, arm)
    _notes(space, title, max(float(arm.length) for arm in arms.values()))
    text = StringIO()
    document.write(text)
    return text.getvalue().encode("utf-8", "replace")


def _arm(space: "Modelspace", name: str, arm: Arm) -> None:
    radius, angle, offset = float(arm.length), float(arm.angle), float(arm.offset)
    end = (radius * float(np.cos(angle)), radius * float(np.sin(angle)), offset)
    space.add_line((0.0, 0.0, offset), end, dxfattribs={"layer": ARMS})
    _centre(space, name, end)


def _centre(space: "Modelspace", name: str, at: tuple[float, float, float]) -> None:
    space.add_point(at, dxfattribs={"layer": CENTRES})
    space.add_circle(at, MARK, dxfattribs={"layer": CENTRES})
    _text(space, name, (at[0] + 1.5 * MARK, at[1], at[2]), NAMES)


def _notes(space: "Modelspace", title: Title, reach: float) -> None:
    told = [
        f"{title.name}: left rocker, 1:1, mm; {title.program}",
        f"{title.source}, fingerprint {title.fingerprint}",
        "x: e0, from which arm angles count; z: offset along the axis; origin: the pivot",
        *textwrap.wrap(CAUTION, 90),
    ]
    for row, line in enumerate(told):
        _text(space, line, (-reach, -reach - BELOW - 1.6 * TEXT * row, 0.0), NOTES)


def _text(space: "Modelspace", text: str, at: tuple[float, float, float], layer: str) -> None:
    plain = "".join(letter if letter.isprintable() else "?" for letter in text)
    space.add_text(plain, height=TEXT, dxfattribs={"layer": layer, "insert": at})
