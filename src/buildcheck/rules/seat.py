"""Seat post, shims and pedals: insertion at the rider's height, walls of shims, left-hand threads."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit import tape
from buildcheck.fit.causes import causes_of, sum_of
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Test, is_word, worked_out
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import At, Said, Value, say
from buildcheck.trade.seat import MARK_DIAMETERS, least_insertion_mm, post_inserted_mm, rails_above_tube_mm

# Posts come in steps of 0.2 mm, so a shim between two of them has walls of at least half of that.
LEAST_SHIM_STEP_MM = 0.2
# A post that moves by less does not drop: our choice.
LEAST_TRAVEL_MM = 1.0


def _saddle_height(context: Context) -> Amount:
    """The rider's saddle height. A frame that was just fitted knows no rider: the height on the old one holds."""
    height = context.view.amount("frame", "saddle_height_mm")
    if not height.known and context.before is not None and context.before.view.has("frame", "saddle_height_mm"):
        old = context.before.view.amount("frame", "saddle_height_mm")
        return old if old.known else height
    return height


def _rails(context: Context) -> Amount | None:
    """How far the saddle rails stand above the seat tube at the rider's height; None where a part is missing."""
    return context.view.once("rails", lambda: _find_rails(context))


def _find_rails(context: Context) -> Amount | None:
    view = context.view
    if not (view.has("frame", "saddle_height_mm") and view.has("saddle", "height_mm")):
        return None
    tube, saddle = view.amount("frame", "seat_tube_length_mm"), view.amount("saddle", "height_mm")
    return worked_out(rails_above_tube_mm, _saddle_height(context), tube, saddle)


def _inserted(context: Context) -> Amount | None:
    """How much of the post is in the seat tube at the rider's height; None where a part is missing."""
    view, rails = context.view, _rails(context)
    if rails is None or not view.has("seatpost", "length_mm") or not _is_post(view).yes:
        return None
    return worked_out(post_inserted_mm, view.amount("seatpost", "length_mm"), view.amount("seatpost", "head_mm"), rails)


def _is_post(view: View) -> Test:
    """Does it go into the seat tube? Else it is a cap over a mast."""
    return is_word(view.word("seatpost", "sits"), "in-the-tube")


def _why_so_high(context: Context) -> Cause:
    view = context.view
    tube, saddle = view.amount("frame", "seat_tube_length_mm"), view.amount("saddle", "height_mm")
    parts: tuple[tuple[Value, Amount], ...] = (
        (say("saddle height"), _saddle_height(context)), (say("seat tube"), -tube), (At("saddle"), -saddle),
    )  # fmt: skip
    return sum_of(say("the saddle rails stand above the seat tube"), parts)


def _why_so_deep(context: Context) -> tuple[Cause, ...]:
    """How high the rails stand, and what of the post that leaves for the seat tube."""
    view, rails = context.view, _rails(context)
    if rails is None:
        return ()
    post, head = view.amount("seatpost", "length_mm"), view.amount("seatpost", "head_mm")
    parts: tuple[tuple[Value, Amount], ...] = (
        (say("post"), post), (say("its head"), head),
        (say("height of the rails"), Amount(-rails.most, -rails.least)),  # its own facts are told below
    )  # fmt: skip
    return (sum_of(say("in the seat tube"), parts, below=(_why_so_high(context),)),)


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="16 CFR 1512.15(b): two diameters; the marks of the post's and the frame's makers",
)  # fmt: skip
def seatpost_inserted_too_little(self: Rule, context: Context) -> Iterator[Finding]:
    """Too little of the seat post is in the seat tube when the saddle is at the rider's height.

    What is in the tube follows from the saddle height, the seat tube, the saddle and the post. The post's
    own mark, the frame's least insertion and two diameters must all be kept. A post that sits too high
    levers the seat tube open above the top tube, and it breaks, or the post does.

    Cure: a longer post, or a frame with a longer seat tube. A mark that is out of sight is no proof for
    the frame: its least insertion may be more. In doubt ask the makers or a qualified mechanic.
    """
    view, inserted = context.view, _inserted(context)
    if inserted is None:
        return
    mark = view.amount("seatpost", "insertion_min_mm")
    frame = view.amount("frame", "seatpost_insertion_min_mm")
    two = worked_out(least_insertion_mm, view.amount("seatpost", "diameter_mm"))
    holds = inserted.at_least(mark).both(inserted.at_least(frame)).both(inserted.at_least(two))
    if self.is_silent(holds):
        return
    needed = max((mark, frame, two), key=lambda amount: amount.least)
    by = "mark" if needed is mark else "frame" if needed is frame else "diameters"
    yield from self.judge(
        holds,
        ("seatpost", "frame", "saddle"),
        fault=_too_little(inserted, needed, by),
        ask="whether enough of the seat post is in the seat tube at this rider's saddle height",
        because=lambda: (*_why_so_deep(context), *causes_of(needed.facts)),
    )


