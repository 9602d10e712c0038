"""Figures of a damper at the wheels: one entry each."""

from objectives import damper_figures
from objectives.catalogue import needs
from objectives.catalogue.figure import VIRTUAL_WORK, Figure

DAMPER_FIGURES: tuple[Figure, ...] = (
    Figure(
        "E.wheel_damping",
        "N.s/m",
        100.0,
        0,
        "Damping coefficient at each wheel in m at static, (F(v) - F(-v)) / (2 v) at a wheel speed v of 0.05 m/s: c"
        " MR^2 / 2 for a cross-car strut, c MR^2 for a corner strut.",
        VIRTUAL_WORK,
        damper_figures.wheel_damping,
        fitted=needs.damper_curve,
    ),
    Figure(
        "E.bump_force_slow",
        "N",
        10.0,
        0,
        "Vertical force of the damper at each wheel at static while its speed of 0.05 m/s in m squeezes the damper.",
        VIRTUAL_WORK,
        damper_figures.bump_force_slow,
        fitted=needs.damper_curve,
    ),
    Figure(
        "E.rebound_force_slow",
        "N",
        10.0,
        0,
        "Vertical force of the damper at each wheel at static while its speed of 0.05 m/s in m draws out the damper.",
        VIRTUAL_WORK,
        damper_figures.rebound_force_slow,
        fitted=needs.damper_curve,
    ),
    Figure(
        "E.bump_force_fast",
        "N",
        10.0,
        0,
        "Vertical force of the damper at each wheel at static while its speed of 0.25 m/s in m squeezes the damper.",
        VIRTUAL_WORK,
        damper_figures.bump_force_fast,
        fitted=needs.damper_curve,
    ),
    Figure(
        "E.rebound_force_fast",
        "N",
        10.0,
        0,
        "Vertical force of the damper at each wheel at static while its speed of 0.25 m/s in m draws out the damper.",
        VIRTUAL_WORK,
        damper_figures.rebound_force_fast,
        fitted=needs.damper_curve,
    ),
)
