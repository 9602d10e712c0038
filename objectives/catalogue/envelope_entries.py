"""Figures of the room that an axle has: one entry each."""

from objectives import room_figures
from objectives.catalogue import needs
from objectives.catalogue.figure import OWN, Figure

ENVELOPE_FIGURES: tuple[Figure, ...] = (
    Figure(
        "clearance.min",
        "mm",
        1.0,
        2,
        "Smallest clearance of all pairs of bodies that can meet, over all states: heave and roll, the rack at static,"
        " full rack at the ends of travel; between these states along parabolas. Negative: they foul.",
        OWN,
        room_figures.clearance_min,
        fitted=needs.bodies,
    ),
    Figure(
        "clearance.reserve",
        "mm",
        1.0,
        2,
        "The same, each pair's clearance less its margin: moving_to_fixed where one is a keep-out, else"
        " moving_to_moving.",
        OWN,
        room_figures.clearance_reserve,
        fitted=needs.margins,
    ),
    Figure(
        "clearance.PAIR",
        "mm",
        1.0,
        2,
        "Smallest clearance of one pair of bodies over the same states, PAIR as in clearance.heave_to_rod: both names"
        " in alphabetical order, left and right sides alike.",
        OWN,
        room_figures.clearance,
        fitted=needs.bodies,
    ),
    Figure(
        "envelope.overstep",
        "mm",
        1.0,
        2,
        "Largest distance by which an inboard point (pivot, rod end, an element's pick-up, a corner strut's chassis"
        " point) of the left side is outside `inside`, over all states; negative: so much is left.",
        OWN,
        room_figures.envelope_overstep,
        fitted=needs.bounds,
    ),
    Figure(
        "inboard.width",
        "mm",
        1.0,
        1,
        "Extent across the car of the same points of both sides over all states.",
        OWN,
        room_figures.width,
        fitted=needs.envelope,
    ),
    Figure(
        "inboard.height",
        "mm",
        1.0,
        1,
        "Extent in z of the same points over all states.",
        OWN,
        room_figures.height,
        fitted=needs.envelope,
    ),
    Figure(
        "inboard.depth",
        "mm",
        1.0,
        1,
        "Extent in x of the same points over all states.",
        OWN,
        room_figures.depth,
        fitted=needs.envelope,
    ),
)
