"""The candidate that came nearest to feasible, where nothing is: which goals it misses and by how much, and why."""

from optimiser.report.front.asks import asked
from optimiser.report.front.conflict import conflict_lines
from optimiser.report.front.nearest import nearest
from optimiser.report.results.manifest import VariableEntry
from optimiser.report.results.store import Store, Table
from optimiser.report.tables.text_table import VARIABLE_DECIMALS, column, figures, spread


def closest_lines(store: Store) -> list[str]:
    """The closest candidate's missed goals, where it lies, and what excludes itself; nothing of what is not kept."""
    closest, why = store.closest, conflict_lines(store)
    if closest is None:
        return why
    held = store.manifest.held
    missed = [goal.figure for goal in held if not closest.left[goal.figure][0] >= 0.0]
    return [
        f"The candidate nearest to feasible misses {len(missed)} of {len(held)} held goals:",
        "",
        *_goals(store, closest, missed),
        "",
        *_variables(store, closest),
        *([""] if why else []),
        *why,
    ]


def _goals(store: Store, closest: Table, missed: list[str]) -> list[str]:
    asks = {goal.figure: goal.asks for goal in store.manifest.held}
    entries = store.manifest.figures
    return spread(
        [
            column("held goal", [_named(store, closest, name) for name in missed], left=True),
            column("asked", [asked(asks[name]) for name in missed], left=True),
            column("reached", [figures(closest.figures[name][0], entries[name].decimals + 1) for name in missed]),
            column("missed by", [figures(-closest.left[name][0], entries[name].decimals + 1) for name in missed]),
            column("", [entries[name].unit for name in missed], left=True),
        ],
        gap=2,
    )


def _named(store: Store, closest: Table, figure: str) -> str:
    """A held goal's figure, and where it is on the clearance of all bodies, the two that are nearest."""
    near = nearest(store.manifest, closest.figures, figure, 0)
    return f"{figure} ({near[0].pair})" if near else figure


def _variables(store: Store, closest: Table) -> list[str]:
    variables = store.manifest.variables
    return spread(
        [
            column("variable", [one.path for one in variables], left=True),
            column("there", [figures(closest.variables[one.path][0], VARIABLE_DECIMALS) for one in variables]),
            column("base", [figures(one.value, VARIABLE_DECIMALS) for one in variables]),
            column("bounds", [_allowed(one) for one in variables], left=True),
        ],
        gap=2,
    )


def _allowed(variable: VariableEntry) -> str:
    if variable.choices:
        return " or ".join(f"{value:g}" for value in variable.choices)
    return f"{variable.low:g} to {variable.high:g}"
