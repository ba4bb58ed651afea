"""What the bench work of a change costs, each operation with the condition under which another change needs it, too."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from buildcheck.candidates.entailment import FindingReason
from buildcheck.candidates.evidence import rests_on, stays_with_its_line
from buildcheck.candidates.features import KIND, PART
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
    position = disturbance.position
    if disturbance.beside is not None:
        return _beside(disturbance.beside, position, where, context)
    if not disturbance.due_to:
        return _exactly(context)
    forced = _forced(disturbance, context)
    if forced is not None or disturbance.verb is Verb.LEAD_IN:
        return _exactly(context) if forced is None else _also(forced, position, where)
    needs: dict[str, set[Feature]] = {disturbance.due_to: {CHANGED}}
    needs.setdefault(position, set()).update({CHANGED, *where} if disturbance.verb is Verb.FIT else {CHANGED})
    for at, names in _of_its_way(disturbance, context) if disturbance.by_way else ():
        needs.setdefault(at, set()).update(names)
    return {position: frozenset(names) for position, names in needs.items()}


def _of_its_way(disturbance: Disturbance, context: Context) -> Iterator[tuple[str, Collection[Feature]]]:
    """What the way of a line depends on, and how long it is where that matters."""
    yield from ((name, (CHANGED,)) for name in empty_ways(context.view))
    yield from ((spot.home, ("passages", "places")) for spot in carriers(context.view))
    line = context.bike[disturbance.position]
    for end in (line.start, line.end):
        if end is not None and end in context.bike:
            yield context.bike[end].home, ("mounts", "places")
    if disturbance.verb is Verb.RELAY:  # through a new part it would be threaded instead
        yield from ((home, (CHANGED,)) for home in _on_its_ways(disturbance.position, context))
    yield from ((at, (name,)) for at, name in disturbance.rests_on)


def _on_its_ways(line: str, context: Context) -> Iterator[str]:
    """The positions of the parts along which a line runs, and of those along which it ran before."""
    for build in (context.before, context):
        route = build.routing.routes.get(line) if build is not None else None
        if route is not None:
            yield from (way.spot.home for way in route.ways)


def _exactly(context: Context) -> Explanation:
    """Nothing less than these very parts is known to be enough."""
    needs: dict[str, frozenset[Feature]] = dict.fromkeys(empty_ways(context.view), frozenset({CHANGED}))
    for spot in context.bike.main_spots():
        changed = spot.home in context.changed
        needs[spot.home] = frozenset({CHANGED, PART} if changed else {CHANGED})
    return {**needs, **{name: frozenset({CHANGED, PART}) for name in context.changed if name not in context.bike}}


def _forced(disturbance: Disturbance, context: Context) -> Explanation | None:
    """What is enough for a line to go through a closed bore whichever way it takes."""
    if disturbance.by_way and disturbance.verb is Verb.THREAD:
        return forced_through(context, context.bike[disturbance.position])
    if disturbance.verb is Verb.LEAD_IN:
        forced = forced_through(context, context.bike[disturbance.position], is_new=True)
        return None if forced is None else _also(forced, disturbance.position, (KIND,))
    return None


def _beside(line: Disturbance, position: str, where: Collection[str], context: Context) -> Explanation | None:
    """What is enough where the thing that is done with a line makes it necessary: that, and the part here."""
    needs = _of_disturbance(line, (KIND,), context)
    return None if needs is None else _also(_also(needs, line.position, (KIND,)), position, {CHANGED, *where})


def _also(needs: Explanation, position: str, names: Collection[Feature]) -> Explanation:
    return {**needs, position: needs.get(position, frozenset()) | frozenset(names)}


def _of_finding(finding: Finding, where: Collection[str], context: Context, known_before: bool) -> Explanation:
    """A finding that was there before counts only where the change touches it; `where` is asked of its first part."""
    needs = dict(rests_on(context, finding))
    if where:
        needs[finding.positions[0]] = needs.get(finding.positions[0], frozenset()) | frozenset(where)
    if any("passages" in names for names in needs.values()):
        needs.update((name, frozenset({CHANGED})) for name in empty_ways(context.view))
    changed = {at for at, names in needs.items() if known_before or at in finding.positions or PART in names}
    return {at: (names - {PART}) | ({CHANGED} if at in changed else set()) for at, names in needs.items()}
