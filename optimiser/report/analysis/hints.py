"""What an engineer should know about an axle, or about what is asked of it, before trusting it: a few plain lines."""

from collections.abc import Iterator

from geometry.axle import CrossStrut, Mode
from geometry.travel import Travel
from objectives.goals import Band, Held
from optimiser.report.analysis.record import Analysis
from optimiser.report.analysis.spring_hints import spring_hints

SMALL_TRANSMISSION = 40.0
"""Below this angle between arm and strut or rod [deg] forces rise steeply. Common practice, no source."""
SMALL_TOGGLE_MARGIN = 10.0
"""A toggle nearer than this [mm] beyond the wheel's travel is within reach of a broken strut or a hanging wheel.
Common practice, no source."""
LARGE_TILT = 8.0
"""From this angle out of the rocker's plane [deg] rod ends run out of freedom: the tightest common sizes allow 8 to 9.
Source: a rod-end maker's table of misalignment."""
RESIDUAL = 1.0
"""From this crosstalk [%] a roll strut is no longer idle in heave. Common practice, no source."""
SURELY_EXCLUDED = 0.85
"""Share of `least_crosstalk` below which no layout is known: searches of one car found 0.86 to 1.05 of it, for
progressivities of 5 to 25 %."""


def hints(analysis: Analysis) -> tuple[str, ...]:
    """Lines about what lies near a limit, in order of consequence; none where there is nothing to say."""
    return (
        *_exclusive(analysis),
        *_swapped(analysis),
        *_near_toggle(analysis),
        *_flat(analysis),
        *_tilted(analysis),
        *_crossed(analysis),
        *spring_hints(analysis),
    )


def least_crosstalk(progressivity: float, travel: Travel) -> float:
    """About the crosstalk [%] in roll that a cross-car heave strut must have if its ratio rises by `progressivity` [%].

    p r^2 / (2 h^2 (1 + p/2)), with p the rising share over the bump travel h and r the larger roll travel [mm]: in
    roll the two rockers' shares of a rising ratio do not cancel, c(r) = MR' r^2 / 2 with MR' = p MR / h, against
    c(h) = MR h (1 + p/2) in heave. Derived; a front axle with p = 9.3 % measures 2.17 % where this says 2.02.
    """
    p = progressivity / 100.0
    h = travel.heave[1]
    r = max(abs(end) for end in travel.roll)
    return 100.0 * p * r**2 / (2.0 * h**2 * (1.0 + p / 2.0))


def _exclusive(analysis: Analysis) -> Iterator[str]:
    """Goals that ask a heave strut for more rise and less crosstalk than go together."""
    asked = {verdict.goal.figure: verdict.goal for verdict in analysis.verdicts}
    for name in _cross_struts(analysis, Mode.HEAVE):
        rise, quiet = asked.get(f"{name}.progressivity"), asked.get(f"{name}.crosstalk")
        lowest, highest = _lowest(rise) if rise else None, _highest(quiet) if quiet else None
        if lowest is None or highest is None or lowest <= 0.0:
            continue
        needed = least_crosstalk(lowest, analysis.travel)
        if highest < SURELY_EXCLUDED * needed:
            yield (
                f"{name}: progressivity of at least {lowest:g} % and crosstalk of at most {highest:g} % exclude each "
                f"other: such a rise has a crosstalk of about {needed:.1f} % in roll. Let the rest of the rise come "
                "from springs and bump rubbers"
            )


def _cross_struts(analysis: Analysis, mode: Mode) -> list[str]:
    return [
        name
        for name, element in analysis.elements.items()
        if isinstance(element, CrossStrut) and element.serves is mode
    ]


def _lowest(goal: Held) -> float | None:
    """The least that a goal allows."""
    return goal.aim - goal.within if isinstance(goal, Band) else goal.at_least


def _highest(goal: Held) -> float | None:
    """The most that a goal allows."""
    return goal.aim + goal.within if isinstance(goal, Band) else goal.at_most


def _swapped(analysis: Analysis) -> Iterator[str]:
    for name, element in analysis.elements.items():
        crosstalk = analysis.figures.get(f"{name}.crosstalk")
        if isinstance(element, CrossStrut) and crosstalk is not None and crosstalk > 100.0:
            yield (
                f"{name} serves {element.serves} but moves more in {element.serves.other}: look for swapped pick-ups, "
                "or a rocker that turns the wrong way"
            )


def _near_toggle(analysis: Analysis) -> Iterator[str]:
    margin = analysis.figures.get("rocker.toggle_margin")
    if margin is not None and margin < SMALL_TOGGLE_MARGIN:
        yield (
            f"rod and rocker, or the links, lock {margin:.1f} mm beyond the wheel's travel: a hanging wheel or a "
            f"broken strut gets there (under {SMALL_TOGGLE_MARGIN:g} mm; common practice, no source)"
        )


def _flat(analysis: Analysis) -> Iterator[str]:
    """Transmission angles that are small somewhere in the travel."""
    for name in ("rocker", *analysis.elements):
        angle = analysis.figures.get(f"{name}.transmission_min")
        if angle is not None and angle < SMALL_TRANSMISSION:
            where = "the rod" if name == "rocker" else name
            yield (
                f"{where} meets its rocker arm at {angle:.1f} deg in the worst state: forces rise steeply there (under "
                f"{SMALL_TRANSMISSION:g} deg; common practice, no source)"
            )


def _tilted(analysis: Analysis) -> Iterator[str]:
    """Lines that leave the rocker's plane by more than a usual rod end swivels."""
    for name in ("rod", *analysis.elements):
        tilt = analysis.figures.get(f"{name}.tilt_max")
        if tilt is not None and tilt > LARGE_TILT:
            yield f"{name} leaves the rocker's plane by up to {tilt:.1f} deg: check the freedom of its bearings"


def _crossed(analysis: Analysis) -> Iterator[str]:
    for name in _cross_struts(analysis, Mode.ROLL):
        crosstalk = analysis.figures.get(f"{name}.crosstalk")
        if crosstalk is not None and RESIDUAL <= crosstalk <= 100.0:
            yield (
                f"{name} moves {crosstalk:.1f} % of its stroke in heave: a crossed roll strut idles only if its line "
                "passes midway between the pivots, its lower arm being the upper one reflected in the horizontal "
                "through the pivot"
            )
