"""What an engineer should know about springs and loads before trusting an axle: a few plain lines."""

from collections.abc import Iterator

from objectives.readings import FigureStatus
from optimiser.report.analysis.record import Analysis, own_mode

LARGE_MISS = 0.02
"""A static balance that misses by more than this share of the weight is no rounding. Common practice, no source."""


def spring_hints(analysis: Analysis) -> Iterator[str]:
    """Lines in order of consequence; none where there is nothing to say or nothing is fitted."""
    yield from _buckles(analysis)
    yield from _solid(analysis)
    yield from _miss(analysis)
    yield from _past(analysis)
    yield from _slack(analysis)
    yield from _lets_go(analysis)


def _buckles(analysis: Analysis) -> Iterator[str]:
    factor = analysis.figures.get("rod.buckling_factor")
    if factor is not None and factor < 1.0:
        yield f"the rod buckles in some load case: it bears {factor:.2f} of what presses it"


def _solid(analysis: Analysis) -> Iterator[str]:
    for name in analysis.elements:
        reserve = analysis.figures.get(f"{name}.solid_reserve")
        if reserve is not None and reserve < 0.0:
            yield f"{name}: its coil would be solid {-reserve:.1f} mm before the end of the travel"


def _miss(analysis: Analysis) -> Iterator[str]:
    balance = analysis.on_springs.balance if analysis.on_springs else None
    if balance and balance.miss is not None and balance.weight and abs(balance.miss) > LARGE_MISS * balance.weight:
        yield (
            f"the springs hold {balance.held:.0f} N at each wheel, and {balance.weight:g} N of weight stand on it: the "
            "axle does not rest at static; one spring may say static: carries_weight"
        )


def _past(analysis: Analysis) -> Iterator[str]:
    cases = [name for name, row in analysis.cases.items() if row.status == FigureStatus.PAST_TRAVEL.word]
    if cases:
        yield f"a wheel goes past its travel under {', '.join(cases)}: stiffer springs, a rubber or more travel hold it"


def _slack(analysis: Analysis) -> Iterator[str]:
    for name, travel in _reached(analysis, "slack_travel"):
        yield (
            f"{name}: its spring goes slack {travel:.1f} mm from static in {own_mode(analysis.elements[name])}: from "
            "there on it holds nothing"
        )


def _lets_go(analysis: Analysis) -> Iterator[str]:
    for name, travel in _reached(analysis, "knee_travel"):
        yield (
            f"{name}: one of its opposed springs lets go, or takes hold, {travel:.1f} mm from static in "
            f"{own_mode(analysis.elements[name])}: there the rate changes by one spring's"
        )


def _reached(analysis: Analysis, word: str) -> Iterator[tuple[str, float]]:
    """A figure of each strut where the travel gets there."""
    for name in analysis.elements:
        value = analysis.figures.get(f"{name}.{word}")
        if value is not None and f"{name}.{word}" not in analysis.figure_status:
            yield name, value
