"""The unit of every figure, by the last part of its name."""

UNITS = (
    dict.fromkeys(("motion_ratio", "coupling"), "mm/mm")
    | dict.fromkeys(("progressivity", "progressivity_droop", "ratio_spread", "crosstalk"), "%")
    | dict.fromkeys(("ratio_drift", "left_right_split"), "%")
    | dict.fromkeys(("steer_even", "steer_odd", "length_static", "length_min", "length_max"), "mm")
    | dict.fromkeys(("compression_stroke", "extension_stroke", "toggle_margin", "arm_sum", "top_height"), "mm")
    | dict.fromkeys(("transmission_min", "tilt_max", "sweep", "angle_static"), "deg")
)


def unit_of(figure: str) -> str:
    """The unit of a figure's full name, such as `heave.motion_ratio`; nothing for a name that is no figure's."""
    return UNITS.get(figure.rpartition(".")[2], "")
