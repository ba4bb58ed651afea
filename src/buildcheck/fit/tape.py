"""What a rule has read, recorded while it reads, so that no rule has to say what its findings rest on.

Values that are still facts (a `Fact`, an `Amount`, a `Test`) carry what they were made from; nothing need be recorded
while a rule only puts them together. As soon as one turns into something else, a number, a word, a yes or a no that a
branch is taken by, it is a condition of all that comes after, and goes on the tape. So do questions about the bike
that no fact answers: is there anything at a position, is its part another one than before, is a line threaded anew?

The technique is that of tracked reads in systems of incremental computation (Acar, Self-adjusting computation, 2005).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, NamedTuple, TypeVar

if TYPE_CHECKING:
    from buildcheck.fit.facts import Fact

T = TypeVar("T")


class PositionAsked(NamedTuple):
    """It was asked whether anything is at a position, or whether its part is another one than before."""

    position: str


class Threaded(NamedTuple):
    """It was asked whether a line is threaded anew; `by` names the facts that the answer rests on."""

    line: str
    by: frozenset[tuple[str, str]] = frozenset()


class Tape:
    """What was read, in the order of reading.

    It is kept as it came, since nearly all of it is forgotten again: only a finding asks for each thing once.
    `sought` names the positions of the one finding that is looked for; nobody reads the words of any.
    """

    __slots__ = ("asked", "read", "sought")

    def __init__(self, sought: tuple[str, ...] | None = None) -> None:
        self.sought = sought
        self.read: list[tuple[Fact, ...]] = []
        self.asked: list[PositionAsked | Threaded] = []

    @property
    def facts(self) -> dict[tuple[str, str], Fact]:
        """Each fact once, by its position and attribute."""
        return {(fact.position, fact.attribute): fact for facts in self.read for fact in facts}

    @property
    def others(self) -> tuple[PositionAsked | Threaded, ...]:
        """Each question once."""
        return tuple(dict.fromkeys(self.asked))

    def add(self, facts: Iterable[Fact], others: Iterable[PositionAsked | Threaded] = ()) -> None:
        """Record what was read."""
        self.read.append(tuple(facts))
        self.asked.extend(others)

    def mark(self) -> tuple[int, int]:
        """How far the tape has run."""
        return len(self.read), len(self.asked)

    def back_to(self, mark: tuple[int, int]) -> None:
        """Forget what was read after a mark."""
        facts, others = mark
        del self.read[facts:]
        del self.asked[others:]

    @property
    def places(self) -> tuple[str, ...]:
        """The positions of which it was asked what is there."""
        return tuple(read.position for read in self.others if isinstance(read, PositionAsked))

    def threaded(self, facts: Iterable[tuple[str, str]]) -> tuple[str, ...]:
        """The lines which are threaded anew, where these facts tell no more than that, and of the line itself."""
        lines = [read for read in self.others if isinstance(read, Threaded)]
        return tuple(read.line for read in lines if all(fact in read.by or fact[0] == read.line for fact in facts))


_running: Tape | None = None


class recording:  # noqa: N801 - a statement: `with recording(tape):`
    """While it lasts, reads go on this tape, or nowhere with `recording(None)`; the tape before it hears nothing."""

    def __init__(self, tape: Tape | None) -> None:
        self.tape = tape
        self._before: Tape | None = None

    def __enter__(self) -> None:
        global _running
        self._before, _running = _running, self.tape

    def __exit__(self, *exc: object) -> None:
        global _running
        _running = self._before


def running() -> Tape | None:
    """The tape that records now, if one does."""
    return _running


def read(facts: Iterable[Fact]) -> None:
    """These facts were looked at."""
    if _running is not None:
        _running.read.append(tuple(facts))


def asked(other: PositionAsked | Threaded) -> None:
    """A question was asked that no fact answers."""
    if _running is not None:
        _running.asked.append(other)


def add(other: Tape) -> None:
    """What is on another tape was read here, too."""
    if _running is not None:
        _running.read.extend(other.read)
        _running.asked.extend(other.asked)


def is_sought(position: str) -> bool:
    """Could a finding about this position be looked for?"""
    return _running is None or _running.sought is None or position in _running.sought


def each(items: Iterable[T]) -> Iterator[T]:
    """Items that are judged each by itself: what was read for one is no condition of what is found of the next.

    A loop that carries something from one item to the next, or ends early, must go over the items without it.
    """
    tape = _running
    if tape is None:
        yield from items
        return
    mark = tape.mark()
    for item in items:
        yield item
        tape.back_to(mark)
