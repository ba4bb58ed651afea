"""What has to be done with each part for a change: from the support graph and the ways of the lines.

Nothing here is a list per job. A part that is replaced comes off and the new one goes on; whatever is
mounted on it moves; what stands above it in the stack is lifted; a line through a bore that comes off is
pulled out and threaded again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from enum import StrEnum
from typing import NamedTuple

from buildcheck.fit.context import Build, Context
from buildcheck.fit.lines import LINE_KINDS, Route
from buildcheck.fit.support import carried_by
from buildcheck.model.bikes import Fitted
from buildcheck.model.sentences import At, Said, say


class Verb(StrEnum):
    """What is done with the part at a position."""

    TAKE_OFF = "take-off"
    FIT = "fit"
    MOVE = "move"
    THREAD = "thread"
    RELAY = "re-lay"


class Disturbance(NamedTuple):
    """One thing done with the part at one position; `why` names the cause in words.

    `due_to` is the changed position that makes it necessary by itself as long as the part here stays; with
    `by_way` that holds only while the line keeps its new way. Where it is empty no single position does.
    """

    position: str
    verb: Verb
    kind: str
    why: Said
    due_to: str = ""
    by_way: bool = False


def asked_disturbances(context: Context, asked: Iterable[str]) -> list[Disturbance]:
    """The bare swap: old parts off, new parts on, at the positions that were asked for and nothing else."""
    wanted = set(asked)
    return [one for one in _changed(context, say("as asked")) if one.position in wanted]


def all_disturbances(context: Context) -> list[Disturbance]:
    """Everything that the change makes necessary, each once, in a fixed order."""
    if context.before is None or not context.changed:
        return []
    found: dict[tuple[str, Verb], Disturbance] = {}
    for one in (*_changed(context, say("changed")), *_moved(context), *_lines(context)):
        found.setdefault((one.position, one.verb), one)
    return sorted(found.values())


def _kind(build: Build, position: str) -> str:
    return build.bike[position].part.kind


def _is_main(build: Build, position: str) -> bool:
    return position in build.bike and build.bike[position].is_main


def _changed(context: Context, why: Said) -> Iterator[Disturbance]:
    before = context.before
    assert before is not None
    for position in sorted(context.changed):
        if _is_main(before, position):
            yield Disturbance(position, Verb.TAKE_OFF, _kind(before, position), why, position)
        if _is_main(context, position):
            yield Disturbance(position, Verb.FIT, _kind(context, position), why, position)


def _moved(context: Context) -> Iterator[Disturbance]:
    """What is mounted on a changed part, or above it in the stack, or holds it, and stays on the bike."""
    before = context.before
    assert before is not None
    causes: dict[str, tuple[Said, str]] = {}
    for position in sorted(context.changed):
        if position in before.bike:
            riders = carried_by(before.support, position)
            _disturb(before, before.bike[position], _in_the_way(before, position, riders), causes)
        elif position in context.bike:
            # A ring behind the cassette: what holds it must be off before it goes on.
            holding = [name for name in holders(context, position) if name in before.bike]
            _disturb(before, context.bike[position], holding, causes)
    for name, spot in before.bike.fitted.items():
        now = context.bike.get(name)
        if now is not None and now.on != spot.on and now.is_main and now.on is not None:
            causes.setdefault(name, (say("the {position} comes to lie under it", position=At(now.on)), ""))
    for name, (cause, due_to) in sorted(causes.items()):
        if name not in context.changed and _is_main(context, name) and _kind(context, name) not in LINE_KINDS:
            carrier = context.bike[name].on
            gone = carrier is not None and carrier not in context.bike
            verb = Verb.TAKE_OFF if gone else Verb.MOVE
            yield Disturbance(name, verb, _kind(context, name), cause, "" if gone else due_to)


def _disturb(before: Build, spot: Fitted, in_the_way: list[str], causes: dict[str, tuple[Said, str]]) -> None:
    """Note what has to move so that a part can come off or go on, and what has to move for that."""
    todo = [(name, spot.position) for name in in_the_way]
    while todo:
        name, cause = todo.pop()
        home = before.bike[name].home
        if home in causes or home == spot.home:
            continue
        causes[home] = say("it has to come off for the {position}", position=At(cause)), spot.home
        stacked = [rider for rider in carried_by(before.support, name) if before.view.row(rider).stacked]
        riders = stacked if before.view.row(name).stacked else []
        todo += [(rider, cause) for rider in _in_the_way(before, name, riders)]


def _in_the_way(before: Build, position: str, riders: list[str]) -> list[str]:
    """The riders of a part, and the positions that hold it fast."""
    return [*riders, *holders(before, position)]


def holders(build: Build, position: str) -> list[str]:
    """What must be off before the part can come off: what holds it, or what it sits inside of."""
    row, carrier = build.view.row(position), build.bike[position].on
    inside = [carrier] if row.after_carrier and carrier is not None else []
    return [name for name in (*row.held_by, *inside) if name in build.bike]


def _lines(context: Context) -> Iterator[Disturbance]:
    before = context.before
    assert before is not None
    for line in context.view.of_kind(LINE_KINDS):
        name = line.position
        if name in context.changed:
            continue
        old, new = before.routing.routes.get(name), _new_route(context, name)
        homes = context.changed
        kind, by_old, by_new = _kind(context, name), _closed_in(old, homes, None), _closed_in(new, homes, old)
        if home := by_new or by_old:
            words = say("its way leads through the {position}", position=At(home))
            yield Disturbance(name, Verb.THREAD, kind, words, by_old or home, by_way=not by_old)
        elif home := _touched(old, homes) or _touched(new, homes):
            words = say("it runs along the {position}", position=At(home))
            yield Disturbance(name, Verb.RELAY, kind, words, home, by_way=True)


def _new_route(context: Context, name: str) -> Route | None:
    choices = context.routing.homeless.get(name)
    return context.routing.routes.get(name) or (choices[0] if choices else None)


def _closed_in(route: Route | None, homes: frozenset[str], other: Route | None) -> str | None:
    """A part with a closed bore on the way that is new to the line, or that comes off."""
    known = {way.id for way in other.ways} if other is not None else set()
    for way in route.ways if route is not None else ():
        if way.closed and (way.spot.home in homes or (other is not None and way.id not in known)):
            return way.spot.home
    return None


def _touched(route: Route | None, homes: frozenset[str]) -> str | None:
    for way in route.ways if route is not None else ():
        if way.spot.home in homes:
            return way.spot.home
    return None
