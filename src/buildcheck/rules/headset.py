"""Inside the steerer and the head tube: plug under the clamp, threaded steerer, bearings in their seats."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.causes import causes_of
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Test, as_amount, is_word, of_pattern, smallest
from buildcheck.fit.support import spacers_above_stem
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Value, say
from buildcheck.rules.steering import (
    LEAST_PRELOAD_GAP_MM,
    stack_below_stem,
    stack_causes,
    stem_top,
    threadless_steerer,
)

# How much smaller than its bore a bearing may be, and how much larger, before it rocks or does not go in: our
# choice, so that 41.8 mm lies in a bore of 42 and 51.8 or 52 mm in one of 52, but 41.0 mm not in one of 42.
BEARING_SMALLER_MM, BEARING_LARGER_MM = 0.4, 0.1

# From where it is the bearing of another seat: our choice. 41.0 mm lies 1.0 mm below a bore of 42.
OTHER_SMALLER_MM, OTHER_LARGER_MM = 0.6, 0.3

# Cover and crown stand half a millimetre off the head tube, and bearings of one seat differ by up to 1.5 mm in height:
# from memory. The limits are our choice.
HEIGHT_MM, LOWER_MM, HIGHER_MM = 0.2, 0.5, 2.0

# Bearings have 36 or 45 degrees, and those of 30.2 and 30.5 mm inside are two: the limits between them are our choice.
ANGLE_DEG, SHOULDER_MM = 2.0, 0.25

# A locknut is about 8 mm high and has its thread in the lower 6: from memory. It must not rest on the steerer's end.
LOCKNUT_MM, USUAL_LOCKNUT_GAP_MM, LEAST_LOCKNUT_GAP_MM = 8.0, 5.0, 1.0


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="Road Bike Rider: bicycle carbon steerer tubes and safety; BikeRadar forum: spacers above the stem",
    rider=True,
)
def plug_misses_clamp(self: Rule, context: Context) -> Iterator[Finding]:
    """The expanding plug does not support a carbon steerer where the stem clamps it.

    The plug hangs from the top of the steerer; a new fork is cut to the stack before it goes in. With spacers above
    the stem, or with a short plug, it ends above the clamp, and the clamp presses on a thin tube without a core, which
    can crack it. A plug that ends within the clamp supports a part of it only.

    Cure: a longer plug, fewer spacers above the stem, or a steerer cut to the height that is settled.
    """
    view = context.view
    top, below, threadless = stem_top(view), stack_below_stem(view), threadless_steerer(view)
    if top is None or below is None or threadless is None or not view.has("steerer-plug", "depth_mm"):
        return
    carbon = is_word(view.word("fork", "steerer_material"), "carbon")
    expanding = is_word(view.word("steerer-plug", "plug_type"), "expanding")
    applies = carbon.both(expanding).both(threadless)
    depth = view.amount("steerer-plug", "depth_mm")
    steerer = view.amount("fork", "steerer_length_mm")
    if context.is_changed("fork"):
        stack = top + view.total(spacers_above_stem(view), "height_mm")
        steerer = smallest((steerer, stack - LEAST_PRELOAD_GAP_MM))
    end = steerer - depth
    misses, supports_all = end.at_most(top).only_if(applies), end.at_most(below).only_if(applies)
    if self.is_silent(misses) and self.is_silent(supports_all, Level.CAUTION):
        return
    yield from self.judge(
        misses,
        ("steerer-plug", "fork", "stem"),
        fault=say(
            "The plug reaches {depth} into the steerer and ends {gap} above the stem's clamp, which it has to support.",
            depth=depth.told("mm"), gap=(end - top).told("mm"),
        ),
        ask="whether the plug reaches into the stem's clamp",
        because=lambda: (*stack_causes(view), *causes_of(depth.facts)),
    )  # fmt: skip
    if misses.yes:
        yield from self.judge(
            supports_all,
            ("steerer-plug", "fork", "stem"),
            level=Level.CAUTION,
            fault=say(
                "The plug reaches {depth} into the steerer and ends {gap} above the lower edge of the stem's clamp: it "
                "supports the upper part only.",
                depth=depth.told("mm"), gap=(end - below).told("mm"),
            ),
        )  # fmt: skip


def _under_locknut(view: View) -> tuple[Amount, Test] | None:
    """How far a threaded steerer ends below the top of its locknut, and whether it is threaded."""
    stack = stack_below_stem(view)
    if stack is None or not view.has("fork", "steerer_length_mm", "threaded"):
        return None
    return stack - view.amount("fork", "steerer_length_mm"), is_word(view.word("fork", "threaded"), "yes")


@rule(
    Level.BLOCKS, Level.CAUTION, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, from memory: a locknut is about 8 mm high", rider=True,
)  # fmt: skip
def threaded_steerer_too_short(self: Rule, context: Context) -> Iterator[Finding]:
    """A threaded steerer does not reach far enough into its locknut.

    Head tube and headset stand on the crown; what the steerer has left above them holds the locknut. With
    8 mm missing the nut finds no thread at all, with more than 5 mm it holds by a turn or two, and the
    headset works loose on the road.

    Cure: a headset that stands lower, fewer spacers under the locknut, or a fork with a longer steerer.
    """
    found = _under_locknut(context.view)
    if found is None:
        return
    gap, threaded = found
    holds, is_usual = (gap.at_most(most).only_if(threaded) for most in (LOCKNUT_MM, USUAL_LOCKNUT_GAP_MM))
    if self.is_silent(holds) and self.is_silent(is_usual, Level.CAUTION):
        return
    yield from self.judge(
        holds,
        ("fork", "headset-upper"),
        fault=say(
            "The threaded steerer ends {gap} below the top of the locknut, which is about {nut} high: it finds no "
            "thread.",
            gap=gap.told("mm"), nut=as_amount(LOCKNUT_MM).told("mm"),
        ),
        ask="whether the threaded steerer reaches into the locknut",
        because=lambda: stack_causes(context.view, stem=False),
    )  # fmt: skip
    if holds.yes:
        yield from self.judge(
            is_usual,
            ("fork", "headset-upper"),
            level=Level.CAUTION,
            fault=say(
                "The threaded steerer ends {gap} below the top of the locknut; up to {usual} is usual, so the nut has "
                "few turns of thread.",
                gap=gap.told("mm"), usual=as_amount(USUAL_LOCKNUT_GAP_MM).told("mm"),
            ),
        )  # fmt: skip


@rule(Level.EXTRA, use_proves=Proof.NOTHING, source="common practice, from memory", rider=False)
def threaded_steerer_too_long(self: Rule, context: Context) -> Iterator[Finding]:
    """The end of a threaded steerer touches the locknut before the nut holds.

    The nut then rests on the steerer and not on the race below it, so the bearing cannot be set however
    hard the nut is turned.

    Cure: a keyed spacer under the locknut; a steerer is shortened only where thread is left below.
    """
    found = _under_locknut(context.view)
    if found is None:
        return
    gap, threaded = found
    test = gap.at_least(LEAST_LOCKNUT_GAP_MM).only_if(threaded)
    if self.is_silent(test):
        return
    told: dict[str, Value] = {
        "gap": gap.told("mm"), "height": (-gap).told("mm"), "least": as_amount(LEAST_LOCKNUT_GAP_MM).told("mm"),
    }  # fmt: skip
    yield from self.judge(
        test,
        ("fork", "headset-upper"),
        fault=say(_NUT_RESTS[gap.most < 0], **told),
        ask="whether the locknut can set the bearings",
    )


# By whether the steerer stands above the locknut.
_NUT_RESTS = {
    False: "The threaded steerer ends {gap} below the top of the locknut; {least} below is the least: put a spacer "
    "under the nut.",
    True: "The threaded steerer stands {height} above the top of the locknut; {least} below is the least: put a spacer "
    "under the nut.",
}


HALVES = (("headset-upper", "head_tube_upper"), ("headset-lower", "head_tube_lower"))


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="open headset code (SHIS), WikiPedalia: SHIS; bearing sizes from memory, limits our choice",
    rider=True,
)
def headset_bearing_mismatch(self: Rule, context: Context) -> Iterator[Finding]:
    """A bearing that lies straight in the head tube is not of the size of its seat.

    Bearings of 41.0 and 41.8 mm, or 51.8 and 52 mm, are told apart by a caliper and not by eye. One that is
    too small rocks and wears the seat, which cannot be replaced; one that is too large does not go in. A
    bearing of the next size holds the fork by one edge and lets it knock at every bump.

    Cure: a bearing of the size and the angles that the headset's maker names for this head tube.
    """
    view = context.view
    for position, end in each(HALVES):
        if not (view.has(position, "bearing_outer_mm") and view.has("frame", end)):
            continue
        seat, outer = view.word("frame", end), view.amount(position, "bearing_outer_mm")
        bore = view.size_of_word("frame", end, "headset-seat")
        if not (bore.known and of_pattern(seat, "IS*").yes):
            continue
        holds = outer.at_most(bore + OTHER_LARGER_MM).both(outer.at_least(bore - OTHER_SMALLER_MM))
        sits = outer.at_most(bore + BEARING_LARGER_MM).both(outer.at_least(bore - BEARING_SMALLER_MM))
        if self.is_silent(holds) and self.is_silent(sits, Level.CAUTION):
            continue
        part = view.name(position)
        fault = say(
            "The bearing of the {part} is {outer} outside; the seat {seat} has a bore of {bore}.",
            part=part, outer=outer.told("mm"), seat=seat.told(), bore=bore.told("mm"),
        )  # fmt: skip
        ask = say("whether the bearing of the {part} is of the size of its seat", part=part)
        yield from self.judge(holds, (position, "frame"), fault=fault, ask=ask)
        if holds.yes:
            yield from self.judge(sits, (position, "frame"), level=Level.CAUTION, fault=fault)


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="dealer article: measuring headset bearings; CyclingTips reprint: angles of 36 and 45 degrees; the angle of "
    "a seat partly from memory, limit our choice",
)
def headset_bearing_angle_mismatch(self: Rule, context: Context) -> Iterator[Finding]:
    """A bearing that lies straight in the head tube has another angle outside than the cone of its seat.

    A bearing for 36 degrees on a cone of 45 touches it along a line. It rocks, creaks, and cuts a groove
    into a seat that belongs to the frame. Bearings of one size are sold with both angles.

    Cure: a bearing with the outer angle of the seat, which is the second of the two on its seal.
    """
    view = context.view
    for position, end in each(HALVES):
        if not (view.has(position, "bearing_outer_deg") and view.has("frame", end)):
            continue
        cone = view.angle_of_word("frame", end, "headset-seat")
        if not cone.known:
            continue
        angle, part = view.amount(position, "bearing_outer_deg"), view.name(position)
        rests = angle.within(cone, ANGLE_DEG)
        if self.is_silent(rests):
            continue
        yield from self.judge(
            rests,
            (position, "frame"),
            fault=say(
                "The bearing of the {part} has an angle of {angle} outside; the cone of the seat {seat} has {cone}.",
                part=part, angle=angle.told("deg"), seat=view.word("frame", end).told(), cone=cone.told("deg"),
            ),
            ask=say("whether the bearing of the {part} has the angle of its seat", part=part),
        )  # fmt: skip


def _race(view: View, half: str) -> str:
    """What the bearing of a half sits on: its own ring or race, or a reducing race that lies in place of that."""
    reducing = half == "headset-lower" and view.has(_REDUCER, "race_shoulder_mm", "race_angle_deg")
    return _REDUCER if reducing else half


_REDUCER = "crown-race-reducer"
@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="dealer article: measuring headset bearings; CyclingTips reprint: angles of 36 and 45 degrees; limits our "
    "choice",
)
def headset_race_mismatch(self: Rule, context: Context) -> Iterator[Finding]:
    """A headset bearing does not sit on its compression ring or crown race.

    The ring centres the bearing on the steerer, and the crown race carries it. Where the bearing is wider
    inside, or its inner angle is another one, it hangs on an edge: the headset has play however it is set,
    and the fork knocks. A bearing that is narrower inside does not go down on its race.

    Cure: a bearing with the inner size and the inner angle of its ring, or the ring that belongs to it.
    """
    view = context.view
    for position, _ in each(HALVES):
        if not view.has(position, "race_shoulder_mm", "race_angle_deg", "bearing_inner_mm", "bearing_inner_deg"):
            continue
        inner, angle = view.amount(position, "bearing_inner_mm"), view.amount(position, "bearing_inner_deg")
        race = _race(view, position)
        shoulder, cone = view.amount(race, "race_shoulder_mm"), view.amount(race, "race_angle_deg")
        sits = inner.within(shoulder, SHOULDER_MM).both(angle.within(cone, ANGLE_DEG))
        if self.is_silent(sits):
            continue
        part = view.name(position)
        yield from self.judge(
            sits,
            (position,) if race == position else (position, race),
            fault=say(
                "The bearing of the {part} is {inner} inside with an angle of {angle}; its ring or race is for "
                "{shoulder} and {cone}.",
                part=part, inner=inner.told("mm"), angle=angle.told("deg"), shoulder=shoulder.told("mm"),
                cone=cone.told("deg"),
            ),
            ask=say("whether the bearing of the {part} sits on its ring or race", part=part),
        )  # fmt: skip


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="dealer article: measuring headset bearings; heights of 6.5 to 8 mm from memory, limits our choice",
    rider=True,
)
def headset_bearing_height_differs(self: Rule, context: Context) -> Iterator[Finding]:
    """A headset bearing is not as high as the one that its half was made with.

    A lower bearing lets the cover, or the crown of the fork, down on the head tube: the bearing can then not
    be set, and the steering grinds. A higher one leaves a gap for water and lifts all that stands on it; far
    too high, the cover no longer centres the bearing.

    Cure: a bearing of the height that the headset's maker names, the third figure of its size.
    """
    view = context.view
    for position, _ in each(HALVES):
        if not view.has(position, "bearing_height_mm", "usual_bearing_height_mm"):
            continue
        height, usual = view.amount(position, "bearing_height_mm"), view.amount(position, "usual_bearing_height_mm")
        turns = height.at_least(usual - LOWER_MM).both(height.at_most(usual + HIGHER_MM))
        same = height.within(usual, HEIGHT_MM)
        if self.is_silent(turns) and self.is_silent(same, Level.CAUTION):
            continue
        part = view.name(position)
        fault = say(
            "The bearing of the {part} is {height} high; its half is made for one of {usual}.",
            part=part, height=height.told("mm"), usual=usual.told("mm"),
        )  # fmt: skip
        ask = say("whether the bearing of the {part} has the height that its half is made for", part=part)
        yield from self.judge(turns, (position,), fault=fault, ask=ask)
        if turns.yes:
            yield from self.judge(same, (position,), level=Level.CAUTION, fault=fault)
