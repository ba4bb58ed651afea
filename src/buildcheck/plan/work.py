"""The bench work of a change: operations from acts and findings, each once, in a legal order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

import networkx as nx

from buildcheck.fit.context import Build, Context
from buildcheck.fit.facts import matches
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Since
from buildcheck.model.report import NO_TIME, ConsumableUse, Minutes, PlannedOperation, Work
from buildcheck.model.standards import Operation, Standards
from buildcheck.plan.acts import Act, Verb, all_acts, asked_acts, order_graph
from buildcheck.plan.schedule import Clock, Wait, schedule
from buildcheck.trade.pert import Times, normal_percentile, pert_mean_min, pert_variance

MINUTES_PER_HOUR = 60.0
PHASES = ("strip", "prepare", "fit", "lines", "settings", "test", "finish")
# Everything of an earlier phase is done before these begin: what is set and tested is there, tape hides it.
_BARRIERS = ("settings", "test", "finish")
# What is only suspected gives no work order: nobody cuts a steerer on a guess.
_CERTAIN = (Level.BLOCKS, Level.EXTRA, Level.NOTE)


class Unit(NamedTuple):
    """An operation at one position (or for the job), before it has its place in the order, with what calls for it."""

    operation: Operation
    position: str | None
    cause: Act | Finding

    @property
    def id(self) -> str:
        """Unlike any other of the job."""
        return self.operation.id if self.position is None else f"{self.operation.id}@{self.position}"

    @property
    def why(self) -> str:
        """The cause in words."""
        return self.cause.why if isinstance(self.cause, Act) else self.cause.name


class Plan(NamedTuple):
    """When each operation begins and when the bike is done; and what must be done right before each of them."""

    clock: Clock
    after: Mapping[str, tuple[str, ...]]


def plan_work(context: Context, findings: Sequence[Finding], asked: Iterable[str], rate_eur_per_hour: float) -> Work:
    """All operations of a change, with the bare swap's minutes and what this bike adds to them."""
    if context.before is None or not context.changed:
        return Work()
    bare, rest = bare_and_rest(context, findings, asked)
    units = bare + rest
    plan = in_order(units, context, {unit.id: mean_min(unit) for unit in units})
    by_id = {unit.id: unit for unit in units}
    planned = tuple(_planned(by_id[name], plan.after[name]) for name in plan.clock.starts_min)
    asked_min, extra_min = (total_minutes(unit.operation for unit in part) for part in (bare, rest))
    rate = rate_eur_per_hour / MINUTES_PER_HOUR
    return Work(
        asked_min, extra_min, round(asked_min.mean * rate, 2), round(extra_min.mean * rate, 2), operations=planned
    )


def in_order(units: Sequence[Unit], context: Context, minutes: Mapping[str, float]) -> Plan:
    """The order of these operations, by their minutes."""
    by_id = {unit.id: unit for unit in units}
    graph = _order_graph(units, context)
    clock = schedule(graph, minutes, _waits(graph, by_id), lambda name: _rank(by_id[name]))
    order, needs = list(clock.starts_min), nx.transitive_reduction(graph)
    return Plan(clock, {name: tuple(sorted(needs.predecessors(name), key=order.index)) for name in order})


def _waits(graph: nx.DiGraph[str], by_id: Mapping[str, Unit]) -> dict[str, Wait]:
    found = {}
    for name, unit in by_id.items():
        if unit.operation.waits_min:
            later = nx.descendants(graph, name)
            waiting = frozenset(other for other in later if by_id[other].operation.id in unit.operation.waited_by)
            found[name] = Wait(unit.operation.waits_min, waiting)
    return found


def bare_and_rest(context: Context, findings: Sequence[Finding], asked: Iterable[str]) -> tuple[list[Unit], list[Unit]]:
    """The operations of the bare swap, and all others that the change needs."""
    units = _units(all_acts(context), findings, context)
    bare_ids = {unit.id for unit in _units(asked_acts(context, asked), (), context) if unit.operation.per == "position"}
    return [unit for unit in units if unit.id in bare_ids], [unit for unit in units if unit.id not in bare_ids]


def _units(acts: Sequence[Act], findings: Sequence[Finding], context: Context) -> list[Unit]:
    standards = context.view.standards
    builds: tuple[Build, Build | None] = (context, context.before)
    by_act, by_finding = _calls_for(standards)
    found: dict[str, Unit] = {}
    for act in acts:
        for operation in (*by_act.get((act.verb, act.kind), ()), *_for_condition(standards, act, context.before)):
            if _concerns(operation, act, builds):
                _add(found, operation, act.position, act)
    for finding in findings:
        if finding.positions and finding.since is Since.CHANGE and finding.level in _CERTAIN:
            for operation in by_finding.get(finding.name, ()):
                _add(found, operation, finding.positions[0], finding)
    return list(found.values())


def _for_condition(standards: Standards, act: Act, before: Build | None) -> list[Operation]:
    """What a part calls for that comes off in a bad condition: with it gone, no finding tells of that any more."""
    spot = before.bike.get(act.position) if before is not None and act.verb is Verb.TAKE_OFF else None
    if spot is None or not spot.condition:
        return []
    return [row for row in standards.operations.values() if set(row.takes_off_if).intersection(spot.condition)]


