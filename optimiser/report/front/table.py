"""The front as lines of text: what is true of all of it, then one line a member, within the width of the screen."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import accumulate

from optimiser.report.front.frame import Frame
from optimiser.report.front.listing import LAST_SHARE, alike, costs, crowds, holds, late_growth
from optimiser.report.front.short_names import short_figures, short_paths
from optimiser.report.tables.screen import BEST, MISSED
from optimiser.report.tables.text_table import GAP, VARIABLE_DECIMALS, Column, figures, spread

NARROWEST_BOUNDS = 16
"""The room that the column of active bounds keeps before a held figure's column gives way."""
MORE = " high +9"
"""What may stand behind a variable's name in the column of active bounds."""


def front_lines(
    front: Frame, rows: Sequence[int], sort: str | None, selected: int, wide: int, like: Mapping[int, int] | None = None
) -> list[str]:
    """The front in lines of at most `wide` characters: `rows`, of the `selected` members that a condition left.

    The column that the rows are sorted by is shown even if no goal asks for it. `like` is how many near-twins a row
    stands for beside itself (see `optimiser.report.front.twins`).
    """
    like = like or {}
    notes = [line for note in _footer(front, rows, selected, like) for line in _wrapped(note, wide)]
    header = [line for told in _header(front) for line in _wrapped(told, wide)]
    return [*header, "", *_table(front, rows, sort, wide, like), "", *notes]


def _header(front: Frame) -> Iterator[str]:
    manifest, volumes = front.store.manifest, front.store.growth["hypervolume"]
    members = "1 member" if front.members == 1 else f"{front.members} members"
    yield f"{manifest.study}: {members} from {manifest.evaluations:,} candidates"
    if manifest.is_exhausted:
        yield "every candidate that the listed values allow was measured: there are no others"
    grown = late_growth(front.store)
    if volumes and volumes[-1] > 0.0 and manifest.objectives:
        came = (
            f"; {_percent(grown)} of it came in the last {_percent(LAST_SHARE)} of the search"
            if grown is not None
            else ""
        )
        yield f"hypervolume {volumes[-1]:.6g}{came}"
    for pair in alike(front):
        told = "are nearly one" if pair.correlation > 0.0 else "are nearly each other's opposite"
        yield f"{pair.first} and {pair.second} {told} (rank correlation {pair.correlation:.3f})"
    yield from _taken(front)
    for crowd in crowds(front):
        yield f"{_percent(crowd.share)} of the members sit on the {crowd.bound.end} bound of {crowd.bound.path}"
    for hold in holds(front):
        yield f"the clearance of {hold.pair} holds {_percent(hold.share)} of the members: nothing of it is left"
    dear = ", ".join(f"{cost.bound.path} {cost.bound.end} {100.0 * cost.share:.2g} %" for cost in costs(front))
    if dear:
        yield f"the bounds that cost most: {dear} (what all objectives gain of their ranges if it gives 1 % of its own)"


def _taken(front: Frame) -> Iterator[str]:
    """How many members take each of the values that a variable may choose from."""
    for variable in front.store.manifest.variables:
        column = front.table.variables[variable.path][: front.members]
        shares = [f"{value:g} in {_percent(column.count(value) / len(column))}" for value in variable.choices if column]
        if shares:
            yield f"{variable.path} is {', '.join(shares)} of the members"


def _percent(share: float) -> str:
    """A share 0..1 in percent, to a tenth below ten."""
    percent = 100.0 * share
    return f"{percent:.0f} %" if percent >= 9.95 else f"{percent:.1f} %"


def _table(front: Frame, rows: Sequence[int], sort: str | None, wide: int, like: Mapping[int, int]) -> list[str]:
    names = Column(("", "", "id"), [_name(front, row, like.get(row, 0)) for row in rows], left=True)
    before, held, margin = (
        [
            names,
            *_origins(front, rows),
            *_choices(front, rows),
            *_sorted_by(front, rows, sort),
            *_objectives(front, rows),
        ],
        _held(front, rows),
        _margins(front, rows),
    )
    room = wide - _widths([*before, *margin])
    on_bounds = any(_held_by(front, row, {}) for row in rows)
    fitting = sum(
        used <= room - NARROWEST_BOUNDS * on_bounds + GAP for used in accumulate(one.width + GAP for one in held)
    )
    room -= _widths(held[:fitting])
    paths = [variable.path for variable in front.store.manifest.variables]
    short = dict(zip(paths, short_paths(paths, room - len(MORE)), strict=True))
    cells = [_bounds(front, row, short, room) for row in rows]
    bounds = [Column(("", "active", "bounds"), cells, left=True)] if on_bounds else []
    lines = spread([*before, *held[:fitting], *margin, *bounds])
    meant = [f"{name} = {path}" for path, name in short.items() if _abbreviated(path, name, cells)]
    left_out = ", ".join(goal.figure for goal in front.store.manifest.held[fitting:])
    told = _wrapped(f"no room for {left_out}: widen the terminal, or see --compare or --json", wide) if left_out else []
    return [*lines, *([""] if meant or told else []), *meant, *told]


def _name(front: Frame, row: int, like: int) -> str:
    """`17 knee (+4)`."""
    return f"{front.label(row)} (+{like})" if like else front.label(row)


