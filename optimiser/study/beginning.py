"""The study to begin from: a complete one, its sections explained, those that may be left out commented out."""

from importlib.resources import files

from optimiser.errors import RockwrightError

BEGINNING = "beginning.yaml"
"""The file of this package that holds it."""


class StudyThereError(RockwrightError):
    """A file that stands where a new study is to be written."""


def beginning() -> str:
    """The text of a study that reads without a fault and whose own geometry meets its held goals.

    A line with `#` and no single blank behind it is YAML of a section that may be left out; with those `#` deleted the
    text is a study as well.
    """
    return files("optimiser.study").joinpath(BEGINNING).read_text(encoding="utf-8")
