"""The catalogue of figures as a table, and one figure explained."""

from collections.abc import Iterator

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from objectives.catalogue import FIGURES, Figure
from optimiser.report.screen import grid

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


def catalogue_table() -> Iterator[RenderableType]:
    """Every figure: name, unit, definition."""
    table = grid()
    table.show_edge = False
    table.add_column("figure", no_wrap=True)
    table.add_column("unit", no_wrap=True)
    table.add_column("definition")
    for figure in FIGURES:
        table.add_row(figure.name, figure.unit, Text(figure.definition))
    yield table
    yield Text(
        f"\n{ELEMENT} stands for an element's name, so that {ELEMENT}.motion_ratio of an element called heave is "
        "heave.motion_ratio. rockwright figures NAME explains one."
    )


def explained(figure: Figure, asked: str) -> Iterator[RenderableType]:
    """One figure: its definition and source, when it is null, and a goal that asks for it under the name `asked`."""
    table = Table.grid(padding=(0, 2))
    table.add_column(no_wrap=True)
    for term, text in {
        "unit": figure.unit,
        "definition": figure.definition,
        "source": figure.source,
        "null": null_rule(figure),
        "goal": f"{_called(asked)}: {example(figure)}",
    }.items():
        table.add_row(term, Text(text))
    yield Text(asked, style="bold")
    yield table


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
