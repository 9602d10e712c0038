"""A front as a matrix of scatter plots: every objective against every other, the base and the knee named."""

import math
from collections.abc import Iterator, Sequence

from optimiser.errors import RockwrightError
from optimiser.report.drawing.border import BLOCK_TOP, LEFT, RIGHT, TOP, Title, bordered
from optimiser.report.drawing.charts import Axes, Box, grid, padded
from optimiser.report.drawing.dimensions import text_width
from optimiser.report.drawing.inks import BLACK, BLUE, VERMILION, WHITE
from optimiser.report.drawing.marks import Anchor, Disc, Drawing, Ink, Mark, Path, Point, Sheet, Words
from optimiser.report.front.frame import Frame

MOST_DRAWN = 1500
"""Members drawn of a larger front."""
MARGIN_LEFT, MARGIN_BOTTOM, HEADING, BETWEEN = 20.0, 13.0, 20.0, 3.0
MEMBER, BASE, KNEE = Ink(BLUE, 0.2), Ink(BLACK, 0.35, fill=WHITE), Ink(VERMILION, 0.35, fill=VERMILION)
PAPER = Ink(WHITE, 0.0, fill=WHITE)
FAR = 0.5
"""The base may widen a plot by this share of the members' range at either end; further out it stands on the edge."""
MEMBER_RADIUS, NAMED = 0.55, 1.6
WORD = 2.4


class NoMatrixError(RockwrightError):
    """A front with too few objectives to set one against another."""


def front_drawing(front: Frame, title: Title) -> Drawing:
    """The drawing of a front. Raises NoMatrixError where it has fewer than two objectives."""
    figures = [goal.figure for goal in front.store.manifest.objectives]
    if len(figures) < 2:
        raise NoMatrixError(
            f"{front.store.folder}: {len(figures)} objective, and a matrix sets two or more against each other; "
            f"`rockwright front {front.store.folder}` lists its members"
        )
    rows = drawn_rows(front)
    marks = (*_heading(front, len(rows)), *_panels(front, figures, rows))
    sheet = Sheet("The front, objective against objective", marks)
    return Drawing(title.name, (bordered(title, sheet, "", 1, 1),))


def drawn_rows(front: Frame) -> list[int]:
    """The members drawn: all, or `MOST_DRAWN` evenly chosen and the best of each objective; base and knee are extra."""
    if front.members <= MOST_DRAWN:
        return list(range(front.members))
    chosen = {round(k * (front.members - 1) / (MOST_DRAWN - 1)) for k in range(MOST_DRAWN)}
    columns = [column[: front.members] for column in front.table.objectives.values()]
    return sorted(chosen | {column.index(min(column)) for column in columns})


def _heading(front: Frame, drawn: int) -> Iterator[Mark]:
    said = f"{front.members:,} members" if drawn == front.members else f"{drawn:,} of {front.members:,} members drawn"
    yield Words((LEFT + 4.0, TOP - 7.0), f"The front: {said}", 3.2, bold=True)
    x, y = LEFT + 5.0, TOP - 13.0
    ids = front.table.ids
    entries: list[tuple[str, Mark]] = [("circle: a member", _member((x, y)))]
    entries += [("square: the base, the study's own geometry", _base((x + 40.0, y)))] if front.base is not None else []
    entries += [(f"diamond: the knee, member {ids[front.knee]}", _knee((x + 125.0, y)))]
    for (text, mark), at in zip(entries, (x, x + 40.0, x + 125.0) if len(entries) > 2 else (x, x + 125.0), strict=True):
        yield mark
        yield Words((at + 3.0, y - 0.9), text, WORD)


