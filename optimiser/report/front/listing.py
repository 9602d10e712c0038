"""Which members of a front to show, in which order, and what an engineer should know of the whole of it."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from optimiser.report.front.frame import Bound, Frame
from optimiser.report.front.ranks import rank_correlation
from optimiser.report.results.store import Store

CROWDED = 0.2
"""A bound that more than this share of the members sits on is named; so is a clearance that holds as many."""
NEARLY_ONE = 0.98
"""Objectives whose rank correlation is beyond this are nearly one."""
FEWEST_RANKED = 5
"""Fewer members than this say nothing about correlation."""
LAST_SHARE = 0.25
"""The hypervolume's growth is told over this last share of the evaluations."""
COSTS = 2
"""Bounds that are named for what they cost."""
DEFAULT_TOP = 25
"""Members shown where nothing is said."""


@dataclass(frozen=True)
class Alike:
    """Two objectives that rise and fall together over the members (`correlation` near 1), or against each other."""

    first: str
    second: str
    correlation: float


@dataclass(frozen=True)
class Crowd:
    """A bound that many members sit on: `share` of them, 0..1."""

    bound: Bound
    share: float


@dataclass(frozen=True)
class Hold:
    """Two bodies whose clearance holds `share` of the members, 0..1, where they are."""

    pair: str
    share: float


@dataclass(frozen=True)
class Cost:
    """A bound, and what every objective would gain at once if it gave 1 % of its range: a share of its own range."""

    bound: Bound
    share: float


def selection(front: Frame, sort: str | None, where: str | None) -> list[int]:
    """The rows that meet `where`, in the order of `sort`: an objective best first, anything else rising, nulls last.

    Without `sort`: by the first objective. Raises UnknownColumnError or ConditionError.
    """
    key = _key(front, sort)
    kept = [True] * len(key) if where is None else _chosen(front, where)
    rows = [row for row, keep in enumerate(kept) if keep]
    return sorted(rows, key=lambda row: math.inf if math.isnan(key[row]) else key[row])


def shown(front: Frame, rows: Sequence[int], top: int | None) -> list[int]:
    """The first `top` members of `rows` (all where None), and always the base and the knee, in the order of `rows`.

    A base or a knee that `rows` leaves out comes first.
    """
    named = {row for row in (front.base, front.knee) if row is not None}
    members = [row for row in rows if row < front.members]
    kept = set(members[:top]) | named
    return [*sorted(named - set(rows), reverse=True), *(row for row in rows if row in kept)]


def alike(front: Frame) -> tuple[Alike, ...]:
    """Pairs of objectives that are nearly one over the members.

    Two objectives alone always run against each other on a front: that is not told.
    """
    columns = {name: column[: front.members] for name, column in front.table.objectives.items()}
    if front.members < FEWEST_RANKED:
        return ()
    pairs = [Alike(a, b, rank_correlation(columns[a], columns[b])) for a, b in combinations(columns, 2)]
    return tuple(
        pair for pair in pairs if abs(pair.correlation) > NEARLY_ONE and (len(columns) > 2 or pair.correlation > 0.0)
    )


def crowds(front: Frame) -> tuple[Crowd, ...]:
    """Bounds that many members sit on, the most crowded first."""
    counts = Counter(bound for row in range(front.members) for bound in front.bounds(row))
    shares = [Crowd(bound, count / front.members) for bound, count in counts.most_common()]
    return tuple(crowd for crowd in shares if crowd.share > CROWDED)


def holds(front: Frame) -> tuple[Hold, ...]:
    """Pairs of bodies whose clearance holds many members, the most crowded first."""
    counts = Counter(near.pair for row in range(front.members) for near in front.touching(row))
    shares = [Hold(pair, count / front.members) for pair, count in counts.most_common()]
    return tuple(hold for hold in shares if hold.share > CROWDED)


def costs(front: Frame) -> tuple[Cost, ...]:
    """The bounds that cost the front most, the dearest first; none where that is not known or nothing costs."""
    prices, variables = front.store.prices, front.store.manifest.variables
    found = [
        Cost(Bound(one.path, end), share)
        for end, column in prices.items()
        for one, share in zip(variables, column, strict=True)
    ]
    return tuple(sorted((cost for cost in found if cost.share > 0.0), key=lambda cost: -cost.share)[:COSTS])


def late_growth(store: Store) -> float | None:
    """The share of the hypervolume that came in the last `LAST_SHARE` of the evaluations.

    None where it is unknown: nothing is found yet, or there was a front before the log's first entry, which is later.
    """
    evaluations, volumes = store.growth["evaluations"], store.growth["hypervolume"]
    if not volumes or volumes[-1] <= 0.0:
        return None
    then = (1.0 - LAST_SHARE) * evaluations[-1]
    if evaluations[0] > then and volumes[0] > 0.0:
        return None
    before = max((volume for at, volume in zip(evaluations, volumes, strict=True) if at <= then), default=0.0)
    return 1.0 - before / volumes[-1]


def held_between(store: Store) -> str:
    """A line on how many members were taken out because they missed a held goal between the travel points."""
    out = int(store.growth["taken_out"][-1]) if store.growth["taken_out"] else 0
    told = {0: "none was", 1: "1 was"}.get(out, f"{out:,} were")
    return f"every member holds its goals between the travel points too; {told} taken out for missing one there"


def _chosen(front: Frame, where: str) -> list[bool]:
    from optimiser.report.front.where import chosen  # noqa: PLC0415 - a parser that few calls need

    return chosen(where, front.columns)


def _key(front: Frame, sort: str | None) -> Sequence[float]:
    wishes = front.table.objectives
    if sort is None:
        return next(iter(wishes.values()), front.table.ids)
    if sort in wishes:
        return wishes[sort]
    if sort not in front.columns:
        from optimiser.report.front.where import no_column  # noqa: PLC0415 - only once something went wrong

        raise no_column(sort, front.columns)
    return front.columns[sort]
