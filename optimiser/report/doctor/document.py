"""What the doctor has to say of a results folder, as one JSON document."""

import json
from typing import TypeAlias

from optimiser.report.doctor.examine import Health
from optimiser.report.doctor.recompute import Recomputed
from optimiser.report.doctor.saves import Save
from optimiser.report.front.columns import nullable

Plain: TypeAlias = "bool | int | float | str | list[Plain] | dict[str, Plain] | None"


def health_json(health: Health, done: tuple[str, ...] = ()) -> str:
    """The whole report as JSON text; `done` is what mending has done.

    `good` is the manifest's file of the last good state, null where there is none.
    """
    document: dict[str, Plain] = {
        "folder": str(health.folder),
        "well": health.well,
        "done": list(done),
        "faults": [{"file": fault.file, "what": fault.what} for fault in health.faults],
        "good": health.good.name if health.good else None,
        "saves": [_save(save) for save in health.saves],
        "unnamed": list(health.unnamed),
        "foreign": list(health.foreign),
        "recomputed": _recomputed(health.recomputed),
        "obstacle": health.obstacle or None,
    }
    return json.dumps(document, allow_nan=False) + "\n"


def _save(save: Save) -> Plain:
    manifest, store = save.manifest, save.store
    return {
        "manifest": save.name,
        "whole": save.whole,
        "save": manifest.save if manifest else None,
        "saved": manifest.saved or manifest.started if manifest else None,
        "evaluations": manifest.evaluations if manifest else None,
        "members": len(store.front.ids) if store else None,
        "files": list(save.files),
    }


def _recomputed(found: Recomputed | None) -> Plain:
    if found is None:
        return None
    return {
        "ids": list(found.ids),
        "others": list(found.others),
        "seed": found.seed,
        "numbers": found.numbers,
        "largest": found.largest,
        "differences": [
            {
                "candidate": one.candidate,
                "entry": one.entry,
                "says": nullable(one.says),
                "recomputed": nullable(one.recomputed),
            }
            for one in found.differences
        ],
    }
