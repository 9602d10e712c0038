"""By how much a figure differs from one built axle to the next: what is less is no difference between members."""

import numpy as np

from objectives.catalogue.tolerance_entries import split_form
from objectives.survey import UprightMemory, survey
from objectives.tolerance.linear import linearise
from objectives.tolerance.toleranced import sampled
from optimiser.study.study import Study


def build_spreads(study: Study) -> dict[str, float]:
    """The deviation of each figure that a goal asks for, by name, of the study's own geometry; none without a build.

    A figure that is null has none. A goal on what all built axles keep (`roll.crosstalk.p99`) asks for the figure that
    it is of (`roll.crosstalk`); it does not itself differ between them.
    """
    build = study.fittings.build
    if build is None:
        return {}
    surveyed = survey(study.axle, study.travel, UprightMemory(), fittings=study.fittings)
    names = dict.fromkeys(_base(goal.figure) for goal in study.goals)
    found = {name: float(np.std(sampled(linearise(surveyed, name, build), build))) for name in names}
    return {name: spread for name, spread in found.items() if np.isfinite(spread)}


def _base(figure: str) -> str:
    built = split_form(figure)
    return built[0] if built else figure
