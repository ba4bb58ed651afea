"""Shifting: the cassette on its body, cable pull against the sprockets, the front derailleur against the rings."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from buildcheck.fit.context import Context
from buildcheck.fit.drivetrain import ring_teeth
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Test, as_amount, is_word, largest, smallest, worked_out
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import At, Exact, Several, Value, say
from buildcheck.rules.crank_facts import ring_places
from buildcheck.trade.shifting import (
    BODY_TOLERANCE_MM,
    ONE_SPACING,
    STEP_ERROR_MOST,
    STEP_ERROR_WARN,
    added_error_mm,
    body_left_mm,
    converted_pull_mm,
    shift_step_mm,
    sprocket_stack_mm,
    step_error,
)

# A largest ring this much smaller than the cage is curved for does not meet its chain with it: our choice.
CAGE_LIMIT_TEETH = 14.0
_CONVERTER = "rear-shift-line-converter"


def _mm(amount: Amount) -> Value:
    """An amount in mm with two decimals, for sizes where a tenth matters."""
    low, high = (Exact(size, 2) for size in (amount.least, amount.most))
    return say("{size} mm", size=low) if amount.least == amount.most else say("{low} to {high} mm", low=low, high=high)


def _body_left(view: View) -> tuple[Amount, Test, list[str]] | None:
    """What of the freehub body is left empty, whether a lockring closes it, and the spacers on it."""
    if not view.has("cassette", "body_length_mm") or not view.has("rear-wheel", "freehub_length_mm"):
        return None
    spacers = [name for name in view.of_row("freehub-spacer") if view.has(name, "thickness_mm")]
    body, width = view.amount("rear-wheel", "freehub_length_mm"), view.total(spacers, "thickness_mm")
    left = worked_out(body_left_mm, body, _fills(view), width)
    lockring = is_word(view.word("cassette", "freehub"), *view.standards.words_with("freehub", "has_lockring"))
    return left, lockring, spacers


def _fills(view: View) -> Amount:
    """The body that a cassette fills: on record, or else at most the width of its sprockets."""
    fills = view.amount("cassette", "body_length_mm")
    if fills.high < inf:
        return fills
    speeds, pitch = view.amount("cassette", "speeds", 1.0), view.amount("cassette", "sprocket_pitch_mm")
    thickness = view.amount("cassette", "sprocket_thickness_mm")
    if not (speeds.known and pitch.known and thickness.known):
        return fills
    most = sprocket_stack_mm(int(speeds.high), pitch.high, thickness.high)
    return Amount(0.0, most).resting_on(fills, speeds, pitch, thickness)


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="Rookie Journal: 11-speed hubs (1.85 mm); BikeRadar forum (4.5 mm); tolerance our choice",
)  # fmt: skip
def cassette_stack_too_short(self: Rule, context: Context) -> Iterator[Finding]:
    """Cassette and spacers leave a part of the freehub body empty.

    The lockring then stops at the end of the body before it presses on the sprockets. They stay loose under a
    tight lockring, rock on the body, shift badly and cut into the splines. A body for road 11 is 1.85 mm longer
    than one for 8 to 10 speeds; a 7 speed cassette leaves 4.5 mm of such a body; a 10 speed one about 1.0 mm.

    Cure: spacers of the missing thickness behind the largest sprocket, as the maker of the cassette gives them.
    """
    view = context.view
    found = _body_left(view)
    if found is None:
        return
    left, closed, spacers = found
    test = left.at_most(BODY_TOLERANCE_MM).only_if(closed)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("cassette", *spacers, view.free_name("freehub-spacer"), "rear-wheel"),
        fault=say(
            "Cassette and spacers leave {left} of the freehub body empty, so the lockring holds nothing; at most "
            "{most} may be left.",
            left=_mm(left), most=as_amount(BODY_TOLERANCE_MM).told("mm"),
        ),
        ask="whether cassette and spacers fill the freehub body",
    )


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="Rookie Journal: 11-speed hubs (1.85 mm); Freehubs and cassettes, cornant.uk; tolerance our choice",
)
def cassette_stack_too_long(self: Rule, context: Context) -> Iterator[Finding]:
    """Cassette and spacers are longer than the freehub body.

    The lockring finds few threads or none, strips them, and the smallest sprocket sits on no splines. A cassette
    for the longer body of road 11 on a body for 8 to 10 speeds is the usual case.

    Cure: no spacer, a cassette for this length of body, or the longer body where the hub's maker has one.
    """
    view = context.view
    found = _body_left(view)
    if found is None:
        return
    left, closed, spacers = found
    over = -left
    test = over.at_most(BODY_TOLERANCE_MM).only_if(closed)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("cassette", *spacers, "rear-wheel"),
        fault=say(
            "Cassette and spacers stand {over} beyond the freehub body, so the lockring does not engage; at most "
            "{most} is possible.",
            over=_mm(over), most=as_amount(BODY_TOLERANCE_MM).told("mm"),
        ),
        ask="whether the lockring engages in the freehub body",
    )


def _cable_step(view: View) -> tuple[Amount, Amount, Amount, str] | None:
    """Travel of the chain for a click, distance and number of sprockets, all known, and the shifter's position."""
    line = view.bike.get("rear-shift-line")
    start = line.start if line is not None else None
    if start is None or line is None or line.end != "rear-derailleur":
        return None
    needed = ((start, "cable_per_shift_mm"), ("rear-derailleur", "shift_ratio"), ("cassette", "sprocket_pitch_mm"),
              ("cassette", "speeds"))  # fmt: skip
    if not all(view.has(position, attribute) for position, attribute in needed):
        return None
    _, ratio, pitch, speeds = (view.amount(position, attribute) for position, attribute in needed)
    cable = _cable_pull(view, start)
    if not all(size.known for size in (cable, ratio, pitch, speeds)) or pitch.low == 0 or speeds.high <= 1:
        return None
    return worked_out(shift_step_mm, cable, ratio), pitch, speeds, start


