"""What its bounds and held goals cost a member: by how much each objective gains where one of them gives way.

This room imports the search, and is itself imported only where prices are asked for.
"""

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Array
from optimiser.errors import RockwrightError
from optimiser.report.front.asks import room
from optimiser.report.front.columns import nullable
from optimiser.report.front.frame import Frame
from optimiser.report.front.nearest import LESS_MARGINS
from optimiser.report.front.short_names import short_figures
from optimiser.report.results.manifest import GoalEntry
from optimiser.report.tables.screen import NULL
from optimiser.report.tables.text_table import Column, column, spread
from optimiser.search.prices import prices_of
from optimiser.search.problem import parts_problem_of
from optimiser.study.keys import number_at
from optimiser.study.study import Study

UNKNOWN = "?"
"""Stands where no price holds."""
DIGITS = 3
"""Figures of a price that are shown."""
MARGIN = GoalEntry("smallest margin", False, 1.0, {"direction": "maximise"})
"""What a study of held goals alone makes large, in the goals' own scales."""


class NoPricesError(RockwrightError):
    """A row that is no member: nothing holds it where it is."""


@dataclass(frozen=True)
class Price:
    """What one unit more of room is worth: `gains` by objective, each in its figure's unit; NaN where no price holds.

    `what`: the bound or held goal, `kind` low, high or goal, `limit` as it stands, let out by `step` of `unit`;
    `pairs`: of a goal on the clearance of all bodies, those that hold the member.
    """

    what: str
    kind: str
    limit: str
    step: float
    unit: str
    gains: Mapping[str, float]
    pairs: tuple[str, ...] = ()


def member_prices(front: Frame, row: int, study: Study) -> tuple[Price, ...]:
    """The prices of a member that are not 0: of lower bounds, of upper ones, of held goals, each in the study's order.

    Raises NoPricesError where the row is no member.
    """
    if row >= front.members:
        raise NoPricesError(f"{front.label(row)} is no member of the front: name one that meets all held goals")
    manifest = front.store.manifest
    problem = parts_problem_of(study)
    problem = problem.kept(np.array(manifest.margin)) if len(manifest.margin) else problem
    found = prices_of(problem, np.array([front.x(row)]))
    wishes = manifest.objectives or (MARGIN,)
    prices = []
    for k, one in enumerate(manifest.variables):
        form = number_at(one.path)
        unit = form.unit if form else ""
        prices.append(Price(one.path, "low", f"at least {one.low:g}", 1.0, unit, _gains(wishes, found.low[0, :, k])))
        prices.append(Price(one.path, "high", f"at most {one.high:g}", 1.0, unit, _gains(wishes, found.high[0, :, k])))
    prices.sort(key=lambda price: price.kind == "high")
    for k, goal in enumerate(manifest.held):
        unit, gains = manifest.figures[goal.figure].unit, _gains(wishes, found.held[0, :, k])
        pairs = tuple(near.pair for near in front.touching(row)) if goal.figure in LESS_MARGINS else ()
        prices.append(Price(goal.figure, "goal", room(goal.asks), goal.scale, unit, gains, pairs))
    return tuple(price for price in prices if any(gain != 0.0 for gain in price.gains.values()))


def price_lines(front: Frame, row: int, prices: Sequence[Price]) -> list[str]:
    """The prices as lines of text."""
    if not prices:
        return [f"member {front.label(row)}: no bound and no held goal costs it anything"]
    return [
        f"member {front.label(row)}: what an objective gains for each step by which one bound or held goal alone gives",
        "way, while no other objective becomes worse; a rate, true for small steps",
        "",
        *_table(front, prices),
        "",
        *_sentences(front, prices),
        "",
        f"{NULL} nothing   {UNKNOWN} no price that holds: 0.1 % of the range more does not gain what is promised",
    ]


def price_json(front: Frame, row: int, prices: Sequence[Price]) -> str:
    """The prices as one JSON document; null where none holds."""
    rows = [
        {
            "what": price.what,
            "kind": price.kind,
            "step": price.step,
            "unit": price.unit,
            "gains": {name: nullable(gain) for name, gain in price.gains.items()},
            "pairs": list(price.pairs),
        }
        for price in prices
    ]
    return json.dumps({"id": front.table.ids[row], "prices": rows}, allow_nan=False)


def _gains(wishes: Sequence[GoalEntry], prices: Array) -> dict[str, float]:
    return {goal.figure: float(price) * goal.scale for goal, price in zip(wishes, prices, strict=True)}


def _table(front: Frame, prices: Sequence[Price]) -> list[str]:
    wishes = front.store.manifest.objectives or (MARGIN,)
    names = short_figures([goal.figure for goal in wishes])
    return spread(
        [
            column("what gives way", [_what(price) for price in prices], left=True),
            column("from", [price.limit for price in prices], left=True),
            column("by steps of", [f"{price.step:g} {price.unit}".rstrip() for price in prices]),
            *(_column(front, goal, short, prices) for goal, short in zip(wishes, names, strict=True)),
        ],
        gap=2,
    )


def _what(price: Price) -> str:
    return f"{price.what} ({', '.join(price.pairs)})" if price.pairs else price.what


def _column(front: Frame, goal: GoalEntry, short: tuple[str, str], prices: Sequence[Price]) -> Column:
    return Column(
        (*short, f"{_unit(front, goal)} {_better(goal)}".lstrip()),
        [_told(price.gains[goal.figure]) for price in prices],
    )


def _sentences(front: Frame, prices: Sequence[Price]) -> Iterator[str]:
    """For each objective the bound that costs it most, a unit for a unit."""
    for goal in front.store.manifest.objectives or (MARGIN,):
        name = goal.figure
        known = [price for price in prices if price.kind != "goal" and price.gains[name] > 0.0]
        if known:
            most = max(known, key=lambda price: price.gains[name])
            way = "less" if most.kind == "low" else "more"
            gain = f"{_told(most.gains[name])} {_unit(front, goal)}".rstrip()
            yield f"{most.step:g} {most.unit} {way} {most.what}: {gain} {_better(goal, whole=True)} {name}"


def _unit(front: Frame, goal: GoalEntry) -> str:
    entry = front.store.manifest.figures.get(goal.figure)
    return entry.unit if entry else ""


def _better(goal: GoalEntry, whole: bool = False) -> str:
    if "direction" in goal.asks:
        return "less" if goal.asks["direction"] == "minimise" else "more"
    return "nearer its aim:" if whole else "nearer"


def _told(gain: float) -> str:
    """A gain to a few figures, never as a power of ten."""
    if math.isnan(gain):
        return UNKNOWN
    if gain == 0.0:
        return NULL
    return f"{gain:.{max(0, DIGITS - 1 - math.floor(math.log10(gain)))}f}"
