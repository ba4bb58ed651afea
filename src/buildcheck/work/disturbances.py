"""What has to be done with each part for a change: from the support graph and the ways of the lines.

Nothing here is a list per job. A part that is replaced comes off and the new one goes on; whatever is
mounted on it, stands above it in the stack or hides it moves; what depends on it is set anew. What the
lines call for stands in `line_disturbances`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from enum import StrEnum
from typing import NamedTuple

from buildcheck.fit.context import Build, Context
from buildcheck.fit.lines import LINE_KINDS
from buildcheck.fit.support import carried_by
from buildcheck.model.bikes import Fitted
from buildcheck.model.sentences import At, Said, say


class Verb(StrEnum):
    """What is done with the part at a position."""

    TAKE_OFF = "take-off"
    FIT = "fit"
    MOVE = "move"
    RESEAT = "reseat"
    THREAD = "thread"
    LEAD_IN = "lead-in"
    RELAY = "re-lay"
    LOOK_OVER = "look-over"
    RENEW_INNER = "renew-inner"
    HOOK_UP = "hook-up"
    OPEN_FAR = "open-far"
    SET = "set"
    UNDONE = "undone"


class Disturbance(NamedTuple):
    """One thing done with the part at one position; `why` names the cause in words.

    `due_to` is the changed position that makes it necessary by itself as long as the part here stays; with `by_way`
    that holds only while the line keeps its new way, and `rests_on`, attributes of parts, says how long that is.
    `beside` is what is done with a line that makes it necessary instead. Without any of them no single thing does.
    """

    position: str
    verb: Verb
    kind: str
    why: Said
    due_to: str = ""
    by_way: bool = False
    beside: Disturbance | None = None
    rests_on: frozenset[tuple[str, str]] = frozenset()


def asked_disturbances(context: Context, asked: Iterable[str]) -> list[Disturbance]:
    """The bare change: old parts off, new parts on, or elsewhere, at the positions that were asked for alone."""
    wanted, why = set(asked), say("as asked")
    moved = (one._replace(why=why) for one in _asked_to_move(context, wanted))
    return [*(one for one in changed_parts(context, why) if one.position in wanted), *moved]


def _asked_to_move(context: Context, asked: Collection[str]) -> Iterator[Disturbance]:
    """What was asked for and lies elsewhere on the bike: taken off and put on again, or mounted in another place."""
    for position in sorted(asked):
        if lies_elsewhere(context, position) and kind_of(context, position) not in LINE_KINDS:
            verb = Verb.RESEAT if is_reseated(context, position) else Verb.MOVE
            yield Disturbance(position, verb, kind_of(context, position), say("it goes to another place"), position)


def lies_elsewhere(context: Context, position: str) -> bool:
    """Does a part that stays on the bike stand, sit or end somewhere else?"""
    return position in context.touched - context.changed and context.bike[position].is_main


def kind_of(build: Build, position: str) -> str:
    """The kind of the part at a position."""
    return build.bike[position].part.kind


def _is_main(build: Build, position: str) -> bool:
    return position in build.bike and build.bike[position].is_main


def changed_parts(context: Context, why: Said) -> Iterator[Disturbance]:
    """What is replaced, new or gone."""
    before = context.before
    assert before is not None
    for position in sorted(context.changed):
        if _is_main(before, position):
            yield Disturbance(position, Verb.TAKE_OFF, kind_of(before, position), why, position)
        if _is_main(context, position):
            yield Disturbance(position, Verb.FIT, kind_of(context, position), why, position)


class MoveCause(NamedTuple):
    """Why a part moves, as in a disturbance."""

    why: Said
    due_to: str = ""
    beside: Disturbance | None = None


class InTheWay:
    """What has to move so that other things can be reached, each with the cause and what it is due to."""

    def __init__(self, before: Build) -> None:
        self.before = before
        self.causes: dict[str, MoveCause] = {}

    def note(self, names: Iterable[str], position: str, due_to: str, beside: Disturbance | None = None) -> None:
        """These have to move for what is done at a position, and what is in their way with them."""
        before, home = self.before, self.before.bike[position].home if position in self.before.bike else position
        todo = [(name, position) for name in names]
        while todo:
            name, cause = todo.pop()
            at = before.bike[name].home
            if at in self.causes or at == home:
                continue
            why = say("it has to come off for the {position}", position=At(cause))
            self.causes[at] = MoveCause(why, due_to, beside)
            stacked = [rider for rider in carried_by(before.support, name) if before.view.row(rider).stacked]
            riders = stacked if before.view.row(name).stacked else []
            todo += [(other, cause) for other in (*riders, *holders(before, name))]


def moved_parts(context: Context, unplugged: Iterable[tuple[str, Disturbance]]) -> Iterator[Disturbance]:
    """What is mounted on a changed part, above it in the stack, holds it or hides it, and stays on the bike.

    `unplugged` are the things whose place is opened for a wire, each with what is done with that.
    """
    before = context.before
    assert before is not None
    way = InTheWay(before)
    for position in sorted(context.changed):
        if position in before.bike:
            home = before.bike[position].home
            way.note((*carried_by(before.support, position), *holders(before, position)), position, home)
        elif position in context.bike:
            # A ring behind the cassette: what holds it must be off before it goes on.
            home, hidden = context.bike[position].home, hiders(context, position)
            holding = [name for name in holders(context, position) if name in before.bike]
            way.note([name for name in holding if name not in hidden], position, home)
            way.note([name for name in hidden if name in before.bike], position, "")
    for device, act in unplugged:
        way.note((*hiders(before, device), *_inside(before, device)), act.position, "", act)
    yield from _reseated(context, way)
    _restacked(context, way)
    causes = way.causes
    for name, spot in before.bike.fitted.items():
        now = context.bike.get(name)
        if now is not None and now.on != spot.on and now.is_main and now.on is not None:
            causes.setdefault(name, MoveCause(say("the {position} comes to lie under it", position=At(now.on))))
    for name, cause in sorted(causes.items()):
        if name not in context.changed and _stays_put(context, name):
            carrier = context.bike[name].on
            gone = carrier is not None and carrier not in context.bike
            if gone:
                yield Disturbance(name, Verb.TAKE_OFF, kind_of(context, name), cause.why)
            else:
                yield Disturbance(
                    name, Verb.MOVE, kind_of(context, name), cause.why, cause.due_to, beside=cause.beside
                )


def _restacked(context: Context, way: InTheWay) -> None:
    """What stands above a place of the stack that something leaves, or comes to, is lifted off before."""
    before = way.before
    for name in sorted(context.touched - context.changed):
        if name not in before.bike or not before.view.row(name).stacked:
            continue
        for below in (before.bike[name].on, context.bike[name].on if name in context.bike else None):
            if below is not None and below in before.bike:
                above = (rider for rider in carried_by(before.support, below) if before.view.row(rider).stacked)
                way.note(above, below, "")


def _reseated(context: Context, way: InTheWay) -> Iterator[Disturbance]:
    """What goes to another place on the bike; what is in its way here and there is noted."""
    for name in [name for name in context.bike.fitted if is_reseated(context, name)]:
        way.note(holders(way.before, name), name, name)
        way.note([held for held in holders(context, name) if held in way.before.bike], name, "")
        why = say("it goes to another place, on the {position}", position=At(context.bike[name].on or name))
        yield Disturbance(name, Verb.RESEAT, kind_of(context, name), why, name)


def is_reseated(context: Context, position: str) -> bool:
    """Does a thing with mounts stay on the bike and go to another place?"""
    assert context.before is not None
    was, now = context.before.bike.get(position), context.bike.get(position)
    if was is None or now is None or not now.part.mounts or not now.is_main or position in context.changed:
        return False
    return (was.on, was.place) != (now.on, now.place)


def _stays_put(context: Context, position: str) -> bool:
    """Does it come back to where it was? A line does not move, and what goes elsewhere has work of its own."""
    lies = _is_main(context, position) and kind_of(context, position) not in LINE_KINDS
    return lies and not is_reseated(context, position)


def holders(build: Build, position: str) -> list[str]:
    """What must be off before the part can come off: what holds it, what it sits inside of, what hides its place."""
    row = build.view.row(position)
    names = (*row.held_by, *_inside(build, position), *hiders(build, position))
    return [name for name in names if name in build.bike]


def _inside(build: Build, position: str) -> list[str]:
    carrier = build.bike[position].on
    inside = build.view.row(position).after_carrier and carrier in build.bike
    # What sits on nothing, such as the frame, does not come off for what is in it.
    return [carrier] if inside and carrier is not None and build.view.row(carrier).on else []


def hiders(build: Build, position: str) -> list[str]:
    """What sits in front of the place of a thing: the bottom bracket in front of a junction in the shell."""
    spot = build.bike[position]
    carrier = build.bike.get(spot.on)
    place = next((place for place in carrier.part.places if place.id == spot.place), None) if carrier else None
    if carrier is None or place is None or place.exposed:
        return []
    return [
        name for name in carried_by(build.support, carrier.position)
        if place.opening in build.view.row(name).hides
    ]  # fmt: skip


def set_anew(context: Context) -> Iterator[Disturbance]:
    """What stays and depends on something that is replaced: a front derailleur on its chainrings."""
    for spot in context.bike.main_spots():
        if spot.position in context.changed:
            continue
        for row_id in context.view.row(spot.position).set_after:
            for name in context.view.of_row(row_id):
                if name in context.changed and name in context.bike:
                    why = say("it is set by the {position}", position=At(name))
                    yield Disturbance(spot.position, Verb.SET, spot.part.kind, why, context.bike[name].home)


def of_kind_on(build: Build, position: str, kind: str) -> list[Fitted]:
    """What of a kind is mounted straight on a position."""
    spots = (build.bike[name] for name in carried_by(build.support, position))
    return [spot for spot in spots if spot.part.kind == kind]
