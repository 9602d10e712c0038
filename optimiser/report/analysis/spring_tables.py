"""Springs and dampers of an axle as tables: the static balance, rates and forces through travel, dampers."""

from collections.abc import Iterator, Mapping, Sequence

from geometry.arrays import Array
from objectives.readings import FigureStatus
from optimiser.report.analysis.record import Analysis
from optimiser.report.analysis.spring_record import SPEEDS, Balance, DamperRow, OnSprings, Parts, SpringSweep
from optimiser.report.tables.blocks import Block, Column, heading, prose, short, tables
from optimiser.report.tables.cells import View, number, place, thinned
from optimiser.report.tables.screen import NULL

REACHES = {
    "force_max": "largest\n[N, N.m]",
    "slack_travel": "slack after\n[mm]",
    "knee_travel": "lets go after\n[mm]",
    "solid_reserve": "solid in\n[mm]",
}
"""Figures of an element's springs that are told with the balance: force over the travel, travel or compression left."""

LEVEL = 1.0
"""A static balance that misses by no more than this [N] holds."""


def spring_tables(analysis: Analysis, view: View) -> Iterator[str]:
    """Everything of springs and dampers; nothing where neither is fitted."""
    found = analysis.on_springs
    if found is None:
        return
    if found.sweeps:
        yield from _balance(analysis, found.balance, view)
        yield from _rates(analysis, found, view)
        yield from _forces(analysis, found, view)
    if found.dampers:
        yield from _dampers(found.dampers, view)


def _balance(analysis: Analysis, balance: Balance, view: View) -> Iterator[str]:
    yield heading("Static balance", "what the springs hold at each wheel, by virtual work")
    names = list(balance.shares)
    key = Block("", [Column("springs on", [*map(short, names), "all"], left=True)])
    shares = [balance.shares[name] for name in names]
    columns = [
        Column("force\n[N, N.m]", [*(number(share.force, 1) for share in shares), ""]),
        Column("at each wheel\n[N]", [*(number(share.per_wheel, 1) for share in shares), number(balance.held, 1)]),
    ]
    reach = [Column(title, [_reach(analysis, name, word) for name in names]) for word, title in REACHES.items()]
    yield from tables(key, [Block("", columns, gap=2), Block("", reach, gap=2)], view.width)
    yield from prose(f"{_held(balance)} beyond: not within the travel.", view.width)


def _reach(analysis: Analysis, name: str, word: str) -> str:
    """A figure of an element's springs; blank where it has none, `beyond` where the travel does not get there."""
    figure = f"{name}.{word}" if f"{name}.{word}" in analysis.figures else f"{name}.{word.replace('force', 'moment')}"
    if figure not in analysis.figures:
        return ""
    if analysis.figure_status.get(figure) == FigureStatus.BEYOND_TRAVEL.word:
        return "beyond"
    return number(analysis.figures[figure], 1)


def _held(balance: Balance) -> str:
    if balance.weight is None:
        return "The file gives no sprung weight (loads.sprung_per_wheel) to compare with."
    weight = f"{balance.weight:g} N of sprung weight on each wheel"
    if balance.miss is None:
        return f"Nothing holds the {weight}: heave does not move what should carry it."
    carried = f"; {balance.carrier} carries what the others leave" if balance.carrier else ""
    if abs(balance.miss) <= LEVEL:
        return f"They hold the {weight}{carried}."
    much = "too much" if balance.miss > 0.0 else "too little"
    return f"They miss the {weight} by {abs(balance.miss):.1f} N: {much}, so the axle does not stand at static."


def _rates(analysis: Analysis, found: OnSprings, view: View) -> Iterator[str]:
    for mode, sweep in found.sweeps.items():
        yield heading(f"Rates through {mode}", "N/mm per wheel, the tyre left out; spring + geometric part")
        rows = _rows(analysis, sweep, mode, view)
        blocks = [
            Block("heave rate K_h", _parts(sweep.heave_rate, rows)),
            Block("roll rate K_r", [*_parts(sweep.roll_rate, rows), *_shares(sweep, rows)]),
        ]
        yield from tables(_key(mode, sweep, rows), blocks, view.width)
    one_wheel, roll = (analysis.figures.get(f"axle.{name}") for name in ("one_wheel_rate", "roll_stiffness"))
    yield from prose(
        "of NAME: what the force in NAME adds to the roll rate, a part of the geometric one, (F d2c/dr2) / 2. At "
        f"static one wheel alone has {number(one_wheel, 2)} N/mm, the axle in roll {number(roll, 1)} N.m/deg.",
        view.width,
    )


def _parts(parts: Parts, rows: Sequence[int]) -> list[Column]:
    named = {"whole": parts.whole, "spring": parts.spring, "geom.": parts.geometric}
    return [Column(name, [number(values[row], 2) for row in rows]) for name, values in named.items()]


def _shares(sweep: SpringSweep, rows: Sequence[int]) -> list[Column]:
    """What each force adds to the roll rate, where it is worth a column."""
    return [
        Column(f"of\n{short(name)}", [number(part[row], 2) for row in rows])
        for name, part in sweep.roll_rate_by_force.items()
        if _tells(part)
    ]


def _tells(values: Array) -> bool:
    return any(abs(value) >= 0.005 for value in values)


def _forces(analysis: Analysis, found: OnSprings, view: View) -> Iterator[str]:
    for mode, sweep in found.sweeps.items():
        explained = "positive: pushes longer; N, of bars N.m; of two, the left one's"
        yield heading(f"Spring forces through {mode}", explained)
        rows = _rows(analysis, sweep, mode, view)
        columns = [Column(short(name), [number(force[row], 1) for row in rows]) for name, force in sweep.force.items()]
        key = Block("", [Column(f"{mode} [mm]", [place(sweep.travel[row], signed=True) for row in rows])])
        yield from tables(key, [Block("", [column]) for column in columns], view.width)


def _rows(analysis: Analysis, sweep: SpringSweep, mode: str, view: View) -> list[int]:
    return thinned(sweep.travel, analysis.sweeps[mode].status, analysis.travel.step, view.every_step)


def _key(mode: str, sweep: SpringSweep, rows: Sequence[int]) -> Block:
    return Block(mode, [Column("[mm]", [place(sweep.travel[row], signed=True) for row in rows])])


def _dampers(dampers: Mapping[str, DamperRow], view: View) -> Iterator[str]:
    yield heading("Dampers", "as each wheel feels them at static, in the damper's own mode")
    rows = list(dampers.values())
    key = Block("", [Column("on", [short(name) for name in dampers], left=True)])
    coefficients = [
        Column("damper\n[N.s/m]", [number(row.element_coefficient, 0) for row in rows]),
        Column("wheel\n[N.s/m]", [number(row.wheel_coefficient, 0) for row in rows]),
        Column("asked\n[critical]", [number(row.asked, 2) for row in rows]),
    ]
    forces = [
        Column(f"{way}\n{speed:g} m/s", [number(values[at] if values else None, 0) for values in told])
        for way, told in (("bump", [row.bump for row in rows]), ("rebound", [row.rebound for row in rows]))
        for at, speed in enumerate(SPEEDS)
    ]
    titles = Block("coefficient", coefficients, gap=2), Block("force at a wheel speed [N]", forces, gap=2)
    yield from tables(key, titles, view.width)
    if any(row.asked is not None for row in rows):
        yield from prose(
            "A share of critical damping is of the mass of the sprung weight on K_h, the tyre left out; in roll the "
            f"car's inertia decides ({NULL} here): `rockwright car`.",
            view.width,
        )
