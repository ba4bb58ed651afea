"""What keeps the chain tight where no derailleur does: the axle in its slot, an eccentric, or a chain tensioner."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.drivetrain import chain_is_new, links_on_bike, one_sprocket, ring_positions, ring_teeth
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, as_amount, is_not_word, largest, smallest, worked_out
from buildcheck.fit.tape import each
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Said, Value, say
from buildcheck.rules.chain import (
    DERAILLEUR,
    TENSIONER,
    Drive,
    drive_of,
    eccentricity,
    kept_tight_by,
    links_needed,
    rounded_up,
)
from buildcheck.trade.chain import PITCH_MM, capacity_needed_teeth, centre_for_links_mm, growth_in_teeth

# A chain without a tensioner needs some play: 0.1 links (1.3 mm) let the run between ring and sprocket sag about
# 15 mm. Our choice, worked out from the sag of a run of 420 mm.
PLAY_LINKS = 0.1


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="lengths by plane geometry; the play of 0.1 links is our choice; the frame's own length of slot",
)
def chain_cannot_be_tensioned(self: Rule, context: Context) -> Iterator[Finding]:
    """No derailleur keeps the chain tight, and the axle cannot be moved to where it would be.

    With one sprocket or a gear hub the axle is drawn back in its slot, or an eccentric bottom bracket is turned, until
    the chain has a little play. With a fixed axle, or too short a way, an even number of links is too few or too many.
    A slack chain comes off; on a fixed sprocket or with a back-pedal brake that is also a lost brake or a locked wheel.

    Cure: a frame with a slot or with dropouts that slide, an eccentric bottom bracket for this shell, another ring or
    sprocket, a half link where the chain's maker has one, or a chain tensioner in the derailleur's place.
    """
    view = context.view
    drive = drive_of(view)
    if drive is None or kept_tight_by(view) is not None or not view.has("chain", "links"):
        return
    links, turns = links_on_bike(context), eccentricity(view)
    moves = view.amount("frame", "rear_axle_slot_mm") + turns + turns
    growth = view.amount("frame", "chain_growth_mm")
    tight, loose = links_needed(view, drive), drive.round_smallest(moves) + PLAY_LINKS
    length = (rounded_up(tight) if chain_is_new(context) else links).at_most(loose)
    stays = growth.at_most(PLAY_LINKS / 2 * PITCH_MM)
    test = stays.both(length)
    if self.is_silent(test):
        return
    if stays.is_no:
        fault = say(
            "The rear suspension lengthens the stay by {growth}, and no derailleur takes that up. Nothing else keeps "
            "the chain tight.",
            growth=growth.told("mm"),
        )
    elif chain_is_new(context):
        fault = say(
            _NO_EVEN_NUMBER[turns.high > 0], slot=moves.told("mm"), tight=tight.told("links"),
            loose=loose.told("links"),
        )  # fmt: skip
    elif turns.high > 0:
        fault = say(
            "The chain has {links}; with axle and eccentric as far back as they go it is tight with {loose}. Nothing "
            "else keeps the chain tight.",
            links=links.told("links"), loose=loose.told("links"),
        )  # fmt: skip
    else:
        fault = _never_tight(drive, links, loose)
    yield from self.judge(
        test,
        ("chain", "cassette", TENSIONER, "bottom-bracket", *(ring_positions(view) or ("crankset",))),
        fault=fault,
        ask="whether the chain can be tensioned without a derailleur",
    )


# By whether there is an eccentric.
_NO_EVEN_NUMBER = {
    False: "With the axle moving {slot} the chain must have {tight} to {loose}, and no even number lies between. "
    "Nothing else keeps the chain tight.",
    True: "With axle and eccentric moving {slot} the chain must have {tight} to {loose}, and no even number lies "
    "between. Nothing else keeps the chain tight.",
}


def _never_tight(drive: Drive, links: Amount, loose: Amount) -> Said:
    """A chain that is too long for the slot, and where it would be tight if that is known."""
    told: dict[str, Value] = {"links": links.told("links"), "loose": loose.told("links")}
    wanted_mm = _axle_wanted_mm(drive, links)
    if wanted_mm is None:
        return say(
            "The chain has {links}; with the axle as far back as it goes it is tight with {loose}. Nothing else keeps "
            "the chain tight.",
            **told,
        )
    return say(
        "The chain has {links}; with the axle as far back as it goes it is tight with {loose}, and asks for a stay of "
        "{stay}. Nothing else keeps the chain tight.",
        **told, stay=as_amount(round(wanted_mm)).told("mm"),
    )  # fmt: skip


def _axle_wanted_mm(drive: Drive, links: Amount) -> float | None:
    """Where the axle would have to be for this chain, if all sizes are known and the chain goes round at all."""
    ring = smallest(drive.rings)
    if not all(size.least == size.most for size in (ring, drive.smallest, links)):
        return None
    try:
        return centre_for_links_mm(links.least, ring.least, drive.smallest.least)
    except ValueError:
        return None


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="the tensioner's own limit; Jitetan, total capacity, for the way to count",
)  # fmt: skip
def chain_tensioner_too_small(self: Rule, context: Context) -> Iterator[Finding]:
    """Rings, sprockets or the rear suspension set free more chain than the tensioner takes up.

    Where there are several rings, or the rear suspension lengthens the stay, the lower run is now long and now short. A
    tensioner with one pulley takes up next to nothing of that, so that the chain hangs slack and comes off.

    Cure: a tensioner with two pulleys on a longer arm, one ring, or a derailleur.
    """
    view = context.view
    rings = ring_teeth(view)
    if TENSIONER not in view.bike or not rings or not view.has("cassette", "largest_teeth"):
        return
    sprockets = view.amount("cassette", "largest_teeth"), view.amount("cassette", "smallest_teeth")
    one_ring = as_amount(0.0).resting_on(*rings)  # it differs from no other, however many teeth it has
    ends = (largest(rings), smallest(rings)) if len(rings) > 1 else (one_ring, one_ring)
    growth = worked_out(growth_in_teeth, view.added("frame", "chain_growth_mm"))
    asked = worked_out(capacity_needed_teeth, *ends, *sprockets) + growth
    capacity = view.amount(TENSIONER, "capacity_teeth")
    test = asked.at_most(capacity)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        (TENSIONER, "cassette", *(ring_positions(view) or ("crankset",))),
        fault=say(
            "Rings, sprockets and suspension ask for a capacity of {asked}; {tensioner} has {capacity}.",
            asked=asked.told("teeth"), tensioner=view.name(TENSIONER), capacity=capacity.told("teeth"),
        ),
        ask="whether the tensioner takes up the slack of these rings and sprockets",
    )  # fmt: skip


@rule(Level.BLOCKS, use_proves=Proof.ASSEMBLED, source="common practice, no source: a frame has one hanger")
def tensioner_beside_derailleur(self: Rule, context: Context) -> Iterator[Finding]:
    """A chain tensioner and a rear derailleur are both on the bike.

    Both are screwed into the one hanger, so one of them has no place; and a derailleur keeps the chain tight by itself.

    Cure: take one of them off.
    """
    view = context.view
    if TENSIONER in view.bike and DERAILLEUR in view.bike:
        yield self.tell(
            say(
                "{tensioner} and {derailleur} both belong on the one hanger.",
                tensioner=view.name(TENSIONER), derailleur=view.name(DERAILLEUR),
            ),
            (TENSIONER, DERAILLEUR),
            because=lambda: tuple(
                Cause(say("{part} is there", part=view.name(at))) for at in (TENSIONER, DERAILLEUR)
            ),
        )  # fmt: skip


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source: back-pedalling pulls the lower run of the chain tight",
)  # fmt: skip
def tensioner_under_back_pedalling(self: Rule, context: Context) -> Iterator[Finding]:
    """The lower run of the chain, which the pedals pull tight from behind, runs through a spring.

    With a coaster brake or a fixed sprocket the rider brakes by holding the pedals back, and the whole force goes
    through the lower run. The arm of a tensioner or a derailleur gives way: it is torn forwards, the chain drops, and
    with it the brake is gone or the wheel is locked.

    Cure: a slot, a sliding dropout or an eccentric bottom bracket in place of the tensioner, or a wheel with a
    freewheel and a brake with its lever.
    """
    view = context.view
    arm = kept_tight_by(view)
    if arm is None:
        return
    tests = []
    if arm == TENSIONER and view.has("rear-wheel", "hub_brake"):
        tests.append(("rear-wheel", is_not_word(view.word("rear-wheel", "hub_brake"), "coaster")))
    if view.has("cassette", "freehub"):
        fixed = view.standards.words_with("freehub", "is_fixed")
        free = is_not_word(view.word("cassette", "freehub"), *fixed)
        tests.append(("cassette", free.only_if(one_sprocket(view)[1])))
    for at, test in each(tests):
        if self.is_silent(test):
            continue
        yield from self.judge(
            test,
            (at, arm),
            fault=say(_PULLED[at], part=view.name(at), arm=view.name(arm)),
            ask=say(
                "whether {part} can be held back with the pedals, which {arm} does not bear",
                part=view.name(at), arm=view.name(arm),
            ),
        )  # fmt: skip


_PULLED = {
    "rear-wheel": "{part} has a coaster brake, and its chain runs through {arm}.",
    "cassette": "{part} turns with the wheel at all times, and its chain runs through {arm}.",
}
