"""How the chain is cut and closed: a new one is sold long, and inner and outer links take turns."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.drivetrain import chain_is_new, links_on_bike
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Answer, Test, is_word
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Origin, Proof
from buildcheck.model.sentences import say
from buildcheck.rules.chain import drive_of, links_needed, rounded_up
from buildcheck.trade.chain import even_links


def _even(links: Amount) -> Test:
    """Is this certainly an even number of links?"""
    if links.least == links.most == even_links(links.least):
        return Test(Answer.YES, links.facts)
    found = even_links(links.least) <= links.most
    return Test(Answer.UNKNOWN if found else Answer.NO, links.facts)


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source; geometry of the links",
)  # fmt: skip
def chain_links_odd(self: Rule, context: Context) -> Iterator[Finding]:
    """The chain on the bike has an odd number of links and no half link in it.

    Inner and outer links take turns, and a joining link closes two inner ends. With an odd number an inner end meets
    an outer one: they cannot be joined, and what is forced together comes apart under load. Most often it was
    miscounted.

    Cure: count again; then take one link off or let one in. A half link makes an odd number close, where the chain's
    maker has one; a derailleur chain has none.
    """
    view = context.view
    if not view.has("chain", "links", "half_link") or chain_is_new(context):
        return  # a new one is cut to an even number when it goes on
    links = links_on_bike(context)
    if any(fact.origin is not Origin.MEASURED for fact in links.facts):
        return  # nobody counted them; whether it is long enough is asked already
    test = _even(links).either(is_word(view.word("chain", "half_link"), "yes"))
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("chain",),
        fault=say(
            "The {chain} has {links}, an odd number, and no half link: its ends do not join. Count again.",
            chain=view.name("chain"), links=links.told("links"),
        ),
        ask="whether the chain has an even number of links, or a half link",
    )  # fmt: skip


@rule(
    Level.NOTE, use_proves=Proof.NOTHING,
    source="Bike Forums 2021, chain length; common practice for the even number", needs_change=True,
)  # fmt: skip
def chain_sold_too_long(self: Rule, context: Context) -> Iterator[Finding]:
    """The new chain is sold with more links than this bike needs.

    Chains are sold long and are cut at the bench. The number here is worked out from the records; the mechanic lays
    the chain over the biggest ring and sprocket before the tool bites, since a link that is off stays off.

    Cure: none needed; cut it to length when it goes on.
    """
    view = context.view
    drive = drive_of(view)
    if drive is None or not chain_is_new(context) or not view.has("chain", "links"):
        return
    links, needed = links_on_bike(context), rounded_up(links_needed(view, drive))
    if not links.known or needed.low != needed.high:
        return
    test = links.at_most(needed)
    if self.is_silent(test):
        return
    yield from self.judge(
        test, ("chain",),
        fault=say(
            "The new chain has {links} as it is sold; this bike needs {length}. Lay it over the biggest ring and "
            "sprocket before it is cut.",
            links=links.told("links"), length=needed.low,
        ),
    )  # fmt: skip
