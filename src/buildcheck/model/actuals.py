"""An operation whose minutes were recalibrated from what it really took."""

from __future__ import annotations

from dataclasses import dataclass

from buildcheck.model.sentences import Exact, Said, Several, Value, say


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
    def text(self) -> Said:
        """In words."""
        told: dict[str, Value] = {
            "operation": self.operation, "times": self.count, "mean": Exact(self.sample_mean, 1),
            "weight": round(self.weight * 100), "used": _three(self.used), "book": _three(self.book),
        }  # fmt: skip
        if self.count == 1:
            return say(
                "{operation}: done once in {mean} min, which counts {weight}%; reckoned with {used} min, not {book} as "
                "in the book",
                **told,
            )
        return say(
            "{operation}: done {times} times in {mean} min on average, which counts {weight}%; reckoned with {used} "
            "min, not {book} as in the book",
            **told,
        )


def _three(times: tuple[float, float, float]) -> Several:
    return Several(tuple(Exact(minutes, 1) for minutes in times), " / ")
