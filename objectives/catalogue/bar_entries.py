"""Figures of torsion bars and anti-roll bars: one entry each."""

from objectives import bar_figures, spring_figures
from objectives.catalogue import needs
from objectives.catalogue.figure import OWN, VIRTUAL_WORK, Figure

BAR_FIGURES: tuple[Figure, ...] = (
    Figure(
        "E.twist_ratio",
        "deg/mm",
        0.01,
        4,
        "Twist at static per mm of travel: of a torsion bar, its own wheel's, positive in bump; of an anti-roll bar,"
        " the left arm's angle less the right arm's per mm of roll at each wheel.",
        OWN,
        bar_figures.twist_ratio,
        of="bar",
    ),
    Figure(
        "E.twist_max",
        "deg",
        1.0,
        2,
        "Largest abs(twist) from static over all states.",
        OWN,
        bar_figures.twist_max,
        of="bar",
    ),
    Figure(
        "E.moment_static",
        "N.m",
        10.0,
        1,
        "Moment of the bar's spring at static, positive when it turns its rocker towards droop; where it carries the"
        " weight, by virtual work: W / (twist per mm of its wheel).",
        VIRTUAL_WORK,
        spring_figures.moment_static,
        of="bar",
        fitted=needs.spring,
    ),
    Figure(
        "E.moment_max",
        "N.m",
        10.0,
        1,
        "Largest abs(moment) of the bar's spring over all states.",
        OWN,
        spring_figures.moment_max,
        of="bar",
        fitted=needs.spring,
    ),
)
