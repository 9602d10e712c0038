"""The catalogue of figures as a table, and one figure explained."""

from collections.abc import Iterator

from objectives.catalogue.catalogue import FIGURES
from objectives.catalogue.figure import Figure, nothing_needed
from optimiser.report.tables.blocks import prose
from optimiser.report.tables.screen import bold

EXAMPLES = {
    "motion_ratio": "{aim: 1.1, within: 0.01}",
    "coupling": "{aim: 0, within: 0.01}",
    "progressivity": "maximise",
    "progressivity_droop": "{aim: -10, scale: 1}",
    "ratio_spread": "{at_most: 10}",
    "crosstalk": "{at_most: 1}",
    "ratio_drift": "{aim: 0, scale: 1}",
    "left_right_split": "{at_most: 1.5}",
    "steer_even": "{at_most: 0.2}",
    "steer_odd": "{at_most: 0.2}",
    "length_static": "{at_least: 380, at_most: 450}",
    "length_min": "{at_least: 340}",
    "length_max": "{at_most: 480}",
    "compression_stroke": "{at_most: 45}",
    "extension_stroke": "{at_most: 35}",
    "transmission_min": "{at_least: 55}",
    "tilt_max": "{at_most: 8}",
    "sweep": "{at_most: 35}",
    "toggle_margin": "{at_least: 10}",
    "angle_static": "{at_least: 30, at_most: 60}",
    "twist_ratio": "{aim: 0.5, within: 0.05}",
    "twist_max": "{at_most: 20}",
    "moment_static": "{at_most: 400}",
    "force_static": "{at_most: 4500}",
    "slack_travel": "{at_least: 30}",
    "knee_travel": "{at_least: 26}",
    "solid_reserve": "{at_least: 3}",
    "wheel_damping": "{aim: 6000, within: 500}",
    "bump_force_slow": "{at_least: 200, at_most: 400}",
    "rebound_force_slow": "{at_least: 400, at_most: 800}",
    "bump_force_fast": "{at_most: 1200}",
    "rebound_force_fast": "{at_most: 2500}",
    "heave_rate": "{aim: 140, within: 5}",
    "heave_rate_spring": "{aim: 135, within: 5}",
    "heave_rate_geometric": "{at_least: 0}",
    "heave_rate_rise": "maximise",
    "roll_rate": "{aim: 95, within: 5}",
    "roll_rate_spring": "{aim: 90, within: 5}",
    "roll_rate_geometric": "{at_most: 8}",
    "roll_rate_at_bump": "{at_most: 110}",
    "one_wheel_rate": "{at_most: 120}",
    "cross_rate": "{aim: 0, within: 1}",
    "roll_stiffness": "{aim: 2300, within: 100}",
    "static_miss": "{aim: 0, within: 20}",
    "static_lean": "{aim: 0, within: 20}",
    "travel_reserve": "{at_least: 3}",
    "buckling_factor": "{at_least: 3}",
    "angle_max": "{at_most: 10}",
    "angle_reserve": "{at_least: 1}",
}
"""A goal for each figure, by the last part of its name, as a study writes it; any other figure: `minimise`."""
ELEMENT = "E"
"""Stands for an element's name in a figure's."""
EXAMPLE_ELEMENT = "heave"
"""Element in the example of a figure asked for by its pattern."""
NAME = "NAME"
"""Stands for a link's or a joint's name in a figure's."""
EXAMPLE_LINK = "upper_front"
"""Link in the example of a figure asked for by its pattern."""
EXAMPLE_JOINT = "rod_outboard"
"""Joint in the example of a figure asked for by its pattern."""


def catalogue_table(width: int) -> Iterator[str]:
    """Every figure as lines of at most `width`: name, unit, definition."""
    names = max(len(figure.name) for figure in FIGURES)
    units = max(len(figure.unit) for figure in FIGURES)
    yield bold(f"{'figure':{names}}  {'unit':{units}}  definition")
    for figure in FIGURES:
        blank = " " * (names + units + 4)
        yield from prose(figure.definition, width, f"{figure.name:{names}}  {figure.unit:{units}}  ", blank)
    yield ""
    yield from prose(
        f"{ELEMENT} stands for an element's name: {ELEMENT}.motion_ratio of an element called {EXAMPLE_ELEMENT} is "
        f"{EXAMPLE_ELEMENT}.motion_ratio. m is the mode that it serves, n the other. {NAME} stands for a link's "
        "or a joint's name. "
        "A figure of springs, dampers or loads is there where these are. rockwright figures FIGURE explains one.",
        width,
    )


def explained(figure: Figure, asked: str, width: int) -> Iterator[str]:
    """One figure: its definition and source, when it is null, and a goal that asks for it under the name `asked`."""
    parts = {
        "unit": figure.unit,
        "definition": figure.definition,
        "source": figure.source,
        "null": null_rule(figure),
        "goal": f"{_called(asked)}: {example(figure)}",
    }
    yield bold(asked)
    for term, text in parts.items():
        yield from prose(text, width, f"{term:12}", " " * 12)


def example(figure: Figure) -> str:
    """What a study may write behind the figure's name under `goals`."""
    return EXAMPLES.get(figure.word, "minimise")


def null_rule(figure: Figure) -> str:
    """When the figure is null, and with which status."""
    if figure.word == "toggle_margin":
        return "never for want of a toggle: 100 mm, status beyond_search, where none lies that near"
    rules = ["where a state that it is taken over is not ok (unreachable, wheel_locked, over_centre)"]
    if figure.of_element and figure.unit == "%":
        rules.append("where the ratio or stroke that it is measured against is 0 (no_motion)")
    if figure.decoupled_only:
        rules.append("for a corner strut (not_decoupled)")
    if figure.roll_only:
        rules.append("for a strut that serves heave (roll_only)")
    if figure.fitted is not nothing_needed and not figure.form and not figure.of_joint:
        rules.append("where heave does not move the spring that carries the weight (no_motion)")
    if figure.word in ("slack_travel", "knee_travel"):
        rules.append("never for want of such a travel: then a bound (beyond_travel)")
    return "; ".join([*rules, *_absences(figure)])


def _absences(figure: Figure) -> Iterator[str]:
    """When an axle does not have the figure at all."""
    if figure.needs_rack:
        yield "absent from an axle without a rack"
    if figure.of_element and figure.of != "element":
        yield "absent from a bar" if figure.of == "strut" else "absent from a strut"
    if figure.of_carrier:
        yield "absent from a link that does not carry the rod"
    if figure.fitted is not nothing_needed:
        told = "no spring, damper or load that it tells of is fitted"
        if figure.of_joint:
            told = "`joints` says nothing of the joint, or of the limit that it tells of"
        yield f"absent where {'no build is given' if figure.form else told}"


def _called(asked: str) -> str:
    """The name as it stands under `goals`."""
    if asked.startswith(f"{ELEMENT}."):
        return EXAMPLE_ELEMENT + asked.removeprefix(ELEMENT)
    if asked.startswith("joint."):
        return asked.replace(f".{NAME}.", f".{EXAMPLE_JOINT}.")
    return asked.replace(f".{NAME}.", f".{EXAMPLE_LINK}.").replace("clearance.PAIR", "clearance.heave_to_rod")
