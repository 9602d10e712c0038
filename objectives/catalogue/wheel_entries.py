"""Figures of the wheel against the body: one entry each."""

from objectives import wheel_figures
from objectives.catalogue.figure import OWN, VIRTUAL_WORK, Figure

ISO = "ISO 8855:2011, clause 7, from memory"
HEAVE = "largest abs(change from static) over the heave travel"
AXIS = (
    " Steering axis: of the screw in which the upright moves per mm of rack while the other links stand still; for"
    " plain joints the line through them, and where split joints let no link stand, their outboard ends move least."
)

ONE_WHEEL_FIGURES: tuple[Figure, ...] = (
    Figure(
        "wheel.castor",
        "deg",
        1.0,
        3,
        "Castor angle at static: the steering axis seen from the side, from z; positive when its top is rearward."
        + AXIS,
        ISO,
        wheel_figures.castor,
        needs_rack=True,
    ),
    Figure(
        "wheel.steering_axis_inclination",
        "deg",
        1.0,
        3,
        "Steering-axis inclination at static: the axis seen from the front, from z; positive when its top is inboard."
        + AXIS,
        ISO,
        wheel_figures.steering_axis_inclination,
        needs_rack=True,
    ),
    Figure(
        "wheel.castor_offset_at_ground",
        "mm",
        1.0,
        2,
        "Castor offset at ground (mechanical trail) at static: from the contact point to the steering axis at its"
        " height, along the wheel's heading; positive when the axis is ahead." + AXIS,
        ISO,
        wheel_figures.castor_offset_at_ground,
        needs_rack=True,
    ),
    Figure(
        "wheel.castor_offset_at_centre",
        "mm",
        1.0,
        2,
        "Castor offset at wheel centre at static: the same at the wheel centre's height, from the wheel centre." + AXIS,
        ISO,
        wheel_figures.castor_offset_at_centre,
        needs_rack=True,
    ),
    Figure(
        "wheel.steering_axis_offset_at_ground",
        "mm",
        1.0,
        2,
        "Steering-axis offset at ground at static: from the steering axis to the contact point at its height, square to"
        " the wheel's heading; positive when the axis is inboard. The trade often calls it scrub radius; that of ISO"
        " 8855 is the distance in plan, castor offset included." + AXIS,
        ISO,
        wheel_figures.steering_axis_offset_at_ground,
        needs_rack=True,
    ),
    Figure(
        "wheel.steering_axis_offset_at_centre",
        "mm",
        1.0,
        2,
        "Steering-axis offset at wheel centre at static: the same at the wheel centre's height, from the wheel centre."
        + AXIS,
        ISO,
        wheel_figures.steering_axis_offset_at_centre,
        needs_rack=True,
    ),
    Figure(
        "wheel.jacking",
        "mm/mm",
        0.01,
        4,
        "Vertical force on the springs to which a lateral force of 1 N that pushes the left tyre outward is equal at"
        " static, v_y / v_z of the contact point; positive when it presses the wheel up into the body.",
        VIRTUAL_WORK,
        wheel_figures.jacking,
    ),
    Figure(
        "wheel.camber_gradient",
        "deg/mm",
        0.001,
        5,
        "Ride camber gradient: change of camber per mm of heave at static, bump and top outward positive.",
        ISO,
        wheel_figures.camber_gradient,
    ),
    Figure(
        "wheel.toe_gradient",
        "deg/mm",
        0.001,
        5,
        "Ride steer gradient: change of toe per mm of heave at static, bump and toe-in positive.",
        ISO,
        wheel_figures.toe_gradient,
    ),
    Figure("wheel.camber_change", "deg", 0.1, 3, f"Ride camber: {HEAVE}.", ISO, wheel_figures.camber_change),
    Figure("wheel.toe_change", "deg", 0.1, 3, f"Ride steer: {HEAVE} of toe.", ISO, wheel_figures.toe_change),
    Figure(
        "wheel.wheelbase_change",
        "mm",
        1.0,
        2,
        f"Wheelbase change: {HEAVE} of the contact point's place along the car.",
        OWN,
        wheel_figures.wheelbase_change,
    ),
)
"""Figures of the left wheel alone."""

WHEEL_FIGURES: tuple[Figure, ...] = (
    *ONE_WHEEL_FIGURES,
    Figure(
        "wheel.roll_centre_height",
        "mm",
        1.0,
        1,
        "Height of the roll centre above the ground at static: y v_y / v_z of the contact point, fixed to the upright.",
        VIRTUAL_WORK,
        wheel_figures.roll_centre_height,
    ),
    Figure(
        "wheel.track_change",
        "mm",
        1.0,
        2,
        f"Ride track change: {HEAVE} of the track between both contact points.",
        ISO,
        wheel_figures.track_change,
    ),
)
"""These, and those to which both wheels give a half."""
