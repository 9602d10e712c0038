"""Charts as marks: axes with round ticks, curves told apart by colour, dash and marker, a legend."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import Array
from optimiser.report.drawing.dimensions import text_width
from optimiser.report.drawing.inks import BLACK, GREY, GRID, NARROW, THIN, series_ink
from optimiser.report.drawing.marks import Anchor, Disc, Ink, Mark, Path, Point, Words

SMALL, HEAD = 2.3, 2.9
MARKERS_A_CURVE = 6
LEGEND_LINE = 4.0
LEFT_MARGIN, BOTTOM_MARGIN, TOP_MARGIN = 15.0, 11.0, 7.0


@dataclass(frozen=True)
class Curve:
    """A named curve: `x`, `y` (N,); it breaks where either is NaN."""

    name: str
    x: Array
    y: Array


@dataclass(frozen=True)
class Chart:
    """Curves over one pair of axes, each named with its unit."""

    title: str
    x_name: str
    y_name: str
    curves: tuple[Curve, ...]


@dataclass(frozen=True)
class Box:
    """A rectangle of paper [mm]."""

    left: float
    bottom: float
    right: float
    top: float


@dataclass(frozen=True)
class Axes:
    """Ranges of numbers over a box."""

    box: Box
    x: tuple[float, float]
    y: tuple[float, float]

    def place(self, x: float, y: float) -> Point:
        """Where a pair of numbers stands on the paper."""
        b = self.box
        return (
            b.left + (b.right - b.left) * (x - self.x[0]) / (self.x[1] - self.x[0]),
            b.bottom + (b.top - b.bottom) * (y - self.y[0]) / (self.y[1] - self.y[0]),
        )


def chart(content: Chart, room: Box) -> Iterator[Mark]:
    """A chart in its room, its legend under its title."""
    legend = _legend_rows(content.curves, room.right - room.left - LEFT_MARGIN)
    top = room.top - TOP_MARGIN - LEGEND_LINE * len(legend)
    box = Box(room.left + LEFT_MARGIN, room.bottom + BOTTOM_MARGIN, room.right - 3.0, top)
    axes = Axes(box, _range([c.x for c in content.curves], 0.0), _range([c.y for c in content.curves], 0.06))
    yield Words((box.left, room.top - 4.5), content.title, HEAD, bold=True)
    yield from grid(axes, content.x_name, content.y_name)
    for row, names in enumerate(legend):
        yield from _legend(content.curves, names, (box.left, room.top - TOP_MARGIN - LEGEND_LINE * row - 1.5))
    for number, curve in enumerate(content.curves):
        yield from _curve(curve, number, axes)


def grid(axes: Axes, x_name: str, y_name: str) -> Iterator[Mark]:
    """Frame, grid lines at round numbers, and both axes' numbers and names; an axis without a name has neither."""
    box = axes.box
    for value in ticks(axes.x, max(2, int((box.right - box.left) / 18.0))):
        x = axes.place(value, axes.y[0])[0]
        yield Path(((x, box.bottom), (x, box.top)), GRID)
        yield from [Words((x, box.bottom - 3.2), number(value), SMALL, Anchor.CENTRE)] if x_name else ()
    for value in ticks(axes.y, max(2, int((box.top - box.bottom) / 11.0))):
        y = axes.place(axes.x[0], value)[1]
        yield Path(((box.left, y), (box.right, y)), GRID)
        yield from [Words((box.left - 1.2, y - 0.35 * SMALL), number(value), SMALL, Anchor.RIGHT)] if y_name else ()
    if axes.y[0] < 0.0 < axes.y[1]:
        zero = axes.place(axes.x[0], 0.0)[1]
        yield Path(((box.left, zero), (box.right, zero)), Ink(GREY, NARROW))
    corners = ((box.left, box.bottom), (box.right, box.bottom), (box.right, box.top), (box.left, box.top))
    yield Path(corners, THIN, closed=True)
    middle = (0.5 * (box.left + box.right), 0.5 * (box.bottom + box.top))
    yield from [Words((middle[0], box.bottom - 7.4), x_name, SMALL, Anchor.CENTRE)] if x_name else ()
    yield from [Words((box.left - 11.8, middle[1]), y_name, SMALL, Anchor.CENTRE, 90.0)] if y_name else ()


