"""The torque sheet: every fastener that a job touches, how tight, with what on its thread, and with which wrench."""

from __future__ import annotations

from collections.abc import Iterable
from math import floor, inf
from typing import NamedTuple

from buildcheck.bench.opened import Done, OpenedPlace, opened_places, parted_places
from buildcheck.bench.wrenches import setting_for
from buildcheck.fit.contacts import Touch, compound_between, materials, torque_limits, touches
from buildcheck.fit.context import Context
from buildcheck.fit.facts import Amount
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.job import TorqueRow
from buildcheck.model.sentences import NOTHING, At, Attribute, Fixing, Said, Several, Value, Word, named, say
from buildcheck.model.workshop import Fastener
from buildcheck.trade.bolts import (
    NUT_FACTOR_AS_RECEIVED,
    NUT_FACTOR_GREASED,
    over_proof,
    preload_n,
    proof_load_n,
    proof_torque_nm,
    thread_mm,
)

_SLIPPERY = ("grease", "anti-seize")
CARBON = say("Carbon: from the low end upwards in small steps, and no further than it takes to hold.")


class Limit(NamedTuple):
    """A torque that the maker of one part states in N m; `own`: of the clamp itself, not of what sits in it."""

    position: str
    attribute: str
    amount: Amount
    least: bool
    own: bool

    @property
    def stated(self) -> bool:
        """Does the record have it?"""
        return self.amount.high < inf


class TorqueRange(NamedTuple):
    """How tight, in N m, None where nobody says; whose limit is the upper one, and what there is to say about it."""

    low_nm: float | None
    high_nm: float | None
    limited_by: Said
    cautions: tuple[Said, ...]
    by_makers: bool

    @property
    def empty(self) -> bool:
        """Does one maker ask for more than another allows?"""
        return self.low_nm is not None and self.high_nm is not None and self.low_nm > self.high_nm


def torque_rows(context: Context, operations: Iterable[Done]) -> tuple[TorqueRow, ...]:
    """Every fastener that these operations open or tighten, in the order of the fasteners' table.

    Of parts that come off for good only left-hand threads are told, with no torque.
    """
    done = list(operations)
    table = context.view.standards.fasteners
    rows = [_torque_row(context.view, place) for place in opened_places(context, done, table)]
    there = {(row.fastener, row.position) for row in rows}
    rows += [
        _parted_row(place)
        for place in parted_places(context, done, table)
        if place.row.hand == "left" and (place.row.id, place.spot.position) not in there
    ]
    order = {fastener.id: index for index, fastener in enumerate(table)}
    return tuple(sorted(rows, key=lambda row: (order[row.fastener], row.position)))


def _torque_row(view: View, place: OpenedPlace[Fastener]) -> TorqueRow:
    row, spot, _ = place
    compound, why, notes, slippery = _compound(view, spot, row)
    found, stress = _within_proof(row, range_of(row, limits_of(view, spot, row), view), slippery)
    cautions = [*_doubts(place), *found.cautions, *notes]
    setting = setting_for(view.standards, row, None if found.empty else (found.low_nm, found.high_nm))
    cautions += [*setting.cautions, *stress]
    if row.caution:
        cautions.append(named(Word(row.caution)))
    return TorqueRow(
        position=spot.position,
        fastener=row.id,
        what=named(_what(row)),
        low_nm=found.low_nm,
        high_nm=found.high_nm,
        limited_by=found.limited_by,
        thread=row.thread,
        hand=row.hand,
        compound=named(Several(tuple(compound), "; ")),
        compound_why=named(Several(tuple(map(Word, why)), "; ")),
        wrench=setting.wrench,
        set_nm=setting.set_nm,
        by_hand=row.by_hand,
        cautions=tuple(cautions),
        source=_source(row, found),
    )


def _source(row: Fastener, found: TorqueRange) -> Said:
    """Where the figures come from."""
    table = Word(row.source)
    return say("the makers' figures on record; for the rest: {table}", table=table) if found.by_makers else named(table)


def _parted_row(place: OpenedPlace[Fastener]) -> TorqueRow:
    row, spot, _ = place
    loosens = say("Left-hand thread: it comes off clockwise. The part comes off for good, so nothing is tightened.")
    return TorqueRow(
        position=spot.position, fastener=row.id, what=say("{what}, old part", what=_what(row)), low_nm=None,
        high_nm=None,
        limited_by=NOTHING, thread=row.thread, hand=row.hand, compound=NOTHING, compound_why=NOTHING,
        wrench=NOTHING, set_nm=None,
        by_hand=row.by_hand, cautions=(*_doubts(place), loosens), source=named(Word(row.source)),
    )  # fmt: skip


