"""What sits in a bore or on a body: batteries, things in the end of the bar, spacers, cups, halves of a headset."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, as_amount, is_word
from buildcheck.fit.patterns import is_of
from buildcheck.fit.places import bore_of, fits_bore, seat_of
from buildcheck.fit.tape import each
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Value, say

# The ring of a spacer may be this much narrower than the thread is called, and this much wider before it hangs beside
# the cup's flange: our choice; a flange stands some 4 mm over the thread.
CUP_NARROWER_MM, CUP_WIDER_MM = 0.3, 4.0
# A freehub body of nine splines is 34.5 mm over them: from memory. How much wider a spacer on it may be: our choice.
_NINE_SPLINES, NINE_SPLINES_MM, BODY_NARROWER_MM, BODY_WIDER_MM = "spline9*", 34.5, 0.3, 1.5


@rule(Level.BLOCKS, use_proves=Proof.ASSEMBLED, source="common practice, no source: the bore that the place has")
def battery_too_thick(self: Rule, context: Context) -> Iterator[Finding]:
    """The battery is thicker than the bore in which it is to sit.

    Its holder may be made for the post, and the battery in it still not go in: batteries of one family are made in
    several sizes. A battery that is forced in is dented, and a dented cell can burn.

    Cure: a battery for this bore, a post with a wider one, or a holder outside.
    """
    view = context.view
    for spot in each(view.hanging("wiring")):
        seat = seat_of(view, spot)
        if seat is None or not view.has(spot.position, "diameter_mm"):
            continue
        carrier, place = seat
        bore = bore_of(carrier, place)
        if bore is None:
            continue  # a holder in the open
        size = view.amount(spot.position, "diameter_mm")
        test = size.at_most(bore)
        if self.is_silent(test):
            continue
        told: dict[str, Value] = {"battery": view.name(spot.position), "carrier": view.name(carrier.home)}
        yield from self.judge(
            test,
            (spot.position, carrier.home),
            fault=say(
                "{battery} is {size} thick, and the bore in {carrier} is {bore}.",
                size=size.told("mm"), bore=bore.told("mm"), **told,
            ),
            ask=say("whether {battery} goes into the bore in {carrier}", **told),
        )  # fmt: skip


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=False,
    source="common practice, no source: the maker's own limits",
)  # fmt: skip
def bar_bore_mismatch(self: Rule, context: Context) -> Iterator[Finding]:
    """What sits in the end of the bar is made for another bore than the bar has.

    It is held by a wedge or a rubber that spreads in the bore. In a wider one it turns and falls out on the road,
    with the charge point or the junction; into a narrower one it does not go.

    Cure: one that spreads to the bore of this bar, or another place for it.
    """
    view = context.view
    for spot in each(view.hanging("accessory", "wiring")):
        seat = seat_of(view, spot) if view.has(spot.on or "", "inner_mm") else None
        if seat is None:
            continue
        carrier, place = seat
        if not is_of(place.type, "*.bar-end"):
            continue
        bore = view.amount(carrier.home, "inner_mm")
        test = fits_bore(spot, place, bore)
        if self.is_silent(test):
            continue
        told: dict[str, Value] = {"thing": view.name(spot.position), "bar": view.name(carrier.home)}
        yield from self.judge(
            test,
            (spot.position, carrier.home),
            fault=say("{thing} is made for another bore than the {bore} of {bar}.", bore=bore.told("mm"), **told),
            ask=say("whether {thing} holds in the end of {bar}", **told),
        )


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="threads of shells: BikeRaceInfo, bottom bracket threading; 34.5 mm over nine splines: from memory; how far "
    "off is our choice",
    rider=False,
)
def spacer_bore_mismatch(self: Rule, context: Context) -> Iterator[Finding]:
    """A spacer does not go over what it belongs on, or hangs loose on it.

    Beside a cup of the bottom bracket it lies round the thread, between flange and shell. A narrower ring does not
    go over the thread, and one as wide as the flange lets the cup run out of true. Behind a cassette it lies round
    the splines; one that hangs low there holds the sprockets askew.

    Cure: the spacer that is made for this thread or this body.
    """
    view = context.view
    for name in each(view.of_row("bb-spacer")):
        if view.has(name, "bore_mm") and view.has("bottom-bracket", "shell"):
            thread = view.size_of_word("bottom-bracket", "shell", "bb-shell")
            limits = thread - CUP_NARROWER_MM, thread + CUP_WIDER_MM
            yield from _on_a_body(self, context, name, "bottom-bracket", limits, Level.BLOCKS)
    for name in each(view.of_row("freehub-spacer")):
        if view.has(name, "bore_mm") and view.has("cassette", "freehub"):
            freehub = view.word("cassette", "freehub").value
            if isinstance(freehub, str) and is_of(freehub, _NINE_SPLINES):
                limits = as_amount(NINE_SPLINES_MM - BODY_NARROWER_MM), as_amount(NINE_SPLINES_MM + BODY_WIDER_MM)
                yield from _on_a_body(self, context, name, "cassette", limits, Level.CAUTION)


def _on_a_body(
    self: Rule, context: Context, spacer: str, on: str, limits: tuple[Amount, Amount], level: Level
) -> Iterator[Finding]:
    view = context.view
    bore = view.amount(spacer, "bore_mm")
    test = bore.at_least(limits[0]).both(bore.at_most(limits[1]))
    if self.is_silent(test, level):
        return
    told: dict[str, Value] = {"spacer": view.name(spacer), "part": view.name(on)}
    yield from self.judge(
        test,
        (spacer, on),
        level=level,
        fault=say(
            "{spacer} has a bore of {bore}; on {part} it takes {least} to {most}.",
            bore=bore.told("mm"), least=limits[0].told("mm"), most=limits[1].told("mm"), **told,
        ),
        ask=say("whether {spacer} goes over its thread on {part}", **told),
    )  # fmt: skip


# What goes through the bearing of each half of a headset, on the fork.
_THROUGH = (("headset-upper", "steerer_mm"), ("headset-lower", "crown_seat_mm"))
# A bearing is ground to a few hundredths: our choice is what a caliper reads wrong.
BEARING_TIGHT_MM = 0.15
# Balls of 1/8 in with a ring on either side take about 4.5 mm: our choice is less, on both sides together.
BEARING_WALLS_MM = 7.0


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="open headset code (SHIS), WikiPedalia: SHIS, for what goes through which half; limits our choice",
)
def headset_bearing_bore_mismatch(self: Rule, context: Context) -> Iterator[Finding]:
    """The steerer does not go through the bore of a headset bearing, or the bore leaves no room for its balls.

    The upper bearing lies round the steerer with its compression ring, the lower one round the crown race on its
    seat. A bore that is smaller than that does not go on at all; one that is almost as wide as the outside of its
    bearing was read wrong or is of another bearing, and no ring fills it.

    Cure: a bearing whose bore is that of its ring or race, on this steerer.
    """
    view = context.view
    for position, size in each(_THROUGH):
        if not (view.has(position, "bearing_inner_mm", "bearing_outer_mm") and view.has("fork", size)):
            continue
        inner, outer = view.amount(position, "bearing_inner_mm"), view.amount(position, "bearing_outer_mm")
        through = view.amount("fork", size)
        goes, walls = inner.at_least(through - BEARING_TIGHT_MM), (outer - inner).at_least(BEARING_WALLS_MM)
        test = goes.both(walls)
        if self.is_silent(test):
            continue
        told: dict[str, Value] = {
            "part": view.name(position), "inner": inner.told("mm"), "outer": outer.told("mm"),
            "size": through.told("mm"),
        }  # fmt: skip
        yield from self.judge(
            test,
            (position, "fork") if goes.no else (position,),
            fault=say(_BORE_IS[goes.no], **told),
            ask=say("whether the bearing of the {part} has a bore for this fork", part=told["part"]),
        )


# By whether the fork does not go through.
_BORE_IS = {
    True: "The bearing of the {part} is {inner} inside; what goes through it on the fork is {size}.",
    False: "The bearing of the {part} is {inner} inside and {outer} outside, which leaves no room for its balls.",
}


# Where a bottom bracket sits, and the width of its shell.
_SHELLS = (("bottom-bracket", "bb_shell_width_mm"), ("front-bottom-bracket", "front_bb_shell_width_mm"))
# A shell is faced and painted: our choice, as in the rows for the narrowest and the widest shell.
SHELL_TOLERANCE_MM = 0.5


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=False,
    source="BikeRaceInfo: bottom bracket threading; tolerance of 0.5 mm: our choice",
)  # fmt: skip
def bb_shell_between_widths(self: Rule, context: Context) -> Iterator[Finding]:
    """The shell is neither of the two widths that the bottom bracket is made for, but lies between them.

    Cups for 68 or 73 mm come with rings for the one or the other. In a shell of 70 mm the rings leave the bearings
    too near to one another or too far apart, so the crank has play that nothing takes up, or its arms bind.

    Cure: a bottom bracket for this width, or one whose maker names every width between the two.
    """
    view = context.view
    for position, width in each(_SHELLS):
        if not (view.has(position, "widths_between") and view.has("frame", width)):
            continue
        least, most = view.amount(position, "shell_width_min_mm"), view.amount(position, "shell_width_max_mm")
        shell = view.amount("frame", width)
        test = shell.at_most(least + SHELL_TOLERANCE_MM).either(shell.at_least(most - SHELL_TOLERANCE_MM))
        test = test.either((most - least).at_most(2 * SHELL_TOLERANCE_MM))  # then nothing lies between
        test = test.either(is_word(view.word(position, "widths_between"), "yes"))
        if self.is_silent(test):
            continue
        part = view.name(position)
        yield from self.judge(
            test,
            (position, "frame"),
            fault=say(
                "{part} is for a shell of {least} or {most} and nothing between; the shell is {shell} wide.",
                part=part, least=least.told("mm"), most=most.told("mm"), shell=shell.told("mm"),
            ),
            ask=say("whether {part} takes the width of its shell, which is neither the least nor the most", part=part),
        )  # fmt: skip


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def headset_half_in_wrong_place(self: Rule, context: Context) -> Iterator[Finding]:
    """A half of the headset is made for the other end of the head tube.

    The upper half has the ring, or the thread, that centres the steerer; the lower one sits on the crown race and
    bears the rider. Where both seats of a head tube are of one size the wrong half goes in, and nothing holds the
    steerer in its bearing.

    Cure: the half that is made for this end.
    """
    view = context.view
    for position, (half, fault) in each(_HALVES.items()):
        if view.has(position, "half"):
            test = is_word(view.word(position, "half"), half)
            if self.is_silent(test):
                continue
            yield from self.judge(test, (position,), fault=say(fault, headset=view.name(position)))


# By the end of the head tube: the half that is for it, and what is said of the other one.
_HALVES = {
    "headset-upper": ("upper", "{headset} is a lower half and sits at the upper end of the head tube."),
    "headset-lower": ("lower", "{headset} is an upper half and sits at the lower end of the head tube."),
}
