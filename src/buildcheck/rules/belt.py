"""Belt drives: the line of the belt, its tension, and the ring beside the stay. Whether they mate are joint rows."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import worked_out
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Value, say
from buildcheck.rules.accessories import of_use
from buildcheck.rules.chain import eccentricity, shortest_stay
from buildcheck.rules.crank_facts import crank_chain_line
from buildcheck.rules.ends import REAR
from buildcheck.rules.wheels import hub_shift
from buildcheck.trade.belts import FEWEST_TEETH, belt_centre_mm, belt_circle_mm
from buildcheck.trade.chain import pitch_diameter_mm

# Our choice: a belt that runs askew by more than 1 mm creeps against the fin or the flange of a sprocket, and by more
# than 3 mm it climbs off.
_LINE_MOST_MM, _LINE_LIMIT_MM = 1.0, 3.0
# Our choice: the axle must move so far at least, to lay the belt on and to tighten it.
_LEAST_WAY_MM = 2.0
# Our choice: what a belt, its sprockets and a frame differ by from their figures.
_CENTRE_TOLERANCE_MM = 0.5
_PROFILE, _TEETH, _WORDS = "belt_profile", "belt_teeth", "belt-profile"


def _ring(view: View) -> str | None:
    """The position of the ring of the belt; None without one."""
    return next((name for name in view.of_row("chainring") if view.has(name, _PROFILE)), None)


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="lengths by plane geometry; 2 mm of way and a tolerance of 0.5 mm are our choice; the frame's own way",
)
def belt_cannot_be_tensioned(self: Rule, context: Context) -> Iterator[Finding]:
    """The belt is too long or too short for the frame, or nothing draws it tight.

    A belt has no link that could be taken out. It comes in lengths, and the axle or the bottom bracket moves until it
    has the tension that its maker gives. A slack belt skips its teeth under load and is ruined by that; one that is too
    tight wears its bearings. A rear suspension that lengthens the stay tears it or lets it hang.

    Cure: a belt of another length, other sprockets, or a frame with a slot, sliding dropouts or an eccentric.
    """
    view = context.view
    ring = _ring(view)
    if ring is None or not (view.has("chain", _TEETH) and view.has("cassette", _TEETH)):
        return
    if not view.has("frame", "chainstay_length_mm", "rear_axle_slot_mm", "chain_growth_mm"):
        return
    turns, shortest = eccentricity(view), shortest_stay(view)
    moves = view.amount("frame", "rear_axle_slot_mm") + turns + turns
    teeth = [view.amount(name, _TEETH, FEWEST_TEETH) for name in ("chain", ring, "cassette")]
    centre = worked_out(belt_centre_mm, *teeth, view.size_of_word("chain", _PROFILE, _WORDS))
    growth = view.amount("frame", "chain_growth_mm")
    stays = growth.at_most(_CENTRE_TOLERANCE_MM)
    way = moves.at_least(_LEAST_WAY_MM)
    length = centre.at_least(shortest - _CENTRE_TOLERANCE_MM).both(
        centre.at_most(shortest + moves + _CENTRE_TOLERANCE_MM)
    )
    test = stays.both(way).both(length)
    if self.is_silent(test):
        return
    if stays.is_no:
        fault = say("The rear suspension lengthens the stay by {size}, which no belt bears.", size=growth.told("mm"))
    elif way.is_no:
        fault = say("The axle can be moved by {way} only, which tensions no belt.", way=moves.told("mm"))
    else:
        fault = say(
            "The belt has {teeth} and asks for a stay of {centre}; here it is {shortest} and {way} more to tension it.",
            teeth=teeth[0].told("teeth"), centre=centre.told("mm"), shortest=shortest.told("mm"), way=moves.told("mm"),
        )  # fmt: skip
    yield from self.judge(
        test,
        ("chain", "cassette", ring, "bottom-bracket"),
        fault=fault,
        ask="whether the belt can be tensioned",
    )


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source; the limits of 1 mm, and of 3 mm from which it blocks, are our choice",
    rider=True,
)
def belt_line_off(self: Rule, context: Context) -> Iterator[Finding]:
    """The sprockets of the belt do not lie in one line.

    A belt is stiff sideways. Where its sprockets stand in two planes it is pressed against the fin or the flange at
    each turn, squeals, wears at its edge, and climbs off if it is more than a few millimetres.

    Cure: a crank, a bottom-bracket spindle or spacers under a sprocket that bring both to one line.
    """
    view = context.view
    ring, front = _ring(view), crank_chain_line(view)
    if ring is None or front is None or not view.has("rear-wheel", "chainline_mm"):
        return
    rear = view.amount("rear-wheel", "chainline_mm") + hub_shift(view, REAR)
    usual = front.within(rear, _LINE_MOST_MM)
    if self.is_silent(usual):
        return
    yield from self.judge_with_limit(
        usual,
        front.within(rear, _LINE_LIMIT_MM),
        ("crankset", "bottom-bracket", "rear-wheel"),
        fault=say(
            "The ring of the belt stands {front} from the middle of the bike and its sprocket {rear}.",
            front=front.told("mm"), rear=rear.told("mm"),
        ),
        ask="whether the belt runs straight on its sprockets",
    )  # fmt: skip


@rule(Level.BLOCKS, use_proves=Proof.RIDDEN, source="geometry; the frame's own limit, which is told for chainrings")
def belt_ring_hits_stay(self: Rule, context: Context) -> Iterator[Finding]:
    """The ring of the belt is larger than the frame has room for beside its chainstay.

    Frames state the largest chainring. A belt ring has more and smaller teeth, so the circles are compared: 55 teeth
    at 11 mm are nearly as large as 48 of a chain.

    Cure: a smaller ring, and a sprocket and a belt to it.
    """
    view = context.view
    ring = _ring(view)
    if ring is None or not view.has("frame", "ring_max_single_teeth"):
        return
    pitch = view.size_of_word(ring, _PROFILE, _WORDS)
    circle = worked_out(_circle, view.amount(ring, _TEETH), pitch)
    room = worked_out(_chain_circle, view.amount("frame", "ring_max_single_teeth"))
    test = circle.at_most(room)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        (ring, "frame"),
        fault=say(
            "{ring} has a pitch circle of {circle}; the largest chainring of this frame has {room}.",
            ring=view.name(ring), circle=circle.told("mm"), room=room.told("mm"),
        ),
        ask="whether the ring of the belt passes the chainstay",
    )  # fmt: skip


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="pitch circles by plane geometry; that a belt stands out over its circle no more than a chain: common "
    "practice, no source",
)
def chain_case_too_small_for_belt(self: Rule, context: Context) -> Iterator[Finding]:
    """The ring of the belt does not go into the chain case.

    A case tells the largest chainring that it takes. A belt ring has more and smaller teeth, so the circles are
    compared. A belt that runs against the inside of a case is sawn through at its edge and tears without warning.

    Cure: a case for that ring, or none: a belt needs no oil and soils no trousers.
    """
    view = context.view
    ring = _ring(view)
    if ring is None:
        return
    for name, covers in of_use(view, "chain-guard", "ring_max_teeth"):
        circle = worked_out(_circle, view.amount(ring, _TEETH), view.size_of_word(ring, _PROFILE, _WORDS))
        room = worked_out(_chain_circle, view.amount(name, "ring_max_teeth"))
        test = circle.at_most(room).only_if(covers)
        if self.is_silent(test):
            continue
        told: dict[str, Value] = {"guard": view.name(name), "ring": view.name(ring)}
        yield from self.judge(
            test,
            (name, ring),
            fault=say(
                "{ring} has a pitch circle of {circle}; the largest chainring that goes into {guard} has {room}.",
                circle=circle.told("mm"), room=room.told("mm"), **told,
            ),
            ask=say("whether {ring} goes into {guard}", **told),
        )  # fmt: skip


def _circle(teeth: float, pitch_mm: float) -> float:
    return 0.0 if 0.0 in (teeth, pitch_mm) else belt_circle_mm(teeth, pitch_mm)


def _chain_circle(teeth: float) -> float:
    return pitch_diameter_mm(teeth) if FEWEST_TEETH <= teeth < float("inf") else teeth
