"""Minutes of operations recalibrated from what jobs really took: drawn from the book's value towards the shop's own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from statistics import fmean

from buildcheck.model.actuals import Recalibrated
from buildcheck.model.standards import Standards
from buildcheck.model.workshop import Operation
from buildcheck.trade.credibility import credibility_mean, credibility_weight
from buildcheck.trade.pert import Times, pert_mean_min

# Our choice, no source: five records weigh as much as the book. It says that an operation varies from one time to the
# next about twice as much (the root of 5) as its mean varies from one shop to the next.
AS_GOOD_AS_THE_BOOK = 5.0


def book_times(operation: Operation) -> Times:
    """Low, likely and high minutes as the workshop's table has them."""
    return operation.low_min, operation.likely_min, operation.high_min


def recalibrated(operation: Operation, minutes: Sequence[float]) -> Recalibrated:
    """The operation with the minutes that it really took. Without any, the book's values are used as they are.

    Low, likely and high are scaled alike, so that the mean becomes the one to expect; how wide an operation is for its
    length stays the book's, as a few records say little about it.
    """
    book = book_times(operation)
    book_mean = pert_mean_min(*book)
    sample_mean = fmean(minutes) if minutes else book_mean
    weight = credibility_weight(len(minutes), AS_GOOD_AS_THE_BOOK)
    ratio = credibility_mean(book_mean, sample_mean, weight) / book_mean if minutes else 1.0
    used = book[0] * ratio, book[1] * ratio, book[2] * ratio
    return Recalibrated(operation.id, book, len(minutes), sample_mean, weight, used)


def recalibrate(standards: Standards, actuals: Mapping[str, Sequence[float]]) -> dict[str, Recalibrated]:
    """Every operation of which there is a record, by id and in its order. Raises KeyError for an unknown operation."""
    return {name: recalibrated(standards.operations[name], actuals[name]) for name in sorted(actuals)}


def used_times(operation: Operation, records: Mapping[str, Recalibrated]) -> Times:
    """Low, likely and high minutes to reckon with: recalibrated where there is a record, else the book's."""
    record = records.get(operation.id)
    return book_times(operation) if record is None else record.used
