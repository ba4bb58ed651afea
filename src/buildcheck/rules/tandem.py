"""The timing chain of a tandem, which joins the cranks of both riders. Whether its parts mate are joint rows."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.drivetrain import chain_is_new, links_on_bike
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import as_amount, largest, smallest
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import say
from buildcheck.rules.chain import by_ends, rounded_up
from buildcheck.rules.chain_tension import PLAY_LINKS
from buildcheck.trade.chain import chain_links

_CHAIN, _BRACKET = "timing-chain", "front-bottom-bracket"
_FRONT, _REAR = "timing-ring-front", "timing-ring-rear"


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="lengths by plane geometry; the play of 0.1 links is our choice; the eccentric's own figure",
)  # fmt: skip
def timing_chain_cannot_be_tensioned(self: Rule, context: Context) -> Iterator[Finding]:
    """The timing chain is too short or too long for the way that the front eccentric turns.

    Both shells of a tandem are part of the frame, so only an eccentric in the front one draws the timing chain tight. A
    slack one jumps over teeth, and the cranks of the riders are then out of step; one that comes off leaves the front
    rider without a drive and can lock the rear one's.

    Cure: a timing chain with two links more or less, two larger or smaller timing rings, or an eccentric.
    """
    view = context.view
    if not (view.has(_CHAIN, "links") and view.has(_FRONT, "teeth") and view.has(_REAR, "teeth")):
        return
    if not view.has("frame", "boom_length_mm"):
        return
    boom = view.amount("frame", "boom_length_mm")
    turns = view.added(_BRACKET, "eccentricity_mm") + view.added("front-bb-adapter", "eccentricity_mm")
    teeth = [view.amount(ring, "teeth") for ring in (_FRONT, _REAR)]
    rings = largest(teeth), smallest(teeth)
    tight = by_ends(chain_links, largest((boom - turns, as_amount(0.0))), *rings)
    loose = by_ends(chain_links, boom + turns, *rings) + PLAY_LINKS
    links = rounded_up(tight) if chain_is_new(context, _CHAIN) else links_on_bike(context, _CHAIN)
    test = links.at_least(tight).both(links.at_most(loose))
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        (_CHAIN, _BRACKET, "front-bb-adapter", _FRONT, _REAR),
        fault=say(
            "The timing chain has {links}; over {boom} and with an eccentric of {turns} it needs {tight} to {loose}.",
            links=links.told("links"), boom=boom.told("mm"), turns=turns.told("mm"), tight=tight.told("links"),
            loose=loose.told("links"),
        ),
        ask="whether the timing chain can be tensioned",
    )  # fmt: skip


@rule(Level.NOTE, use_proves=Proof.NOTHING, source="common practice, no source", needs_change=True)
def timing_phase_to_set(self: Rule, context: Context) -> Iterator[Finding]:
    """The timing chain is laid on anew, and with it the phase of the riders' cranks.

    Most riders want both cranks in step, some a quarter turn apart. One tooth off is felt in every start, and two let a
    pedal strike the ground in a corner where nobody expects it.

    Cure: none needed; ask the riders, and mark both rings before the chain comes off.
    """
    view = context.view
    if _CHAIN in view.bike and context.first_changed(_CHAIN, _FRONT, _BRACKET) is not None:
        yield self.tell(
            "The timing chain is laid on anew: set the cranks of both riders to the phase that they are used to.",
            (_CHAIN,),
        )
