"""Steering and headset: the stack against the steerer, spacer limits, the plug."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from buildcheck.fit import tape
from buildcheck.fit.causes import cause_of, causes_of, sum_of
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Test, as_amount, is_word, worked_out
from buildcheck.fit.support import spacers_above_stem, spacers_below_stem
from buildcheck.fit.tape import PositionAsked
from buildcheck.fit.view import View
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import At, Said, Value, Word, say
from buildcheck.trade.steering import (
    LEAST_BAR_WIDTH_MM,
    LEAST_STEERING_ANGLE_DEG,
    MAX_BAR_WIDTH_MM,
    MAX_STEERER_GAP_MM,
    MIN_BAR_WIDTH_MM,
    MIN_STEERING_ANGLE_DEG,
    MOST_BAR_WIDTH_MM,
    steerer_gap_mm,
)

# The cap needs some steerer-free depth to pull the stack together: 2-3 mm is what workshops leave.
LEAST_PRELOAD_GAP_MM = 1.0
# Spacer stacks up to here are common on carbon steerers of unknown limit; no universal figure exists.
USUAL_CARBON_SPACERS_MM = 30.0


def threadless_steerer(view: View) -> Test | None:
    """Is the steerer without a thread? None where there is no fork; unknown counts as maybe."""
    return is_word(view.word("fork", "threaded"), "no") if view.has("fork", "threaded") else None


def stack_below_stem(view: View) -> Amount | None:
    """Height from the crown race seat to the underside of the stem, or None where a part of it is missing."""
    return view.layout.recall("stack-below-stem", lambda: _stack_below_stem(view))


def _stack_below_stem(view: View) -> Amount | None:
    if not all(view.has(position, attribute) for _, position, attribute in _STACK):
        return None
    return sum((height for _, height in _heights(view)), Amount(0.0, 0.0))


_COVER = say("cover")
_HANGER = "front-cable-hanger"
_STACK = (
    (say("lower bearing"), "headset-lower", "stack_mm"),
    (say("head tube"), "frame", "head_tube_length_mm"),
    (say("upper bearing"), "headset-upper", "stack_mm"),
)


def _heights(view: View) -> Iterator[tuple[Value, Amount]]:
    """What stands on the crown race seat under the stem, from below."""
    yield from ((name, view.amount(position, attribute)) for name, position, attribute in _STACK)
    yield _COVER, view.added("headset-cover", "height_mm")
    yield At(_HANGER), view.added(_HANGER, "height_mm")
    yield from ((Word(spacer), view.amount(spacer, "height_mm")) for spacer in spacers_below_stem(view))


def stack_causes(view: View, stem: bool = True) -> tuple[Cause, ...]:
    """What the stack adds up to, with the stem or up to it, and the steerer that it stands on."""
    clamp = [(At("stem"), view.amount("stem", "stack_mm"))] if stem else []
    what = say("height above the crown race seat")
    return sum_of(what, (*_heights(view), *clamp)), cause_of(view.word("fork", "steerer_length_mm"))


def stem_top(view: View) -> Amount | None:
    """Height from the crown race seat to the top of the stem's clamp, or None where a part of it is missing."""
    return view.layout.recall("stem-top", lambda: _stem_top(view))


def _stem_top(view: View) -> Amount | None:
    below = stack_below_stem(view)
    return below + view.amount("stem", "stack_mm") if below is not None and view.has("stem", "stack_mm") else None


def spacers_cause(view: View, spacers: Iterable[str]) -> Cause:
    """What the spacers add up to."""
    return sum_of(say("spacers"), ((Word(spacer), view.amount(spacer, "height_mm")) for spacer in spacers))


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="ISO 4210-2 cl. 4.7.4 (TBIS 4210-2:2018, p. 19)")
def steerer_too_short(self: Rule, context: Context) -> Iterator[Finding]:
    """The top of the stem stands more than 5 mm above the top of the steerer.

    The stem must clamp the steerer over its whole height. ISO 4210-2 allows at most 5 mm between the top
    of the stem and the top of the steerer; a stem that grips less can crush the steerer or come loose.

    Cure: fewer spacers below the stem, a stem with a lower clamp, or a fork with a longer steerer.
    """
    view = context.view
    top, threadless = stem_top(view), threadless_steerer(view)
    if top is None or threadless is None:
        return
    gap = worked_out(steerer_gap_mm, top, view.amount("fork", "steerer_length_mm"))
    test = gap.at_most(MAX_STEERER_GAP_MM).only_if(threadless)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("fork", "stem"),
        fault=say(
            "The top of the stem stands {gap} above the top of the steerer; at most {limit} is allowed.",
            gap=gap.told("mm"), limit=as_amount(MAX_STEERER_GAP_MM).told("mm"),
        ),
        ask="whether the steerer reaches far enough into the stem",
        because=lambda: stack_causes(view),
    )  # fmt: skip