def _too_little(inserted: Amount, needed: Amount, by: str) -> Said:
    told: dict[str, Value] = {"needed": needed.told("mm")}
    if by == "diameters":
        told["count"] = MARK_DIAMETERS
    if inserted.most < 0:
        return say(_POST_ENDS_ABOVE[by], gap=(-inserted).told("mm"), **told)
    return say(_POST_TOO_LITTLE_IN[by], inserted=inserted.told("mm"), **told)


# By what asks for the most of the post.
_POST_ENDS_ABOVE = {
    "mark": "The seat post ends {gap} above the seat tube at this rider's saddle height; {needed} are needed by the "
    "post's mark.",
    "frame": "The seat post ends {gap} above the seat tube at this rider's saddle height; {needed} are needed by the "
    "frame.",
    "diameters": "The seat post ends {gap} above the seat tube at this rider's saddle height; {needed} are needed as "
    "{count} diameters of the post.",
}
_POST_TOO_LITTLE_IN = {
    "mark": "Only {inserted} of the seat post are in the seat tube at this rider's saddle height; {needed} are needed "
    "by the post's mark.",
    "frame": "Only {inserted} of the seat post are in the seat tube at this rider's saddle height; {needed} are needed "
    "by the frame.",
    "diameters": "Only {inserted} of the seat post are in the seat tube at this rider's saddle height; {needed} are "
    "needed as {count} diameters of the post.",
}


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=False,
    source="the frame maker's own limit; what ends the bore is from memory",
)  # fmt: skip
def seatpost_reaches_too_deep(self: Rule, context: Context) -> Iterator[Finding]:
    """The seat post goes deeper into the seat tube than the frame has room for at the rider's height.

    A bend, a bottle boss, a pivot or a wall ends the straight bore. A long post, and above all the long
    lower tube of a dropper post, comes to rest on it, and the saddle does not come down to the rider.

    Cure: a shorter post, or a dropper post with less travel. Cut a post only where its maker allows it,
    and never so that its mark is lost.
    """
    view, inserted = context.view, _inserted(context)
    if inserted is None:
        return
    limit = view.amount("frame", "seatpost_insertion_max_mm")
    test = inserted.at_most(limit)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("seatpost", "frame", "saddle"),
        fault=say(
            "{inserted} of the seat post would be in the seat tube at this rider's saddle height; the frame has room "
            "for {limit}.",
            inserted=inserted.told("mm"), limit=limit.told("mm"),
        ),
        ask="whether the seat tube has room for the post at this rider's saddle height",
        because=lambda: (*_why_so_deep(context), *causes_of(limit.facts)),
    )  # fmt: skip


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=False, source="arithmetic along the seat tube")
def dropper_too_tall(self: Rule, context: Context) -> Iterator[Finding]:
    """A dropper post stands too high for the rider even when it is pushed in as far as it goes.

    Its least height over the seat tube and its whole travel stand one upon the other. If that is more than
    the rider has between seat tube and saddle rails, full height is more than the rider can pedal.

    Cure: a dropper post with less travel or a lower head, a flatter saddle, or a limiter that the post's
    maker offers.
    """
    view, rails = context.view, _rails(context)
    if rails is None or not view.has("seatpost", "lowest_mm"):
        return
    travel = view.amount("seatpost", "travel_mm")
    least = view.amount("seatpost", "lowest_mm") + travel
    test = least.at_most(rails).only_if(travel.at_least(LEAST_TRAVEL_MM))
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("seatpost", "frame", "saddle"),
        fault=say(
            "The dropper post holds the saddle rails at least {least} above the seat tube when it is up; this rider "
            "has {rails} there.",
            least=least.told("mm"), rails=rails.told("mm"),
        ),
        ask="whether the dropper post comes down to this rider's saddle height",
        because=lambda: (
            sum_of(
                say("the post"),
                ((say("at its lowest"), view.amount("seatpost", "lowest_mm")), (say("travel"), travel)),
            ),
            _why_so_high(context),
        ),
    )  # fmt: skip