def marker(number_: int, at: Point, size: float, ink: Ink) -> Mark:
    """A small shape, another for each number."""
    corners = (0, 4, 3, 4, 3, 5)[number_ % 6]
    if corners == 0:
        return Disc(at, size, ink)
    start = (0.0, 45.0, 90.0, 90.0, -90.0, 90.0)[number_ % 6]
    angles = [math.radians(start + 360.0 * k / corners) for k in range(corners)]
    return Path(tuple((at[0] + 1.2 * size * math.cos(a), at[1] + 1.2 * size * math.sin(a)) for a in angles), ink, True)


def ticks(span: tuple[float, float], most: int) -> list[float]:
    """Round numbers (1, 2 or 5 times a power of ten apart) inside a range: about `most`, and two at the least."""
    power = 10.0 ** math.floor(math.log10((span[1] - span[0]) / most))
    steps = [power * factor for factor in (10.0, 5.0, 2.0, 1.0, 0.5)]
    fitting = [found for found in (_multiples(span, step) for step in steps) if len(found) >= 2]
    return max((found for found in fitting if len(found) <= most + 1), key=len, default=fitting[0])


def _multiples(span: tuple[float, float], step: float) -> list[float]:
    first, last = math.ceil(span[0] / step - 1e-9), math.floor(span[1] / step + 1e-9)
    return [k * step for k in range(first, last + 1)]


def number(value: float) -> str:
    """A tick's number, without noise and without a negative zero."""
    return f"{value + 0.0:.6g}" if abs(value) > 1e-12 else "0"


def padded(low: float, high: float, share: float) -> tuple[float, float]:
    """A range made wider by a share of itself at both ends; one of no width by a share of its place."""
    width = high - low
    if width <= 1e-9 * max(abs(low), abs(high), 1e-3):
        width = max(0.02 * abs(high), 1e-3)
        return low - 0.5 * width, high + 0.5 * width
    return low - share * width, high + share * width


def _range(columns: Sequence[Array], share: float) -> tuple[float, float]:
    values = np.concatenate(columns) if columns else np.empty(0)
    values = values[np.isfinite(values)]
    return padded(float(values.min()), float(values.max()), share) if len(values) else (0.0, 1.0)


def _curve(curve: Curve, number_: int, axes: Axes) -> Iterator[Mark]:
    ink = series_ink(number_)
    known = np.isfinite(curve.x) & np.isfinite(curve.y)
    places = [axes.place(float(x), float(y)) if ok else None for x, y, ok in zip(curve.x, curve.y, known, strict=True)]
    run: list[Point] = []
    for at in [*places, None]:
        if at is not None:
            run.append(at)
            continue
        if len(run) > 1:
            yield Path(tuple(run), ink)
        run = []
    every = max(1, len(places) // MARKERS_A_CURVE)
    for at in places[(number_ * every) // 3 :: every]:
        if at is not None:
            yield marker(number_, at, 0.9, replace(ink, width=0.25, dash=(), fill="#ffffff"))


def _legend_rows(curves: Sequence[Curve], room: float) -> list[list[int]]:
    """Places of the curves, broken into lines that fit; one alone needs a legend too: it says whose curve it is."""
    rows: list[list[int]] = []
    used = math.inf
    for place, curve in enumerate(curves):
        width = _entry_width(curve)
        if used + width > room:
            rows.append([])
            used = 0.0
        rows[-1].append(place)
        used += width
    return rows


def _entry_width(curve: Curve) -> float:
    return 13.0 + text_width(curve.name, SMALL)


def _legend(curves: Sequence[Curve], places: Sequence[int], at: Point) -> Iterator[Mark]:
    x, y = at
    for place in places:
        ink = series_ink(place)
        yield Path(((x, y), (x + 9.0, y)), ink)
        yield marker(place, (x + 4.5, y), 0.9, replace(ink, width=0.25, dash=(), fill="#ffffff"))
        yield Words((x + 10.0, y - 0.35 * SMALL), curves[place].name, SMALL, colour=BLACK)
        x += _entry_width(curves[place])
