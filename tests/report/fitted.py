"""The sprung study of the study's tests, handed over once for all tests of the report."""

from functools import cache
from pathlib import Path

from optimiser.report.handoff.document import handoff_document
from optimiser.report.handoff.second_reading.recompute import recompute
from optimiser.study.read import read_study
from optimiser.study.study import Study
from tests.report.handed_over import ORIGIN, HandedOver, read_back

SPRUNG = Path(__file__).parents[1] / "study" / "sprung.yaml"


@cache
def sprung() -> Study:
    """A front axle with every kind of element, spring, damper and load."""
    return read_study(SPRUNG)


@cache
def sprung_handed() -> HandedOver:
    """It handed over and recomputed."""
    document = read_back(handoff_document(sprung(), sprung().axle, ORIGIN))
    return HandedOver(document, recompute(document))
