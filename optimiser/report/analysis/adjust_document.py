"""What turns and holes change as part of an analysis's JSON document, and of a hand-off. Units stand beside it."""

from objectives.adjustment.table import AdjustmentTable, Setting
from optimiser.report.analysis.json_values import Json
from optimiser.study.variables import PICKUPS

UNITS: dict[str, Json] = {"length": "mm", "ride_height": "mm", "angle": "deg", "load": "N"}


def adjustment_json(table: AdjustmentTable) -> dict[str, Json]:
    """The rows of the rods, and of the holes by the path of their pick-up; see `objectives.adjustment.table`."""
    rows: dict[str, Json] = {f"{PICKUPS}{name}": [_row(row) for row in rows] for name, rows in table.holes.items()}
    rod: dict[str, Json] = {"rod": [_row(row) for row in table.rod]} if table.rod else {}
    return {
        "units": UNITS,
        "held_up_by": "springs" if table.sprung else "length",
        "drawn": dict(table.drawn),
        **rod,
        **rows,
    }


def _row(row: Setting) -> Json:
    which: dict[str, Json] = {"turns": row.turns} if row.hole is None else {"hole": row.hole}
    return {
        **which,
        "rod": row.rod,
        "ride_height": row.ride_height,
        "camber": row.camber,
        "toe": row.toe,
        "settled": dict(row.settled),
        "held": dict(row.held),
        "strut_reset": dict(row.lengths),
        "rod_reset": row.rod_reset,
        "load_across": row.across,
    }
