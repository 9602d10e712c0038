"""Into which file a drawing goes, and in which form: known before anything is computed, written whole or not at all."""

from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from optimiser.errors import RockwrightError
from optimiser.report.drawing.marks import Drawing
from optimiser.report.drawing.painted import as_pdf, as_png
from optimiser.report.drawing.svg import as_svg
from optimiser.report.results.files import write_durably

PAPER = (".svg", ".pdf", ".png")
"""Endings of a drawing on sheets."""
PLATE = ".dxf"
"""Ending of a rocker plate for CAD."""


class DrawingFileError(RockwrightError):
    """A file that a drawing cannot go into."""


def refuse_target(path: Path, *, force: bool, plate: bool) -> None:
    """Raise DrawingFileError where `path` ends in no known form, has no folder, or is there and `force` is not given.

    `plate`: whether there is a rocker plate to draw.
    """
    known = (*PAPER, PLATE) if plate else PAPER
    if path.suffix.lower() not in known:
        what = "" if plate or path.suffix.lower() != PLATE else "a front has no rocker plate; "
        raise DrawingFileError(f"{path}: {what}the file's ending says its form: {', '.join(known)} are known")
    if not path.parent.is_dir():
        raise DrawingFileError(f"{path}: there is no folder {path.parent}; make it, or name another file with -o")
    if path.is_dir():
        raise DrawingFileError(f"{path} is a folder; name a file with -o")
    if path.exists() and not force:
        raise DrawingFileError(f"{path} is there already; name another file with -o, or overwrite it with --force")


def write_drawing(drawing: Drawing, path: Path) -> None:
    """Write a drawing in the form that the file's ending names."""
    match path.suffix.lower():
        case ".pdf":
            data = as_pdf(drawing)
        case ".png":
            data = as_png(drawing)
        case _:
            data = as_svg(drawing).encode()
    write_durably(path.parent, path.name, data)


def program() -> str:
    """Name and version of this program."""
    try:
        return f"rockwright {version('rockwright')}"
    except PackageNotFoundError:
        return "rockwright"
