"""Two candidates of a front side by side: only what differs, by how much, and which is better by the goals."""

import json
import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

from optimiser.report.front.columns import nullable
from optimiser.report.front.frame import Frame
from optimiser.report.tables.text_table import VARIABLE_DECIMALS, column, figures, spread

BELOW_SPREAD = "figures of goals that differ by less than one built axle does from the next are left out"
Better: TypeAlias = Literal["a", "b", "both", "neither", ""]


@dataclass(frozen=True)
class Difference:
    """One number that differs between candidates a and b; NaN where null."""

    name: str
    unit: str
    decimals: int
    a: float
    b: float
    better: Better
    """By the goal on this figure; both or neither: a held goal that both meet or miss; empty: no goal speaks of it."""
    spread: float = 0.0
    """Its deviation from one built axle to the next; 0 where that is not known."""


def differences(front: Frame, a: int, b: int) -> tuple[Difference, ...]:
    """What differs between rows `a` and `b` as it is shown: variables, then figures."""
    table = front.table
    variables = [
        Difference(path, "", VARIABLE_DECIMALS, values[a], values[b], "") for path, values in table.variables.items()
    ]
    measured = [
        Difference(
            name,
            entry.unit,
            entry.decimals,
            table.figures[name][a],
            table.figures[name][b],
            _better(front, name, a, b),
            entry.spread,
        )
        for name, entry in front.store.manifest.figures.items()
    ]
    return tuple(entry for entry in (*variables, *measured) if _seen(entry))


def compare_lines(front: Frame, a: int, b: int) -> list[str]:
    """The differences as a table; a line where there are none."""
    entries = differences(front, a, b)
    first, second = front.label(a), front.label(b)
    if not entries:
        return [f"{first} and {second} do not differ in any figure or variable as it is shown"]
    words = {"a": first, "b": second, "both": "both hold", "neither": "both miss", "": ""}
    table = spread(
        [
            column("what differs", [entry.name for entry in entries], left=True),
            column(first, [figures(entry.a, entry.decimals) for entry in entries]),
            column(second, [figures(entry.b, entry.decimals) for entry in entries]),
            column("change", [figures(entry.b - entry.a, entry.decimals, signed=True) for entry in entries]),
            column("", [entry.unit for entry in entries], left=True),
            column("better by the goals", [words[entry.better] for entry in entries], left=True),
        ],
        gap=2,
    )
    built = any(entry.spread > 0.0 for entry in front.store.manifest.figures.values())
    return [*table, *([BELOW_SPREAD] if built else [])]


def compare_json(front: Frame, a: int, b: int) -> str:
    """The differences as one JSON document, null where a figure has no value."""
    ids = front.table.ids
    words = {"a": ids[a], "b": ids[b], "both": "both", "neither": "neither", "": None}
    found = {
        entry.name: {"a": nullable(entry.a), "b": nullable(entry.b), "better": words[entry.better]}
        for entry in differences(front, a, b)
    }
    return json.dumps({"a": ids[a], "b": ids[b], "differences": found}, allow_nan=False)


def _seen(entry: Difference) -> bool:
    """Whether the change, as it is shown, is one, and more than one built axle differs from the next by."""
    if math.isnan(entry.a) or math.isnan(entry.b):
        return math.isnan(entry.a) != math.isnan(entry.b)
    return round(entry.b - entry.a, entry.decimals) != 0.0 and abs(entry.b - entry.a) >= entry.spread


def _better(front: Frame, name: str, a: int, b: int) -> Better:
    """Which row serves the goal on a figure better; a null serves none."""
    table = front.table
    if name in table.objectives:
        first, second = table.objectives[name][a], table.objectives[name][b]
        return "a" if first < second else "b" if second < first else ""
    if name not in table.left:
        return ""
    met = (table.left[name][a] >= 0.0, table.left[name][b] >= 0.0)
    words: dict[tuple[bool, bool], Better] = {(True, True): "both", (True, False): "a", (False, True): "b"}
    return words.get(met, "neither")
