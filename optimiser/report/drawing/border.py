"""Border and title block: what it is, where from, in which units and axes, at what scale, and the caution."""

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass

from optimiser.report.drawing.dimensions import LETTER
from optimiser.report.drawing.inks import GREY, OUTLINE, THIN
from optimiser.report.drawing.marks import SHEET_HEIGHT, SHEET_WIDTH, Mark, Path, Sheet, Words
from optimiser.report.handoff.caution import CAUTION

LEFT, RIGHT, BOTTOM, TOP = 20.0, SHEET_WIDTH - 10.0, 10.0, SHEET_HEIGHT - 10.0
"""The border [mm] (ISO 5457: 20 at the binding edge, 10 elsewhere)."""
BLOCK_TOP = 44.0
"""The title block lies below."""
CAUTION_END, AXES_END = 185.0, 290.0
"""Where its cells end [mm]."""
SMALL, LARGE = 2.2, 4.0
LINE = 1.45
"""From one line of text to the next, as a share of its size."""
AXES = (
    "Lengths mm, angles deg. Axes of ISO 8855: x forward, y left,",
    "z up; origin on the ground under the axle's middle at static.",
    "Views from the front: the car's left is on the right.",
    "The right side is the left one's mirror in y.",
)


@dataclass(frozen=True)
class Title:
    """What a title block says beside the sheet's own title."""

    name: str
    """Of the study, hand-off or results."""
    source: str
    """What was drawn: `file front.yaml`, `results folder set`."""
    fingerprint: str
    """SHA-256 of that file or, of results, of their study."""
    program: str
    """Name and version of what drew it."""


def bordered(title: Title, sheet: Sheet, scale: str, place: int, count: int) -> Sheet:
    """A sheet inside border and title block; `place` from 1."""
    frame = Path(((LEFT, BOTTOM), (RIGHT, BOTTOM), (RIGHT, TOP), (LEFT, TOP)), OUTLINE, closed=True)
    rules = [Path(((LEFT, BLOCK_TOP), (RIGHT, BLOCK_TOP)), OUTLINE)]
    rules += [Path(((x, BOTTOM), (x, BLOCK_TOP)), THIN) for x in (CAUTION_END, AXES_END)]
    cells = [*_caution(), *_axes(scale), *_name(title, sheet.title, place, count)]
    return Sheet(sheet.title, (*sheet.marks, frame, *rules, *cells))


def _caution() -> Iterator[Mark]:
    yield Words((LEFT + 2.0, BLOCK_TOP - 4.0), "CAUTION", 2.6, bold=True)
    yield from paragraph(LEFT + 2.0, BLOCK_TOP - 8.2, CAUTION_END - LEFT - 4.0, CAUTION)


def _axes(scale: str) -> Iterator[Mark]:
    x, y = CAUTION_END + 2.0, BLOCK_TOP - 4.0
    for place, line in enumerate((*AXES, f"Scale {scale}." if scale else "Not to scale.")):
        yield Words((x, y - place * 1.7 * SMALL), line, SMALL)
    yield Words((x, BOTTOM + 8.0), "ISO 129-1 dimensions: computed nominal values,", SMALL, colour=GREY)
    yield Words((x, BOTTOM + 4.3), "no tolerances are given here.", SMALL, colour=GREY)


def _name(title: Title, sheet: str, place: int, count: int) -> Iterator[Mark]:
    x, room = AXES_END + 2.0, RIGHT - AXES_END - 4.0
    yield from _study(x, title.name, room)
    yield fitted(x, BLOCK_TOP - 11.0, sheet, 3.0, room)
    yield fitted(x, BLOCK_TOP - 16.0, title.source[:1].upper() + title.source[1:], SMALL, room)
    yield Words((x, BLOCK_TOP - 20.0), "Fingerprint (SHA-256 of the file; of results, of their study)", SMALL)
    half = len(title.fingerprint) // 2
    yield fitted(x, BLOCK_TOP - 23.6, title.fingerprint[:half], SMALL, room)
    yield fitted(x, BLOCK_TOP - 27.0, title.fingerprint[half:], SMALL, room)
    yield Words((x, BOTTOM + 2.6), f"{title.program}; sheet {place} of {count}", SMALL)


def _study(x: float, name: str, room: float) -> Iterator[Mark]:
    """The study's name, in two smaller lines where one is too short for it."""
    small = 0.65 * LARGE
    lines = textwrap.wrap(name, int(room / (1.1 * LETTER * small))) if _too_long(name, LARGE, room) else [name]
    if len(lines) == 1:
        yield fitted(x, BLOCK_TOP - 5.5, name, LARGE, room, bold=True)
        return
    rest = " ".join(lines[1:])
    yield fitted(x, BLOCK_TOP - 3.6, lines[0], small, room, bold=True)
    yield fitted(x, BLOCK_TOP - 6.9, rest, small, room, bold=True)


def _too_long(text: str, size: float, room: float) -> bool:
    return 1.1 * LETTER * size * len(text) > 1.4 * room


def paragraph(x: float, y: float, room: float, text: str, size: float = SMALL) -> Iterator[Mark]:
    """A text from (x, y) down, broken to `room` [mm]."""
    for place, line in enumerate(textwrap.wrap(text, int(room / (LETTER * size)))):
        yield Words((x, y - place * LINE * size), line, size)


def fitted(x: float, y: float, text: str, size: float, room: float, bold: bool = False) -> Words:
    """A line made smaller, down to two thirds, then cut, where it would leave its room [mm]."""
    letter = LETTER * (1.1 if bold else 1.0)
    size = max(size * 2.0 / 3.0, min(size, room / (letter * max(len(text), 1))))
    most = int(room / (letter * size))
    return Words((x, y), text if len(text) <= most else text[: most - 1] + "…", size, bold=bold)