def _cable_pull(view: View, start: str) -> Amount:
    """What the derailleur is pulled by for a click of a shifter: what a pull converter makes of it, if there is one."""
    cable = view.amount(start, "cable_per_shift_mm")
    if not view.has(_CONVERTER, "pull_in_mm", "pull_out_mm"):
        return cable
    taken, given = view.amount(_CONVERTER, "pull_in_mm"), view.amount(_CONVERTER, "pull_out_mm")
    return worked_out(converted_pull_mm, cable, taken, given)


def _least(low: float, high: float) -> float:
    """The smallest distance from 0 within an interval."""
    return max(0.0, low, -high)


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=False,
    source="Wikibooks, gear-changing dimensions; BikeRadar forum: cassette compatibility (7 and 8 speeds); crib "
    "sheet of sprocket pitches, quoted; 3 per cent: our choice",
)
def clicks_miss_sprockets(self: Rule, context: Context) -> Iterator[Finding]:
    """The shifter clicks for more sprockets than there are, and they do not stand as far apart as a click goes.

    Each number of sprockets has its own distance from one to the next: 4.8 mm for 8, 4.34 mm for 9, 3.95 mm for 10. A
    shifter for more of them pulls less cable a click, so that the chain is beside the sprockets after a few shifts,
    whatever is printed on the derailleur. Sprockets of 7 and 8 speeds stand equally far apart, and one sprocket is not
    shifted at all.

    Cure: shifter and cassette for one number of speeds; the derailleur only has to be of the shifter's family.
    """
    view = context.view
    line = view.bike.get("rear-shift-line")
    start = line.start if line is not None and line.end == "rear-derailleur" else None
    if start is None or not view.has(start, "speeds", "shift_system") or not view.has("cassette", "speeds"):
        return
    if not view.has("rear-derailleur", "shift_ratio"):  # the line leads to where one was
        return
    clicks, sprockets = view.amount(start, "speeds"), view.amount("cassette", "speeds")
    few, many = ONE_SPACING
    alike = sprockets.within(few, 0).both(clicks.within(many, 0))
    counts = clicks.at_most(sprockets).either(alike).either(sprockets.at_most(1))
    indexed = is_word(view.word(start, "shift_system"), *view.standards.words_with("shift-system", "by_clicks"))
    test = counts.only_if(indexed)
    if self.is_silent(test):
        return
    yield from self.judge(
        test.either(_as_far_apart(view, start)),
        (start, "cassette", "rear-derailleur"),
        fault=say(
            "The {shifter} clicks for {clicks}; the {cassette} has {sprockets}, which stand further apart than a click "
            "moves the chain.",
            shifter=view.name(start), clicks=clicks.told("sprockets"), cassette=view.name("cassette"),
            sprockets=sprockets.told("sprockets"),
        ),
        ask=say(
            "whether the clicks of the {shifter} are made for the sprockets of the {cassette}",
            shifter=view.name(start), cassette=view.name("cassette"),
        ),
    )  # fmt: skip


