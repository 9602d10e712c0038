"""What the doctor has to say of a results folder, as lines of text."""

from collections.abc import Iterator, Sequence

from optimiser.report.doctor.examine import TORN, Health
from optimiser.report.doctor.recompute import TOLERANCE, Difference, Recomputed
from optimiser.report.doctor.saves import Save
from optimiser.report.results.manifest import STUDY
from optimiser.report.tables.screen import NULL
from optimiser.report.tables.text_table import column, spread

SHOWN = 12
"""Differences and file names that are listed at most."""


def health_lines(health: Health) -> list[str]:
    """The whole report; the last lines say what to type next."""
    lines = [
        f"{health.folder}: {_verdict(health)}",
        *(f"  {fault.file}: {fault.what}" for fault in health.faults),
        *_states(health),
        *_recomputed(health),
        *_others(health),
    ]
    step = list(_next(health))
    return [*lines, *(["", *step] if step else [])]


def _verdict(health: Health) -> str:
    if health.well:
        return "all well"
    found = [_count(len(health.faults), "damaged file")] if health.faults else []
    if health.recomputed and health.recomputed.differences:
        found.append(_count(len(health.recomputed.differences), "wrong number"))
    return ", ".join(found) or "its numbers cannot be checked"


def _states(health: Health) -> Iterator[str]:
    good = health.good
    if good is None:
        yield "no save of it is whole"
        yield from _still_read(health)
        return
    yield f"{'the last save' if good is health.present else 'the last good state'}: {_told(good)}"
    if good is health.before:
        lost = health.present.manifest if health.present else None
        more = "" if lost is None else f": save {lost.save}, {_candidates(lost.evaluations)}"
        yield f"what came after it is lost{more}"
    elif health.before and health.before.whole and health.before.files != good.files:
        yield f"the save before is whole too: {_told(health.before)}"


def _told(save: Save) -> str:
    manifest, store = save.manifest, save.store
    if manifest is None or store is None:
        return save.name
    members = _count(len(store.front.ids), "member")
    return (
        f"save {manifest.save} of {manifest.saved or manifest.started}, {_candidates(manifest.evaluations)}, {members}"
    )


def _still_read(health: Health) -> Iterator[str]:
    """The files that are whole in saves that are not."""
    for save in health.saves:
        bad = {fault.file for fault in save.faults}
        whole = [name for name in save.files if name not in bad]
        if whole and save.name not in bad:
            yield f"whole in save {save.manifest.save if save.manifest else ''}: {', '.join(whole)}"


def _recomputed(health: Health) -> Iterator[str]:
    found = health.recomputed
    if found is None:
        yield f"nothing is recomputed: {health.obstacle}"
        return
    yield f"recomputed from their variables: {_who(found)}"
    if not found.differences:
        yield f"  {_count(found.numbers, 'number')} agree, largest relative difference {found.largest:.1e}"
        return
    yield f"  {len(found.differences)} of {_count(found.numbers, 'number')} differ by more than {TOLERANCE:.0e}:"
    yield from (f"  {line}" for line in _differences(found.differences[:SHOWN]))
    if len(found.differences) > SHOWN:
        yield f"  and {len(found.differences) - SHOWN} more (--json: all)"


def _who(found: Recomputed) -> str:
    ids = " ".join(str(name) for name in found.ids)
    members = f"{len(found.ids)} of {_count(found.members, 'member')}{f' ({ids}; --seed {found.seed})' if ids else ''}"
    return ", ".join([members, *found.others])


def _differences(differences: Sequence[Difference]) -> list[str]:
    return spread(
        [
            column("member", [one.candidate for one in differences]),
            column("number", [one.entry for one in differences], left=True),
            column("says", [_number(one.says) for one in differences]),
            column("recomputed", [_number(one.recomputed) for one in differences]),
        ]
    )


def _others(health: Health) -> Iterator[str]:
    if health.unnamed:
        names = ", ".join(health.unnamed[:SHOWN]) + (" ..." if len(health.unnamed) > SHOWN else "")
        known = health.present is not None and all(save.manifest for save in health.saves)
        end = "left behind by a kill, the next save removes them" if known else "no manifest that reads names them"
        yield f"{names}: {end}"
    if health.foreign:
        yield f"no part of the results: {', '.join(health.foreign[:SHOWN])}"


def _next(health: Health) -> Iterator[str]:
    folder = health.folder
    if health.good is None:
        yield "next: bring the folder back from a copy, or search anew into another one with --out"
        return
    if health.good is health.before or health.removable:
        yield f"next: rockwright doctor {folder} --mend    (takes what is damaged into {folder / TORN})"
    if health.study:
        yield f"next: rockwright search STUDY --out {folder} --resume    (brings {STUDY} back and goes on)"
    if health.recomputed and health.recomputed.differences and health.good.manifest:
        versions = ", ".join(f"{name} {version}" for name, version in health.good.manifest.versions.items())
        yield f"saved by {versions}; other versions may define a figure otherwise: search anew with --out"


def _number(value: float) -> str:
    return NULL if value != value else repr(value)  # noqa: PLR0124 - NaN's own test


def _count(number: int, what: str) -> str:
    return f"{number:,} {what}{'' if number == 1 else 's'}"


def _candidates(number: int) -> str:
    return _count(number, "candidate")
