"""The drawing of one geometry: front view and lengths, travel, rocker, curves."""

import numpy as np

from geometry.travel import AxleStates
from optimiser.report.analysis.record import analyse
from optimiser.report.drawing.border import Title, bordered
from optimiser.report.drawing.curve_sheets import curve_sheets
from optimiser.report.drawing.front_sheet import front_sheet
from optimiser.report.drawing.ghost_sheet import ghost_sheet, inboard_ghost_sheet
from optimiser.report.drawing.marks import Drawing
from optimiser.report.drawing.poses import poses
from optimiser.report.drawing.rocker_sheet import rocker_sheet
from optimiser.study.study import Study


def study_drawing(study: Study, title: Title) -> Drawing:
    """The drawing of a study's own geometry, or of a hand-off's."""
    analysis = analyse(study)
    zero = np.zeros(1)
    (static,) = poses(study.axle, AxleStates(zero, zero, zero))
    views = [
        front_sheet(study.axle, analysis, static),
        ghost_sheet(study.axle, study.travel, static),
        inboard_ghost_sheet(study.axle, study.travel, static),
        rocker_sheet(study.axle, study.travel),
        *((sheet, "") for sheet in curve_sheets(analysis)),
    ]
    sheets = [bordered(title, sheet, scale, place, len(views)) for place, (sheet, scale) in enumerate(views, start=1)]
    return Drawing(study.name, tuple(sheets))
