"""Figures of the springs on an element: one entry each."""

from objectives import spring_figures
from objectives.catalogue import needs
from objectives.catalogue.figure import OWN, VIRTUAL_WORK, Figure

SPRING_FIGURES: tuple[Figure, ...] = (
    Figure(
        "E.force_static",
        "N",
        100.0,
        0,
        "Force of the springs on the element at static, positive when they push it longer; where one carries the"
        " weight, by virtual work: 2 W / MR_h for a cross-car strut, W / MR for a corner strut.",
        VIRTUAL_WORK,
        spring_figures.force_static,
        fitted=needs.spring,
    ),
    Figure(
        "E.force_max",
        "N",
        100.0,
        0,
        "Largest abs(force) of the springs on the element over all states; a coil that is solid counts with 100 kN/mm.",
        OWN,
        spring_figures.force_max,
        fitted=needs.spring,
    ),
    Figure(
        "E.slack_travel",
        "mm",
        1.0,
        2,
        "Travel of m from static, either way, at which a coil or series spring on the element that cannot pull goes"
        " slack; the end of the travel, status beyond_travel, where none does.",
        OWN,
        spring_figures.slack_travel,
        fitted=needs.slackening,
    ),
    Figure(
        "E.knee_travel",
        "mm",
        1.0,
        2,
        "Travel of m from static, either way, at which one of the opposed pair on the element lets go or, with a dead"
        " band, takes hold; the nearer end of the travel, status beyond_travel, where none does.",
        OWN,
        spring_figures.knee_travel,
        fitted=needs.opposed_pair,
    ),
    Figure(
        "E.solid_reserve",
        "mm",
        1.0,
        2,
        "Smallest compression that a coil on the element has left before it is solid, over all states; negative where"
        " it would be solid.",
        OWN,
        spring_figures.solid_reserve,
        fitted=needs.coil_with_lengths,
    ),
)
