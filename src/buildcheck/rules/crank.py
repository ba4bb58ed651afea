"""Cranks: the span of the bearings, room at the stays, the rings of a set."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

from buildcheck.fit.context import Context
from buildcheck.fit.drivetrain import ring_positions, ring_teeth
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import (
    Amount,
    Answer,
    Fact,
    Test,
    as_amount,
    is_not_word,
    is_word,
    largest,
    one_of,
    worked_out,
)
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Value, Word, say
from buildcheck.rules.crank_facts import ring_count, ring_places
from buildcheck.trade.crank import ARM_CLEARANCE_MM, PLAY_MOST_MM, SPAN_TOLERANCE_MM, bearing_span_mm


class _Bearings(NamedTuple):
    """Outer face to outer face of the bearings with their spacers, and what the crank is made for."""

    span: Amount
    made_for: Amount
    by_spacers: Test
    positions: tuple[str, ...]

    @property
    def told(self) -> dict[str, Value]:
        """Both sizes for a sentence."""
        return {"span": self.span.told("mm"), "made_for": self.made_for.told("mm")}


def _bearings(view: View) -> _Bearings | None:
    """The bearings of a bike; None where a part is missing. Not all cranks take their play up by spacers."""
    return view.layout.recall("bearings-of-crank", lambda: _find_bearings(view))


def _find_bearings(view: View) -> _Bearings | None:
    needed = (("bottom-bracket", "bearing_span_mm"), ("bottom-bracket", "shell_width_min_mm"),
              ("frame", "bb_shell_width_mm"), ("crankset", "bearing_span_mm"))  # fmt: skip
    if not all(view.has(position, attribute) for position, attribute in needed):
        return None
    span, least, shell, made_for = (view.amount(position, attribute) for position, attribute in needed)
    spacers = [name for name in view.of_row("bb-spacer") if view.has(name, "thickness_mm")]
    total = worked_out(bearing_span_mm, span, least, shell, view.total(spacers, "thickness_mm"))
    by_thread = view.standards.words_with("spindle", "play_by_thread")
    by_spacers = is_not_word(view.word("bottom-bracket", "spindle"), *by_thread)
    return _Bearings(total, made_for, by_spacers, ("crankset", *spacers, "bottom-bracket"))


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="the makers' own figures on both records; 0.5 mm is our choice",
)  # fmt: skip
def crank_spindle_too_short(self: Rule, context: Context) -> Iterator[Finding]:
    """The bearings with their spacers stand further apart than the crank's spindle is made for.

    The second arm does not reach its place: its bolts pull on too few splines, or on the bearings. An arm that
    works loose under a standing rider throws him.

    Cure: fewer spacers, a bottom bracket that builds less wide in this shell, or a crank with a longer spindle.
    """
    found = _bearings(context.view)
    if found is None:
        return
    test = (found.span - found.made_for).at_most(SPAN_TOLERANCE_MM).only_if(found.by_spacers)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        found.positions,
        fault=say(
            "The bearings measure {span} from outer face to outer face; the crank is made for {made_for}.",
            **found.told,
        ),
        ask="whether the spindle reaches through the bearings",
    )


@rule(
    Level.EXTRA,
    use_proves=Proof.NOTHING,
    source="the makers' own figures on both records; spacers of 2.5 mm from memory; 1 mm is our choice",
    rider=False,
)
def crank_play_left(self: Rule, context: Context) -> Iterator[Finding]:
    """The bearings stand less far apart than the crank is made for, and no spacer fills the rest.

    The crank then slides from side to side by what is missing. A shell of 68 mm takes more spacers than one of
    73 mm for the same crank; rings of 2.5 mm are usual. Tightening the arms cannot take the play up.

    Cure: spacers beside the cups, on the side that the crank's maker names.
    """
    found = _bearings(context.view)
    if found is None:
        return
    left = found.made_for - found.span
    test = left.at_most(PLAY_MOST_MM).only_if(found.by_spacers)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        found.positions,
        fault=say(
            "The bearings measure {span} from outer face to outer face; the crank is made for {made_for}, so {left} of "
            "spacers are missing.",
            **found.told, left=left.told("mm"),
        ),
        ask="whether spacers are needed beside the cups",
    )


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.RIDDEN,
    source="geometry; 2 mm on each side is our choice, 2 to 3 mm are common practice",
    rider=True,
)
def crank_arm_close_to_stay(self: Rule, context: Context) -> Iterator[Finding]:
    """There is less than 2 mm between a crank arm and the stay.

    Arms and stays give under a hard push, and grit gets between. What passes on the stand can rub on the road. A
    bottom bracket with a shorter spindle than the crank is made for brings the arms nearer by all that it is shorter;
    where they then meet the stays it blocks.

    Cure: a crank with more room between its arms, or the spindle it is made for; look for rub marks at the first
    service.
    """
    view = context.view
    if not view.has("crankset", "arm_room_mm") or not view.has("frame", "crank_room_mm"):
        return
    room, stays = view.amount("crankset", "arm_room_mm"), view.amount("frame", "crank_room_mm")
    if not room.at_least(stays).yes:
        return  # told by crank-arm-hits-stay
    left = room - stays - _nearer_by_spindle(view)
    usual = left.at_least(2 * ARM_CLEARANCE_MM)
    if self.is_silent(usual):
        return
    yield from self.judge_with_limit(
        usual,
        left.at_least(0.0),
        ("crankset", "frame"),
        fault=say(
            "Between the arms there are {room} and the stays are {stays} wide: on each side {left}, less than {least}.",
            room=room.told("mm"), stays=stays.told("mm"), left=(left / 2).told("mm"),
            least=as_amount(ARM_CLEARANCE_MM).told("mm"),
        ),
        ask="whether the arms pass the stays on this spindle",
    )


def _nearer_by_spindle(view: View) -> Amount:
    """What both arms together stand nearer to the stays because the spindle is shorter than the crank is made for."""
    if not view.has("bottom-bracket", "spindle_length_mm") or not view.has("crankset", "spindle_length_mm"):
        return as_amount(0.0)
    made_for, fitted = (view.amount(position, "spindle_length_mm") for position in ("crankset", "bottom-bracket"))
    shorter = largest((made_for - fitted, as_amount(0.0)))
    own_spindle = view.standards.words_with("spindle", "comes_with_bracket")
    of_bracket = is_word(view.word("bottom-bracket", "spindle"), *own_spindle)
    if of_bracket.no:
        return as_amount(0.0).resting_on(of_bracket)
    return shorter.resting_on(of_bracket) if of_bracket.yes else one_of(shorter, as_amount(0.0)).resting_on(of_bracket)


@rule(
    Level.BLOCKS, use_proves=Proof.RIDDEN,
    source="the frame maker's own figure on the record; common practice, no source",
)  # fmt: skip
def chainring_hits_stay(self: Rule, context: Context) -> Iterator[Finding]:
    """A ring is larger than the frame has room for beside its chainstay.

    A ring of two or three stands further out than a single one, so frames have a limit for each. A ring that
    touches saws into the stay, and a carbon stay breaks without a warning.

    Cure: a smaller ring; another chain line only if the frame's maker allows it.
    """
    view = context.view
    rings = ring_teeth(view)
    if not rings or not view.has("frame", "ring_max_single_teeth", "ring_max_outer_teeth"):
        return
    limit, place = _stay_limit(view)
    biggest = largest(rings)
    test = biggest.at_most(limit)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        (*ring_places(view), "frame"),
        fault=say(_HITS_STAY[place], ring=biggest.told("teeth"), limit=limit.told("teeth")),
        ask="whether the largest ring passes the chainstay",
    )


_HITS_STAY = {
    "single": "The largest ring has {ring}; this frame takes {limit} as a single ring.",
    "of-a-set": "The largest ring has {ring}; this frame takes {limit} as the largest ring of a set.",
    "either": "The largest ring has {ring}; this frame takes {limit} single or in a set.",
}


def _stay_limit(view: View) -> tuple[Amount, str]:
    """The largest ring beside the stay, and as what; either limit where nobody knows how many rings there are."""
    count = ring_count(view)
    single, outer = (view.amount("frame", f"ring_max_{which}_teeth") for which in ("single", "outer"))
    if count.high <= 1:
        limit, place = single, "single"
    elif count.low > 1:
        limit, place = outer, "of-a-set"
    else:
        limit, place = one_of(single, outer), "either"
    return limit.resting_on(count), place


@rule(
    Level.BLOCKS, use_proves=Proof.RIDDEN,
    source="the crank maker's own figure on the record; common practice, no source",
)  # fmt: skip
def chainring_too_small_for_spider(self: Rule, context: Context) -> Iterator[Finding]:
    """A ring has fewer teeth than the arms of its spider leave room for.

    The chain then rides on the ends of the arms instead of in the teeth. About 33 teeth are the least on a circle
    of 110 mm and 38 on 130 mm. An inner ring on a smaller circle of its own is another matter.

    Cure: a larger ring, or a crank with a smaller bolt circle.
    """
    view = context.view
    if not view.has("crankset", "ring_min_teeth", "ring_mounts"):
        return
    limit = view.amount("crankset", "ring_min_teeth")
    for ring in each(ring_positions(view)):
        teeth = view.amount(ring, "teeth")
        enough = teeth.at_least(limit)
        if self.is_silent(enough):
            continue
        test = enough.only_if(_on_outer_circle(view, ring))
        if self.is_silent(test):
            continue
        told: dict[str, Value] = {
            "ring": view.name(ring), "teeth": teeth.told("teeth"), "limit": limit.told("teeth"),
        }  # fmt: skip
        yield from self.judge(
            test,
            (ring, "crankset"),
            fault=say("{ring} has {teeth}; the spider takes {limit} or more.", **told),
            ask=say("whether the chain on {ring} clears the spider", **told),
        )


def _on_outer_circle(view: View, ring: str) -> Test:
    """Is a ring bolted to the largest circle of the crank? That is the one whose arms the limit is about."""
    offered, mount = view.word("crankset", "ring_mounts"), view.word(ring, "ring_mount")
    if offered.held is None or mount.held is None:
        return Test(Answer.UNKNOWN, (offered, mount))
    sizes = {term.id: term.value or 0.0 for term in view.standards.vocabularies["ring-mount"].terms}
    outer = max(offered.held, key=lambda word: (sizes.get(word, 0.0), word))
    return Test(Answer.YES if mount.held == outer else Answer.NO, (offered, mount))


@rule(Level.BLOCKS, use_proves=Proof.ASSEMBLED, source="common practice, no source")
def more_rings_than_places(self: Rule, context: Context) -> Iterator[Finding]:
    """There are more chainrings than the crank has places for.

    Usually an old ring was left in the list when the set was changed.

    Cure: take off what does not belong, or fit a crank for this number of rings.
    """
    view = context.view
    rings = ring_positions(view)
    if rings and view.has("crankset", "rings"):
        fitted, places = as_amount(len(rings)), view.amount("crankset", "rings")
        test = fitted.at_most(places)
        if self.is_silent(test):
            return
        yield from self.judge(
            test,
            ("crankset", *rings),
            fault=say(
                "{fitted} are fitted; the crank has places for {places}.",
                fitted=fitted.told("chainrings"), places=places.told("rings"),
            ),
            ask="whether the crank has a place for each chainring",
        )


@rule(
    Level.BLOCKS, Level.CAUTION, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source", rider=True,
)  # fmt: skip
def chainring_in_wrong_place(self: Rule, context: Context) -> Iterator[Finding]:
    """A ring does not suit its place in the set: two for one place, a single among others, or in the wrong order.

    Where a ring has more teeth than one outside it, the chain that runs on the outer one strikes it and climbs off.
    An outer ring has ramps and pins that lift the chain, an inner one has not, and a single one has tall teeth
    that hold the chain when it should move on. Bolted in another's place a ring turns, and shifts badly or not.

    Cure: the ring that its maker lists for this place.
    """
    view = context.view
    places = [
        (name, view.word(name, "place_in_set"), view.amount(name, "teeth"))
        for name in ring_positions(view) if view.has(name, "place_in_set")
    ]  # fmt: skip
    for one, other in each(combinations(places, 2)):
        yield from _one_place(self, view, one, other)
        words = one[1].value, other[1].value
        if "single" in words and words[0] != words[1]:
            only, rest = (one, other) if words[0] == "single" else (other, one)
            text = say(
                "{only} is made to be the only ring, and {other} is beside it.",
                only=view.name(only[0]), other=view.name(rest[0]),
            )  # fmt: skip
            yield self.tell(text, (only[0], rest[0]), level=Level.CAUTION)
        elif None not in words and words[0] != words[1]:
            lower, upper = sorted((one, other), key=lambda ring: _from_inside(view, ring))
            test = lower[2].at_most(upper[2])
            if self.is_silent(test):
                continue
            yield from self.judge(
                test,
                (lower[0], upper[0]),
                fault=say(
                    "{lower} is made for the place {lower_place} and has more teeth than {upper} in the place "
                    "{upper_place}: {lower_teeth} against {upper_teeth}.",
                    lower=view.name(lower[0]), lower_place=lower[1].told(), lower_teeth=lower[2].told("teeth"),
                    upper=view.name(upper[0]), upper_place=upper[1].told(), upper_teeth=upper[2].told("teeth"),
                ),
                ask=say("whether {one} is smaller than {two}", one=view.name(lower[0]), two=view.name(upper[0])),
            )


_Ring = tuple[str, Fact, Amount]


def _one_place(self: Rule, view: View, one: _Ring, other: _Ring) -> Iterator[Finding]:
    """Two rings for one place in the set cannot be bolted beside each other."""
    places = one[1], other[1]
    known = other[1].value is not None
    test = is_not_word(one[1], other[1].value) if known else Test(Answer.UNKNOWN, places)
    if self.is_silent(test):
        return
    told: dict[str, Value] = {"one": view.name(one[0]), "other": view.name(other[0]), "place": one[1].told()}
    yield from self.judge(
        test,
        (one[0], other[0]),
        fault=say("{one} and {other} are both made for the place {place}.", **told),
        ask=say("whether {one} and {other} are made for two places", **told),
    )


def _from_inside(view: View, ring: _Ring) -> float:
    """Where the place that a ring is made for comes, counted from the inside."""
    return view.size_of_word(ring[0], "place_in_set", "ring-place").low


@rule(Level.NOTE, use_proves=Proof.NOTHING, source="what the words mean", needs_change=True)
def pair_partly_replaced(self: Rule, context: Context) -> Iterator[Finding]:
    """One pedal is fitted where a pair is on record.

    The old one of that side comes off, and the other one stays, so that the record of the pair stands for that one
    from now on. Two pedals of different height or grip are noticed at once.

    Cure: none needed; keep the old one, or fit the other side, too.
    """
    view = context.view
    for single, pair, side in each(_OF_A_PAIR):
        if single not in view.bike or pair not in view.bike or not context.is_changed(single):
            continue
        if context.before is None or single not in context.before.bike:
            fault = say(_COMES_OFF[side], part=view.name(single), pair=view.name(pair))
            yield self.tell(fault, (single, pair))


_OF_A_PAIR = tuple(
    (f"{rider}pedal-{side}", f"{rider}pedals", side) for rider in ("", "front-") for side in ("left", "right")
)
_COMES_OFF = {
    "left": "{part} takes the place of the left one of {pair}, which comes off; the right one stays.",
    "right": "{part} takes the place of the right one of {pair}, which comes off; the left one stays.",
}


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="bicycle glossary, pedal; common practice")
def thread_of_wrong_hand(self: Rule, context: Context) -> Iterator[Finding]:
    """A pedal or a crank arm has the thread of the other side.

    A right pedal has a right-hand thread and a left one a left-hand thread, so that the turning of the crank tightens
    them. The pedal of the other side does not start in the arm, or ruins its thread. A right arm that is turned round
    to the left takes a right pedal, which then unscrews itself while riding.

    Cure: the pedal or the arm that is made for this side; they are marked R and L.
    """
    view = context.view
    for at, hand in each(view.of_one_hand()):
        has = view.word(at, "thread_hand")
        test = is_word(has, hand)
        if self.is_silent(test):
            continue
        yield from self.judge(
            test,
            (at,),
            fault=say(
                "{part} has a thread that is {has}; on this side it must be {hand}.",
                part=view.name(at), has=has.told(), hand=Word(hand),
            ),
            ask=say("whether the thread of {part} is of the hand of its side", part=view.name(at)),
        )  # fmt: skip
