"""Cranks: the span of the bearings, room at the stays, the rings of a set."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

from buildcheck.fit.context import Context
from buildcheck.fit.drivetrain import ring_positions, ring_teeth
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Answer, Fact, Test, is_not_word, largest, one_of, worked_out
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.rules.crank_facts import ring_count, ring_places
from buildcheck.trade.crank import ARM_CLEARANCE_MM, PLAY_MOST_MM, SPAN_TOLERANCE_MM, bearing_span_mm


class _Bearings(NamedTuple):
    """Outer face to outer face of the bearings with their spacers, and what the crank is made for."""

    span: Amount
    made_for: Amount
    by_spacers: Test
    positions: tuple[str, ...]

    @property
    def told(self) -> str:
        """Both sizes in words."""
        return (
            f"The bearings measure {self.span.shown('mm')} from outer face to outer face; the crank is made for "
            f"{self.made_for.shown('mm')}"
        )


def _bearings(view: View) -> _Bearings | None:
    """The bearings of a bike; None where a part is missing. Not all cranks take their play up by spacers."""
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


@rule(Level.BLOCKS, source="the makers' own figures on both records; 0.5 mm is our choice")
def crank_spindle_too_short(self: Rule, context: Context) -> Iterator[Finding]:
    """The bearings with their spacers stand further apart than the crank's spindle is made for.

    The second arm does not reach its place: its bolts pull on too few splines, or on the bearings. An arm that
    works loose under a standing rider throws him.

    Cure: fewer spacers, a bottom bracket that builds less wide in this shell, or a crank with a longer spindle.
    """
    found = _bearings(context.view)
    if found is None:
        return
    yield from self.judge(
        (found.span - found.made_for).at_most(SPAN_TOLERANCE_MM).only_if(found.by_spacers),
        found.positions,
        fault=f"{found.told}.",
        ask="whether the spindle reaches through the bearings",
        also=found.by_spacers.facts,
    )


@rule(Level.EXTRA, source="the makers' own figures on both records; spacers of 2.5 mm from memory; 1 mm is our choice")
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
    yield from self.judge(
        left.at_most(PLAY_MOST_MM).only_if(found.by_spacers),
        found.positions,
        fault=f"{found.told}, so {left.shown('mm')} of spacers are missing.",
        ask="whether spacers are needed beside the cups",
        also=found.by_spacers.facts,
    )


@rule(Level.CAUTION, source="our choice; 2 to 3 mm on each side is common practice")
def crank_arm_close_to_stay(self: Rule, context: Context) -> Iterator[Finding]:
    """There is less than 2 mm between a crank arm and the stay.

    Arms and stays give under a hard push, and grit gets between. What passes on the stand can rub on the road.

    Cure: a crank with more room between its arms; look for rub marks at the first service.
    """
    view = context.view
    if not view.has("crankset", "arm_room_mm") or not view.has("frame", "crank_room_mm"):
        return
    room, stays = view.amount("crankset", "arm_room_mm"), view.amount("frame", "crank_room_mm")
    left = room - stays
    if left.high < 0:
        return  # told by crank-arm-hits-stay
    yield from self.judge(
        left.at_least(2 * ARM_CLEARANCE_MM),
        ("crankset", "frame"),
        fault=f"Between the arms there are {room.shown('mm')} and the stays are {stays.shown('mm')} wide: on each side "
        f"{(left / 2).shown('mm')}, less than {ARM_CLEARANCE_MM:g} mm.",
        ask="",
    )


@rule(Level.BLOCKS, source="the frame maker's own figure on the record; common practice, no source")
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
    limit, kind = _stay_limit(view)
    biggest = largest(rings)
    yield from self.judge(
        biggest.at_most(limit),
        (*ring_places(view), "frame"),
        fault=f"The largest ring has {biggest.shown('teeth')}; this frame takes {limit.shown('teeth')} {kind}.",
        ask="whether the largest ring passes the chainstay",
    )


def _stay_limit(view: View) -> tuple[Amount, str]:
    """The largest ring beside the stay, and as what; either limit where nobody knows how many rings there are."""
    count = ring_count(view)
    single, outer = (view.amount("frame", f"ring_max_{which}_teeth") for which in ("single", "outer"))
    if count.high <= 1:
        limit, kind = single, "as a single ring"
    elif count.low > 1:
        limit, kind = outer, "as the largest ring of a set"
    else:
        limit, kind = one_of(single, outer), "single or in a set"
    return Amount(limit.low, limit.high, limit.facts + count.facts), kind


@rule(Level.BLOCKS, source="the crank maker's own figure on the record; common practice, from memory")
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
    for ring in ring_positions(view):
        teeth = view.amount(ring, "teeth")
        yield from self.judge(
            teeth.at_least(limit).only_if(_on_outer_circle(view, ring)),
            (ring, "crankset"),
            fault=f"{view.name(ring)} has {teeth.shown('teeth')}; the spider takes {limit.shown('teeth')} or more.",
            ask=f"whether the chain on {view.name(ring)} clears the spider",
        )


def _on_outer_circle(view: View, ring: str) -> Test:
    """Is a ring bolted to the largest circle of the crank? That is the one whose arms the limit is about."""
    offered, mount = view.word("crankset", "ring_mounts"), view.word(ring, "ring_mount")
    if offered.value is None or mount.value is None:
        return Test(Answer.UNKNOWN, (offered, mount))
    sizes = {term.id: term.value or 0.0 for term in view.standards.vocabularies["ring-mount"].terms}
    outer = max(offered.value, key=lambda word: (sizes.get(word, 0.0), word))
    return Test(Answer.YES if mount.value == outer else Answer.NO, (offered, mount))


@rule(Level.BLOCKS, source="common practice, no source")
def more_rings_than_places(self: Rule, context: Context) -> Iterator[Finding]:
    """There are more chainrings than the crank has places for.

    Usually an old ring was left in the list when the set was changed.

    Cure: take off what does not belong, or fit a crank for this number of rings.
    """
    view = context.view
    rings = ring_positions(view)
    if rings and view.has("crankset", "rings"):
        places = view.amount("crankset", "rings")
        yield from self.judge(
            Amount(len(rings), len(rings)).at_most(places),
            ("crankset", *rings),
            fault=f"{len(rings)} chainrings are fitted; the crank has places for {places.shown('rings')}.",
            ask="whether the crank has a place for each chainring",
        )


@rule(Level.BLOCKS, Level.CAUTION, source="common practice, no source")
def chainring_in_wrong_place(self: Rule, context: Context) -> Iterator[Finding]:
    """A ring does not suit its place in the set: two for one place, a single among others, or in the wrong order.

    An outer ring has ramps and pins that lift the chain, an inner one has not, and a single one has tall teeth
    that hold the chain when it should move on. Bolted in another's place a ring turns, and shifts badly or not.

    Cure: the ring that its maker lists for this place.
    """
    view = context.view
    places = [
        (name, view.word(name, "place_in_set"), view.amount(name, "teeth"))
        for name in ring_positions(view) if view.has(name, "place_in_set")
    ]  # fmt: skip
    for one, other in combinations(places, 2):
        yield from _one_place(self, view, one, other)
        words = one[1].value, other[1].value
        if "single" in words and words[0] != words[1]:
            only, rest = (one, other) if words[0] == "single" else (other, one)
            text = f"{view.name(only[0])} is made to be the only ring, and {view.name(rest[0])} is beside it."
            yield self.tell(text, (only[0], rest[0]), (only[1], rest[1]), level=Level.CAUTION)
        elif None not in words and words[0] != words[1]:
            lower, upper = sorted((one, other), key=lambda ring: _from_inside(view, ring))
            yield from self.judge(
                lower[2].at_most(upper[2]),
                (lower[0], upper[0]),
                level=Level.CAUTION,
                fault=f"{view.name(lower[0])} is made for the place {lower[1].value} and has more teeth than "
                f"{view.name(upper[0])} in the place {upper[1].value}: {lower[2].shown('teeth')} against "
                f"{upper[2].shown('teeth')}.",
                also=(lower[1], upper[1]),
            )


_Ring = tuple[str, Fact, Amount]


def _one_place(self: Rule, view: View, one: _Ring, other: _Ring) -> Iterator[Finding]:
    """Two rings for one place in the set cannot be bolted beside each other."""
    places = one[1], other[1]
    known = other[1].value is not None
    yield from self.judge(
        is_not_word(one[1], other[1].value) if known else Test(Answer.UNKNOWN, places),
        (one[0], other[0]),
        fault=f"{view.name(one[0])} and {view.name(other[0])} are both made for the place {one[1].value}.",
        ask=f"whether {view.name(one[0])} and {view.name(other[0])} are made for two places",
        also=places,
    )


def _from_inside(view: View, ring: _Ring) -> float:
    """Where the place that a ring is made for comes, counted from the inside."""
    return view.size_of_word(ring[0], "place_in_set", "ring-place").low
