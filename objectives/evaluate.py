"""From axles to figures: one call for a batch of candidates."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from geometry.arrays import Array, Codes
from geometry.axle import Axle
from geometry.kernel import PLAIN, Kernel
from geometry.travel import Travel
from objectives.catalogue.catalogue import figure_names
from objectives.catalogue.tolerance_entries import split_form
from objectives.figure_parts import measure_drawn
from objectives.fittings.fitted import NOTHING_FITTED, Fittings
from objectives.readings import Reading
from objectives.survey import Survey, UprightMemory, survey
from objectives.tolerance.toleranced import toleranced


@dataclass(frozen=True)
class Evaluation:
    """Figures of a batch of axles: `values` (*B) by name, NaN where null; `status` (*B) of `FigureStatus`."""

    values: Mapping[str, Array]
    status: Mapping[str, Codes]


def evaluate(
    axle: Axle, travel: Travel, names: Iterable[str] | None = None, fittings: Fittings = NOTHING_FITTED
) -> Evaluation:
    """The named figures (default: all that the axle has) of an axle or a batch of them, batch axes B.

    Never raises for a geometry that cannot move. Raises UnknownFigureError for a name that is no figure.
    """
    return Evaluator(travel, names, fittings=fittings).evaluate(axle)


class Evaluator:
    """Evaluates batch after batch of one study; the upright's motion is kept while wheel and links stay the same."""

    def __init__(
        self,
        travel: Travel,
        names: Iterable[str] | None = None,
        kernel: Kernel = PLAIN,
        fittings: Fittings = NOTHING_FITTED,
    ) -> None:
        self._kernel = kernel
        self._travel = travel
        self._fittings = fittings
        self._names = None if names is None else tuple(names)
        self._memory = UprightMemory(kernel)

    def evaluate(self, axle: Axle) -> Evaluation:
        """The figures of one batch, as in `evaluate`."""
        surveyed = self.survey(axle)
        names = figure_names(axle, self._fittings) if self._names is None else self._names
        readings = {name: measure(surveyed, name) for name in names}
        return Evaluation(
            {name: reading.value for name, reading in readings.items()},
            {name: reading.status for name, reading in readings.items()},
        )

    def survey(self, axle: Axle) -> Survey:
        """The survey of one batch, from which figures and their parts are read."""
        return survey(axle, self._travel, self._memory, self._kernel, self._fittings)


def measure(surveyed: Survey, name: str) -> Reading:
    """One figure of a surveyed batch of axles, by its full name."""
    built = split_form(name)
    return measure_drawn(surveyed, name) if built is None else toleranced(surveyed, *built)
