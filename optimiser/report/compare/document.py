"""A comparison for `--json`."""

from collections.abc import Sequence

from optimiser.report.analysis.json_values import Json
from optimiser.report.compare.record import Comparison, Direction


def comparison_json(found: Comparison) -> dict[str, Json]:
    """Lengths mm, angles deg, at full precision; directions in mm."""
    fit = found.fit
    return {
        "readings": [
            {
                "line": row.line,
                "sweep": row.sweep,
                "travel": row.travel,
                "element": row.strut,
                "side": row.side,
                "kind": "compression" if row.compressed else "length",
                "measured": row.value,
                "error": row.error,
                "as_drawn": float(fit.drawn[place]),
                "as_fitted": float(fit.fitted[place]),
            }
            for place, row in enumerate(found.sheet.rows)
        ],
        "deviations": [
            {
                "name": one.name,
                "unit": one.unit,
                "deviation": float(fit.sizes[place] * one.per_mm),
                "plus_minus_95": float(found.halves[place] * one.per_mm),
                "told": one not in found.untold,
                "alone": float(fit.alone[place] * one.per_mm),
                "alone_explains": float(fit.explained[place]),
            }
            for place, one in enumerate(fit.deviations)
        ],
        "build_stated": found.stated,
        "seen": _directions(found.seen),
        "not_seen": _directions(found.unseen),
        "best_alone": [fit.deviations[place].name for place in found.best],
        "sum_of_squares": fit.squares,
        "limit": found.limit,
        "doubtful": found.doubtful,
        "settled": fit.settled,
    }


def _directions(directions: Sequence[Direction]) -> list[Json]:
    return [
        {
            "parts": {part.name: share for part, share in one.parts},
            "size": one.size,
            "plus_minus_95": one.half,
            "sharper_than_build": one.sharper,
        }
        for one in directions
    ]