def _concerns(operation: Operation, act: Act, builds: tuple[Build, Build | None]) -> bool:
    """Is the part that comes off, or else the one that goes on or stays, one that the operation is about?"""
    if not operation.where:
        return True
    after, before = builds
    build = before if act.verb is Verb.TAKE_OFF and before is not None else after
    spot = build.bike.get(act.position)
    return spot is not None and matches(spot.part, operation.where)


def _add(found: dict[str, Unit], operation: Operation, position: str, cause: Act | Finding) -> None:
    unit = Unit(operation, None if operation.per == "job" else position, cause)
    found.setdefault(unit.id, unit)


@lru_cache(maxsize=4)
def _calls_for(standards: Standards) -> tuple[dict[tuple[Verb, str], list[Operation]], dict[str, list[Operation]]]:
    """Which operations an act on a kind of part calls for, and which a finding calls for."""
    by_act: dict[tuple[Verb, str], list[Operation]] = {}
    by_finding: dict[str, list[Operation]] = {}
    for operation in standards.operations.values():
        for verb, kinds in (
            (Verb.TAKE_OFF, operation.takes_off),
            (Verb.FIT, operation.fits),
            (Verb.MOVE, operation.moves),
            (Verb.THREAD, operation.threads),
            (Verb.RELAY, operation.relays),
        ):
            for kind in kinds:
                by_act.setdefault((verb, kind), []).append(operation)
        for name in operation.on_finding:
            by_finding.setdefault(name, []).append(operation)
    return by_act, by_finding


def _rank(unit: Unit) -> tuple[int, str, str]:
    return PHASES.index(unit.operation.phase), unit.position or "", unit.operation.id


def _order_graph(units: Sequence[Unit], context: Context) -> nx.DiGraph[str]:
    """An edge from each operation to those that must wait for it."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(unit.id for unit in units)
    on_bike = {unit.position for unit in units}
    strip = _reach(order_graph(context.before), on_bike) if context.before is not None else set()
    fit = _reach(order_graph(context), on_bike)
    for first in units:
        for second in units:
            if first.id != second.id and _before(first, second, strip, fit):
                graph.add_edge(first.id, second.id)
    return graph


Pairs = set[tuple[str | None, str | None]]


def _reach(graph: nx.DiGraph[str], positions: set[str | None]) -> Pairs:
    """Each pair of these positions of which the second must still be on while the first is."""
    return {(name, other) for name in positions if name in graph for other in nx.descendants(graph, name) & positions}


def _before(first: Unit, second: Unit, strip: Pairs, fit: Pairs) -> bool:
    """Must `first` be done before `second`? By phase at the barriers, by name, by place on the bike."""
    if first.operation.id in second.operation.proven_by and _meet(first, second):
        return True
    a, b = PHASES.index(first.operation.phase), PHASES.index(second.operation.phase)
    if a != b:
        same_place = first.position is not None and first.position == second.position
        barrier = second.operation.phase in _BARRIERS or first.operation.phase == "strip"
        return a < b and (same_place or barrier or (second.position, first.position) in fit)
    if first.operation.id in second.operation.after and _meet(first, second):
        return True
    if first.operation.leads != second.operation.leads and first.position == second.position is not None:
        return first.operation.leads
    if first.operation.phase == "strip":
        return (first.position, second.position) in strip
    return first.operation.phase == "fit" and (second.position, first.position) in fit


def book_times(operation: Operation) -> Times:
    """Low, likely and high minutes as the workshop's table has them."""
    return operation.low_min, operation.likely_min, operation.high_min


def mean_min(unit: Unit) -> float:
    """The mean of the book times of an operation, in minutes."""
    return pert_mean_min(*book_times(unit.operation))


def _meet(first: Unit, second: Unit) -> bool:
    """Are both about one position, or one of them about the whole job?"""
    return first.position == second.position or None in (first.position, second.position)


def _planned(unit: Unit, after: tuple[str, ...]) -> PlannedOperation:
    operation = unit.operation
    return PlannedOperation(
        id=unit.id,
        what=operation.what,
        position=unit.position,
        phase=operation.phase,
        minutes=total_minutes([operation]),
        after=after,
        why=unit.why,
        tools=operation.tools,
        consumables=uses_of(operation),
        source=operation.source,
    )


def uses_of(operation: Operation) -> tuple[ConsumableUse, ...]:
    """What an operation uses up."""
    return tuple(ConsumableUse(item.what, item.amount, item.unit) for item in operation.consumables)


def total_minutes(operations: Iterable[Operation]) -> Minutes:
    """The minutes of operations by the book, as `minutes_of` adds them up."""
    return minutes_of(map(book_times, operations))


def minutes_of(some: Iterable[Times]) -> Minutes:
    """Sums, PERT mean, and the 80th percentile of the sum taken as normal (independent operations)."""
    times = list(some)
    if not times:
        return NO_TIME
    mean = sum(pert_mean_min(*time) for time in times)
    variance = sum(pert_variance(*time) for time in times)
    p80 = normal_percentile(mean, variance, 0.8)
    low, likely, high = (sum(column) for column in zip(*times, strict=True))
    return Minutes(low, likely, high, round(mean, 1), round(p80, 1))
