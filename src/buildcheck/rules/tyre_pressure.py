"""The pressure of a tyre against what it and its rim bear, and against the least that it needs."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, as_amount, is_word, one_of, worked_out
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Value, say
from buildcheck.rules.ends import ENDS, End
from buildcheck.rules.tyre_facts import ends_with_tyre
from buildcheck.trade.tyres import STRAIGHT_SIDE_LIMIT_BAR, least_pressure_bar, pressure_limit_bar

# A tyre with less than ISO 5775 recommends, divided by this, rolls off its rim: our choice.
LEAST_TO_FLAT = 2.0


def pressure_limit(view: View, end: End) -> Amount:
    """The highest pressure that tyre and rim bear together."""
    tyre, rim = view.amount(end.tyre, "pressure_max_bar"), view.amount(end.wheel, "rim_pressure_max_bar")
    straight = is_word(view.word(end.wheel, "rim_type"), "straight-side")
    may_be = [side for side, not_so in ((False, straight.is_yes), (True, straight.is_no)) if not not_so]
    limits = [worked_out(partial(pressure_limit_bar, straight_side=side), tyre, rim) for side in may_be]
    return (limits[0] if len(limits) == 1 else one_of(*limits)).resting_on(straight)


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="ISO 4210-1 cl. 2.27 (read in TBIS 4210-1): the lower limit of tyre and rim holds",
)  # fmt: skip
def pressure_above_limit(self: Rule, context: Context) -> Iterator[Finding]:
    """The tyre is pumped to more than it or its rim bears.

    The lower of the two limits holds. Above it the bead slips off or the walls of the rim spread and break,
    often minutes after pumping. Tubeless straight-side rims bear 5 bar at most, whatever the tyre says.

    Cure: pump it to less; if that is below the tyre's least pressure, take a wider tyre.
    """
    view = context.view
    for end in ends_with_tyre(view):
        pressure, limit = view.amount(end.tyre, "pressure_bar"), pressure_limit(view, end)
        test = pressure.at_most(limit)
        if self.is_silent(test):
            continue
        tyre, rim = view.amount(end.tyre, "pressure_max_bar"), view.amount(end.wheel, "rim_pressure_max_bar")
        told: dict[str, Value] = {
            "part": view.name(end.tyre), "pressure": pressure.told("bar"), "limit": limit.told("bar"),
            "tyre": tyre.told("bar"), "rim": rim.told("bar"), "straight": STRAIGHT_SIDE_LIMIT_BAR,
        }  # fmt: skip
        if view.word(end.wheel, "rim_type").value == "straight-side":
            fault = say(
                "The {part} is pumped to {pressure}; {limit} is the most (tyre {tyre}, rim {rim}, straight sides "
                "{straight} bar).",
                **told,
            )
        else:
            fault = say("The {part} is pumped to {pressure}; {limit} is the most (tyre {tyre}, rim {rim}).", **told)
        yield from self.judge(
            test,
            (end.tyre, end.wheel),
            fault=fault,
            ask=say("whether the pressure stays below the limits of tyre and rim"),
        )


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="the tyre's own mark; ISO 5775 (Wikipedia) where there is none; that half of it blocks is our choice",
    rider=True,
)
def pressure_too_low(self: Rule, context: Context) -> Iterator[Finding]:
    """The tyre is pumped to less than its least pressure.

    A soft tyre lets the rim be struck, wears at its walls, and can roll off the rim in a bend. Where the
    tyre names no least pressure, ISO 5775 recommends 3 bar up to 25 mm, 2 bar above and 1.5 bar off road. Below half of
    what ISO 5775 recommends a tyre is flat, whatever its mark, and it blocks.

    Cure: pump it up; if the rim does not bear that much, take a wider tyre.
    """
    view = context.view
    for end in each(ENDS):
        if not view.has(end.tyre, "pressure_bar", "pressure_min_bar"):
            continue
        pressure, least = view.amount(end.tyre, "pressure_bar"), view.amount(end.tyre, "pressure_min_bar")
        width = view.amount(end.tyre, "width_mm")
        by_size = not least.known and width.known
        if by_size:
            least = as_amount(least_pressure_bar(width.high, view.bike.use))
        recommended = worked_out(lambda size: least_pressure_bar(size, view.bike.use), width)
        usual, limit = pressure.at_least(least), pressure.at_least(recommended / LEAST_TO_FLAT)
        if self.is_silent(limit) and self.is_silent(usual, Level.CAUTION):
            continue
        told: dict[str, Value] = {
            "tyre": view.name(end.tyre), "pressure": pressure.told("bar"), "least": least.told("bar"),
        }  # fmt: skip
        fault = say("The {tyre} is pumped to {pressure}; its mark asks for at least {least}.", **told)
        if by_size:
            fault = say("The {tyre} is pumped to {pressure}; ISO 5775 recommends at least {least}.", **told)
        yield from self.judge_with_limit(
            usual,
            limit,
            (end.tyre,),
            fault=fault,
            ask=say("whether the tyre holds on its rim at this pressure"),
        )
