"""Figures of an axle under its load cases: one entry each."""

from objectives import load_figures
from objectives.catalogue import needs
from objectives.catalogue.figure import VIRTUAL_WORK, Figure

STATICS = "statics: forces and moments balance on every part; no source needed"
COLUMNS = "J. E. Shigley, Mechanical Engineering Design, ch. 4 (Euler and Johnson columns), from memory"

LOAD_FIGURES: tuple[Figure, ...] = (
    Figure(
        "axle.travel_reserve",
        "mm",
        1.0,
        1,
        "Smallest travel that a wheel has left, to either end of its range, at rest in any load case, no stop but a"
        " spring's own holding it; negative: past the end.",
        VIRTUAL_WORK,
        load_figures.travel_reserve,
        fitted=needs.cases_on_springs,
    ),
    Figure(
        "rod.force_max",
        "N",
        100.0,
        0,
        "Largest compression of the rod over all load cases and both sides; negative: every case pulls it.",
        STATICS,
        load_figures.rod_force_max,
        fitted=needs.cases,
    ),
    Figure(
        "rod.tension_max",
        "N",
        100.0,
        0,
        "Largest tension of the rod over all load cases and both sides; negative: every case presses it.",
        STATICS,
        load_figures.rod_tension_max,
        fitted=needs.cases,
    ),
    Figure(
        "rod.buckling_factor",
        "-",
        0.1,
        2,
        "Load at which the rod's tube buckles with pinned ends / rod.force_max: Euler's for a slender tube, Johnson's"
        " parabola, the lower, for one below (L/k)_1 = sqrt(2 pi^2 E / yield).",
        COLUMNS,
        load_figures.buckling_factor,
        fitted=needs.cases_and_tube,
    ),
    Figure(
        "rocker.pivot_force_max",
        "N",
        100.0,
        0,
        "Largest force of a rocker on its bearing over all load cases and both sides: the sum of the forces of the"
        " rod and of all springs on it.",
        STATICS,
        load_figures.pivot_force_max,
        fitted=needs.cases_on_springs,
    ),
    Figure(
        "link.NAME.force",
        "N",
        100.0,
        0,
        "The link's force of largest size over all load cases and both sides, tension positive; of a link that carries"
        " the rod, at that end where it is larger.",
        STATICS,
        load_figures.link_force,
        fitted=needs.cases,
    ),
    Figure(
        "link.NAME.bending",
        "N.m",
        10.0,
        1,
        "Largest bending moment in a link that carries the rod, at the rod's foot, over all load cases and both sides.",
        STATICS,
        load_figures.link_bending,
        fitted=needs.cases,
        of_carrier=True,
    ),
)