def _as_far_apart(view: View, start: str) -> Test:
    """Does a click move the chain as far as the sprockets stand apart?"""
    ratio, pitch = view.amount("rear-derailleur", "shift_ratio"), view.amount("cassette", "sprocket_pitch_mm")
    step = worked_out(_step_mm, _cable_pull(view, start), ratio)
    return step.at_least(pitch - _share(pitch)).both(step.at_most(pitch + _share(pitch)))


def _share(pitch: Amount) -> Amount:
    return worked_out(lambda size_mm: STEP_ERROR_WARN * size_mm, pitch)


def _step_mm(cable_mm: float, ratio: float) -> float:
    """A click of no size at all moves nothing, however large the other factor may be."""
    return shift_step_mm(cable_mm, ratio) if cable_mm and ratio else 0.0


@rule(
    Level.CAUTION, use_proves=Proof.NOTHING,
    source="Wikibooks, gear-changing dimensions; 3 and 6 per cent are our choice", rider=True,
)  # fmt: skip
def shift_step_inexact(self: Rule, context: Context) -> Iterator[Finding]:
    """A click of the shifter moves the chain by another distance than that of the sprockets.

    Cable pull times the ratio of the derailleur must be the distance of the sprockets: 2.7 mm and 1.4 make 3.78 mm
    for a distance of about 3.7. Figures for pull and ratio vary by 10 per cent with who measured them, so this is
    no more than a caution: try it on the stand before it is sold.

    Cure: shifter, derailleur and cassette of one family, or a cassette with the distance that the click makes.
    """
    found = _cable_step(context.view)
    if found is None:
        return
    step, pitch, _, start = found
    error = worked_out(step_error, step, pitch)
    test = error.within(0.0, STEP_ERROR_WARN)
    if self.is_silent(test):
        return
    least = _least(error.least, error.most)
    told: dict[str, Value] = {"step": _mm(step), "pitch": _mm(pitch), "error": round(100 * least, 1)}
    if least > STEP_ERROR_MOST:
        fault = say(
            "A click moves the chain by {step}; the sprockets stand {pitch} apart. That is {error} per cent off, more "
            "than a cable system forgives.",
            **told,
        )
    else:
        fault = say(
            "A click moves the chain by {step}; the sprockets stand {pitch} apart. That is {error} per cent off, more "
            "than usual within one family.",
            **told,
        )
    yield from self.judge(
        test,
        ("rear-derailleur", start, "cassette"),
        fault=fault,
    )


