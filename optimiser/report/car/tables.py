"""A whole car as terminal tables of at most 100 columns that read without colour."""

from collections.abc import Iterator

from geometry.axle import Mode
from objectives.vehicle.mode_names import NamedMode
from optimiser.report.car.asked_tables import asked_tables
from optimiser.report.car.lap_tables import lap_tables
from optimiser.report.car.record import CarAnalysis
from optimiser.report.car.state_tables import state_tables
from optimiser.report.tables.blocks import Block, Column, heading, prose, tables
from optimiser.report.tables.cells import View, number
from optimiser.report.tables.screen import NULL, bold

TOLD_FROM = 0.02
"""A motion's share in a mode is told from here on."""
ROOM = 36
"""Columns of the screen that are left for what else moves in a mode."""


def car_tables(analysis: CarAnalysis, view: View) -> Iterator[str]:
    """Everything `car` prints: what the car is, how it vibrates, stands and corners, and what its targets ask for."""
    yield from _header(analysis, view)
    yield from _axles(analysis, view)
    yield from _vibration(analysis, view)
    yield from state_tables(analysis, view)
    yield from lap_tables(analysis, view)
    yield from asked_tables(analysis, view)


def _header(analysis: CarAnalysis, view: View) -> Iterator[str]:
    car = analysis.car
    yield from (bold(line) for line in prose(car.name, view.width))
    yield from prose(
        f"{car.mass:g} kg, {100 * car.front_share:.4g} % in front, wheelbase {car.wheelbase:g} mm; sprung "
        f"{analysis.sprung_mass:g} kg, its centre {analysis.sprung_height:.1f} mm above the ground",
        view.width,
    )
    for note in analysis.notes:
        yield from prose(f"note: {note}", view.width, others="  ")


def _axles(analysis: CarAnalysis, view: View) -> Iterator[str]:
    yield heading("Axles at static", "rates per wheel [N/mm]; geometric: the part that the springs' forces give")
    axles = analysis.axles
    key = Block("", [Column("axle", [one.end for one in axles], left=True)])
    blocks = [
        Block(
            "without tyre",
            [
                *(Column(f"in\n{mode}", [number(one.rate[mode], 1) for one in axles]) for mode in Mode),
                *(Column(f"geom.\n{mode}", [number(one.geometric[mode], 1) for one in axles]) for mode in Mode),
                Column("one\nwheel", [number(one.one_wheel, 1) for one in axles]),
            ],
        ),
        Block(
            "with tyre",
            [
                Column("\ntyre", [number(one.tyre_rate, 0) for one in axles]),
                *(Column(f"in\n{mode}", [number(one.ride[mode], 1) for one in axles]) for mode in Mode),
            ],
        ),
        Block(
            "sprung",
            [
                Column("mass\n[kg]", [number(one.sprung_mass, 1) for one in axles]),
                Column("heave\n[Hz]", [number(one.heave_frequency, 2) for one in axles]),
            ],
        ),
        Block(
            "roll stiffness [N.m/deg]",
            [
                Column("without\ntyre", [number(one.roll_stiffness, 0) for one in axles]),
                Column("with\ntyre", [number(one.ride_roll_stiffness, 0) for one in axles]),
            ],
        ),
    ]
    yield from tables(key, blocks, view.width)
    yield (
        f"front share of the roll stiffness {100 * analysis.front_roll_share:.1f} % (with tyres); warp stiffness "
        f"{analysis.warp:.0f} N.m/deg"
    )
    yield from prose(
        "Warp stiffness is K_f K_r / (K_f + K_r) of the two roll stiffnesses: it follows from them. Heave and roll "
        "struts at both axles do not set it: it is a result and no free choice.",
        view.width,
    )


def _vibration(analysis: CarAnalysis, view: View) -> Iterator[str]:
    yield heading("Vibration", "seven degrees of freedom; each mode by what moves most, and its share of the energy")
    modes = analysis.modes
    key = Block("", [Column("mode", [mode.name for mode in modes], left=True)])
    block = Block(
        "",
        [
            Column("share\n[%]", [number(100 * mode.purity, 1) for mode in modes]),
            Column("undamped\n[Hz]", [number(mode.frequency, 3) for mode in modes]),
            Column("damped:\n[Hz]", [number(mode.damped, 3) for mode in modes]),
            Column("\nratio", [number(mode.ratio, 3) for mode in modes]),
            Column("still at\nx [mm]", [_node(mode) for mode in modes]),
            Column("what else moves [%]", [_others(mode) for mode in modes], left=True),
        ],
        gap=2,
    )
    yield from tables(key, [block], view.width)
    yield from prose(
        "Ratios are those of the damped eigenvalues, above 1 where a mode creeps back. Still at x: where the body does "
        "not move, forward of the sprung mass's centre.",
        view.width,
    )


def _node(mode: NamedMode) -> str:
    return number(1e3 * mode.node, 0) if mode.name in ("heave", "pitch") else NULL


def _others(mode: NamedMode) -> str:
    """The other motions with a share worth telling, the largest first, as many as there is room for."""
    told = [(share, name) for name, share in mode.shares.items() if share >= TOLD_FROM and name != mode.name]
    text = ""
    for share, name in sorted(told, reverse=True):
        longer = f"{text}{', ' if text else ''}{name} {100 * share:.0f}"
        text = longer if len(longer) <= ROOM else text
    return text
