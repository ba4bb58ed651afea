"""What the bench work of a change costs, each operation with the condition under which another change needs it, too."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from buildcheck.candidates.entailment import FindingReason
from buildcheck.candidates.evidence import rests_on, stays_with_its_line
from buildcheck.candidates.features import PART
from buildcheck.candidates.forced_routing import empty_ways, forced_through
from buildcheck.fit.context import Context
from buildcheck.fit.lines import carriers
from buildcheck.model.findings import Finding
from buildcheck.remedies import CHANGED, Explanation, Feature, OperationCost
from buildcheck.work.activities import MINUTES_PER_HOUR, Activity, mean_min
from buildcheck.work.disturbances import Disturbance, Verb

# The search counts in ten-thousandths of a euro, so that sums are exact.
PARTS_OF_A_EURO = 10_000


def costs_of(
    activities: Iterable[Activity], context: Context, known_before: Collection[object], rate_eur_per_hour: float
) -> Iterator[OperationCost]:
    """What each activity costs, and when. `known_before` holds the identities of the findings before the change."""
    rate = rate_eur_per_hour / MINUTES_PER_HOUR * PARTS_OF_A_EURO
    for activity in activities:
        cost, cause = round(mean_min(activity) * rate), activity.cause
        if isinstance(cause, Disturbance):
            yield OperationCost(activity.id, cost, _of_disturbance(cause, _asked_of(activity), context))
        elif (forced := _with_its_line(cause, context)) is not None:
            yield OperationCost(activity.id, cost, forced)
        else:
            needs = _of_finding(cause, _asked_of(activity), context, cause.identity in known_before)
            yield OperationCost(activity.id, cost, needs, FindingReason(context, cause, needs))


def _asked_of(activity: Activity) -> frozenset[str]:
    """The attributes that an operation asks of its part."""
    return frozenset((*activity.operation.where, *activity.operation.where_any))


def _with_its_line(finding: Finding, context: Context) -> Explanation | None:
    if not stays_with_its_line(finding):
        return None
    return forced_through(context, context.bike[finding.positions[0]])


def _of_disturbance(disturbance: Disturbance, where: Collection[str], context: Context) -> Explanation | None:
    if not disturbance.due_to:
        return None
    position = disturbance.position
    forced = None
    if disturbance.by_way and disturbance.verb is Verb.THREAD:
        forced = forced_through(context, context.bike[position])
    if forced is not None:
        return {at: names | (set(where) if at == position else set()) for at, names in forced.items()}
    needs: dict[str, set[Feature]] = {disturbance.due_to: {CHANGED}}
    if disturbance.by_way:
        needs.update((name, {CHANGED}) for name in empty_ways(context.view))
    needs.setdefault(position, set()).update({CHANGED, *where} if disturbance.verb is Verb.FIT else {CHANGED})
    if disturbance.by_way:
        for spot in carriers(context.view):
            needs.setdefault(spot.home, set()).update(("passages", "places"))
        line = context.bike[disturbance.position]
        for end in (line.start, line.end):
            if end is not None and end in context.bike:
                needs.setdefault(context.bike[end].home, set()).update(("mounts", "places"))
    return {position: frozenset(names) for position, names in needs.items()}


def _of_finding(finding: Finding, where: Collection[str], context: Context, known_before: bool) -> Explanation:
    """A finding that was there before counts only where the change touches it; `where` is asked of its first part."""
    needs = dict(rests_on(context, finding))
    if where:
        needs[finding.positions[0]] = needs.get(finding.positions[0], frozenset()) | frozenset(where)
    if any("passages" in names for names in needs.values()):
        needs.update((name, frozenset({CHANGED})) for name in empty_ways(context.view))
    changed = {at for at, names in needs.items() if known_before or at in finding.positions or PART in names}
    return {at: (names - {PART}) | ({CHANGED} if at in changed else set()) for at, names in needs.items()}
