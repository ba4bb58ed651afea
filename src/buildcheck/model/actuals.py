"""An operation whose minutes were recalibrated from what it really took."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Recalibrated:
    """The book's low, likely and high minutes beside those that are used, and what led from one to the other.

    The operation was recorded `count` times, with a mean of `sample_mean` minutes; the record has `weight`, the book
    the rest. A record always holds the book's values, so that nothing is lost.
    """

    operation: str
    book: tuple[float, float, float]
    count: int
    sample_mean: float
    weight: float
    used: tuple[float, float, float]

    @property
    def text(self) -> str:
        """In words."""
        book, used = (" / ".join(f"{minutes:.1f}" for minutes in three) for three in (self.book, self.used))
        times = "once" if self.count == 1 else f"{self.count} times"
        return (
            f"{self.operation}: done {times} in {self.sample_mean:.1f} min on average, which counts "
            f"{self.weight:.0%}; reckoned with {used} min, not {book} as in the book"
        )
