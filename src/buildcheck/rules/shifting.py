"""Shifting: the cassette on its body, cable pull against the sprockets, the front derailleur against the rings."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from buildcheck.fit.context import Context
from buildcheck.fit.drivetrain import ring_teeth
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Test, is_word, largest, smallest, worked_out
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.rules.crank_facts import ring_places
from buildcheck.trade.shifting import (
    BODY_TOLERANCE_MM,
    STEP_ERROR_MOST,
    STEP_ERROR_WARN,
    added_error_mm,
    body_left_mm,
    shift_step_mm,
    sprocket_stack_mm,
    step_error,
)


def _mm(amount: Amount) -> str:
    """An amount in mm with two decimals, for sizes where a tenth matters."""
    return f"{amount.low:.2f} mm" if amount.low == amount.high else f"{amount.low:.2f} to {amount.high:.2f} mm"


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
    return Amount(0.0, most, (*fills.facts, *speeds.facts, *pitch.facts, *thickness.facts))


@rule(Level.BLOCKS, source="Rookie Journal: 11-speed hubs (1.85 mm); BikeRadar forum (4.5 mm); tolerance our choice")
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
    yield from self.judge(
        left.at_most(BODY_TOLERANCE_MM).only_if(closed),
        ("cassette", *spacers, view.free_name("freehub-spacer"), "rear-wheel"),
        fault=f"Cassette and spacers leave {_mm(left)} of the freehub body empty, so the lockring holds nothing; "
        f"at most {BODY_TOLERANCE_MM:g} mm may be left.",
        ask="whether cassette and spacers fill the freehub body",
        also=closed.facts,
    )


@rule(Level.BLOCKS, source="Rookie Journal: 11-speed hubs (1.85 mm); Chris Bell: Freehubs; tolerance our choice")
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
    yield from self.judge(
        over.at_most(BODY_TOLERANCE_MM).only_if(closed),
        ("cassette", *spacers, "rear-wheel"),
        fault=f"Cassette and spacers stand {_mm(over)} beyond the freehub body, so the lockring does not engage; "
        f"at most {BODY_TOLERANCE_MM:g} mm is possible.",
        ask="whether the lockring engages in the freehub body",
        also=closed.facts,
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
    cable, ratio, pitch, speeds = (view.amount(position, attribute) for position, attribute in needed)
    if not all(size.known for size in (cable, ratio, pitch, speeds)) or pitch.low == 0 or speeds.high <= 1:
        return None
    return worked_out(shift_step_mm, cable, ratio), pitch, speeds, start


def _least(low: float, high: float) -> float:
    """The smallest distance from 0 within an interval."""
    return max(0.0, low, -high)


@rule(Level.CAUTION, source="Wikibooks, gear-changing dimensions; 3 and 6 per cent are our choice")
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
    least = _least(error.low, error.high)
    much = "more than a cable system forgives" if least > STEP_ERROR_MOST else "more than usual within one family"
    yield from self.judge(
        error.within(0.0, STEP_ERROR_WARN),
        ("rear-derailleur", start, "cassette"),
        fault=f"A click moves the chain by {_mm(step)}; the sprockets stand {_mm(pitch)} apart. That is "
        f"{100 * least:.1f} per cent off, {much}.",
        ask="",
    )


@rule(Level.CAUTION, source="arithmetic on Wikibooks, gear-changing dimensions; half a sprocket distance is our choice")
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
    yield from self.judge(
        Amount(least, max(abs(error.low), abs(error.high)), error.facts).at_most(pitch / 2),
        ("rear-derailleur", start, "cassette"),
        fault=f"Over {speeds.low:g} sprockets the clicks are {least:.2f} mm off in all; half the distance of two "
        f"sprockets is {pitch.middle / 2:.2f} mm.",
        ask="",
    )


@rule(Level.BLOCKS, source="the derailleur maker's own figure on the record; common practice, no source")
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
    yield from self.judge(
        biggest.at_most(limit),
        ("front-derailleur", *ring_places(view)),
        fault=f"The largest ring has {biggest.shown('teeth')}; the front derailleur is made for {limit.shown('teeth')} "
        "at most.",
        ask="whether the front derailleur clears the largest ring",
    )


@rule(Level.CAUTION, source="the derailleur maker's own figure on the record; common practice, no source")
def front_derailleur_ring_too_small(self: Rule, context: Context) -> Iterator[Finding]:
    """The largest ring is smaller than the front derailleur is made for.

    The cage is curved for larger rings. Over a small one its tail stands far off the teeth and the chain
    overshoots.

    Cure: a front derailleur for this size of ring, or a larger ring.
    """
    view = context.view
    rings = ring_teeth(view)
    if not rings or not view.has("front-derailleur", "ring_min_teeth"):
        return
    biggest, limit = largest(rings), view.amount("front-derailleur", "ring_min_teeth")
    yield from self.judge(
        biggest.at_least(limit),
        ("front-derailleur", *ring_places(view)),
        fault=f"The largest ring has {biggest.shown('teeth')}; the cage of the front derailleur is curved for "
        f"{limit.shown('teeth')} or more.",
        ask="",
    )


@rule(Level.BLOCKS, source="common practice: the derailleur maker's own figure; 14 and 22 teeth read in De Fietssite")
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
    yield from self.judge(
        difference.at_most(limit),
        ("front-derailleur", *ring_places(view)),
        fault=f"The rings differ by {difference.shown('teeth')}; the front derailleur takes {limit.shown('teeth')}.",
        ask="whether the front derailleur takes the difference of the rings",
    )