@rule(
    Level.EXTRA,
    use_proves=Proof.NOTHING,
    source="common practice, 2-3 mm gap (workshop forums; ISO 4210-2 cl. 4.7.4 sets only the upper limit)",
    rider=False,
)
def steerer_too_long(self: Rule, context: Context) -> Iterator[Finding]:
    """The steerer stands so high in the stack that the top cap cannot press on it.

    The cap pulls the stack down on the bearings. If the steerer touches the cap there is no preload, and
    the headset stays loose however hard the cap's bolt is turned. A workshop leaves 2 to 3 mm.

    Cure: a spacer above the stem where the fork allows one, or cut the steerer, but only after the fit is
    settled, since a cut steerer does not grow again.
    """
    view = context.view
    top, threadless = stem_top(view), threadless_steerer(view)
    if top is None or threadless is None:
        return
    stack = top + view.total(spacers_above_stem(view), "height_mm")
    gap = worked_out(steerer_gap_mm, stack, view.amount("fork", "steerer_length_mm"))
    tape.asked(PositionAsked(view.free_name("spacer")))  # one more above the stem would help
    test = gap.at_least(LEAST_PRELOAD_GAP_MM).only_if(threadless)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("fork", "stem"),
        fault=_no_preload(gap),
        ask="whether the top cap can set the bearings",
        because=lambda: stack_causes(view),
    )


