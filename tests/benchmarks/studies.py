"""The studies that the benchmarks search: the shipped front axle, and others written from it by changing its text."""

import re
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FRONT = ROOT / "configs" / "front.yaml"
NAMED = ("front", "thirteen")

THIRTEEN = {
    "rocker.axis.azimuth": "[-15, 15]",
    "rocker.pickups.heave.offset": "[20, 48]",
    "rod.outboard.y": "[732, 752]",
}
"""What the 13-variable study varies beyond the shipped front study."""


def study_file(name: str, folder: Path) -> Path:
    """The file of a study: one of `NAMED`, written into `folder` where it is not shipped, or the path of any other."""
    if name == "front":
        return FRONT
    if name == "thirteen":
        path = folder / "thirteen.yaml"
        path.write_text(thirteen(), encoding="utf-8")
        return path
    return Path(name)


def thirteen() -> str:
    """The 13-variable study: the axis written by its angles, and three more numbers varied."""
    text = FRONT.read_text(encoding="utf-8")
    return with_lines(axis_by_angles(text), "vary", {**lines_of(text, "vary"), **THIRTEEN})


def axis_by_angles(text: str) -> str:
    """The study with its longitudinal rocker axis written by azimuth and elevation."""
    return replaced(text, r"axis: \[1, 0, 0\]", "axis: {azimuth: 0, elevation: 0}")


def lines_of(text: str, section: str) -> dict[str, str]:
    """A top-level section of one-line entries, as written: `{"rocker.pivot.y": "[185, 230]", ...}`."""
    found = re.search(rf"(?m)^{section}:\n((?:  .*\n)+)", text)
    if found is None:
        raise ValueError(f"the study has no section `{section}` of one-line entries")
    return {key: value for key, _, value in (line.strip().partition(": ") for line in found[1].splitlines())}


def with_lines(text: str, section: str, lines: Mapping[str, str]) -> str:
    """The study with other entries in a top-level section."""
    body = "".join(f"  {key}: {value}\n" for key, value in lines.items())
    return replaced(text, rf"(?m)^{section}:\n(?:  .*\n)+", f"{section}:\n{body}")


def replaced(text: str, pattern: str, new: str) -> str:
    """The text with the one match of a pattern replaced. Raises ValueError where there is not exactly one."""
    changed, count = re.subn(pattern, lambda _: new, text)
    if count != 1:
        raise ValueError(
            f"the study has {count} places like {pattern!r}, not one: the benchmark must follow its change"
        )
    return changed
