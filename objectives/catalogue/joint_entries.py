"""Figures of spherical joints: one entry each."""

from objectives import joint_figures
from objectives.catalogue import needs
from objectives.catalogue.figure import OWN, Figure

JOINT_FIGURES: tuple[Figure, ...] = (
    Figure(
        "joint.NAME.angle_max",
        "deg",
        1.0,
        2,
        "Largest misalignment of a joint, NAME as under `joints`: by how much the line of its rod or strut leaves the"
        " plane square to its bolt, which turns with the part that it sits in; over all states, and with full rack at"
        " the ends of travel.",
        OWN,
        joint_figures.angle_max,
        fitted=needs.joint,
    ),
    Figure(
        "joint.NAME.angle_reserve",
        "deg",
        1.0,
        2,
        "The joint's limit less that angle; negative: it is past its limit.",
        OWN,
        joint_figures.angle_reserve,
        fitted=needs.joint_limit,
    ),
)