def _no_preload(gap: Amount) -> Said:
    if gap.most < 0:
        return say(
            "The steerer stands {height} above the stack, so the top cap cannot set the bearings: cut the steerer, or "
            "add a spacer above the stem where the fork allows one.",
            height=(-gap).told("mm"),
        )
    return say(
        "The steerer ends {gap} below the top of the stack, less than {least}, so the top cap cannot set the bearings: "
        "cut the steerer, or add a spacer above the stem where the fork allows one.",
        gap=gap.told("mm"), least=as_amount(LEAST_PRELOAD_GAP_MM).told("mm"),
    )  # fmt: skip


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="the fork's own limit; 30 mm caution: common practice, no universal figure",
    rider=True,
)
def spacer_stack_too_high(self: Rule, context: Context) -> Iterator[Finding]:
    """More spacers below the stem than the fork's maker allows.

    Spacers lengthen the lever by which the bar works on the steerer at the upper bearing. The limit
    depends on the fork, so only the fork's own figure blocks, and without it nobody can tell; on a carbon
    steerer more than 30 mm is a caution besides.

    Cure: fewer spacers and a stem that rises more.
    """
    view = context.view
    if not view.has("fork", "spacers_below_max_mm"):
        return
    spacers = spacers_below_stem(view)
    if not spacers:
        return
    total = view.total(spacers, "height_mm")
    limit = view.amount("fork", "spacers_below_max_mm")
    carbon = is_word(view.word("fork", "steerer_material"), "carbon")
    allowed, usual = total.at_most(limit), total.at_most(USUAL_CARBON_SPACERS_MM)
    if self.is_silent(allowed) and self.is_silent(usual, Level.CAUTION):
        return
    yield from self.judge(
        allowed,
        ("fork", *spacers),
        fault=say(
            "{total} of spacers stand below the stem; this fork allows {limit}.",
            total=total.told("mm"), limit=limit.told("mm"),
        ),
        ask="whether the spacers stay within the fork's limit",
        because=lambda: (spacers_cause(view, spacers), *causes_of(limit.facts)),
    )  # fmt: skip
    if carbon.yes and not limit.known:
        yield from self.judge(
            usual,
            ("fork", *spacers),
            level=Level.CAUTION,
            fault=say(
                "{total} of spacers stand below the stem on a carbon steerer whose limit is not on record; more than "
                "{usual} asks for the maker's word.",
                total=total.told("mm"), usual=as_amount(USUAL_CARBON_SPACERS_MM).told("mm"),
            ),
        )  # fmt: skip


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="the fork's own limit; makers contradict each other (workshop forums)",
)  # fmt: skip
def spacers_above_stem_too_high(self: Rule, context: Context) -> Iterator[Finding]:
    """More spacers above the stem than the fork's maker allows.

    Spacers above the stem move the clamp down, away from the plug that supports a carbon steerer from
    inside. Some makers allow none, some one of 5 mm.

    Cure: move spacers below the stem, or cut the steerer once the height is settled.
    """
    view = context.view
    spacers = spacers_above_stem(view)
    if not spacers or not view.has("fork", "spacers_above_max_mm"):
        return
    limit = view.amount("fork", "spacers_above_max_mm")
    total = view.total(spacers, "height_mm")
    test = total.at_most(limit)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("fork", *spacers),
        fault=say(
            "{total} of spacers stand above the stem; this fork allows {limit}.",
            total=total.told("mm"), limit=limit.told("mm"),
        ),
        ask="whether the spacers above the stem stay within the fork's limit",
        because=lambda: (spacers_cause(view, spacers), *causes_of(limit.facts)),
    )  # fmt: skip


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="ISO 4210-2 cl. 4.7.5: at least 60 degrees to each side (read in TBIS 15194); 30 degrees: our choice",
    rider=True,
)
def steering_turn_limited(self: Rule, context: Context) -> Iterator[Finding]:
    """The stem or bar stops the steering before 60 degrees to a side.

    A stop that protects enclosed lines from kinking also takes away turning room. At least 60 degrees to
    each side is what the standard asks for; the 4210 table itself was not read, so this is a caution. Below 30
    degrees nobody keeps the balance at walking pace, and it blocks.

    Cure: tell the customer, and try a tight turn at walking pace before the bike leaves.
    """
    view = context.view
    if not view.has("stem", "steering_angle_deg"):
        return
    turn = view.amount("stem", "steering_angle_deg")
    usual = turn.at_least(MIN_STEERING_ANGLE_DEG)
    if self.is_silent(usual):
        return
    yield from self.judge_with_limit(
        usual, turn.at_least(LEAST_STEERING_ANGLE_DEG), ("stem",),
        fault=say(
            "The steering is stopped at {turn} to each side; {usual} is usual.",
            turn=turn.told("degrees"), usual=as_amount(MIN_STEERING_ANGLE_DEG).told("degrees"),
        ),
        ask="whether the bar turns far enough to keep the balance",
    )  # fmt: skip


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="ISO 4210-2:2015 cl. 4.7.1 (TBIS 4210-2:2018, p. 9): 350 to 1000 mm; 250 and 1200 mm: our choice",
    rider=True,
)
def bar_width_out_of_bounds(self: Rule, context: Context) -> Iterator[Finding]:
    """The handlebar is narrower or wider than the standard for bicycles allows.

    On a bar that is too narrow the rider cannot hold the wheel against a bump, and one that is too wide
    does not pass between posts. The standard leaves room for other national rules, so this is a caution; a bar that has
    no room for two hands, or is wider than arms spread, blocks.

    Cure: a bar between the two limits, or the rider's own word that it is wanted so.
    """
    view = context.view
    if not view.has("handlebar", "width_mm"):
        return
    width = view.amount("handlebar", "width_mm")
    usual = width.at_least(MIN_BAR_WIDTH_MM).both(width.at_most(MAX_BAR_WIDTH_MM))
    if self.is_silent(usual):
        return
    held = width.at_least(LEAST_BAR_WIDTH_MM).both(width.at_most(MOST_BAR_WIDTH_MM))
    yield from self.judge_with_limit(
        usual, held, ("handlebar",),
        fault=say(
            "The handlebar is {width} wide; {least} to {most} is usual.",
            width=width.told("mm"), least=as_amount(MIN_BAR_WIDTH_MM).bare(),
            most=as_amount(MAX_BAR_WIDTH_MM).told("mm"),
        ),
        ask="whether two hands can hold the bar",
    )  # fmt: skip
