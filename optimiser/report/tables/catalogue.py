"""The catalogue of figures as a table, and one figure explained."""

from collections.abc import Iterator

from objectives.catalogue.catalogue import FIGURES
from objectives.catalogue.figure import Figure
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
}
"""A goal for each figure, by the last part of its name, as a study writes it; any other figure: `minimise`."""
ELEMENT = "E"
"""Stands for an element's name in a figure's."""
EXAMPLE_ELEMENT = "heave"
"""Element in the example of a figure asked for by its pattern."""


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
        f"{EXAMPLE_ELEMENT}.motion_ratio. m is the mode that it serves, n the other. rockwright figures NAME explains "
        "one.",
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
    return EXAMPLES.get(_last(figure), "minimise")


def null_rule(figure: Figure) -> str:
    """When the figure is null, and with which status."""
    if _last(figure) == "toggle_margin":
        return "never for want of a toggle: 100 mm, status beyond_search, where none lies that near"
    rules = ["where a state that it is taken over is not ok (unreachable, wheel_locked, over_centre)"]
    if figure.of_element and figure.unit == "%":
        rules.append("where the ratio or stroke that it is measured against is 0 (no_motion)")
    if figure.decoupled_only:
        rules.append("for a corner strut (not_decoupled)")
    if figure.roll_only:
        rules.append("for a strut that serves heave (roll_only)")
    if figure.needs_rack:
        rules.append("absent from an axle without a rack")
    return "; ".join(rules)


def _last(figure: Figure) -> str:
    return figure.name.split(".")[-1]


def _called(asked: str) -> str:
    """The name as it stands under `goals`."""
    return EXAMPLE_ELEMENT + asked.removeprefix(ELEMENT) if asked.startswith(f"{ELEMENT}.") else asked
