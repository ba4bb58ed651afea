"""A search for remedies that takes long: it says so on a terminal, and it ends at a limit."""

from __future__ import annotations

import sys
from collections.abc import Callable
from time import monotonic

from buildcheck.cli.output import saying

# Our choice: more than twice what the longest known search takes on a slow machine; the demo's takes some seconds.
DEFAULT_LIMIT_S = 120.0
_SILENT_S = 0.5  # our choice: what ends sooner needs no word
_EVERY_S = 0.2


class Watch:
    """Is asked by the search between its steps, with the sets of parts vetted so far; its answer stops the search.

    `reached` is that answer once it was given. The same search that ends before the limit gives the same remedies.
    """

    def __init__(self, limit_s: float, clock: Callable[[], float] = monotonic) -> None:
        self.limit_s, self.clock, self.reached = limit_s, clock, ""
        self._begun: float | None = None
        self._told_s, self._width = _SILENT_S - _EVERY_S, 0

    def __call__(self, vetted: int) -> str:
        """Why the search must stop; nothing if it need not."""
        now = self.clock()
        self._begun = now if self._begun is None else self._begun
        passed_s = now - self._begun
        if not self.reached and passed_s >= self.limit_s:
            self.reached = f"the limit of {self.limit_s:g} s was reached; sets of parts vetted: {vetted}"
        elif passed_s >= self._told_s + _EVERY_S and sys.stderr.isatty():
            self._told_s = passed_s
            self._show(f"looking for remedies; sets of parts vetted: {vetted}, {passed_s:.0f} s")
        return self.reached

    def clear(self) -> None:
        """Take the line away."""
        if self._width:
            self._show("")
            self._width = 0

    def _show(self, text: str) -> None:
        with saying():
            print(f"\r{text:<{self._width}}", end="" if text else "\r", file=sys.stderr)
        self._width = max(self._width, len(text))
