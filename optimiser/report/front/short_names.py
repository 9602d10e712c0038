"""Names cut to the room that a table has, without two of them becoming one."""

from collections.abc import Sequence

FIGURES = {
    "motion_ratio": "ratio",
    "coupling": "coupl",
    "progressivity": "prog",
    "progressivity_droop": "pdrop",
    "ratio_spread": "sprd",
    "crosstalk": "xtalk",
    "ratio_drift": "drift",
    "left_right_split": "split",
    "steer_even": "stevn",
    "steer_odd": "stodd",
    "length_static": "len",
    "length_min": "lmin",
    "length_max": "lmax",
    "compression_stroke": "in",
    "extension_stroke": "out",
    "transmission_min": "trans",
    "tilt_max": "tilt",
    "toggle_margin": "togl",
    "angle_static": "angle",
    "arm_sum": "arms",
    "top_height": "top",
    "twist_ratio": "twist",
    "twist_max": "tmax",
    "moment_static": "Mstat",
    "moment_max": "Mmax",
    "force_static": "Fstat",
    "force_max": "Fmax",
    "slack_travel": "slack",
    "knee_travel": "knee",
    "solid_reserve": "solid",
    "wheel_damping": "damp",
    "bump_force_slow": "bslow",
    "bump_force_fast": "bfast",
    "rebound_force_slow": "rslow",
    "rebound_force_fast": "rfast",
    "heave_rate": "Kh",
    "heave_rate_spring": "Khspr",
    "heave_rate_geometric": "Khgeo",
    "heave_rate_rise": "Khris",
    "roll_rate": "Kr",
    "roll_rate_spring": "Krspr",
    "roll_rate_geometric": "Krgeo",
    "roll_rate_at_bump": "Krbmp",
    "roll_stiffness": "Kphi",
    "one_wheel_rate": "K1",
    "cross_rate": "Khr",
    "static_miss": "miss",
    "static_lean": "lean",
    "travel_reserve": "room",
    "tension_max": "tens",
    "buckling_factor": "buckl",
    "pivot_force_max": "pivot",
    "angle_max": "amax",
    "angle_reserve": "aleft",
}
"""Figures whose names are no good cut short."""
LEAVES = {"length": "len", "angle": "ang", "offset": "off", "azimuth": "az", "elevation": "el"}
LONGEST = 5
"""Characters that a part of a name keeps."""
LONGEST_ELEMENT = 6
"""Characters that an element's name keeps."""


def short_figures(names: Sequence[str]) -> list[tuple[str, str]]:
    """(element, figure) of each name, cut; whole where two would read alike."""
    halves = [_halves(name) for name in names]
    cut = [(element[:LONGEST_ELEMENT], FIGURES.get(figure, figure[:LONGEST])) for element, figure in halves]
    return [short if cut.count(short) == 1 else whole for short, whole in zip(cut, halves, strict=True)]


def short_paths(paths: Sequence[str], room: int) -> list[str]:
    """A name for each variable: its path's last two parts where all fit into `room`, else these abbreviated.

    Whole paths where the last two parts do not tell the variables apart.
    """
    tails = [".".join(path.split(".")[-2:]) for path in paths]
    if len(set(tails)) < len(tails):
        return list(paths)
    cut = [".".join(_abbreviated(part) for part in tail.split(".")) for tail in tails]
    fits = max((len(tail) for tail in tails), default=0) <= room
    return tails if fits or len(set(cut)) < len(cut) else cut


def _halves(name: str) -> tuple[str, str]:
    element, _, figure = name.removeprefix("joint.").rpartition(".")
    return element, figure


def _abbreviated(part: str) -> str:
    """`roll_upper` as `r_u`, `length` as `len`, a long word by its first letters."""
    if part in LEAVES:
        return LEAVES[part]
    words = part.split("_")
    return "_".join(word[:1] for word in words) if len(words) > 1 and len(part) > LONGEST else part[:LONGEST]