def _what(row: Fastener) -> Value:
    """The fastener by its name in the table, with its tool."""
    name = Fixing(row.id, row.what)
    return say("{what} ({tool})", what=name, tool=Word(row.tool)) if row.tool else name


def _doubts(place: OpenedPlace[Fastener]) -> list[Said]:
    found = []
    for name in place.doubts:
        words = place.row.where[name]
        told: dict[str, Value] = {
            "size": Attribute(name), "word": Several(tuple(map(Word, words.removeprefix("!").split("|"))), "or")
        }  # fmt: skip
        if words.startswith("!"):
            found.append(say("Only if its {size} is not {word}: the record does not say.", **told))
        else:
            found.append(say("Only if its {size} is {word}: the record does not say.", **told))
    return found


def limits_of(view: View, spot: Fitted, row: Fastener) -> list[Limit]:
    """What the makers of the parts that meet at this fastener can state of its torque, known or not, each once."""
    found: dict[tuple[str, str], Limit] = {}
    for touch in touches_of(view, spot, row):
        limits = torque_limits(view, touch)
        if limits is not None:
            for amount, position, least, own in (
                (limits.least, limits.clamp, True, True),
                (limits.most, limits.clamp, False, True),
                (limits.borne, limits.other, False, False),
            ):
                _keep(found, view, Limit(position, amount.facts[0].attribute, amount, least, own))
    for names, least in ((row.least, True), (row.most, False)):
        for name in names:
            other, _, attribute = name.rpartition(".")
            position = other or spot.position
            if view.has(position, attribute):
                amount = view.amount(position, attribute)
                _keep(found, view, Limit(position, attribute, amount, least, not other))
    return list(found.values())


def _keep(found: dict[tuple[str, str], Limit], view: View, limit: Limit) -> None:
    found.setdefault((view.bike[limit.position].home, limit.attribute), limit)


def touches_of(view: View, spot: Fitted, row: Fastener) -> list[Touch]:
    """The contacts of this fastener; of several of one row, such as two levers, those of its own part."""
    found = []
    for name in row.contacts:
        all_of_it = [touch for touch in touches(view) if touch.row.id == name]
        own = [touch for touch in all_of_it if spot.position in touch.places]
        found += own or (all_of_it if len(all_of_it) == 1 else [])
    ends = [end for end in ("front-", "rear-") if spot.position.startswith(end)]
    return [touch for touch in found if not ends or touch.a.startswith(ends[0])]


def range_of(row: Fastener, limits: list[Limit], view: View) -> TorqueRange:
    """From the most that is asked for to the least that is allowed; the usual figures only where its maker has none."""
    leasts = [limit for limit in limits if limit.least and limit.stated]
    mosts = [limit for limit in limits if not limit.least and limit.stated]
    asked = max((limit.amount.high for limit in leasts), default=None)
    upper = min(mosts, key=lambda limit: limit.amount.low, default=None)
    high = upper.amount.low if upper is not None else None
    usual = row.high_nm
    if any(limit.own for limit in mosts) or (usual is not None and asked is not None and asked > usual):
        usual = None
    if usual is not None and (high is None or usual < high):
        high, upper = usual, None
    low = asked
    if low is None and row.low_nm is not None and (high is None or row.low_nm <= high):
        low = row.low_nm
    whose = named(view.name(upper.position)) if upper else NOTHING
    found = TorqueRange(low, high, whose, (), asked is not None and upper is not None)
    return found._replace(cautions=tuple(_range_cautions(row, limits, found, view)))


def _range_cautions(row: Fastener, limits: list[Limit], found: TorqueRange, view: View) -> list[Said]:
    if row.by_hand:
        return []
    cautions = [
        say("{part}: no {size} on record; look it up first.", part=view.name(position), size=Attribute(attribute))
        for position, attribute, amount, _, _ in limits
        if amount.high == inf
    ]
    if found.empty:
        cautions.insert(
            0,
            say(
                "No torque is right: at least {low} N·m is asked for, and {part} bears at most {high} N·m. "
                "Do not build it so.",
                low=found.low_nm or 0.0, high=found.high_nm or 0.0, part=found.limited_by,
            ),
        )
    elif found.low_nm is None and found.high_nm is None:
        cautions.append(say("No figure on record: take that of the maker."))
    elif found.low_nm is None and row.low_nm is None:
        cautions.append(say("No least torque on record: ask the maker."))
    elif found.low_nm is None:
        text = "No least torque on record; the usual {usual} N·m is more than is allowed here."
        cautions.append(say(text, usual=row.low_nm or 0.0))
    elif found.high_nm is None:
        cautions.append(say("No greatest torque on record: ask the maker before you go beyond the least."))
    return cautions