def _panels(front: Frame, figures: Sequence[str], rows: Sequence[int]) -> Iterator[Mark]:
    """The lower triangle of the matrix: objective i + 1 over objective j, for j up to i."""
    count = len(figures) - 1
    width = (RIGHT - LEFT - MARGIN_LEFT - 4.0) / count
    height = (TOP - BLOCK_TOP - HEADING - MARGIN_BOTTOM) / count
    spans = [_span(front, figure) for figure in figures]
    for i in range(count):
        for j in range(i + 1):
            left, top = LEFT + MARGIN_LEFT + j * width, TOP - HEADING - i * height
            box = Box(left, top - height + BETWEEN, left + width - BETWEEN, top)
            axes = Axes(box, spans[j], spans[i + 1])
            x_name = _name(front, figures[j], width) if i == count - 1 else ""
            yield from grid(axes, x_name, _name(front, figures[i + 1], height) if j == 0 else "")
            yield from _points(front, (figures[j], figures[i + 1]), axes, rows)


def _span(front: Frame, figure: str) -> tuple[float, float]:
    """The range of a figure over the members, and over the base where it is near them."""
    column = front.table.figures[figure]
    known = [value for value in column[: front.members] if math.isfinite(value)]
    if not known:
        return 0.0, 1.0
    low, high = padded(min(known), max(known), 0.06)
    base = math.nan if front.base is None else column[front.base]
    if low - FAR * (high - low) <= base <= high + FAR * (high - low):
        low, high = padded(min(low, base), max(high, base), 0.02)
    return low, high


def _name(front: Frame, figure: str, room: float) -> str:
    """A figure with its unit, without the unit where there is no room for it, or cut."""
    unit = front.store.manifest.figures[figure].unit
    most = max(6, int(room / (0.62 * 2.3)))
    whole = f"{figure} [{unit}]" if unit else figure
    if len(whole) <= most:
        return whole
    return figure if len(figure) <= most else f"{figure[: most - 1]}…"


def _points(front: Frame, pair: tuple[str, str], axes: Axes, rows: Sequence[int]) -> Iterator[Mark]:
    x, y = (front.table.figures[figure] for figure in pair)

    def at(row: int) -> Point | None:
        return axes.place(x[row], y[row]) if math.isfinite(x[row]) and math.isfinite(y[row]) else None

    yield from (_member(place) for place in map(at, rows) if place is not None)
    base = None if front.base is None else at(front.base)
    if base is not None:
        shown = _inside(base, axes.box)
        yield from _label("base" if shown == base else "base, further out", shown, axes, above=False)
        yield _base(shown)
    knee = at(front.knee)
    if knee is not None:
        yield from _label("knee", knee, axes, above=True)
        yield _knee(knee)


def _inside(at: Point, box: Box) -> Point:
    """A place, or the nearest on the edge of its plot."""
    return min(max(at[0], box.left), box.right), min(max(at[1], box.bottom), box.top)


def _label(text: str, at: Point, axes: Axes, above: bool) -> Iterator[Mark]:
    """A name beside a point, towards the middle of its plot; above or below it where there is room for that."""
    right = at[0] > 0.5 * (axes.box.left + axes.box.right)
    side = -2.2 if right else 2.2
    y = at[1] + (0.8 if above else -2.4)
    y = min(max(y, axes.box.bottom + 0.6), axes.box.top - WORD)
    near, far = at[0] + 0.8 * side, at[0] + side + math.copysign(1.1 * text_width(text, WORD), side)
    corners = ((near, y - 0.6), (far, y - 0.6), (far, y + WORD - 0.4), (near, y + WORD - 0.4))
    yield Path(corners, PAPER, closed=True)
    yield Words((at[0] + side, y), text, WORD, Anchor.RIGHT if right else Anchor.LEFT, bold=True)


def _member(at: Point) -> Disc:
    return Disc(at, MEMBER_RADIUS, MEMBER)


def _base(at: Point) -> Path:
    corners = tuple((at[0] + 0.8 * NAMED * x, at[1] + 0.8 * NAMED * y) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1)))
    return Path(corners, BASE, closed=True)


def _knee(at: Point) -> Path:
    corners = tuple((at[0] + NAMED * x, at[1] + NAMED * y) for x, y in ((0, -1), (1, 0), (0, 1), (-1, 0)))
    return Path(corners, KNEE, closed=True)
