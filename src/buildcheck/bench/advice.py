"""Preventive notes: what is worth doing because its place lies open anyway, and what it costs another day."""

from __future__ import annotations

from collections.abc import Iterable

from buildcheck.bench.opened import Done, OpenedPlace, done_at, opened_places
from buildcheck.fit.context import Context
from buildcheck.model.job import Advice
from buildcheck.model.workshop import AdviceRow


def advice_for(context: Context, operations: Iterable[Done]) -> tuple[Advice, ...]:
    """What falls out of these operations, in the order of the table.

    Never about a part that the job fits anew, nor what one of the operations does anyway, nor where the record
    leaves open whether the part is one that the row is about.
    """
    done = list(operations)
    places = opened_places(context, done, context.view.standards.advice)
    return tuple(_advice(place) for place in places if not _needless(context, done, place))


def _needless(context: Context, operations: list[Done], place: OpenedPlace[AdviceRow]) -> bool:
    new = context.bike.with_whole_parts([place.spot.position]) & context.changed
    return bool(new or place.doubts) or done_at(context.bike, operations, place.row.done_by, place.spot.position)


def _advice(place: OpenedPlace[AdviceRow]) -> Advice:
    row = place.row
    return Advice(row.id, place.spot.position, row.what, row.why, row.now_min, row.later_min, row.source)