def _wrapped(text: str, wide: int) -> list[str]:
    if len(text) <= wide:
        return [text]
    from textwrap import wrap  # noqa: PLC0415 - 10 ms of start-up that few fronts need

    return wrap(text, wide)


def _widths(columns: Sequence[Column]) -> int:
    return sum(one.width + GAP for one in columns)


def _abbreviated(path: str, name: str, cells: Sequence[str]) -> bool:
    """Whether a variable stands in the cells under a name that is not part of its path."""
    return not path.endswith(name) and any(f"{name} " in cell for cell in cells)


def _sorted_by(front: Frame, rows: Sequence[int], sort: str | None) -> list[Column]:
    if sort is None or any(goal.figure == sort for goal in front.store.manifest.goals):
        return []
    entry = front.store.manifest.figures.get(sort)
    element, name = sort.rsplit(".", 2)[-2:] if "." in sort else ("", sort)
    decimals, unit = (entry.decimals, entry.unit) if entry else (VARIABLE_DECIMALS, "")
    return [Column((element, name, unit), [figures(front.columns[sort][row], decimals) for row in rows])]


def _origins(front: Frame, rows: Sequence[int]) -> list[Column]:
    """The folder that each member comes from, where there are several."""
    cells = [str(front.origins.get(front.table.ids[row], "")) for row in rows]
    return [Column(("", "", "from"), cells)] if front.origins else []


def _choices(front: Frame, rows: Sequence[int]) -> list[Column]:
    """The variables of listed values, such as a hole."""
    columns = []
    for variable in front.store.manifest.variables:
        if variable.choices:
            owner, name = variable.path.split(".")[-2:]
            cells = [f"{front.table.variables[variable.path][row]:g}" for row in rows]
            columns.append(Column(("", owner, name), cells))
    return columns


def _objectives(front: Frame, rows: Sequence[int]) -> list[Column]:
    names = [goal.figure for goal in front.store.manifest.objectives]
    return [
        _figure(front, rows, name, short, [BEST if front.is_best(row, name) else " " for row in rows])
        for name, short in zip(names, short_figures(names), strict=True)
    ]


def _held(front: Frame, rows: Sequence[int]) -> list[Column]:
    names = [goal.figure for goal in front.store.manifest.held]
    return [
        _figure(front, rows, name, short, _missed([front.table.left[name][row] for row in rows]))
        for name, short in zip(names, short_figures(names), strict=True)
    ]


def _missed(left: Sequence[float]) -> list[str]:
    """A mark for each value that misses its goal; no room is kept for one where none does."""
    if all(value >= 0.0 for value in left):
        return [""] * len(left)
    return [" " if value >= 0.0 else MISSED for value in left]


def _figure(front: Frame, rows: Sequence[int], name: str, short: tuple[str, str], marks: Sequence[str]) -> Column:
    entry, values = front.store.manifest.figures[name], front.table.figures[name]
    cells = [f"{figures(values[row], entry.decimals)}{mark}" for row, mark in zip(rows, marks, strict=True)]
    blank = " " * len(marks[0])
    return Column((f"{short[0]}{blank}", f"{short[1]}{blank}", f"{entry.unit}{blank}"), cells)


def _margins(front: Frame, rows: Sequence[int]) -> list[Column]:
    """The held goal of which the smallest share is left, and what is left of it in its figure's unit."""
    manifest = front.store.manifest
    names = [goal.figure for goal in manifest.held]
    short = {name: " ".join(halves) for name, halves in zip(names, short_figures(names), strict=True)}
    cells = []
    for row in rows:
        margin = front.margin(row)
        if margin is None:
            return []
        entry = manifest.figures[margin.figure]
        cells.append(f"{figures(margin.left, entry.decimals)} {margin.pair or short[margin.figure]}")
    return [Column(("smallest", "margin, in", "its own unit"), cells, left=True)]


def _bounds(front: Frame, row: int, short: Mapping[str, str], room: int) -> str:
    """What a row sits on, as much as fits; the rest is counted."""
    entries = _held_by(front, row, short)
    for count in range(len(entries), 0, -1):
        more = f" +{len(entries) - count}" if count < len(entries) else ""
        text = ", ".join(entries[:count]) + more
        if len(text) <= room:
            return text
    return f"{len(entries)} of them" if entries else ""


def _held_by(front: Frame, row: int, short: Mapping[str, str]) -> list[str]:
    """The pairs of bodies whose clearance holds a row, but for the one that its margin names, and its bounds."""
    margin = front.margin(row)
    named = margin.pair if margin else ""
    pairs = [near.pair for near in front.touching(row) if near.pair != named]
    return [*pairs, *(f"{short.get(bound.path, bound.path)} {bound.end}" for bound in front.bounds(row))]


def _footer(front: Frame, rows: Sequence[int], selected: int, like: Mapping[int, int]) -> Iterator[str]:
    twins = sum(like.get(row, 0) for row in rows)
    more = selected - twins - sum(row < front.members for row in rows)
    if more > 0:
        yield f"members not shown: {more}; --top {front.members} shows all, --sort and --where choose"
    if twins:
        yield "(+1): one more like it, in every objective and variable too near to be another choice; --every lists it"
    yield f"{BEST} best of the front   {MISSED} misses a held goal   base: the study's own geometry"
    yield "knee: the member whose worst objective is least far from its best, as a share of its range"
