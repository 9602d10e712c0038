"""Colours, widths and dashes. What differs in colour differs in dash or shape too, for grey print.

Line widths follow ISO 128-2 (wide 0.5, narrow 0.25 mm). The colours are those of M. Okabe and K. Ito, Color Universal
Design (2008), which people with any of the common colour-vision deficiencies tell apart.
"""

from optimiser.report.drawing.marks import Ink

BLACK, GREY, PALE = "#000000", "#6b6b6b", "#c9c9c9"
BLUE, VERMILION, GREEN, PURPLE, ORANGE, SKY = "#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9"
WHITE = "#ffffff"

WIDE, NARROW, FINE = 0.5, 0.25, 0.13
"""Line widths [mm]: outlines, dimensions, ghosts."""

OUTLINE = Ink(BLACK, WIDE)
THIN = Ink(BLACK, NARROW)
HAIR = Ink(GREY, FINE)
CENTRE_LINE = Ink(GREY, FINE, (6.0, 1.2, 1.2, 1.2))
GRID = Ink(PALE, FINE)

COLOURS = (BLUE, VERMILION, GREEN, PURPLE, ORANGE, SKY)
DASHES: tuple[tuple[float, ...], ...] = ((), (3.0, 1.2), (0.8, 0.8), (5.0, 1.0, 1.0, 1.0), (2.0, 2.0), (6.0, 2.0))


def series_ink(place: int, width: float = 0.4) -> Ink:
    """The ink of the curve or body number `place`; no two of the first thirty have both colour and dash in common."""
    return Ink(COLOURS[place % len(COLOURS)], width, DASHES[(place + place // len(COLOURS)) % len(DASHES)])
