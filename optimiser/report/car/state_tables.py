"""How a car corners, brakes, sinks with speed and meets a kerb, as tables."""

from collections.abc import Iterator

import numpy as np

from objectives.vehicle.transfer import Transfer
from optimiser.report.car.record import AxleAtSpeed, AxleRecord, CarAnalysis, StrutAtSpeed
from optimiser.report.tables.blocks import Block, Column, heading, prose, short, tables
from optimiser.report.tables.cells import View, number, place, thinned
from optimiser.report.tables.screen import NULL

PARTS = ("geometric", "elastic", "unsprung", "total")
"""Load transfer by its parts, as the record names them."""


def state_tables(analysis: CarAnalysis, view: View) -> Iterator[str]:
    """The states of the car, in the order in which they are met: corner, roll centre, braking, speed, kerb."""
    yield from _cornering(analysis, view)
    yield from _roll_centres(analysis, view)
    yield from _braking(analysis, view)
    if analysis.at_speed:
        yield from _at_speed(analysis, view)
    yield from _kerbs(analysis, view)


def _cornering(analysis: CarAnalysis, view: View) -> Iterator[str]:
    corner = analysis.cornering
    yield heading("Corner", "at 1 g; load that each axle shifts from the inner to the outer wheel [N]")
    key = Block("", [Column("axle", [*(one.end for one in analysis.axles), "share front"], left=True)])
    blocks = [
        _transfers("with gravity's softening", corner.transfer),
        _transfers("without", corner.rigid),
        Block(
            "body",
            [
                Column("r\n[mm]", [number(one, 1) for one in corner.roll_travel]),
                Column("jacking\n[N]", [number(one, 0) for one in corner.jacking]),
                Column("rise\n[mm]", [number(one, 2) for one in corner.rise]),
                Column("lets go\n[g]", [number(one, 2) for one in analysis.lets_go]),
            ],
        ),
    ]
    yield from tables(key, blocks, view.width)
    for text in _corner_said(analysis):
        yield from prose(text, view.width, first="- ", others="  ")


def _corner_said(analysis: CarAnalysis) -> Iterator[str]:
    corner = analysis.cornering
    moment = sum(shift.total * axle.contact_track for shift, axle in zip(corner.rigid, analysis.axles, strict=True))
    front, rear = (one.total for one in corner.transfer)
    more = 100.0 * (front / (front + rear) - analysis.car.front_share)
    yield (
        f"Roll gradient {corner.soft:.3f} deg/g with gravity's softening, {corner.hard:.3f} without; the sprung mass "
        f"is {corner.arm:.0f} mm above the roll axis."
    )
    yield (
        "Outward roll in a left turn is a positive body roll (ISO 8855: the left side goes up), the wheel state r < 0."
    )
    yield (
        f"Transfer x track, without softening, sums to {1e-3 * moment:.1f} N.m; W a h is "
        f"{1e-3 * _overturning(analysis):.1f} N.m."
    )
    yield (
        f"The front's share of the load shifted is {more:+.1f} % of the whole beside its share of the weight; +3 to +7 "
        "is usual (common practice, no source)."
    )
    yield (
        "Jacking: lift by side forces that go as the wheels' loads. Lets go: where one of an opposed pair of roll "
        "springs does, r growing in line."
    )


def _transfers(title: str, transfer: tuple[Transfer, ...]) -> Block:
    return Block(title, [Column(f"\n{part}", _shifts(transfer, part)) for part in PARTS])


def _shifts(transfer: tuple[Transfer, ...], part: str) -> list[str]:
    front, rear = (float(getattr(one, part)) for one in transfer)
    share = number(100 * front / (front + rear), 1, " %") if part in ("elastic", "total") else ""
    return [number(front, 0), number(rear, 0), share]


def _overturning(analysis: CarAnalysis) -> float:
    """W a h at 1 g [N.mm]."""
    return analysis.weight * analysis.car.cg_height


def _roll_centres(analysis: CarAnalysis, view: View) -> Iterator[str]:
    yield heading("Roll centre through heave", "height above the ground [mm], from the work at the contact points")
    blocks = [_heights(one, view) for one in analysis.axles]
    yield from tables(blocks[0], blocks[1:], view.width)


def _heights(axle: AxleRecord, view: View) -> Block:
    step = float(np.diff(axle.centre_travel).min())
    rows = thinned(axle.centre_travel, [""] * len(axle.centre_travel), step, view.every_step)
    return Block(
        axle.end,
        [
            Column("heave\n[mm]", [place(axle.centre_travel[row], signed=True) for row in rows]),
            Column("height\n[mm]", [number(axle.centre_height[row], 1) for row in rows]),
        ],
    )


