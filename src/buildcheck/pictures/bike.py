"""What the drawings of a job show: positions with their levels, the way of each line, bores, wiring and stack."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from buildcheck.fit.context import Build, Context
from buildcheck.fit.view import View
from buildcheck.fit.wiring import systems
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Since
from buildcheck.model.pictures import Device, Pictures, SeatedPart, Side, SideView, WireEdge, WiringTree
from buildcheck.pictures.choice import bores_that_matter, sides_that_matter
from buildcheck.pictures.lines import paths_of, shared_bores_of
from buildcheck.pictures.outline import outline_of
from buildcheck.pictures.spans import size_at
from buildcheck.pictures.stack import stack_of


def pictures_of(before: Build | None, context: Context, findings: Sequence[Finding]) -> Pictures:
    """The drawings of a job: the bike before it, if there is a change, and after it with what was found there.

    Of a change only what it changes is drawn, and what was found because of it.

    Sizes in mm. Errors: none; what is not known stays unknown. Source: the graphs of `fit`.
    """
    levels = levels_of(findings)
    side_view, after, bores = _side_view(before, context, levels), _side(context, levels), shared_bores_of(context)
    if before is None:
        return Pictures(side_view, None, after, bores_that_matter(bores, {bore.position for bore in bores}))
    brought = levels_of(finding for finding in findings if finding.since is Since.CHANGE)
    old, new = sides_that_matter(_side(before, {}), after, frozenset(brought))
    touched = context.touched.union(path.line for path in new.lines)
    return Pictures(side_view, old, new, bores_that_matter(bores, touched))


def levels_of(findings: Iterable[Finding]) -> dict[str, Level]:
    """The most serious level of the findings that name a position, for each position that one names."""
    found: dict[str, Level] = {}
    for finding in findings:
        for position in finding.positions:
            found[position] = min(found.get(position, finding.level), finding.level, key=lambda level: level.rank)
    return found


def _side(build: Build, levels: dict[str, Level]) -> Side:
    return Side(paths_of(build, levels), _wiring(build.view), stack_of(build.view))


def _side_view(before: Build | None, context: Context, levels: dict[str, Level]) -> SideView:
    """All positions that are filled, were filled before the change, or that a finding names."""
    view = context.view
    old = {} if before is None else before.bike.fitted
    names = dict.fromkeys([*view.bike.fitted, *old, *levels])
    places = (_place(view, name, old.get(name), context.changed, levels) for name in names)
    return SideView(tuple(place for place in places if place is not None), outline_of(view))


def _place(
    view: View, name: str, old: Fitted | None, changed: frozenset[str], levels: dict[str, Level]
) -> SeatedPart | None:
    row = view.standards.position(name)
    if row is None:
        return None  # a finding about no position of a bike, such as a system
    spot = view.bike.get(name)
    lies = spot or old
    on, ends = (None, ()) if lies is None else (lies.on, (lies.start, lies.end))
    return SeatedPart(
        position=name,
        row=row.id,
        part="" if spot is None else spot.part.name,
        level=levels.get(name),
        changed=name in changed,
        on=on,
        ends=tuple(end for end in ends if end is not None),
    )


def _wiring(view: View) -> tuple[WiringTree, ...]:
    return tuple(
        WiringTree(
            system,
            tuple(_device(view, name, spot) for name, spot in sorted(graph.devices.items())),
            tuple(_edge(view, wire) for wire in graph.wires),
        )
        for system, graph in systems(view)
    )


def _device(view: View, name: str, spot: Fitted | None) -> Device:
    row = view.standards.position(name)
    found = spot or view.bike.get(name)
    part = None if found is None else found.part
    return Device(
        position=name,
        row=name if row is None else row.id,
        part="" if part is None else part.name,
        kind="" if part is None else part.kind,
        power=None if part is None else part.power,
    )


def _edge(view: View, wire: Fitted) -> WireEdge:
    return WireEdge(wire.position, wire.start or "", wire.end or "", size_at(view, wire.position, "length_mm"))
