"""The chain: long enough over the biggest wheels, tight over the smallest, and narrow enough for its sprockets."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import floor, inf
from typing import NamedTuple

from buildcheck.fit.causes import causes_of, sum_of
from buildcheck.fit.context import Context
from buildcheck.fit.drivetrain import chain_is_new, links_on_bike, ring_positions, ring_teeth
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, as_amount, is_not_word, largest, smallest, worked_out
from buildcheck.fit.view import View
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Size, Value, say
from buildcheck.trade.chain import (
    BIG_BIG_RESERVE_LINKS,
    big_big_links,
    capacity_needed_teeth,
    chain_links,
    even_links,
    slack_mm,
    teeth_apart,
)

# Fewer teeth make no wheel; a size that is not known is at least this.
_FEWEST_TEETH = 3.0
# By so many teeth a derailleur may be asked for too much: two links of slack on the smallest wheels. Our choice.
SLACK_LIMIT_TEETH = 4.0
# Links are told to a tenth: what is less than half of that is no fault.
_HAIR_LINKS = 0.05
# A chain is rounded up to an even number, so that up to 2 links beyond the need are no fault of anybody.
_ROUNDING_LINKS = 2.0
# What a chain must have beyond the tight way past a tensioner, so that its arm still swings: our choice, half of what a
# derailleur asks for.
TENSIONER_RESERVE_LINKS = 1.0
DERAILLEUR, TENSIONER = "rear-derailleur", "chain-tensioner"
# By what keeps the chain tight: what it asks for beyond the tight way.
RESERVE_LINKS = {DERAILLEUR: float(BIG_BIG_RESERVE_LINKS), TENSIONER: TENSIONER_RESERVE_LINKS, None: 0.0}


class Drive(NamedTuple):
    """What the chain runs over, and how far apart."""

    rings: tuple[Amount, ...]
    biggest: Amount
    smallest: Amount
    stay: Amount

    def round_smallest(self, further: Amount | float = 0.0) -> Amount:
        """Links round the smallest ring and the smallest sprocket, the axle so much further back."""
        return by_ends(chain_links, self.stay + further, smallest(self.rings), self.smallest)


def drive_of(view: View) -> Drive | None:
    """Rings, sprockets and stay of a bike that has them all."""
    return view.layout.recall("drive", lambda: _find_drive(view))


def _find_drive(view: View) -> Drive | None:
    rings = ring_teeth(view)
    if not rings or not view.has("cassette", "largest_teeth") or not view.has("frame", "chainstay_length_mm"):
        return None
    sprockets = view.amount("cassette", "largest_teeth"), view.amount("cassette", "smallest_teeth")
    return Drive(rings, *sprockets, shortest_stay(view))


def shortest_stay(view: View) -> Amount:
    """Bottom bracket to the foremost place of the axle; an eccentric that tensions the chain is turned back."""
    stay = view.amount("frame", "chainstay_length_mm")
    return stay if kept_tight_by(view) is not None else largest((stay - eccentricity(view), as_amount(0.0)))


def eccentricity(view: View) -> Amount:
    """How far the spindle lies beside the middle of the shell, and so how far it turns forwards and back."""
    return view.added("bottom-bracket", "eccentricity_mm") + view.added("bb-adapter", "eccentricity_mm")


def kept_tight_by(view: View) -> str | None:
    """The position of what swings to keep the chain tight: the rear derailleur or a tensioner; None without one."""
    return next((at for at in (DERAILLEUR, TENSIONER) if at in view.bike), None)


def by_ends(formula: Callable[..., float], centre: Amount, ring: Amount, sprocket: Amount, *more: Amount) -> Amount:
    """A length that grows with each of its sizes."""
    wheels = (largest((teeth, as_amount(_FEWEST_TEETH))) for teeth in (ring, sprocket))
    return worked_out(lambda *sizes: inf if inf in sizes else formula(*sizes), centre, *wheels, *more)


def links_needed(view: View, drive: Drive) -> Amount:
    """The least links that this bike asks for, before they are rounded up."""
    return view.layout.recall("links-needed", lambda: _work_out_links(view, drive))


def _work_out_links(view: View, drive: Drive) -> Amount:
    ring, arm = largest(drive.rings), kept_tight_by(view)
    if arm is None:
        return by_ends(chain_links, drive.stay, ring, drive.biggest)
    growth = view.amount("frame", "chain_growth_mm")
    if arm == TENSIONER:
        return by_ends(chain_links, drive.stay + growth, ring, drive.biggest) + TENSIONER_RESERVE_LINKS
    return by_ends(big_big_links, drive.stay, ring, drive.biggest, growth)


def _why_so_many(view: View, drive: Drive, needed: Amount) -> Cause:
    """What the least number of links is made of."""
    around = by_ends(chain_links, drive.stay, largest(drive.rings), drive.biggest)
    told: dict[str, Value] = {"around": around.told("links"), "stay": drive.stay.told("mm")}
    arm = kept_tight_by(view)
    if arm is None:
        return Cause(say("round both it is {around} over a stay of {stay}", **told), causes_of(needed.facts))
    growth = view.amount("frame", "chain_growth_mm")
    told |= {"reserve": as_amount(BIG_BIG_RESERVE_LINKS).told("links"), "needed": needed.told("links")}
    if arm == TENSIONER:
        text = say(
            "round both it is {around} over a stay of {stay} that the suspension lengthens by {growth}, and one more "
            "for the tensioner: {needed}",
            **told, growth=growth.told("mm"),
        )  # fmt: skip
    elif growth.high > 0:
        text = say(
            "round both it is {around} over a stay of {stay}; the suspension adds {growth} to the stay; {reserve} are "
            "for the derailleur: {needed}",
            **told, growth=growth.told("mm"),
        )  # fmt: skip
    else:
        text = say(
            "round both it is {around} over a stay of {stay}; {reserve} are for the derailleur: {needed}", **told
        )
    return Cause(text, causes_of(needed.facts))


def _range(biggest: Amount, least: Amount) -> Amount:
    """By how many teeth the biggest and the smallest differ: never less than none."""
    return worked_out(teeth_apart, biggest, least)


def rounded_up(needed: Amount) -> Amount:
    """The needed links, rounded up to an even number."""
    return worked_out(lambda links: links if links == inf else even_links(links), needed)


def _even(needed: Amount) -> Size:
    """The needed links for a sentence, rounded up to an even number; where that is not sure, the least."""
    even = rounded_up(needed)
    return Size(even.least, even.least if even.least == even.most else inf, "links")


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="Bike Forums 2021, chain length: tight over the biggest ring and sprocket and one inch more is the least; "
    "lengths by plane geometry; that it blocks where less than half of the inch is left is our choice: worked examples "
    "of the trade come out as much as 0.9 links lower",
    rider=False,
)
def chain_too_short(self: Rule, context: Context) -> Iterator[Finding]:
    """The chain does not reach round the biggest ring and the biggest sprocket and past the derailleur.

    Sooner or later somebody shifts there. The chain then pulls the derailleur forward out of its hanger, bends the
    frame's dropout or locks the rear wheel. A suspended rear that lengthens the stay asks for more links. A chain that
    was cut does not grow again; a new one counts as it is sold. A derailleur asks for an inch beyond the tight way, a
    tensioner for half of that. With half of what it asks for or more the chain is laid over the biggest wheels on the
    stand, since the records are no better than that; with less it blocks. Without either a chain closes or does not.

    Cure: a longer chain, or smaller wheels. Links are let in with joining links of the chain's own maker, where the
    maker allows that.
    """
    view = context.view
    drive = drive_of(view)
    if drive is None or not view.has("chain", "links"):
        return
    links, needed = links_on_bike(context), links_needed(view, drive)
    is_new, past = chain_is_new(context), kept_tight_by(view)
    reserve = RESERVE_LINKS[past]
    test = links.at_least(needed - (_HAIR_LINKS if reserve else 0.0))
    if self.is_silent(test):
        return
    limit = links.at_least(needed - reserve / 2)
    told: dict[str, Value] = {
        "chain": view.name("chain"), "links": links.told("links"), "ring": largest(drive.rings).told("teeth"),
        "sprocket": drive.biggest.told("teeth"),
    }  # fmt: skip
    if limit.yes:
        fault = say(
            _SHORT_OF_RESERVE[past == TENSIONER],
            needed=needed.told("links"), reserve=as_amount(reserve).told("links"), **told,
        )  # fmt: skip
        yield from self.judge(test, ("chain",), level=Level.CAUTION, fault=fault)
        return
    yield from self.judge(
        limit,
        ("chain",),
        fault=say(_TOO_SHORT[is_new, past], needed=_even(needed), **told),
        ask="whether the chain reaches round the biggest ring and the biggest sprocket",
        because=lambda: (_why_so_many(view, drive, needed), *causes_of(links.facts)),
    )


# By whether it runs past a tensioner.
_SHORT_OF_RESERVE = {
    False: "The {chain} has {links}; round the biggest ring ({ring}) and the biggest sprocket ({sprocket}), with "
    "{reserve} for the derailleur, {needed} are worked out. Shift onto both on the stand and see that the derailleur "
    "still gives.",
    True: "The {chain} has {links}; round the biggest ring ({ring}) and the biggest sprocket ({sprocket}), with "
    "one link for the tensioner, {needed} are worked out. Turn it on the stand and see that the tensioner still "
    "gives.",
}

# By whether the chain is new, and what it runs past.
_TOO_SHORT = {
    (False, None): "The {chain} has {links}; round the biggest ring ({ring}) and the biggest sprocket ({sprocket}) "
    "it needs {needed}.",
    (False, DERAILLEUR): "The {chain} has {links}; round the biggest ring ({ring}) and the biggest sprocket "
    "({sprocket}) and past the derailleur it needs {needed}.",
    (False, TENSIONER): "The {chain} has {links}; round the biggest ring ({ring}) and the biggest sprocket "
    "({sprocket}) and past the tensioner it needs {needed}.",
    (True, None): "The {chain} is sold with {links}; round the biggest ring ({ring}) and the biggest sprocket "
    "({sprocket}) it needs {needed}.",
    (True, DERAILLEUR): "The {chain} is sold with {links}; round the biggest ring ({ring}) and the biggest sprocket "
    "({sprocket}) and past the derailleur it needs {needed}.",
    (True, TENSIONER): "The {chain} is sold with {links}; round the biggest ring ({ring}) and the biggest sprocket "
    "({sprocket}) and past the tensioner it needs {needed}.",
}


@rule(
    Level.EXTRA,
    use_proves=Proof.NOTHING,
    source="Jitetan, total capacity: a derailleur takes up half its capacity in links; common practice for the rest",
    rider=False,
)
def chain_too_long(self: Rule, context: Context) -> Iterator[Finding]:
    """The chain hangs slack on the smallest wheels, and can lose links without being too short on the biggest.

    A derailleur or a tensioner takes up half a link for each tooth of its capacity. What is beyond that hangs down,
    slaps on the stay, and can jump off and jam between ring and stay while riding.

    Cure: take links out, in pairs, and join it with a new joining link. What the biggest wheels need must stay.
    """
    view = context.view
    drive, arm = drive_of(view), kept_tight_by(view)
    if drive is None or arm is None or not view.has("chain", "links"):
        return
    if chain_is_new(context):
        return  # it is cut to length when it goes on
    links, needed = links_on_bike(context), links_needed(view, drive)
    takes_up = view.amount(arm, "capacity_teeth") / 2 + RESERVE_LINKS[arm] + _ROUNDING_LINKS
    slack = links - view.layout.recall("links-round-smallest", drive.round_smallest)
    test = slack.at_most(takes_up).only_if((links - 2.0).at_least(needed))
    if self.is_silent(test):
        return
    told: dict[str, Value] = {
        "links": links.told("links"), "slack": slack.told("links"), "takes_up": takes_up.told("links"),
    }  # fmt: skip
    spare = floor((links.least - needed.most) / 2) * 2 if needed.bounded and links.bounded else 0
    if arm == TENSIONER:
        fault = say(
            "With {links} the chain is {slack} longer than the way round the smallest ring and sprocket; the "
            "tensioner takes up about {takes_up}, so it hangs slack: take links out.",
            **told,
        )
    elif spare > 0:
        fault = say(
            "With {links} the chain is {slack} longer than the way round the smallest ring and sprocket; the "
            "derailleur takes up about {takes_up}, so it hangs slack: take {spare} out.",
            **told, spare=as_amount(spare).told("links"),
        )  # fmt: skip
    else:
        fault = say(
            "With {links} the chain is {slack} longer than the way round the smallest ring and sprocket; the "
            "derailleur takes up about {takes_up}, so it hangs slack: take links out.",
            **told,
        )
    yield from self.judge(
        test,
        ("chain",),
        fault=fault,
        ask="whether the chain is kept tight on the smallest wheels",
    )


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="Jitetan, total capacity; De Fietssite, capacity of the rear derailleur; the derailleur's own limit; that "
    "it blocks beyond 4 teeth is our choice",
    rider=True,
)
def derailleur_capacity_exceeded(self: Rule, context: Context) -> Iterator[Finding]:
    """Rings and sprockets differ by more teeth than the rear derailleur takes up.

    The cage swings between the tight chain on the biggest wheels and the slack one on the smallest. If the range is
    too wide, a chain that is long enough hangs slack in the small gears, and one that is tight there tears the
    derailleur off in the big ones. Up to 4 teeth beyond it the chain is cut for the big gears and hangs slack by
    half a link for each tooth in the smallest one, which the rider leaves alone; more blocks.

    Cure: a derailleur with a longer cage, a smaller range of sprockets, or rings that are nearer to each other.
    """
    view = context.view
    rings = ring_teeth(view)
    if not rings or not view.has("cassette", "largest_teeth") or not view.has("rear-derailleur", "capacity_teeth"):
        return
    big, small = view.amount("cassette", "largest_teeth"), view.amount("cassette", "smallest_teeth")
    one_ring = as_amount(0.0).resting_on(*rings)  # it differs from no other, however many teeth it has
    ends = (largest(rings), smallest(rings)) if len(rings) > 1 else (one_ring, one_ring)
    needed = worked_out(capacity_needed_teeth, *ends, big, small)
    capacity = view.amount("rear-derailleur", "capacity_teeth")
    test = needed.at_most(capacity)
    if self.is_silent(test):
        return
    step, range_ = _range(*ends), _range(big, small)
    told: dict[str, Value] = {
        "step": step.told("teeth"), "range": range_.told("teeth"), "asked": needed.told("teeth"),
        "derailleur": view.name("rear-derailleur"), "capacity": capacity.told("teeth"),
    }  # fmt: skip
    wheels = ("cassette", *(ring_positions(view) or ("crankset",)))
    bears = needed.at_most(capacity + SLACK_LIMIT_TEETH)
    if bears.yes:
        slack = worked_out(slack_mm, needed, capacity)
        fault = say(_HANGS_SLACK[len(rings) > 1], slack=slack.told("mm"), **told)
        yield from self.judge(test, ("rear-derailleur", *wheels), level=Level.CAUTION, fault=fault)
        return
    yield from self.judge(
        bears,
        ("rear-derailleur", *wheels),
        fault=say(
            "Rings that differ by {step} and sprockets that differ by {range} ask for a capacity of {asked}; the "
            "{derailleur} has {capacity}.",
            **told,
        ),
        ask="whether the rear derailleur takes up the slack of these rings and sprockets",
        because=lambda: (_why_so_much(rings, big, small), *causes_of(capacity.facts)),
    )


# By whether there is more than one ring.
_HANGS_SLACK = {
    False: "Sprockets that differ by {range} ask for a capacity of {asked}; the {derailleur} has {capacity}. Cut for "
    "the biggest sprocket, the chain hangs slack by {slack} on the smallest one: leave that alone.",
    True: "Rings that differ by {step} and sprockets that differ by {range} ask for a capacity of {asked}; the "
    "{derailleur} has {capacity}. Cut for the biggest wheels, the chain hangs slack by {slack} on the smallest ring "
    "and the smallest sprocket: never ride on both.",
}


def _why_so_much(rings: tuple[Amount, ...], big: Amount, small: Amount) -> Cause:
    parts: list[tuple[Value, Amount]] = []
    if len(rings) > 1:
        parts += (say("biggest ring"), largest(rings)), (say("smallest ring"), -smallest(rings))
    parts += (say("biggest sprocket"), big), (say("smallest sprocket"), -small)
    return sum_of(say("the range to take up"), parts, "teeth")


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="BikeGremlin: chain dimension standards; crib sheet of sprocket pitches, quoted",
)  # fmt: skip
def chain_too_wide_for_sprockets(self: Rule, context: Context) -> Iterator[Finding]:
    """The chain is wider than the gap between one sprocket and the next.

    On its sprocket half the chain stands out to each side. If it reaches the next one, it rubs there, rides up on its
    teeth and shifts by itself under load.

    Cure: a chain for the speeds of the cassette.
    """
    view = context.view
    if not view.has("chain", "outer_width_mm") or not view.has("cassette", "sprocket_pitch_mm"):
        return
    width, pitch = view.amount("chain", "outer_width_mm"), view.amount("cassette", "sprocket_pitch_mm")
    thickness = view.amount("cassette", "sprocket_thickness_mm")
    room = pitch + pitch - thickness
    several = is_not_word(view.word("cassette", "speeds"), "1")
    test = width.at_most(room).only_if(several)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("chain", "cassette"),
        fault=say(
            "The chain is {width} wide outside; sprockets {pitch} apart leave it {room} before it touches the next "
            "one.",
            width=width.told("mm"), pitch=pitch.told("mm"), room=room.told("mm"),
        ),
        ask="whether the chain clears the next sprocket",
    )