def _braking(analysis: CarAnalysis, view: View) -> Iterator[str]:
    brake = analysis.braking
    yield heading("Braking and driving", "at 1 g; what the links take from the springs of the load shifted [%]")
    anti = brake.anti
    key = Block("", [Column("axle", [one.end for one in analysis.axles], left=True)])
    block = Block(
        "",
        [
            Column("braking\n[%]", [number(anti.dive, 1), number(anti.lift, 1)]),
            Column("driving\n[%]", [number(anti.front_lift, 1), number(anti.squat, 1)]),
            Column("wheel travel\nbraking [mm]", [number(one, 1, signed=True) for one in brake.travel]),
            Column("tyre\n[mm]", [number(one, 1, signed=True) for one in brake.tyre]),
        ],
        gap=2,
    )
    yield from tables(key, [block], view.width)
    balance = "as the loads are at 1 g" if brake.by_load else "as the file says"
    yield from prose(
        f"Braking: anti-dive in front, anti-lift behind, brakes on the uprights, {100 * brake.front_share:.1f} % in "
        f"front ({balance}), {brake.shifted:.0f} N shifted, pitch {brake.pitch:+.2f} deg (ISO 8855: nose down "
        "positive). Driving: anti-lift in front, anti-squat behind, each as if it alone drove by shafts from the body.",
        view.width,
    )


def _at_speed(analysis: CarAnalysis, view: View) -> Iterator[str]:
    yield heading("Ride height against speed", "balance of springs, tyres and downforce; bump and sinking positive")
    key = Block("", [Column("\n[m/s]", [number(speed, 1) for speed in analysis.car.speeds])])
    for axle in analysis.at_speed:
        yield from tables(key, [_balance(axle), *(_strut(one) for one in axle.struts)], view.width)
    key = Block("", [Column("[m/s]", [number(speed, 1) for speed in analysis.car.speeds])])
    body = Block(
        "",
        [
            Column("pitch [deg]", [number(one, 3, signed=True) for one in analysis.speed_pitch]),
            Column("downforce in front [%]", [number(100 * one, 1) for one in analysis.speed_front_share]),
        ],
        gap=2,
    )
    yield from tables(key, [body], view.width)
    yield from prose(
        "pitch: against standing still, nose down positive (ISO 8855): what the rake loses. "
        "to slack, to solid: compression left until a spring that cannot pull lets go, until a coil is solid; left: "
        "until the axle's range of heave ends. spare: ride rate in heave of the axle less what downforce grows per mm: "
        "at 0 the car sinks without end. Dashes where no travel of the axle balances.",
        view.width,
    )


def _balance(axle: AxleAtSpeed) -> Block:
    found = axle.balance
    return Block(
        axle.end,
        [
            Column("down-\n[N]", [number(one, 0) for one in found.downforce]),
            Column("heave\n[mm]", [number(one, 2) for one in found.travel]),
            Column("left\n[mm]", [number(one, 1) for one in axle.travel_left]),
            Column("tyre\n[mm]", [number(one, 2) for one in found.tyre]),
            Column("sink\n[mm]", [number(one, 2) for one in found.sink]),
            Column("heave\n[Hz]", [number(one, 2) for one in axle.frequency]),
            Column("spare\n[N/mm]", [number(one, 0) for one in axle.spare]),
        ],
    )


def _strut(strut: StrutAtSpeed) -> Block:
    columns = [
        Column(f"squeeze\n[{'deg' if strut.of_bar else 'mm'}]", [number(one, 2) for one in strut.compression]),
        Column(f"force\n[{'N.m' if strut.of_bar else 'N'}]", [number(one, 0) for one in strut.force]),
    ]
    for word, left in (("slack", strut.to_slack), ("solid", strut.to_solid)):
        if np.isfinite(left).any():
            columns.append(Column(f"to {word}\n[mm]", [number(one, 1) for one in left]))
    return Block(short(strut.name), columns)


def _kerbs(analysis: CarAnalysis, view: View) -> Iterator[str]:
    kerbs = analysis.kerbs
    yield heading("One wheel on a kerb", f"{kerbs[0].height:g} mm; what the ground presses more on each wheel [N]")
    labels = [f"{kerb.wheel}, {pace}" for kerb in kerbs for pace in ("fast", "slow")]
    forces = [force for kerb in kerbs for force in (kerb.fast, kerb.slow)]
    body = [
        cells
        for kerb in kerbs
        for cells in (
            (number(kerb.travel, 1), NULL, NULL, NULL),
            (NULL, number(kerb.heave, 1), number(kerb.roll, 2), number(kerb.pitch, 2)),
        )
    ]
    names = ("front\nleft", "front\nright", "rear\nleft", "rear\nright")
    key = Block("", [Column("wheel on the kerb", labels, left=True)])
    blocks = [
        Block("", [Column(name, [number(force[place], 0) for force in forces]) for place, name in enumerate(names)]),
        Block(
            "body",
            [
                Column(name, [row[place] for row in body])
                for place, name in enumerate(("travel\n[mm]", "heave\n[mm]", "roll\n[deg]", "pitch\n[deg]"))
            ],
        ),
    ]
    yield from tables(key, blocks, view.width)
    for kerb in kerbs:
        if kerb.solid:
            yield from prose(f"- {kerb.wheel}: coil solid on {', '.join(kerb.solid)}", view.width, others="  ")
    yield from prose(
        "fast: the body has not moved yet, travel is the wheel's in the body, springs as they are; slow: body and "
        "wheels have settled, springs by their rates at static. "
        "Roll: left side up positive (the wheel state r < 0), pitch: nose down positive (ISO 8855).",
        view.width,
    )
