"""What has to be done with each line for a change, and with what stands in the way of it or is worked by it.

A line through a bore that comes off, or that is new to it, is pulled out and threaded; one in the open whose way
stays as long as it was follows its bar and is looked over; else it is laid again. Only a cable that was undone is set.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from buildcheck.fit.context import Build, Context
from buildcheck.fit.lines import LINE_KINDS, Route
from buildcheck.fit.threading import threading
from buildcheck.model.bikes import Fitted
from buildcheck.model.sentences import At, Said, say
from buildcheck.work.disturbances import (
    Disturbance,
    Verb,
    changed_parts,
    is_reseated,
    kind_of,
    moved_parts,
    of_kind_on,
    set_anew,
)

# A loop in front of the head tube gives and takes so much without being laid anew: our choice, half of what is too
# much spare length inside a frame.
LOOP_MM = 30.0
# A way that meets one of these lies in the air or under the tape, which is told with the tape: lines follow the bar.
_FREE = frozenset({"bar-centre", "under-stem"})


def all_disturbances(context: Context) -> list[Disturbance]:
    """Everything that the change makes necessary, each once, in a fixed order."""
    if context.before is None or not context.touched:
        return []
    changed = list(changed_parts(context, say("changed")))
    lines = list(_lines(context))
    moved = moved_parts(context, _unplugged(context, (*changed, *lines)))
    found: dict[tuple[str, Verb], Disturbance] = {}
    worked = _beside_undone(context, (*changed, *lines))
    for one in (*changed, *moved, *lines, *set_anew(context), *worked):
        found.setdefault((one.position, one.verb), one)
    return sorted(found.values())


def _lines(context: Context) -> Iterator[Disturbance]:
    before = context.before
    assert before is not None
    for line in context.view.of_kind(LINE_KINDS):
        name = line.position
        old, new = before.routing.routes.get(name), _new_route(context, name)
        homes = context.changed
        if name in homes:
            yield from _led_in(line, new)
            continue
        kind, by_old, by_new = kind_of(context, name), _closed_in(old, homes, None), _closed_in(new, homes, old)
        if home := by_new or by_old:
            words = say("its way leads through the {position}", position=At(home))
            yield Disturbance(name, Verb.THREAD, kind, words, by_old or home, by_way=not by_old)
            if kind == "hose" and new is not None and "end" in threading(context.view, new).cuts:
                yield Disturbance(name, Verb.OPEN_FAR, kind, words)
        elif end := next((end for end in (line.start, line.end) if end and is_reseated(context, end)), None):
            yield Disturbance(name, Verb.RELAY, kind, say("the {end} at its end goes elsewhere", end=At(end)))
        elif kind == "wire" and (other := _leads_elsewhere(before, line)):
            yield Disturbance(name, Verb.RELAY, kind, say("it leads to the {end} now", end=At(other)))
        elif end := _other_end(context, line.start, "start", name) or _other_end(context, line.end, "end", name):
            yield Disturbance(name, Verb.RELAY, kind, say("it leads to the {end} from now on", end=At(end)))
        else:
            yield from _in_the_open(context, line, old, new)
        yield from _at_its_ends(context, line, threaded=bool(by_new or by_old))


def _leads_elsewhere(before: Build, wire: Fitted) -> str | None:
    """The end of a wire that it did not lead to before."""
    was = before.bike.get(wire.position)
    ends = {wire.start, wire.end} - ({was.start, was.end} if was is not None else set())
    return next(iter(sorted(filter(None, ends))), None)


def _led_in(line: Fitted, new: Route | None) -> Iterator[Disturbance]:
    """A new line whose way leads through closed bores."""
    bore = next((way for way in new.ways if way.closed), None) if new is not None else None
    if bore is not None:
        words = say("its way leads through the {position}", position=At(bore.spot.home))
        yield Disturbance(line.position, Verb.LEAD_IN, line.part.kind, words, line.position, by_way=True)


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


def _in_the_open(context: Context, line: Fitted, old: Route | None, new: Route | None) -> Iterator[Disturbance]:
    """A line that runs along a changed part in the open."""
    homes, kind = context.changed, line.part.kind
    fixed = _touched(old, homes, fixed=True) or _touched(new, homes, fixed=True)
    if fixed:
        yield _laid_again(context, line, fixed)
        if kind == "housing" and not context.view.row(fixed).on:  # the frame, in whose stops the cable is hung
            yield Disturbance(line.position, Verb.HOOK_UP, kind, _along(fixed))
    elif loose := _touched(old, homes) or _touched(new, homes):
        if _stays_as_long(old, new):
            yield Disturbance(line.position, Verb.LOOK_OVER, kind, _along(loose))
        else:
            yield _laid_again(context, line, loose, new)


def _laid_again(context: Context, line: Fitted, along: str, new: Route | None = None) -> Disturbance:
    """A line that is laid again along a changed part, because of the length of its new way if that is given."""
    laid = Disturbance(line.position, Verb.RELAY, line.part.kind, _along(along))
    if line.position in context.routing.homeless:
        return laid
    facts = new.length.facts if new is not None else ()
    rests_on = frozenset((fact.position, fact.attribute.partition(".")[0]) for fact in facts)
    return laid._replace(due_to=along, by_way=True, rests_on=rests_on)


def _along(home: str) -> Said:
    return say("it runs along the {position}", position=At(home))


def _touched(route: Route | None, homes: frozenset[str], *, fixed: bool = False) -> str | None:
    """A changed part on the way; one along which the line is fixed, if that is asked."""
    for way in route.ways if route is not None else ():
        if way.spot.home in homes and not (fixed and {way.passage.start, way.passage.end} & _FREE):
            return way.spot.home
    return None


def _stays_as_long(old: Route | None, new: Route | None) -> bool:
    """Is the new way surely as long as the old one, but for what the loop gives and takes?"""
    if old is None or new is None or new.blocked:
        return False
    more = new.length - old.length
    return more.bounded and max(abs(more.least), abs(more.most)) <= LOOP_MM


def _at_its_ends(context: Context, line: Fitted, *, threaded: bool) -> Iterator[Disturbance]:
    """What is done at the ends of a line that stays, where the thing there is another one."""
    name, kind = line.position, line.part.kind
    start = _renewed(context, line.start) or _other_end(context, line.start, "start", name)
    far = _renewed(context, line.end)
    end = far or _other_end(context, line.end, "end", name)
    if kind == "hose" and end:
        yield Disturbance(name, Verb.OPEN_FAR, kind, _at_its_end(end), far)
    elif kind == "housing" and not threaded and (start or end):
        yield Disturbance(name, Verb.RENEW_INNER if start else Verb.HOOK_UP, kind, _at_its_end(start or end))


def _other_end(context: Context, now: str | None, which: str, line: str) -> str:
    """The position to which an end of a line leads now and did not before, or nothing."""
    was = context.before.bike.get(line) if context.before is not None else None
    return now if was is not None and now is not None and getattr(was, which) != now else ""


def _renewed(context: Context, position: str | None) -> str:
    """The position where there is another part than before, or nothing."""
    there = position is not None and position in context.changed and position in context.bike
    return context.bike[position].home if there and position is not None else ""


def _at_its_end(end: str) -> Said:
    return say("the {end} at its end changes", end=At(end))


def _unplugged(context: Context, acts: Iterable[Disturbance]) -> Iterator[tuple[str, Disturbance]]:
    """The things at whose place a wire is unplugged, each with what is done with that."""
    before = context.before
    assert before is not None
    for act in acts:
        if act.kind == "wire" and act.verb in (Verb.TAKE_OFF, Verb.THREAD):
            wire = before.bike[act.position]
            ends = (end for end in (wire.start, wire.end) if end is not None and end in before.bike)
            yield from ((end, act) for end in ends)


def _beside_undone(context: Context, acts: Sequence[Disturbance]) -> Iterator[Disturbance]:
    """Pads and wheels that come out of a brake whose hose is opened; what an undone cable works is set anew."""
    for kind, beside in (("hose", _out_of_the_brake), ("housing", _worked)):
        for line in context.view.of_kind((kind,)):
            cause = _undone(context, line, acts)
            if cause is not None and line.start in context.bike and line.end in context.bike:
                yield from beside(context, line, cause)


def _undone(context: Context, line: Fitted, acts: Sequence[Disturbance]) -> Disturbance | None:
    """What opens a hose, or undoes a cable: a new line, threading, another thing at an end, a frame beneath it."""
    own = {act.verb: act for act in acts if act.position == line.position}
    found = own.get(Verb.FIT) or own.get(Verb.THREAD)
    if found is not None:
        return found
    end = next((end for end in (line.start, line.end) if _renewed(context, end)), None)
    if end is not None:
        return Disturbance(line.position, Verb.HOOK_UP, line.part.kind, _at_its_end(end), _renewed(context, end))
    return own.get(Verb.HOOK_UP) or own.get(Verb.RENEW_INNER)


def _worked(context: Context, line: Fitted, cause: Disturbance) -> Iterator[Disturbance]:
    end = line.end or ""
    why = say("the {line} that works it was undone", line=At(line.position))
    yield Disturbance(end, Verb.UNDONE, kind_of(context, end), why, beside=cause)


def _out_of_the_brake(context: Context, hose: Fitted, cause: Disturbance) -> Iterator[Disturbance]:
    before: Build | None = context.before
    brake = before.bike.get(hose.end) if before is not None else None
    if before is None or brake is None:
        return
    wheels = ("front-wheel", "rear-wheel")
    spots = [spot for kind in wheels if brake.on is not None for spot in of_kind_on(before, brake.on, kind)]
    for spot in (*of_kind_on(before, brake.position, "brake-pads"), *spots):
        if spot.position not in context.changed and spot.position in context.bike:
            why = say("brake fluid must not come near it")
            yield Disturbance(spot.position, Verb.MOVE, spot.part.kind, why, beside=cause)
