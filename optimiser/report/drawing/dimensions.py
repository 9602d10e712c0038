"""Dimensions as ISO 129-1 draws them: extension lines, a dimension line with filled arrowheads, the number along it.

`scale` is mm of paper per mm of the car; what a dimension says follows from the place of its ends alone, so that no
number can differ from its line.
"""

import math
from collections.abc import Iterator

from optimiser.report.drawing.inks import BLACK, HAIR, THIN
from optimiser.report.drawing.marks import Anchor, Ink, Measure, Path, Point, Words

NUMBER_SIZE = 2.5
"""Of a dimension's number [mm]."""
ARROW_LENGTH, ARROW_WIDTH = 2.2, 0.75
GAP, BEYOND = 1.0, 1.5
"""Between a feature and its extension line, and how far that runs past the dimension line [mm]."""
LIFT = 0.7
"""Between a dimension line and its number [mm]."""
LETTER = 0.62
"""Width of a letter as a share of its size, at most on average."""
ARC_STEP = 1.0
"""Between the points of an arc [deg]."""
ARROW_INK = Ink(BLACK, 0.0, fill=BLACK)


def linear(begin: Point, end: Point, direction: float, distance: float, scale: float, label: str = "") -> Measure:
    """The distance of two places measured along `direction` [deg], its line `distance` [mm] beside the first.

    The line runs parallel to `direction`, moved by `distance` to its left. `label` stands before the number.
    """
    along = (math.cos(math.radians(direction)), math.sin(math.radians(direction)))
    beside = (-along[1], along[0])
    run = _dot(_less(end, begin), along)
    first = _plus(begin, beside, distance)
    last = _plus(first, along, run)
    says = abs(run) / scale
    extensions = [_extension(begin, first), _extension(end, last)]
    text = f"{label} {says:.2f}".strip()
    return Measure(
        says, Path((first, last), THIN), scale, (*(line for line in extensions if line), *_told(first, last, text))
    )


def aligned(begin: Point, end: Point, distance: float, scale: float, label: str = "") -> Measure:
    """The distance of two places along the line through them."""
    away = _less(end, begin)
    return linear(begin, end, math.degrees(math.atan2(away[1], away[0])), distance, scale, label)


def radial(centre: Point, end: Point, scale: float, label: str = "R", share: float = 0.6) -> Measure:
    """The radius of a place about a centre: one arrow, at the place, its number at a share of the line."""
    away = _less(end, centre)
    run = math.hypot(*away)
    direction = (away[0] / run, away[1] / run)
    text = f"{label}{run / scale:.2f}"
    return Measure(
        run / scale,
        Path((centre, end), THIN),
        scale,
        (_arrow(end, direction), text_along(centre, end, text, share)),
    )


def angular(centre: Point, radius: float, begin: float, end: float, label: str = "") -> Measure:
    """The angle from `begin` to `end` [deg] about a centre, on an arc of `radius` [mm]; `end` may lie clockwise."""
    points = arc(centre, radius, begin, end)
    way = math.copysign(1.0, end - begin)
    middle = math.radians(0.5 * (begin + end))
    at = _plus(centre, (math.cos(middle), math.sin(middle)), radius + LIFT)
    turned = _upright(math.degrees(middle) - 90.0)
    if math.sin(middle) < 0.0:  # below the centre, letters stand outside the arc with their heads towards it
        at = _plus(centre, (math.cos(middle), math.sin(middle)), radius + LIFT + 0.75 * NUMBER_SIZE)
    text = Words(at, f"{label} {end - begin:.2f}°".strip(), NUMBER_SIZE, Anchor.CENTRE, turned)
    arrows = [_arc_arrow(centre, radius, begin, -way), _arc_arrow(centre, radius, end, way)]
    return Measure(end - begin, Path(points, THIN), 1.0, (*arrows, text), centre)


