"""Verification of a hand-off file: all that can be recomputed is, by the second reading; all else is under seal."""

from collections.abc import Mapping
from dataclasses import dataclass

from optimiser.errors import RockwrightError
from optimiser.report.handoff.as_built import with_built
from optimiser.report.handoff.differences import FLOORS, Comparison, Difference, compare, shown
from optimiser.report.handoff.seals import seals
from optimiser.report.handoff.second_reading.plain import UnreadableError, section
from optimiser.report.handoff.second_reading.recompute import Expected, recompute
from optimiser.study.keys import HAND_OFF, HANDED_OVER

WHERE_SET = "adjustment"
"""A section that is recomputed where something can be set."""
RECOMPUTED = ("figures", "figure_status", "units", "tables", "eye_lengths", "right_side")
"""Sections that must be exactly what is recomputed, no entry more and none less."""


class NoHandOffError(RockwrightError):
    """A file that is no hand-off."""


@dataclass(frozen=True)
class Verification:
    """What came of a verification."""

    entries: int
    """Numbers and words recomputed."""
    sealed: int
    """Seals compared."""
    differences: tuple[Difference, ...]
    """Entries that differ, those that were edited first."""
    largest: float
    """Largest relative difference of the entries that agree, of at most `RELATIVE`."""

    @property
    def agrees(self) -> bool:
        """Whether everything agrees."""
        return not self.differences


def verify(document: object, file_name: str) -> Verification:
    """Recompute a hand-off file's content (as `load_tree` gives it) and compare.

    Raises NoHandOffError for anything but a hand-off, UnreadableError where there is nothing to recompute from.
    """
    tree = _handoff(document, file_name)
    try:
        return against(tree, with_built(tree, recompute(tree), file_name))
    except UnreadableError as error:
        raise UnreadableError(f"{file_name}: {error}; bring it back, or hand the geometry over again") from error


def against(tree: Mapping[str, object], recomputed: Mapping[str, Expected]) -> Verification:
    """Compare a hand-off's content with what was recomputed from it."""
    sealed, total = _seals(tree), Comparison()
    also = [WHERE_SET] if WHERE_SET in recomputed or WHERE_SET in tree else []
    for name in (*RECOMPUTED, *also):
        total += compare(recomputed.get(name, {}), tree.get(name), (name,))
    total += _goals(tree, recomputed["goals"])
    edited = [seal for seal in (*_strangers(tree), *sealed.differences) if not _within(seal.path, total.differences)]
    return Verification(total.entries, sealed.entries, (*edited, *total.differences), total.largest)


def _within(path: str, differences: tuple[Difference, ...]) -> bool:
    """Whether the recomputation has named an entry at or below a path already."""
    return any(d.path == path or d.path.startswith((f"{path}.", f"{path}[")) for d in differences)


def _handoff(document: object, file_name: str) -> Mapping[str, object]:
    if not isinstance(document, Mapping) or document.get("kind") != HAND_OFF:
        raise NoHandOffError(
            f"{file_name}: no hand-off file (no `kind: {HAND_OFF}`), so it claims nothing that could be verified; "
            f"`rockwright handoff` writes one, `rockwright analyse {file_name}` shows a study"
        )
    return document


def _seals(tree: Mapping[str, object]) -> Comparison:
    """Entries that are not what they were when the file was written."""
    now, kept = seals(tree), tree.get("seals")
    if not isinstance(kept, Mapping):
        return Comparison(len(now), (Difference("seals", "nothing", "a seal for each entry"),))
    broken = [path for path in [*now, *(path for path in kept if path not in now)] if kept.get(path) != now.get(path)]
    return Comparison(len(now), tuple(_broken(tree, path, path in now, path in kept) for path in broken))


def _strangers(tree: Mapping[str, object]) -> list[Difference]:
    """Sections that no hand-off file has: nothing vouches for what they say."""
    return [Difference(name, shown(tree[name]), "no such entry") for name in tree if name not in HANDED_OVER.keys]


def _broken(tree: Mapping[str, object], path: str, is_there: bool, is_sealed: bool) -> Difference:
    if not is_there:
        return Difference(path, "nothing", "an entry that was deleted since it was handed over")
    was = "another value: edited since it was handed over" if is_sealed else "no entry, or one whose seal was deleted"
    return Difference(path, shown(_entry(tree, path)), was)


def _entry(tree: object, path: str) -> object:
    """The entry at a path whose keys may hold points themselves."""
    if not isinstance(tree, Mapping) or not path:
        return tree
    for key, below in tree.items():
        if path == key:
            return below
        if path.startswith(f"{key}.") and (found := _entry(below, path[len(key) + 1 :])) is not None:
            return found
    return None


def _goals(tree: Mapping[str, object], judged: Expected) -> Comparison:
    """Held goals judged anew; one that lies on its edge, to rounding, may be called either."""
    total, goals = Comparison(), section(tree, "goals", "")
    for name, verdict in judged.items() if isinstance(judged, Mapping) else ():
        goal = section(goals, name, "goals")
        says = {key: goal[key] for key in ("met", "left") if key in goal}
        total += compare(_as_called(verdict, says), says, ("goals", name))
    return total


def _as_called(verdict: object, says: Mapping[str, object]) -> object:
    """The verdict, or what the file calls it where nothing is left and nothing is missing."""
    if not isinstance(verdict, Mapping):
        return verdict
    left = verdict.get("left")
    on_edge = isinstance(left, float) and abs(left) <= max(FLOORS.values())
    return {**verdict, "met": says.get("met")} if on_edge else verdict
