"""What takes long: it says so on a terminal, and a search for remedies ends at a limit."""

from __future__ import annotations

import sys
from collections.abc import Callable
from threading import Event, Lock, Thread
from time import monotonic
from typing import Self

from buildcheck.cli.output import saying

# Our choice: more than twice what the longest known search takes on a slow machine; the demo's takes some seconds.
DEFAULT_LIMIT_S = 120.0
_SILENT_S = 0.5  # our choice: what ends sooner needs no word
_EVERY_S = 0.2


class Watch:
    """Tells a terminal after half a second that something is worked at, and stops a search at its limit.

    Entered, it keeps telling whatever is done. The search for remedies asks it between its steps, with the sets of
    parts vetted so far; its answer stops the search, and `reached` is that answer once it was given. The same search
    that ends before the limit gives the same remedies.
    """

    def __init__(self, limit_s: float = DEFAULT_LIMIT_S, clock: Callable[[], float] = monotonic) -> None:
        self.limit_s, self.clock, self.reached = limit_s, clock, ""
        self._begun_s: float | None = None
        self._searched_s: float | None = None
        self._vetted = 0
        self._told_s, self._width = _SILENT_S - _EVERY_S, 0
        self._ended, self._telling = Event(), Lock()

    def __enter__(self) -> Self:
        """Begin to tell, where somebody sees it."""
        if sys.stderr.isatty():
            self._begun_s = self.clock()
            Thread(target=self._keep_telling, daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        """Take the line away."""
        self._ended.set()
        self.clear()

    def __call__(self, vetted: int) -> str:
        """Why the search must stop; nothing if it need not."""
        now_s, self._vetted = self.clock(), vetted
        self._searched_s = now_s if self._searched_s is None else self._searched_s
        self._begun_s = now_s if self._begun_s is None else self._begun_s
        if not self.reached and now_s - self._searched_s >= self.limit_s:
            self.reached = f"the limit of {self.limit_s:g} s was reached; sets of parts vetted: {vetted}"
        elif sys.stderr.isatty():
            self._tell(now_s - self._begun_s)
        return self.reached

    def clear(self) -> None:
        """Take the line away."""
        with self._telling:
            if self._width:
                self._show("")
                self._width = 0

    def _keep_telling(self) -> None:
        begun_s = self._begun_s or 0.0
        while not self._ended.wait(_EVERY_S):
            self._tell(self.clock() - begun_s)

    def _tell(self, passed_s: float) -> None:
        with self._telling:
            if passed_s < self._told_s + _EVERY_S or self._ended.is_set():
                return
            self._told_s = passed_s
            searched = self._searched_s is not None
            what = f"looking for remedies; sets of parts vetted: {self._vetted}" if searched else "at work"
            self._show(f"{what}, {passed_s:.0f} s")

    def _show(self, text: str) -> None:
        with saying():
            print(f"\r{text:<{self._width}}", end="" if text else "\r", file=sys.stderr)
        self._width = max(self._width, len(text))
