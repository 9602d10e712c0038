"""Waiting for a storage that is away: a database that restarts, a network that is down for a while."""

import time
from collections.abc import Callable, Iterator
from typing import TypeVar

from optimiser.errors import RockwrightError

T = TypeVar("T")

PATIENCE = 300.0
"""How long a storage may be away [s] before a machine gives up."""
SOON, LATE = 0.5, 10.0
"""Pauses between two attempts [s]: they double from the one to the other."""
NAP = 0.1
"""How often is looked, in a pause, whether the search is to stop [s]."""


class AwayError(Exception):
    """The storage does not answer, and may do so again; its text says why."""


class StorageLostError(RockwrightError):
    """A storage that stayed away."""

    exit_code = 3


class Patience:
    """Tries again what a storage that is away did not do.

    `tell` is told once each time that the storage goes away and comes back; `stop` ends the waiting early.
    """

    def __init__(self, tell: Callable[[str], None], stop: Callable[[], bool], most: float = PATIENCE) -> None:
        self._tell, self._stop, self._most = tell, stop, most
        self._lost = ""

    def call(self, attempt: Callable[[], T]) -> T:
        """What `attempt` returns, as soon as it does not raise AwayError.

        Raises StorageLostError where that takes too long, or where the search is to stop meanwhile.
        """
        try:
            return attempt()
        except AwayError as error:
            if self._lost:
                raise StorageLostError(self._lost) from None
            self._tell(f"the storage is away ({error}); its islands go on here, trying for {self._most:.0f} s ...")
        since, last = time.monotonic(), ""
        for _ in self._pauses(since):
            try:
                value = attempt()
            except AwayError as error:
                last = f" ({error})"
                continue
            self._tell(f"the storage is back after {time.monotonic() - since:.0f} s")
            return value
        self._lost = (
            f"the storage was away for {time.monotonic() - since:.0f} s{last}: the results folder holds what was "
            f"found until now, the storage every island that was finished before; go on with the same command and "
            f"--resume"
        )
        raise StorageLostError(self._lost)

    def _pauses(self, since: float) -> Iterator[None]:
        pause = SOON
        while time.monotonic() - since < self._most:
            end = time.monotonic() + pause
            while time.monotonic() < end:
                if self._stop():
                    return
                time.sleep(NAP)
            yield
            pause = min(2 * pause, LATE)
