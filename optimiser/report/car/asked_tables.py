"""What a car's targets ask of its axles, and what the same car would be on corner springs, as tables."""

from collections.abc import Iterator, Sequence

import numpy as np

from objectives.vehicle.asked import AskedRate
from objectives.vehicle.asked_dampers import AskedDamper
from objectives.vehicle.corner_springs import CornerSprung
from objectives.vehicle.transfer import GRAVITY
from optimiser.report.car.record import CarAnalysis
from optimiser.report.tables.blocks import Block, Column, heading, prose, short, tables
from optimiser.report.tables.cells import View, number
from optimiser.report.tables.screen import NULL


def asked_tables(analysis: CarAnalysis, view: View) -> Iterator[str]:
    """Rates and dampers asked for, then the car on corner springs."""
    if analysis.rates:
        yield from _rates(analysis.rates, view)
    yield from _dampers(analysis.dampers, view)
    yield from _corners(analysis, view)


def _rates(rates: Sequence[AskedRate], view: View) -> Iterator[str]:
    yield heading("From targets back", "rates per wheel [N/mm]; another spring at the same ratio, or another ratio")
    key = Block("", [Column("axle, mode", [f"{one.end}, {one.mode}" for one in rates], left=True)])
    blocks = [
        Block(
            "rate asked",
            [
                Column("with\ntyre", [number(one.ride_rate, 1) for one in rates]),
                Column("without\ntyre", [number(one.wheel_rate, 1) for one in rates]),
                Column("\nnow", [number(one.present, 1) for one in rates]),
                Column("\ntyre", [number(one.tyre_rate, 0) for one in rates]),
            ],
        ),
        Block(
            "",
            [
                Column("\non", [short(one.element) or NULL for one in rates], left=True),
                Column("spring\nnow", [number(one.present_rate, 1) for one in rates]),
                Column("\nasked", [number(one.element_rate, 1) for one in rates]),
                Column("or ratio\nnow", [number(one.ratio, 3) for one in rates]),
                Column("\nasked", [number(one.ratio_asked, 3) for one in rates]),
            ],
        ),
        *_ratios(rates),
    ]
    yield from tables(key, blocks, view.width)
    for one in rates:
        yield from (line for text in _said(one) for line in prose(text, view.width, first="- ", others="  "))
    yield from prose(
        "Springs: the rate of all on the element together, of an opposed pair twice that of each, while both press; "
        "of a bar N.m/deg at a ratio in deg/mm. "
        "The geometric part of a rate is taken as it is.",
        view.width,
    )


def _ratios(rates: Sequence[AskedRate]) -> list[Block]:
    listed = list(dict.fromkeys(spring for one in rates for spring, _ in one.ratios))
    if not listed:
        return []
    columns = [Column(f"{spring:g}", [number(dict(one.ratios).get(spring), 3) for one in rates]) for spring in listed]
    return [Block("ratio that a spring of .. N/mm asks for", columns)]


def _said(one: AskedRate) -> Iterator[str]:
    name = f"{one.end} {one.mode}"
    if np.isinf(one.wheel_rate):
        yield (
            f"{name}: the tyre is too soft. {one.ride_rate:.1f} N/mm with the tyre is more than its {one.tyre_rate:g} "
            "N/mm can leave, whatever the spring; stiffen the tyre, or ask for less"
            if np.isfinite(one.ride_rate)
            else f"{name}: the tyre is too soft. The tyres alone roll more than is asked, whatever the springs"
        )
    elif one.tyre_rules:
        share = 100.0 * one.wheel_rate / one.tyre_rate
        lost = 100.0 * (1.0 - one.ride_rate / one.wheel_rate)
        yield (
            f"{name}: the tyre rules. {one.wheel_rate:.1f} N/mm is {share:.0f} % of the tyre's rate, and {lost:.0f} % "
            "of it is lost to the tyre"
        )
    if np.isfinite(one.wheel_rate) and np.isnan(one.element_rate):
        yield f"{name}: no spring there gives it; the rest of the axle is too stiff, or nothing serves {one.mode}"


