"""Ctrl-C, and a request to end, as a flag that a search looks at between two rounds."""

import signal
from types import TracebackType

STOPPING = (signal.SIGINT, signal.SIGTERM)
"""What asks a search to stop: Ctrl-C, and the system's request to end."""


class Interrupts:
    """A context in which the first Ctrl-C or request to end only sets `asked`; a second one ends the program.

    What a search has saved is whole at every moment, so that a second one loses only what came after the last save.
    """

    def __init__(self) -> None:
        self.asked = False

    def __enter__(self) -> "Interrupts":
        self._before = {number: signal.signal(number, self._ask) for number in STOPPING}
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for number, handler in self._before.items():
            signal.signal(number, handler)

    def _ask(self, *_: object) -> None:
        self.asked = True
        signal.signal(signal.SIGINT, signal.default_int_handler)
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
