"""A drawing as PDF (a page a sheet) or PNG (the sheets one below the other), by a plotting library."""

import warnings
from dataclasses import replace
from io import BytesIO
from itertools import groupby
from typing import TYPE_CHECKING, Literal

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
    Sheet,
    Words,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.patches import PathPatch

INCH = 25.4
"""[mm]."""
POINT = INCH / 72.0
"""[mm]."""
DOTS = 150
"""Of a PNG, per inch: letters of 2 mm stay readable."""
LIFT = 1e-6
"""Between marks of one run, in the library's order of painting."""
ALIGNED = {Anchor.LEFT: "left", Anchor.CENTRE: "center", Anchor.RIGHT: "right"}


def as_pdf(drawing: Drawing) -> bytes:
    """The bytes of a PDF; the same drawing gives the same bytes."""
    from matplotlib.backends.backend_pdf import PdfPages  # noqa: PLC0415 - slow to import, and not always needed

    data = BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a letter that the font lacks is drawn as a box
        with PdfPages(data, metadata={"Title": drawing.name, "CreationDate": None, "ModDate": None}) as pages:
            for sheet in drawing.sheets:
                pages.savefig(_figure([sheet]))
    return data.getvalue()


def as_png(drawing: Drawing) -> bytes:
    """The bytes of a PNG."""
    data = BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        _figure(drawing.sheets).savefig(data, format="png", dpi=DOTS, metadata={"Title": drawing.name})
    return data.getvalue()


def _figure(sheets: "list[Sheet] | tuple[Sheet, ...]") -> "Figure":
    from matplotlib.backends.backend_agg import FigureCanvasAgg  # noqa: PLC0415
    from matplotlib.figure import Figure  # noqa: PLC0415

    figure = Figure(figsize=(SHEET_WIDTH / INCH, len(sheets) * SHEET_HEIGHT / INCH), facecolor="white")
    FigureCanvasAgg(figure)
    share = 1.0 / len(sheets)
    for place, sheet in enumerate(sheets):
        axes = figure.add_axes((0.0, 1.0 - (place + 1) * share, 1.0, share))
        axes.set_xlim(0.0, SHEET_WIDTH)
        axes.set_ylim(0.0, SHEET_HEIGHT)
        axes.set_axis_off()
        for order, (disc, marks) in enumerate(groupby(sheet.marks, _like_disc)):
            if disc is None:
                for place_, mark in enumerate(marks):
                    _paint(axes, mark, order + place_ * LIFT)
            else:
                _discs(axes, [mark.centre for mark in marks if isinstance(mark, Disc)], disc, order)
    return figure


def _like_disc(mark: Mark) -> Disc | None:
    """The disc about the origin that a disc is like: a run of the same ones is painted as one path, which is fast."""
    return replace(mark, centre=(0.0, 0.0)) if isinstance(mark, Disc) else None


def _discs(axes: "Axes", centres: "list[Point]", like: Disc, order: float) -> None:
    from matplotlib.patches import PathPatch  # noqa: PLC0415
    from matplotlib.path import Path as Outline  # noqa: PLC0415

    outlines = [Outline.circle(centre, like.radius) for centre in centres]
    axes.add_patch(_inked(PathPatch(Outline.make_compound_path(*outlines)), like.ink, order))


def _paint(axes: "Axes", mark: Mark, order: float) -> None:
    """Draw a mark; a later one covers an earlier one."""
    match mark:
        case Path():
            _shape(axes, mark, order)
        case Disc():
            _discs(axes, [mark.centre], mark, order)
        case Words():
            _words(axes, mark, order)
        case Measure(line=line, marks=marks):
            for one in (line, *marks):
                _paint(axes, one, order)


def _shape(axes: "Axes", mark: Path, order: float) -> None:
    from matplotlib.patches import PathPatch  # noqa: PLC0415
    from matplotlib.path import Path as Outline  # noqa: PLC0415

    points = [*mark.points, mark.points[0]] if mark.closed else list(mark.points)
    patch = PathPatch(Outline(points, closed=mark.closed), joinstyle="round", capstyle="butt")
    axes.add_patch(_inked(patch, mark.ink, order))


def _inked(patch: "PathPatch", ink: Ink, order: float) -> "PathPatch":
    patch.set_facecolor(ink.fill or "none")
    patch.set_edgecolor(ink.colour if ink.width else "none")
    patch.set_linewidth(ink.width / POINT)
    patch.set_linestyle(_dashes(ink))
    patch.set_zorder(order)
    return patch


def _dashes(ink: Ink) -> "Literal['solid'] | tuple[float, tuple[float, ...]]":
    """The library counts dashes in widths of the line."""
    return (0.0, tuple(part / ink.width for part in ink.dash)) if ink.dash else "solid"


def _words(axes: "Axes", words: Words, order: float) -> None:
    axes.text(
        *words.at,
        words.text,
        fontsize=words.size / POINT,
        color=words.colour,
        ha=ALIGNED[words.anchor],
        va="baseline",
        rotation=words.angle,
        rotation_mode="anchor",
        weight="bold" if words.bold else "normal",
        family="DejaVu Sans",
        parse_math=False,
        zorder=order,
    )
