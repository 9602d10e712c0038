"""Curves over travel: motion ratios, strut travel, twist of bars and, on springs, rates and forces."""

from collections.abc import Iterator, Mapping

from geometry.arrays import Array
from optimiser.report.analysis.record import Analysis, Sweep
from optimiser.report.analysis.spring_record import SpringSweep
from optimiser.report.drawing.border import BLOCK_TOP, LEFT, RIGHT, TOP
from optimiser.report.drawing.charts import Box, Chart, Curve, chart
from optimiser.report.drawing.marks import Mark, Sheet

COLUMNS, ROWS = 3, 2
TRAVELS = {
    "heave": "heave, both wheels [mm]",
    "roll": "roll, left wheel up [mm]",
    "one_wheel": "left wheel alone [mm]",
    "rack": "rack, to the left [mm]",
}


def curve_sheets(analysis: Analysis) -> Iterator[Sheet]:
    """Sheets of six charts each."""
    charts = [*_motion(analysis), *_twist(analysis), *_springs(analysis)]
    count = COLUMNS * ROWS
    for start in range(0, len(charts), count):
        marks = [mark for place, one in enumerate(charts[start : start + count]) for mark in _placed(one, place)]
        yield Sheet("Curves over travel", tuple(marks))


def _placed(content: Chart, place: int) -> Iterator[Mark]:
    width, height = (RIGHT - LEFT) / COLUMNS, (TOP - BLOCK_TOP) / ROWS
    left, top = LEFT + (place % COLUMNS) * width, TOP - (place // COLUMNS) * height
    return chart(content, Box(left + 2.0, top - height + 1.0, left + width - 2.0, top - 1.0))


def _motion(analysis: Analysis) -> Iterator[Chart]:
    """Ratios and lengths of struts over every sweep; the ratio only where wheels move."""
    if not analysis.elements:
        return
    for name in ("heave", "roll"):
        sweep = analysis.sweeps[name]
        curves = {strut: one.motion_ratio for strut, one in sweep.elements.items()}
        yield _chart(f"Motion ratio over {name}", name, "compression / wheel travel [mm/mm]", sweep.travel, curves)
    for name, sweep in analysis.sweeps.items():
        yield _chart(f"Strut travel over {_said(name)}", name, "compression [mm]", sweep.travel, _compressions(sweep))


def _compressions(sweep: Sweep) -> dict[str, Array]:
    return {strut: one.compression for strut, one in sweep.elements.items()}


def _twist(analysis: Analysis) -> Iterator[Chart]:
    for name in ("heave", "roll") if analysis.bars else ():
        sweep = analysis.sweeps[name]
        yield _chart(f"Twist of bars over {name}", name, "twist [deg]", sweep.travel, sweep.twist)


def _springs(analysis: Analysis) -> Iterator[Chart]:
    found = analysis.on_springs.sweeps if analysis.on_springs else {}
    for name, sweep in found.items():
        rates = {
            "heave": sweep.heave_rate.whole,
            "heave, of springs": sweep.heave_rate.spring,
            "roll": sweep.roll_rate.whole,
            "roll, of springs": sweep.roll_rate.spring,
        }
        yield _chart(f"Rates per wheel over {name}", name, "rate, tyre left out [N/mm]", sweep.travel, rates)
    for name, sweep in found.items():
        yield from _forces(analysis, name, sweep)


def _forces(analysis: Analysis, name: str, sweep: SpringSweep) -> Iterator[Chart]:
    struts = {element: force for element, force in sweep.force.items() if element not in analysis.bars}
    bars = {element: force for element, force in sweep.force.items() if element in analysis.bars}
    if struts:
        yield _chart(f"Spring forces over {name}", name, "force, compression positive [N]", sweep.travel, struts)
    if bars:
        yield _chart(f"Moments of bars over {name}", name, "moment [N.m]", sweep.travel, bars)


def _chart(title: str, sweep: str, y_name: str, travel: Array, curves: Mapping[str, Array]) -> Chart:
    return Chart(title, TRAVELS[sweep], y_name, tuple(Curve(name, travel, y) for name, y in curves.items()))


def _said(sweep: str) -> str:
    return {"one_wheel": "one wheel", "rack": "the rack"}.get(sweep, sweep)
