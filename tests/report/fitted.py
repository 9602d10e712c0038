"""The sprung study of the study's tests, handed over once for all tests of the report."""

from dataclasses import replace
from functools import cache
from pathlib import Path

from geometry.axle import Rod
from objectives.fittings.fitted import Fittings
from optimiser.report.handoff.document import handoff_document
from optimiser.report.handoff.second_reading.recompute import recompute
from optimiser.study.read import read_study
from optimiser.study.study import Study
from tests.report.handed_over import CONFIGS, ORIGIN, HandedOver, read_back

SPRUNG = Path(__file__).parents[1] / "study" / "sprung.yaml"


@cache
def sprung() -> Study:
    """A front axle with every kind of element, spring, damper and load."""
    return read_study(SPRUNG)


@cache
def sprung_rear() -> Study:
    """The shipped rear axle, its rod on a wishbone, with the struts' springs and loads of the front one."""
    rear, fitted = read_study(CONFIGS / "rear.yaml"), sprung().fittings
    springs = {name: spring for name, spring in fitted.springs.items() if spring.on in rear.axle.elements}
    return replace(rear, fittings=Fittings(springs, {"heave": fitted.dampers["heave"]}, fitted.loads))


@cache
def sprung_on_a_link() -> Study:
    """The sprung front axle, its rod on one link, which it bends."""
    study = sprung()
    link = study.axle.links["lower_front"]
    rod = Rod(link.inboard + 0.94 * (link.outboard - link.inboard), ("lower_front",))
    return replace(study, axle=replace(study.axle, rod=rod))


@cache
def sprung_handed() -> HandedOver:
    """It handed over and recomputed."""
    document = read_back(handoff_document(sprung(), sprung().axle, ORIGIN))
    return HandedOver(document, recompute(document))
