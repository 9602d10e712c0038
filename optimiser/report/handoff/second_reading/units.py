"""The unit of every figure, by the last part of its name."""

UNITS = (
    dict.fromkeys(("motion_ratio", "coupling"), "mm/mm")
    | dict.fromkeys(("progressivity", "progressivity_droop", "ratio_spread", "crosstalk"), "%")
    | dict.fromkeys(("ratio_drift", "left_right_split"), "%")
    | dict.fromkeys(("steer_even", "steer_odd", "length_static", "length_min", "length_max"), "mm")
    | dict.fromkeys(("compression_stroke", "extension_stroke", "toggle_margin", "arm_sum", "top_height"), "mm")
    | dict.fromkeys(("slack_travel", "knee_travel", "solid_reserve"), "mm")
    | dict.fromkeys(
        ("force_static", "force_max", "tension_max", "force", "pivot_force_max", "static_miss", "static_lean"), "N"
    )
    | dict.fromkeys(("bump_force_slow", "rebound_force_slow", "bump_force_fast", "rebound_force_fast"), "N")
    | dict.fromkeys(("moment_static", "moment_max"), "N.m")
    | dict.fromkeys(("heave_rate", "heave_rate_spring", "heave_rate_geometric", "one_wheel_rate"), "N/mm")
    | dict.fromkeys(("roll_rate", "roll_rate_spring", "roll_rate_geometric", "roll_rate_at_bump"), "N/mm")
    | {"cross_rate": "N/mm", "roll_stiffness": "N.m/deg", "heave_rate_rise": "%", "wheel_damping": "N.s/m"}
    | dict.fromkeys(("overstep", "width", "height", "depth"), "mm")
    | {"travel_reserve": "mm", "buckling_factor": "-", "bending": "N.m"}
    | {"twist_ratio": "deg/mm", "twist_max": "deg"}
    | dict.fromkeys(("transmission_min", "tilt_max", "sweep", "angle_static"), "deg")
    | dict.fromkeys(("castor", "steering_axis_inclination", "camber_change", "toe_change"), "deg")
    | dict.fromkeys(("castor_offset_at_ground", "castor_offset_at_centre"), "mm")
    | dict.fromkeys(("steering_axis_offset_at_ground", "steering_axis_offset_at_centre"), "mm")
    | dict.fromkeys(("roll_centre_height", "track_change", "wheelbase_change"), "mm")
    | {"jacking": "mm/mm", "camber_gradient": "deg/mm", "toe_gradient": "deg/mm"}
    | dict.fromkeys(("angle_max", "angle_reserve"), "deg")
)


def unit_of(figure: str) -> str:
    """The unit of a figure's full name, such as `heave.motion_ratio`; nothing for a name that is no figure's."""
    if figure.startswith("clearance."):
        return "mm"
    return UNITS.get(figure.rpartition(".")[2], "")