def arc(centre: Point, radius: float, begin: float, end: float) -> tuple[Point, ...]:
    """Points of an arc [mm], its two ends exact."""
    steps = max(2, math.ceil(abs(end - begin) / ARC_STEP))
    angles = [math.radians(begin + (end - begin) * k / steps) for k in range(steps + 1)]
    return tuple((centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles)


def arrow(begin: Point, end: Point) -> Path:
    """The arrowhead at the end of a line."""
    run = math.dist(begin, end)
    return _arrow(end, ((end[0] - begin[0]) / run, (end[1] - begin[1]) / run))


def text_along(first: Point, last: Point, text: str, share: float = 0.5) -> Words:
    """A text over a line, at a share of it, readable from below or from the right."""
    turned = _upright(math.degrees(math.atan2(last[1] - first[1], last[0] - first[0])))
    up = (-math.sin(math.radians(turned)), math.cos(math.radians(turned)))
    middle = (first[0] + share * (last[0] - first[0]), first[1] + share * (last[1] - first[1]))
    return Words(_plus(middle, up, LIFT), text, NUMBER_SIZE, Anchor.CENTRE, turned)


def text_width(text: str, size: float) -> float:
    """About how wide a text of `size` [mm] is [mm]; rather too much than too little."""
    return LETTER * size * len(text)


def _told(first: Point, last: Point, text: str) -> Iterator[Path | Words]:
    """Arrows and number of a dimension line; where it is short, arrows point at it from outside."""
    run = math.dist(first, last)
    if run == 0.0:
        yield text_along(first, (first[0] + 1.0, first[1]), text)
        return
    out = ((last[0] - first[0]) / run, (last[1] - first[1]) / run)
    inward = 1.0 if run >= 3.0 * ARROW_LENGTH else -1.0
    yield _arrow(first, (-inward * out[0], -inward * out[1]))
    yield _arrow(last, (inward * out[0], inward * out[1]))
    if inward < 0.0:
        yield Path((_plus(first, out, -2.0 * ARROW_LENGTH), first), THIN)
        yield Path((last, _plus(last, out, 2.0 * ARROW_LENGTH)), THIN)
    if text_width(text, NUMBER_SIZE) <= run + 2.0:
        yield text_along(first, last, text)
    else:
        yield _number_beyond(first, last, text)


def _number_beyond(first: Point, last: Point, text: str) -> Words:
    """A number past the end of a line that is too short for it."""
    turned = _upright(math.degrees(math.atan2(last[1] - first[1], last[0] - first[0])))
    reading = (math.cos(math.radians(turned)), math.sin(math.radians(turned)))
    up = (-reading[1], reading[0])
    far = max((first, last), key=lambda point: _dot(point, reading))
    return Words(_plus(_plus(far, reading, 0.8), up, LIFT), text, NUMBER_SIZE, Anchor.LEFT, turned)


def _upright(angle: float) -> float:
    """An angle turned by half a turn where letters would stand on their heads: within (-90, 90]."""
    turned = (angle + 180.0) % 360.0 - 180.0
    if turned > 90.0 + 1e-6:
        return turned - 180.0
    return turned + 180.0 if turned <= -90.0 + 1e-6 else turned


def _extension(feature: Point, at: Point) -> Path | None:
    run = math.dist(feature, at)
    if run <= GAP:
        return None
    out = ((at[0] - feature[0]) / run, (at[1] - feature[1]) / run)
    return Path((_plus(feature, out, GAP), _plus(at, out, BEYOND)), HAIR)


def _arrow(tip: Point, direction: Point) -> Path:
    """A filled arrowhead that points along `direction`."""
    back = _plus(tip, direction, -ARROW_LENGTH)
    beside = (-direction[1], direction[0])
    corners = (tip, _plus(back, beside, 0.5 * ARROW_WIDTH), _plus(back, beside, -0.5 * ARROW_WIDTH))
    return Path(corners, ARROW_INK, closed=True)


def _arc_arrow(centre: Point, radius: float, angle: float, way: float) -> Path:
    """An arrowhead at an arc's end; it leans with the arc's chord over its own length."""
    a = math.radians(angle)
    lean = a - way * 0.5 * ARROW_LENGTH / radius
    tip = (centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a))
    return _arrow(tip, (-way * math.sin(lean), way * math.cos(lean)))


def _less(a: Point, b: Point) -> Point:
    return a[0] - b[0], a[1] - b[1]


def _plus(a: Point, direction: Point, distance: float) -> Point:
    return a[0] + distance * direction[0], a[1] + distance * direction[1]


def _dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1]
