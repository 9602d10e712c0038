"""The study to begin from, with the sections that stand in it commented out brought into use."""

import re

from optimiser.study.beginning import beginning

LEFT_OUT = re.compile(r"#(?=\S|  )")
"""The `#` before a line of a section that is left out; before a comment's words stands `#` and one blank."""


def everything() -> str:
    """The study with all of its sections in use."""
    return "\n".join(LEFT_OUT.sub("", line, count=1) for line in beginning().splitlines()) + "\n"


def sections_left_out() -> dict[str, str]:
    """The sections that are left out, by their names, as they are written once in use."""
    lines = [LEFT_OUT.sub("", line, count=1) for line in beginning().splitlines() if LEFT_OUT.match(line)]
    parts = re.split(r"^(?=\S)", "\n".join(lines), flags=re.MULTILINE)
    return {part.partition(":")[0]: part + "\n" for part in parts if part}
