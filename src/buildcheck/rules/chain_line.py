"""The chain line: rings against sprockets, against the front derailleur, and the angle of the chain."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, as_amount
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import say
from buildcheck.rules.crank_facts import crank_chain_line, ring_count
from buildcheck.rules.ends import REAR
from buildcheck.rules.wheels import hub_shift
from buildcheck.trade.crank import (
    CHAIN_ANGLE_MOST_DEG,
    CHAIN_LINE_LIMIT_MM,
    CHAIN_LINE_MOST_MM,
    CHAIN_LINE_SINGLE_LIMIT_MM,
    CHAIN_LINE_SINGLE_MOST_MM,
    FRONT_DERAILLEUR_LIMIT_MM,
    chain_angle_deg,
    widest_offset_mm,
)
from buildcheck.trade.shifting import sprocket_stack_mm


def _lines(view: View) -> tuple[Amount, Amount, Amount] | None:
    """Front chain line, rear one with what end caps move the hub, number of sprockets; None where a part is missing."""
    front = crank_chain_line(view)
    if front is None or not view.has("rear-wheel", "chainline_mm") or not view.has("cassette", "speeds"):
        return None
    rear = view.amount("rear-wheel", "chainline_mm") + hub_shift(view, REAR)
    return front, rear, view.amount("cassette", "speeds", 1.0)


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="Radavist: 55 mm chainline (49, 52 and 55 mm); the limits of 2.5 and 1.5 mm, and of 10 and 5 mm from which "
    "it blocks, are our choice",
    rider=True,
)
def chain_line_off(self: Rule, context: Context) -> Iterator[Finding]:
    """The rings and the sprockets do not lie in one line.

    With a derailleur the chain then runs askew in half of the gears, is noisy and wears; with one ring and one
    sprocket it does so always and can climb off. Hubs of 142, 148 and 157 mm go with chain lines of about 49, 52
    and 55 mm. Where the lines are further apart than two or three sprockets the chain jumps off, and it blocks.

    Cure: a crank, ring or bottom-bracket spindle for the chain line of the hub.
    """
    view = context.view
    lines = _lines(view)
    if lines is None:
        return
    front, rear, sprockets = lines
    single = sprockets.high <= 1 and ring_count(view).high <= 1
    most, limit = (
        (CHAIN_LINE_SINGLE_MOST_MM, CHAIN_LINE_SINGLE_LIMIT_MM) if single else (CHAIN_LINE_MOST_MM, CHAIN_LINE_LIMIT_MM)
    )
    usual = front.within(rear, most)
    if self.is_silent(usual):
        return
    yield from self.judge_with_limit(
        usual,
        front.within(rear, limit),
        ("crankset", "bottom-bracket", "rear-wheel"),
        fault=say(
            "The rings stand {front} from the middle of the bike and the sprockets {rear}; at most {limit} of "
            "difference is usual here.",
            front=front.told("mm"), rear=rear.told("mm"), limit=as_amount(most).told("mm"),
        ),
        ask="whether the chain stays on its rings and sprockets",
    )


@rule(
    Level.CAUTION, use_proves=Proof.NOTHING,
    source="geometry; the limit of 4 degrees is our choice, no published figure was found", rider=True,
)  # fmt: skip
def chain_angle_steep(self: Rule, context: Context) -> Iterator[Finding]:
    """In the worst gear the chain runs at more than 4 degrees to the middle of the bike.

    The more it leans the more it rubs on the cage and the next ring, wears, and drops when pedalled backwards. A
    short chainstay and a wide set of rings make it worse.

    Cure: tell the rider to leave that gear alone; a chain line nearer to that of the sprockets.
    """
    view = context.view
    lines, spread = _lines(view), _spreads(view)
    if lines is None or spread is None or not view.has("frame", "chainstay_length_mm"):
        return
    front, rear, _ = lines
    stay = view.amount("frame", "chainstay_length_mm")
    rings, sprockets = spread
    if not all(size.known for size in (front, rear, stay, rings, sprockets)) or stay.low <= 0:
        return
    apart = (max(0.0, front.low - rear.high, rear.low - front.high), max(front.high - rear.low, rear.high - front.low))
    angle = Amount(
        chain_angle_deg(widest_offset_mm(apart[0], rings.low, sprockets.low), stay.high),
        chain_angle_deg(widest_offset_mm(apart[1], rings.high, sprockets.high), stay.low),
    )
    test = angle.at_most(CHAIN_ANGLE_MOST_DEG)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("crankset", "cassette", "rear-wheel"),
        fault=say(
            "In the worst gear the chain leans by {angle}; more than {limit} is steep.",
            angle=angle.told("degrees"), limit=as_amount(CHAIN_ANGLE_MOST_DEG).told("degrees"),
        ),
    )


def _spreads(view: View) -> tuple[Amount, Amount] | None:
    """Middle of the first to the middle of the last, in mm: of the rings, and of the sprockets."""
    if not view.has("crankset", "ring_spacing_mm", "rings") or not view.has("cassette", "sprocket_pitch_mm", "speeds"):
        return None
    front = _spread(ring_count(view), view.amount("crankset", "ring_spacing_mm"))
    rear = _spread(view.amount("cassette", "speeds", 1.0), view.amount("cassette", "sprocket_pitch_mm"))
    return (front, rear) if front is not None and rear is not None else None


def _spread(count: Amount, apart: Amount) -> Amount | None:
    if count.high <= 1:
        return as_amount(0.0)
    if not count.known or not apart.known:
        return None
    low = sprocket_stack_mm(int(max(1, count.low)), apart.low, 0)
    high = sprocket_stack_mm(int(count.high), apart.high, 0)
    return Amount(low, high)


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="from memory (road 43.5 to 45 mm, mountain 50); 2.5 mm, and 7.5 mm from which it blocks, are our choice",
    rider=True,
)
def front_derailleur_off_line(self: Rule, context: Context) -> Iterator[Finding]:
    """The front derailleur is made for another chain line than that of the crank.

    Its cage moves over a few millimetres only. With rings that stand further out it does not reach the large one,
    with rings further in it does not let go of the small one. Off by more than the distance of two rings it blocks.

    Cure: a front derailleur for this chain line, or a bottom bracket that brings the crank to that line.
    """
    view = context.view
    line = crank_chain_line(view)
    if line is None or not view.has("front-derailleur", "chainline_mm"):
        return
    made_for = view.amount("front-derailleur", "chainline_mm")
    usual = line.within(made_for, CHAIN_LINE_MOST_MM)
    if self.is_silent(usual):
        return
    yield from self.judge_with_limit(
        usual,
        line.within(made_for, FRONT_DERAILLEUR_LIMIT_MM),
        ("front-derailleur", "crankset", "bottom-bracket"),
        fault=say(
            "The rings stand {line} from the middle of the bike; the front derailleur is made for {made_for}.",
            line=line.told("mm"), made_for=made_for.told("mm"),
        ),
        ask="whether the front derailleur reaches the rings",
    )