def _dampers(dampers: Sequence[AskedDamper], view: View) -> Iterator[str]:
    yield heading("Dampers", "C ratio: C / (2 sqrt(K m)), tyre and spring as one; on tyre: what the body's mode has")
    key = Block("", [Column("axle, mode", [f"{one.end}, {one.mode}" for one in dampers], left=True)])
    blocks = [
        Block(
            "ratio now",
            [
                Column("C ratio", [number(one.present, 3) for one in dampers]),
                Column("on tyre", [number(one.true_present, 3) for one in dampers]),
            ],
        ),
        Block(
            "ratio asked",
            [
                Column("C ratio", [number(one.asked, 3) for one in dampers]),
                Column("on tyre", [number(one.true_asked, 3) for one in dampers]),
            ],
        ),
        Block(
            "coefficient [N.s/m]",
            [
                Column("at wheel", [number(1e3 * one.wheel, 0) for one in dampers]),
                Column("on", [short(one.element) or NULL for one in dampers], left=True),
                Column("there", [number(1e3 * one.coefficient, 0) for one in dampers]),
            ],
        ),
        Block(
            "most that damps",
            [
                Column("on tyre", [number(one.best, 3) for one in dampers]),
                Column("C ratio", [number(one.best_ratio, 2) for one in dampers]),
            ],
        ),
    ]
    yield from tables(key, blocks, view.width)
    yield from prose(
        "A damper shakes the body on its tyre: the ratio on the tyre, that of the quarter car's body mode, is less "
        "than the handbooks' C ratio, and past the most that damps more coefficient damps less. Curves count "
        "by (F(v) - F(-v)) / (2 v) at a wheel speed of 50 mm/s.",
        view.width,
    )


def _corners(analysis: CarAnalysis, view: View) -> Iterator[str]:
    corners = analysis.corners
    yield heading("Beside it: corner springs and a bar", "the same rates in heave and roll where a bar can do it")
    axles = corners.axles
    key = Block("", [Column("axle", [one.end for one in axles], left=True)])
    blocks = [
        Block(
            "rates [N/mm]",
            [
                Column("\nspring", [number(one.spring, 1) for one in axles]),
                Column("\nbar", [number(one.bar, 1, signed=True) for one in axles]),
                Column("bar\n[N.m/deg]", [number(one.bar_stiffness, 0, signed=True) for one in axles]),
            ],
        ),
        _pair("one wheel [N/mm]", [(one.one_wheel_now, one.one_wheel) for one in axles], 1),
        _pair("roll damping", [(one.roll_damping_now, one.roll_damping) for one in axles], 2),
        Block(
            "force into the chassis [N]",
            [
                Column("pivot\nboth", [number(one.pivot, 0) for one in axles]),
                Column("spring\nmount", [number(one.mount, 0) for one in axles]),
                Column("outer\n1 g", [number(one.mount_outer, 0) for one in axles]),
                Column("inner\n1 g", [number(one.mount_inner, 0) for one in axles]),
            ],
        ),
    ]
    yield from tables(key, blocks, view.width)
    for one in axles:
        yield from prose(_bar_said(one), view.width, first="- ", others="  ")
    now, then = (np.degrees(gradient * GRAVITY) for gradient in (corners.roll_gradient_now, corners.roll_gradient))
    for text in (
        f"Roll gradient {now:.3f} deg/g as it is, {then:.3f} on corner springs with no bar that subtracts.",
        "A bar brings no damping: corner dampers that are right in heave stay what they are in roll.",
        "A corner strut in the heave strut's place, its inner end on the chassis, carries the same force, but the "
        "chassis takes it at each side; struts between rockers load it at the rocker pivots alone.",
        "Pivot: each rocker on its bearing, standing, the same in both cars.",
    ):
        yield from prose(text, view.width, first="- ", others="  ")


def _pair(title: str, values: Sequence[tuple[float, float]], decimals: int) -> Block:
    columns = [Column(word, [number(one[place], decimals) for one in values]) for place, word in enumerate(HEADS)]
    return Block(title, columns)


HEADS = ("\nnow", "corner\nsprings")
"""The car as it is, and the one beside it."""


def _bar_said(one: CornerSprung) -> str:
    if one.bar_does:
        return f"{one.end}: a bar of {one.bar_stiffness:.0f} N.m/deg of roll does it, {one.bar:.1f} N/mm per wheel"
    return (
        f"{one.end}: no bar does it. Corner springs of {one.spring:.1f} N/mm per wheel are as stiff in roll, and roll "
        f"is to be {-one.bar:.1f} N/mm softer: a car on corner springs is never softer in roll than in heave"
    )
