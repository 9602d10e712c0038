"""A drawing as SVG text: one file, its sheets one below the other, one unit to the mm."""

from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from optimiser.report.drawing.marks import (
    SHEET_HEIGHT,
    SHEET_WIDTH,
    Anchor,
    Disc,
    Drawing,
    Ink,
    Mark,
    Measure,
    Path,
    Point,
    Words,
)

DIGITS = 5
"""Decimals of a coordinate [mm]: at 1:20 a length read back is good to 0.0004 mm of the car."""
FONT = "'DejaVu Sans', Verdana, Arial, sans-serif"


def as_svg(drawing: Drawing) -> str:
    """The file's text. A dimension is a group of class `length` or `angle` whose first shape is its line."""
    height = SHEET_HEIGHT * len(drawing.sheets)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{SHEET_WIDTH:g}mm" height="{height:g}mm" '
        f'viewBox="0 0 {SHEET_WIDTH:g} {height:g}" font-family={quoteattr(FONT)}>',
        f"<title>{_plain(drawing.name)}</title>",
        f'<rect width="{SHEET_WIDTH:g}" height="{height:g}" fill="#ffffff"/>',
    ]
    for place, sheet in enumerate(drawing.sheets):
        lines.append(f'<g class="sheet" transform="translate(0 {place * SHEET_HEIGHT:g})">')
        lines.append(f"<title>{_plain(sheet.title)}</title>")
        lines += [line for mark in sheet.marks for line in _mark(mark)]
        lines.append("</g>")
    return "\n".join([*lines, "</svg>", ""])


def _mark(mark: Mark) -> Iterator[str]:
    match mark:
        case Path(points=points, ink=ink, closed=closed):
            shape = "polygon" if closed else "polyline"
            yield f'<{shape} points="{_points(points)}" {_ink(ink)}/>'
        case Disc(centre=centre, radius=radius, ink=ink):
            x, y = _place(centre)
            yield f'<circle cx="{x}" cy="{y}" r="{_number(radius)}" {_ink(ink)}/>'
        case Words():
            yield _words(mark)
        case Measure():
            yield from _measure(mark)


def _measure(measure: Measure) -> Iterator[str]:
    kind = "length" if measure.centre is None else "angle"
    centre = "" if measure.centre is None else f' data-centre="{_points((measure.centre,))}"'
    yield f'<g class="{kind}" data-scale="{measure.scale:.12g}"{centre}>'
    for mark in (measure.line, *measure.marks):
        yield from _mark(mark)
    yield "</g>"


def _words(words: Words) -> str:
    x, y = _place(words.at)
    anchor = "" if words.anchor is Anchor.LEFT else f' text-anchor="{words.anchor.value}"'
    turned = f' transform="rotate({-words.angle:.3f} {x} {y})"' if words.angle else ""
    bold = ' font-weight="bold"' if words.bold else ""
    return (
        f'<text x="{x}" y="{y}" font-size="{words.size:g}" fill="{words.colour}"{anchor}{turned}{bold}>'
        f"{_plain(words.text)}</text>"
    )


def _ink(ink: Ink) -> str:
    dash = f' stroke-dasharray="{" ".join(f"{part:g}" for part in ink.dash)}"' if ink.dash else ""
    stroke = f'stroke="{ink.colour}" stroke-width="{ink.width:g}"' if ink.width else 'stroke="none"'
    return f'fill="{ink.fill or "none"}" {stroke}{dash} stroke-linejoin="round"'


def _points(points: tuple[Point, ...]) -> str:
    return " ".join(",".join(_place(point)) for point in points)


def _place(point: Point) -> tuple[str, str]:
    """In SVG, y runs down."""
    return _number(point[0]), _number(SHEET_HEIGHT - point[1])


def _number(value: float) -> str:
    return f"{round(value, DIGITS) + 0.0:.{DIGITS}f}".rstrip("0").rstrip(".")


def _plain(text: str) -> str:
    """Text without what XML does not allow."""
    return escape("".join(letter if letter.isprintable() else "?" for letter in text))
