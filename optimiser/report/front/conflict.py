"""Why nothing satisfies a study, in words: what excludes itself, what each of it could have instead, and the trade."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from optimiser.report.front.asks import asked
from optimiser.report.front.columns import Columns, kind
from optimiser.report.results.files import DamagedResultsError
from optimiser.report.results.manifest import MANIFEST, Manifest
from optimiser.report.results.store import Store
from optimiser.report.tables.text_table import VARIABLE_DECIMALS, Column, column, figures, spread

WIDE = 100
"""Characters of a line at most."""


@dataclass(frozen=True)
class Clause:
    """One thing that is asked, a held goal or a bound: its name, what it asks, its value at each row's candidate."""

    name: str
    asks: str
    unit: str
    decimals: int
    values: Sequence[float]
    bound: bool


def conflict_lines(store: Store) -> list[str]:
    """The conflict as lines of text; none where no conflict is kept. Raises DamagedResultsError."""
    columns = store.conflict
    if not columns:
        return []
    try:
        return list(_lines(_clauses(columns, store.manifest), columns))
    except (KeyError, IndexError, ValueError) as error:
        raise DamagedResultsError(store.folder / MANIFEST, f"the conflict does not go with it ({error})") from error


def _clauses(columns: Columns, manifest: Manifest) -> list[Clause]:
    asks, bounds = (
        {goal.figure: asked(goal.asks) for goal in manifest.held},
        {one.path: one for one in manifest.variables},
    )
    found = []
    for name, values in kind(columns, "goal").items():
        entry = manifest.figures[name]
        found.append(Clause(name, asks[name], entry.unit, entry.decimals, values, bound=False))
    for end, word in (("low", "at least"), ("high", "at most")):
        for path, values in kind(columns, end).items():
            limit = bounds[path].low if end == "low" else bounds[path].high
            found.append(Clause(path, f"{word} {limit:g}, its bound", "", VARIABLE_DECIMALS, values, bound=True))
    return found


def _lines(clauses: Sequence[Clause], columns: Columns) -> Iterator[str]:
    if not clauses:
        yield from _wrapped("Why: no reason was found. All held goals can be met at once; search on, with --resume.")
        return
    gives, second = columns["gives"], columns["second"]
    alone = [row for row in range(len(gives)) if math.isnan(second[row])]
    trade = [row for row in range(len(gives)) if not math.isnan(second[row])]
    whole = bool(columns["others"] and columns["others"][0])
    yield from _wrapped(_why(clauses, whole))
    yield ""
    yield from _nearest(clauses, [int(gives[row]) for row in alone], alone, whole)
    if trade:
        yield ""
        yield from _wrapped(
            "; ".join(_asks_for(clauses, int(gives[row]), int(second[row]), row) for row in _ends(trade))
        )
        pair = sorted({int(gives[row]) for row in trade} | {int(second[row]) for row in trade})
        yield ""
        yield from _wrapped(_trade(clauses, [clauses[k] for k in pair], whole))
        yield ""
        yield from spread([_values(clauses[k], trade) for k in pair], gap=2)


def _why(clauses: Sequence[Clause], whole: bool) -> str:
    rest = "all other held goals" if whole else "the others of them"
    if len(clauses) == 1:
        return "Why: this cannot be met, whatever else is given up within the bounds (many starts say so, not a proof):"
    wide = "; a bound is left out by going beyond it by its own range" if any(one.bound for one in clauses) else ""
    more = "" if whole else " Something else excludes itself too: settle this first, then search again."
    return (
        f"Why: these {len(clauses)} exclude each other. Leave out any one of them, and {rest} can be met{wide} "
        f"(many starts say so, not a proof).{more}"
    )


def _nearest(clauses: Sequence[Clause], order: Sequence[int], rows: Sequence[int], whole: bool) -> list[str]:
    told = [clauses[k] for k in order]
    values = [figures(one.values[row], _decimals(one)) for one, row in zip(told, rows, strict=True)]
    return spread(
        [
            column("what excludes itself", [one.name for one in told], left=True),
            column("asked", [one.asks for one in told], left=True),
            Column(("", "nearest that", f"{'all others' if whole else 'these others'} allow"), values),
            column("", [one.unit for one in told], left=True),
        ],
        gap=2,
    )


def _ends(rows: Sequence[int]) -> tuple[int, int]:
    return rows[0], rows[-1]


def _asks_for(clauses: Sequence[Clause], gives: int, kept: int, row: int) -> str:
    """`a.figure at least 20 % asks for another.figure of 3.7 %`."""
    asking, given = clauses[kept], clauses[gives]
    value = f"{figures(given.values[row], _decimals(given))} {given.unit}".rstrip()
    return f"{asking.name} {asking.asks} asks for {given.name} {value}"


def _trade(clauses: Sequence[Clause], pair: Sequence[Clause], whole: bool) -> str:
    if whole or len(clauses) > len(pair):
        held = ", all other held goals met:" if whole else ", the others of them met:"
    else:
        held = ":"
    return f"The trade between {pair[0].name} and {pair[1].name}{held}"


def _values(clause: Clause, rows: Sequence[int]) -> Column:
    element, _, word = clause.name.rpartition(".")
    return Column((element, word, clause.unit), [figures(clause.values[row], _decimals(clause)) for row in rows])


def _decimals(clause: Clause) -> int:
    return clause.decimals if clause.bound else clause.decimals + 1


def _wrapped(text: str) -> list[str]:
    from textwrap import wrap  # noqa: PLC0415 - start-up time of a front that has members

    return wrap(text, WIDE)