@rule(
    Level.CAUTION,
    use_proves=Proof.NOTHING,
    source="arithmetic on Wikibooks, gear-changing dimensions; half a sprocket distance is our choice",
    rider=True,
)
def shift_errors_add_up(self: Rule, context: Context) -> Iterator[Finding]:
    """Over the whole cassette the errors of the clicks add up to half the distance of two sprockets or more.

    A derailleur that is set right on one end then stands between two sprockets at the other, where the chain
    runs on neither. Few sprockets forgive what many do not.

    Cure: shifter, derailleur and cassette of one family.
    """
    found = _cable_step(context.view)
    if found is None:
        return
    step, pitch, speeds, start = found
    error = worked_out(lambda count, *sizes: added_error_mm(int(count), *sizes), speeds, step, pitch)
    least = _least(error.low, error.high)
    test = Amount(least, max(abs(error.low), abs(error.high))).at_most(pitch / 2)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("rear-derailleur", start, "cassette"),
        fault=say(
            "Over {sprockets} the clicks are {off} off in all; half the distance of two sprockets is {half}.",
            sprockets=speeds.told("sprockets"), off=_mm(as_amount(least)), half=_mm(as_amount(pitch.middle / 2)),
        ),
    )


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="the derailleur maker's own figure on the record; common practice, no source",
)  # fmt: skip
def front_derailleur_ring_too_large(self: Rule, context: Context) -> Iterator[Finding]:
    """The largest ring is larger than the front derailleur is made for.

    The tail of the cage strikes the ring, or the cage must stand so high that it no longer moves the chain.

    Cure: a smaller ring, or a front derailleur for this one.
    """
    view = context.view
    rings = ring_teeth(view)
    if not rings or not view.has("front-derailleur", "ring_max_teeth"):
        return
    biggest, limit = largest(rings), view.amount("front-derailleur", "ring_max_teeth")
    test = biggest.at_most(limit)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("front-derailleur", *ring_places(view)),
        fault=say(
            "The largest ring has {ring}; the front derailleur is made for {limit} at most.",
            ring=biggest.told("teeth"), limit=limit.told("teeth"),
        ),
        ask="whether the front derailleur clears the largest ring",
    )


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=False,
    source="the derailleur maker's own figure on the record; common practice, no source; 14 teeth: our choice",
    rider=True,
)
def front_derailleur_ring_too_small(self: Rule, context: Context) -> Iterator[Finding]:
    """The largest ring is smaller than the front derailleur is made for.

    The cage is curved for larger rings. Over a small one its tail stands far off the teeth and the chain
    overshoots. More than 14 teeth too small, where the cage no longer meets the chain, blocks.

    Cure: a front derailleur for this size of ring, or a larger ring.
    """
    view = context.view
    rings = ring_teeth(view)
    if not rings or not view.has("front-derailleur", "ring_min_teeth"):
        return
    biggest, limit = largest(rings), view.amount("front-derailleur", "ring_min_teeth")
    usual = biggest.at_least(limit)
    if self.is_silent(usual):
        return
    yield from self.judge_with_limit(
        usual,
        biggest.at_least(limit - CAGE_LIMIT_TEETH),
        ("front-derailleur", *ring_places(view)),
        fault=say(
            "The largest ring has {ring}; the cage of the front derailleur is curved for {limit} or more.",
            ring=biggest.told("teeth"), limit=limit.told("teeth"),
        ),
        ask="whether the cage of the front derailleur meets the chain",
    )


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=False,
    source="common practice: the derailleur maker's own figure; 14 and 22 teeth read in De Fietssite",
)  # fmt: skip
def ring_difference_too_large(self: Rule, context: Context) -> Iterator[Finding]:
    """Largest and smallest ring differ by more teeth than the front derailleur takes.

    On the smallest ring the chain then drags over the lower bridge of the cage, or the cage strikes the middle
    ring when it is set lower. About 14 to 16 teeth are usual for two rings and 22 for three.

    Cure: rings that lie closer together, or a front derailleur for this difference.
    """
    view = context.view
    rings = ring_teeth(view)
    if not rings or not view.has("front-derailleur", "difference_max_teeth"):
        return
    difference = largest(rings) - smallest(rings)
    limit = view.amount("front-derailleur", "difference_max_teeth")
    test = difference.at_most(limit)
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        ("front-derailleur", *ring_places(view)),
        fault=say(
            "The rings differ by {difference}; the front derailleur takes {limit}.",
            difference=difference.told("teeth"), limit=limit.told("teeth"),
        ),
        ask="whether the front derailleur takes the difference of the rings",
    )


@rule(Level.EXTRA, use_proves=Proof.NOTHING, source="common practice, no source", rider=False, needs_change=True)
def guide_pulley_gap_unset(self: Rule, context: Context) -> Iterator[Finding]:
    """The gap between the upper pulley and the sprockets is no longer as it was set.

    Another cassette, chain, derailleur or hanger changes how far the upper pulley stands from the sprockets. Too near,
    it grinds on the biggest one; too far, the gears shift late. The right gap is the derailleur maker's figure.

    Cure: set it again with its screw, on the biggest sprocket, before the gears are indexed.
    """
    view = context.view
    if "rear-derailleur" not in view.bike:
        return
    causes = context.changed_of(("cassette", "chain", "rear-derailleur", "frame"))
    if causes:
        yield self.tell(
            say(
                "With another {parts} the gap between the upper pulley and the biggest sprocket is to be set again.",
                parts=Several(tuple(map(At, causes))),
            ),
            ("rear-derailleur", *(name for name in causes if name != "rear-derailleur")),
        )