@rule(Level.CAUTION, use_proves=Proof.NOTHING, source="common practice, no source", rider=False)
def seat_clamp_idle(self: Rule, context: Context) -> Iterator[Finding]:
    """A collar sits on a frame that holds the seat post by a bolt or a wedge of its own.

    There is no slot that it could close. It holds nothing, and whoever tightens it instead of the frame's own bolt
    finds the saddle sinking on the road.

    Cure: leave it off, and tighten what the frame has.
    """
    view = context.view
    if not view.has("seat-clamp", "diameter_mm") or not view.has("frame", "post_held_by"):
        return
    test = is_word(view.word("frame", "post_held_by"), "collar")
    if self.is_silent(test):
        return
    fault = say(
        "{clamp} holds nothing: the seat post of {frame} is held by its {holder}.",
        clamp=view.name("seat-clamp"), frame=view.name("frame"), holder=view.word("frame", "post_held_by").told(),
    )  # fmt: skip
    yield from self.judge(test, ("seat-clamp", "frame"), fault=fault)


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="the mark of the cap's maker; arithmetic along the seat tube",
)  # fmt: skip
def mast_cap_too_high(self: Rule, context: Context) -> Iterator[Finding]:
    """The cap over a seat mast would have to be drawn up past its mark to reach the rider's saddle height.

    What is left of it on the mast no longer holds the rider: the mast splits at its end, or the cap tilts and breaks.
    A mast that was cut cannot be made longer.

    Cure: a cap with more height, which some makers offer, or a thicker saddle; else another frame.
    """
    view, rails = context.view, _rails(context)
    if rails is None or not view.has("seatpost", "rails_most_mm"):
        return
    most = view.amount("seatpost", "rails_most_mm")
    test = rails.at_most(most).only_if(_is_post(view).opposite())
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("seatpost", "frame", "saddle"),
        fault=say(
            "At this rider's saddle height the rails stand {rails} above the mast; the cap reaches {most}.",
            rails=rails.told("mm"), most=most.told("mm"),
        ),
        ask="whether the cap reaches this rider's saddle height",
        because=lambda: (_why_so_high(context), *causes_of(most.facts)),
    )  # fmt: skip


@rule(Level.EXTRA, use_proves=Proof.NOTHING, source="arithmetic along the seat tube", rider=False)
def seat_mast_too_long(self: Rule, context: Context) -> Iterator[Finding]:
    """The seat mast is too long for the rider: it has to be cut before the cap comes down to the saddle height.

    A mast is delivered long and cut for its rider. What is cut off cannot be put back, and the next, taller rider of
    the bike cannot use it.

    Cure: measure twice, cut it so that the cap stands in the middle of its range, and smooth the edge.
    """
    view, rails = context.view, _rails(context)
    if rails is None or not view.has("seatpost", "rails_least_mm"):
        return
    least = view.amount("seatpost", "rails_least_mm")
    test = rails.at_least(least).only_if(_is_post(view).opposite())
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("frame", "seatpost", "saddle"),
        fault=say(
            "At this rider's saddle height the rails stand {rails} above the mast; the cap needs {least}: cut the "
            "mast.",
            rails=rails.told("mm"), least=least.told("mm"),
        ),
        ask="whether the cap comes down to this rider's saddle height",
    )  # fmt: skip


# The side of a sleeve that lies inside, by its row, and the one that lies outside.
_SIDES: dict[str | None, tuple[str, str]] = {"a": ("side_a_mm", "side_b_mm"), "b": ("side_b_mm", "side_a_mm")}