class _Joint(NamedTuple):
    """Two clamped parts, what goes between them and why, or what has to be said because a material is not known."""

    how: str
    places: tuple[str, str]
    compound: str
    why: str
    note: Said | None = None


def _compound(view: View, spot: Fitted, row: Fastener) -> tuple[list[Value], list[str], list[Said], bool]:
    """What goes on the thread and between the clamped parts, why, what is to be said; is the thread slippery?"""
    thread: str = row.compound
    why = row.compound_why
    between: dict[Value, str] = {}
    notes = []
    found = touches_of(view, spot, row)
    for joint in (_joint(view, touch) for touch in found if touch.row.how is not None):
        one, other = (At(place) for place in joint.places)
        if joint.note is not None:
            notes.append(joint.note)
        elif joint.how == "thread" and joint.compound != thread:
            thread, why = joint.compound, joint.why
        elif joint.how != "thread" and joint.compound != "dry":
            text = say("{compound} between {one} and {other}", compound=Word(joint.compound), one=one, other=other)
            between[text] = joint.why
    if not row.by_hand and any("carbon" in materials(view, touch)[:2] for touch in found):
        notes.append(CARBON)
    on_thread = Word(thread) if thread == "dry" else say("{compound} on the thread", compound=Word(thread))
    return [on_thread, *between], [why, *between.values()], notes, thread.startswith(_SLIPPERY)


def _joint(view: View, touch: Touch) -> _Joint:
    one, other, _ = materials(view, touch)
    how = touch.row.how or ""
    telling = "titanium" if how == "thread" else "carbon"
    compound, why = compound_between(touch.row, (one or "", other or ""))
    unknown = [name for name, material in zip(touch.places, (one, other), strict=True) if material is None]
    note = None
    if telling not in (one, other) and any(_may_be_of_any(view, name) for name in unknown):
        wanted, _ = compound_between(touch.row, (telling, telling))
        note = say(
            "Material of {unknown} not known: if it is {material}, {compound} goes between {one} and {other}.",
            unknown=Several(tuple(map(At, unknown))), material=Word(telling), compound=Word(wanted),
            one=At(touch.a), other=At(touch.b),
        )  # fmt: skip
    return _Joint(how, touch.places, compound, why, note)


def _may_be_of_any(view: View, position: str) -> bool:
    """May a part whose record is silent be of any material?"""
    return view.standards.kinds[view.bike[position].part.kind].unsaid_material == "any"


def _within_proof(row: Fastener, found: TorqueRange, slippery: bool) -> tuple[TorqueRange, list[Said]]:
    """The range, ended where the bolt reaches its proof load (ISO 898-1), and what there is to say about that.

    A range that lies beyond it as a whole stays: no torque is told that its maker does not ask for.
    """
    if row.property_class is None or found.high_nm is None or row.by_hand or found.empty:
        return found, []
    factor = NUT_FACTOR_GREASED if slippery else NUT_FACTOR_AS_RECEIVED
    if not over_proof(found.high_nm, row.thread, row.property_class, factor):
        return found, []
    told: dict[str, Value] = {
        "torque": found.high_nm, "thread": row.thread, "grade": row.property_class, "factor": factor,
        "pull": round(preload_n(found.high_nm, thread_mm(row.thread)[0], factor)),
        "proof": round(proof_load_n(row.thread, row.property_class)),
    }  # fmt: skip
    top = floor(proof_torque_nm(row.thread, row.property_class, factor) * 10) / 10
    if found.low_nm is not None and found.low_nm > top:
        return found, [
            say(
                "{torque} N·m would pull a bolt {thread} of class {grade} with {pull} N (nut factor {factor}), beyond "
                "its proof load of {proof} N: keep the bolts that came with the part.",
                **told,
            )
        ]
    ended = found._replace(high_nm=top, limited_by=NOTHING)
    return ended, [
        say(
            "No more than {top} N·m, though {torque} N·m are allowed: those would pull a bolt {thread} of class "
            "{grade} with {pull} N (nut factor {factor}), beyond its proof load of {proof} N.",
            top=top, **told,
        )
    ]  # fmt: skip
