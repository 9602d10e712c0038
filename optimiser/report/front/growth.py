"""The log of a search's growth: a table of some of its moments, and a plot in plain characters.

Plain lists, no numpy: showing a front starts quickly.
"""

import json
import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence

from optimiser.report.front.document import Plain
from optimiser.report.front.listing import LAST_SHARE, late_growth
from optimiser.report.results.store import Store
from optimiser.report.tables.screen import NULL
from optimiser.report.tables.text_table import column, spread

ROWS = 12
"""Moments that the table shows of a longer log."""
HEIGHT = 8
"""Lines of the plot."""
WIDEST = 100
"""Characters that the plot is wide at most."""
LATE = "{:.2g} % of the hypervolume came with the last {:.0f} % of the candidates"
MARK = "*"
AXIS = ("candidates: equal steps are equal factors", "candidates")
"""What the plot's axis may be called, the first that fits."""


def growth_lines(store: Store, wide: int) -> list[str]:
    """The log of growth in lines of at most `wide` characters."""
    log, manifest = store.growth, store.manifest
    if not log["evaluations"]:
        return [f"{manifest.study}: nothing logged yet"]
    lines = [f"{manifest.study}: the front's growth", "", *_table(store), *_plot(store, min(wide, WIDEST))]
    grown = late_growth(store) if manifest.objectives else None
    return lines if grown is None else [*lines, "", LATE.format(100.0 * grown, 100.0 * LAST_SHARE)]


def growth_json(store: Store) -> str:
    """The whole log as one JSON document of equally long columns; no hypervolume where there is no objective."""
    columns: dict[str, Plain] = {name: list(values) for name, values in store.growth.items()}
    if not store.manifest.objectives:
        del columns["hypervolume"]
    return json.dumps({"study": store.manifest.study, "growth": columns}, allow_nan=False)


def moments(evaluations: Sequence[float], count: int = ROWS) -> list[int]:
    """At most `count` places of a rising log: the first, the last, and those nearest to equal factors between them."""
    if len(evaluations) <= count:
        return list(range(len(evaluations)))
    places = _places(evaluations)
    wanted = (place / (count - 1) for place in range(count))
    return sorted({min(range(len(places)), key=lambda row: abs(places[row] - at)) for at in wanted})


def time_told(seconds: float) -> str:
    """A time [s] in two units at most: `8.4 s`, `12 min 05 s`, `3 h 20 min`."""
    if round(seconds, 1) < 60.0:
        return f"{seconds:.1f} s"
    minutes, rest = divmod(round(seconds), 60)
    if minutes < 60:
        return f"{minutes} min {rest:02d} s"
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes:02d} min"


def _table(store: Store) -> list[str]:
    log = store.growth
    rows = moments(log["evaluations"])
    volumes = [log["hypervolume"][row] for row in rows] if store.manifest.objectives else []
    final = log["hypervolume"][-1]
    return spread(
        [
            column("candidates", [f"{log['evaluations'][row]:,.0f}" for row in rows]),
            column("time", [time_told(log["seconds"][row]) for row in rows]),
            column("members", [f"{log['members'][row]:,.0f}" for row in rows]),
            *([column("hypervolume", [f"{volume:.6g}" for volume in volumes])] if volumes else []),
            *([column("of the last", [_percent(volume, final) for volume in volumes])] if volumes else []),
        ],
        gap=2,
    )


def _percent(volume: float, final: float) -> str:
    return f"{100.0 * volume / final:.1f} %" if final > 0.0 else NULL


def _plot(store: Store, wide: int) -> Iterator[str]:
    """The hypervolume over the candidates since the first member; nothing where it never changed."""
    found = [row for row, members in enumerate(store.growth["members"]) if members]
    evaluations = [store.growth["evaluations"][row] for row in found]
    volumes = [store.growth["hypervolume"][row] for row in found]
    if not store.manifest.objectives or len(set(volumes)) < 2:
        return
    low, high = min(volumes), max(volumes)
    labels = [f"{low:.5g}", f"{high:.5g}"]
    margin = max(len(label) for label in labels)
    room = max(wide - margin - 2, 1)
    levels = [round((HEIGHT - 1) * (value - low) / (high - low)) for value in _sampled(evaluations, volumes, room)]
    yield ""
    yield "hypervolume"
    for level in range(HEIGHT - 1, -1, -1):
        label = labels[level > 0] if level in (0, HEIGHT - 1) else ""
        yield f"{label:>{margin}} |{_line(levels, level)}".rstrip()
    yield f"{'':{margin}} +{'-' * room}"
    yield f"{'':{margin}}  {_axis(evaluations, room)}"


def _sampled(evaluations: Sequence[float], values: Sequence[float], count: int) -> list[float]:
    """What the log said last at `count` numbers of candidates, each by the same factor above the one before."""
    places = _places(evaluations)
    return [values[bisect_right(places, column / max(count - 1, 1)) - 1] for column in range(count)]


def _places(evaluations: Sequence[float]) -> list[float]:
    """Where entries stand between the first, at 0, and the last, at 1, on a scale of equal factors."""
    logs = [math.log(max(one, 1.0)) for one in evaluations]
    span = logs[-1] - logs[0]
    return [(one - logs[0]) / span if span > 0.0 else 0.0 for one in logs]


def _line(levels: Sequence[int], level: int) -> str:
    """One line of the plot: a mark where the curve is at this level, or passes it from one column to the next."""
    pairs = zip(levels, [levels[0], *levels[:-1]], strict=True)
    return "".join(MARK if level == now or min(now, then) < level < max(now, then) else " " for now, then in pairs)


def _axis(evaluations: Sequence[float], room: int) -> str:
    """The first and the last number of candidates at the ends of a line, and what they count, as far as it fits."""
    first, last = f"{evaluations[0]:,.0f}", f"{evaluations[-1]:,.0f}"
    between = room - len(first) - len(last)
    told = next((words for words in AXIS if len(words) + 2 <= between), "")
    return f"{first}{told:^{between}}{last}" if between > 0 else last