@rule(Level.BLOCKS, use_proves=Proof.ASSEMBLED, source="geometry; least step of 0.2 mm: BikeGremlin, seat post sizes")
def shim_without_wall(self: Rule, context: Context) -> Iterator[Finding]:
    """A shim is to join two sizes that leave no room for its wall.

    A shim lies between a thinner part and a wider bore: it can only make a bore smaller. No sleeve makes a
    thick post thinner, and one that is entered so has its two sides mixed up.

    Cure: a part of the right size; a shim helps only where the bore is larger than what goes in.
    """
    view = context.view
    for position, (inner, outer) in each(view.layout.recall("sleeves", lambda: list(_sleeves(view)))):
        inside, outside = view.amount(position, inner), view.amount(position, outer)
        test = (inside + LEAST_SHIM_STEP_MM).at_most(outside)
        if self.is_silent(test):
            continue
        yield from self.judge(
            test,
            (position,),
            fault=say(
                "{part} is {inside} inside and {outside} outside: there is no wall between the two.",
                part=view.name(position), inside=inside.told("mm"), outside=outside.told("mm"),
            ),
            ask=say("whether {part} has a wall", part=view.name(position)),
        )  # fmt: skip


def _sleeves(view: View) -> Iterator[tuple[str, tuple[str, str]]]:
    """The sleeves on this bike, each with the attributes of its inner and its outer side."""
    for row in view.standards.positions.values():
        sides = _SIDES.get(row.inner_side)
        if sides is not None and view.has(row.id, *sides):
            yield row.id, sides


@rule(Level.CAUTION, use_proves=Proof.NOTHING, source="common practice, no source", rider=True)
def pedals_without_cleats(self: Rule, context: Context) -> Iterator[Finding]:
    """The pedals hold cleats, and nobody noted which ones the rider has under the shoes.

    Cleats go with the shoes and not with the bike, so that none on record is no fault. But a cleat of another family
    neither holds nor lets go, and on a smooth sole without cleats the foot slips off.

    Cure: ask for the shoes, compare, and fit the cleats that came with the pedals if there are none.
    """
    view = context.view
    tape.asked(tape.PositionAsked("cleats"))
    if "cleats" in view.bike or not view.has("pedals", "cleat"):
        return
    cleat = view.word("pedals", "cleat")
    test = is_word(cleat, "none")
    if self.is_silent(test):
        return
    fault = say(
        "{pedals} hold cleats of the kind {cleat}, and none are on record: ask what is under the rider's shoes.",
        pedals=view.name("pedals"), cleat=cleat.told(),
    )  # fmt: skip
    yield from self.judge(test, ("pedals",), fault=fault)


@rule(
    Level.NOTE,
    use_proves=Proof.NOTHING,
    source="bicycle glossary, pedal; BikeRaceInfo: bottom bracket threading; ISO 6696:1989; M47: common practice",
    needs_change=True,
)
def left_hand_thread(self: Rule, context: Context) -> Iterator[Finding]:
    """A thread that the change touches turns the other way.

    The left pedal has a left-hand thread, and so has the drive-side cup of an English, Swiss or M47 shell.
    Turned the usual way they are tightened instead of loosened, until the thread or the tool gives.

    Cure: none needed; turn a left-hand thread clockwise to loosen it, and start it by hand.
    """
    for thread in each((_pedal_thread, _cup_thread)):
        yield from thread(self, context)


def _pedal_thread(self: Rule, context: Context) -> Iterator[Finding]:
    at = "pedals" if "pedals" in context.bike else "pedal-left"
    touched = context.first_changed(at, "crankset", "crank-arm-left") or context.first_changed("pedal-left")
    if at in context.bike and touched is not None:
        yield self.tell(
            "The left pedal has a left-hand thread: it comes off clockwise. The right one has a right-hand thread.",
            (at,),
        )


def _cup_thread(self: Rule, context: Context) -> Iterator[Finding]:
    view = context.view
    if "bottom-bracket" not in view.bike or not view.has("frame", "bb_shell"):
        return
    if context.first_changed("bottom-bracket", "frame") is None:
        return
    shell = view.word("frame", "bb_shell")
    if shell.value in view.standards.words_with("bb-shell", "left_hand_drive_side"):
        text = say(
            "The shell {shell} has a left-hand thread on the drive side: that cup comes off clockwise. The other cup "
            "has a right-hand thread.",
            shell=shell.told(),
        )
        yield self.tell(text, ("bottom-bracket", "frame"))
