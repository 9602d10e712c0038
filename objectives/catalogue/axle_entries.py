"""Figures of the rod and the rocker: one entry each."""

from objectives import axle_figures
from objectives.catalogue.figure import OWN, TRANSMISSION, Figure

AXLE_FIGURES: tuple[Figure, ...] = (
    Figure("rocker.sweep", "deg", 1.0, 2, "Largest - smallest rocker angle over all states.", OWN, axle_figures.sweep),
    Figure(
        "rocker.transmission_min",
        "deg",
        1.0,
        1,
        "Smallest angle, folded to 0..90, between rod and arm, both projected along the axis, over all states.",
        TRANSMISSION,
        axle_figures.transmission_min,
    ),
    Figure(
        "rocker.toggle_margin",
        "mm",
        1.0,
        1,
        "One wheel's travel, at rack 0, beyond either end of its range until rod and arm line up, the loop opens or"
        " the links lock; the smaller of both; searched to 100 mm.",
        OWN,
        axle_figures.toggle_margin,
    ),
    Figure(
        "rocker.arm_sum",
        "mm",
        1.0,
        1,
        "Sum of the in-plane radii of the rod end and every pick-up that an element names, each once.",
        OWN,
        axle_figures.arm_sum,
    ),
    Figure(
        "rocker.top_height",
        "mm",
        1.0,
        1,
        "Highest z that any of those points reaches over all states.",
        OWN,
        axle_figures.top_height,
    ),
    Figure(
        "rod.tilt_max",
        "deg",
        1.0,
        2,
        "Largest angle of the rod out of the rocker's plane at its rocker end, over all states.",
        OWN,
        axle_figures.tilt_max,
    ),
    Figure(
        "rod.angle_static",
        "deg",
        1.0,
        1,
        "Angle of the rod's line to the ground plane at static, 0..90.",
        OWN,
        axle_figures.rod_angle_static,
    ),
)
