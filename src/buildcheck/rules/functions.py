"""What the bike must do: each chain from a control by a link to what it works is whole, and of its own."""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce
from itertools import combinations

from buildcheck.fit import tape
from buildcheck.fit.causes import causes_of
from buildcheck.fit.context import Context
from buildcheck.fit.drivetrain import one_ring, one_sprocket
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Test, is_not_word, is_word
from buildcheck.fit.functions import (
    BRAKE,
    SHIFT,
    brakes_in_doubt,
    control_words,
    controls,
    idle_controls,
    lines_at_levers,
    lines_in_doubt,
    pulls,
    shifting_in_doubt,
    there,
)
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.functions import FunctionRow
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import At, Value, as_said, say


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="ISO 4210-2:2015 cl. 4.6.1 (TBIS 4210-2:2018, p. 4) and TBIS 79010:2019 cl. 4.2.1 for carriers: two braking "
    "systems, front and rear, that work on their own",
)
def brake_missing(self: Rule, context: Context) -> Iterator[Finding]:
    """The bike has no working brake at one of its wheels.

    Two brakes that work on their own, one at each wheel, are what the standard and most local rules ask
    for: when one fails, the other must stop the rider. A brake on frame or fork counts, and so does one in
    the hub. A brake whose record says that it does nothing is no brake, and a coaster brake is none in front,
    where no chain drives it backwards. A fixed sprocket is a rear brake only where the bike's file says that the law
    takes it for one.

    Cure: fit the brake with its lever and line, or a wheel with a brake in its hub.
    """
    view = context.view
    for row, test in each(brakes_in_doubt(view)):
        caliper, wheel = (worked.at for worked in row.works)
        fixed = _fixed_wheel(view) if row.id == "stop-rear" else None
        if fixed is not None:
            test = fixed if test is None else test.either(fixed)
        if test is None:
            empty = say(
                "{brake} is empty, and there is no {wheel} with a brake in its hub", brake=At(caliper), wheel=At(wheel)
            )
            yield self.tell(say(_NO_BRAKE[row.id]), (caliper,), because=lambda: (Cause(empty),))  # noqa: B023
            continue
        idle = say("{brake} brakes nothing.", brake=view.name(caliper))
        yield from self.judge(
            test,
            (caliper,),
            fault=idle if caliper in view.bike else say(_NO_BRAKE[row.id]),
            ask=say(_ANY_BRAKE[row.id]),
        )


_NO_BRAKE = {"stop-front": "This bike has no front brake.", "stop-rear": "This bike has no rear brake."}
_ANY_BRAKE = {
    "stop-front": "whether this bike has a front brake",
    "stop-rear": "whether this bike has a rear brake",
}


def _fixed_wheel(view: View) -> Test | None:
    """Do the pedals hold the rear wheel back, where the law takes that for a brake? None where nothing could."""
    if not view.bike.fixed_wheel_brakes:
        return None
    tape.asked(tape.PositionAsked("rear-derailleur"))
    if "rear-derailleur" in view.bike or not view.has("cassette", "freehub"):
        return None
    return is_word(view.word("cassette", "freehub"), *view.standards.words_with("freehub", "is_fixed"))


@rule(
    Level.NOTE, use_proves=Proof.NOTHING,
    source="the law of the place, as the bike's file says; common practice for the rest",
)  # fmt: skip
def fixed_wheel_for_a_brake(self: Rule, context: Context) -> Iterator[Finding]:
    """The rear wheel has no brake but its fixed sprocket, which the law takes for one where the bike is ridden.

    The file of the bike says so. Elsewhere the same bike may not be ridden on the road, and when the chain comes off
    or a foot slips, the brake in front is the only one left.

    Cure: none needed there; a brake at the rear for any other place.
    """
    view = context.view
    fixed = _fixed_wheel(view)
    if fixed is None or not fixed.yes or all(row.id != "stop-rear" for row, _ in brakes_in_doubt(view)):
        return
    text = say(
        "The fixed sprocket is the only brake at the rear. The file of this bike says that local law allows that; "
        "elsewhere it may not, and it is none when the chain comes off."
    )
    yield self.tell(text, ("cassette", "rear-caliper"))


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="ISO 4210-2:2015 cl. 4.6.1 (TBIS 4210-2:2018, p. 4) and TBIS 79010:2019 cl. 4.2.1 for carriers: two braking "
    "systems that work on their own",
)
def brakes_share_a_lever(self: Rule, context: Context) -> Iterator[Finding]:
    """One lever works both brakes.

    If the lever, its clamp or its pivot fails, both brakes are gone at once. The standard asks for two
    systems that do not depend on each other.

    Cure: run the second line to a lever of its own; with a coaster brake one lever is enough.
    """
    for lever, lines in each(lines_at_levers(context.view, BRAKE)):
        text = say("Front and rear brake both hang on {lever}.", lever=context.view.name(lever))
        hung = [line for _, line in lines]
        yield self.tell(
            text, (*(line.position for line in hung), lever), because=lambda: tuple(map(_leads, hung))  # noqa: B023
        )  # fmt: skip


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=False,
    source="common practice, no source: a shifter has one drum and one seat for the head of a cable",
)  # fmt: skip
def cables_share_a_shifter(self: Rule, context: Context) -> Iterator[Finding]:
    """Two cables hang on one shifter.

    A shifter has one seat for the head of a cable and pulls one length. The second cable finds no hold, and if it
    did, every shift of the one derailleur would move the other, or the post, as well.

    Cure: a shifter or a remote of its own for the second cable, with the line led there.
    """
    view = context.view
    for lever, lines in each(lines_at_levers(view, SHIFT)):
        for (one, first), (other, second) in each(combinations(lines, 2)):
            idle = [pulls(view, row, lever).opposite() for row in (one, other)]
            yield from self.judge(
                reduce(Test.either, idle),
                (first.position, second.position, lever),
                fault=say(
                    "{first} and {second} both hang on {lever}.",
                    first=At(first.position), second=At(second.position), lever=view.name(lever),
                ),
                ask=say(
                    "whether {lever} pulls both {first} and {second}",
                    first=At(first.position), second=At(second.position), lever=view.name(lever),
                ),
                because=lambda: (_leads(first), _leads(second)),  # noqa: B023
            )  # fmt: skip


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def line_missing(self: Rule, context: Context) -> Iterator[Finding]:
    """A brake, a derailleur, a gear hub or a dropper post is worked by a line, and the line is not there.

    A cable or a hose is what joins the hand to what it works. Without it a brake does nothing, a derailleur stays
    where its spring puts it, a gear hub in one gear, and a dropper post at one height.

    Cure: the line, from a lever that works it; for what is worked by radio or by hand none is needed.
    """
    view = context.view
    for row, test in each(lines_in_doubt(view)):
        line, reason = row.line or "", as_said(row.without_line or "")
        what = as_said(view.row(line).what)
        yield from self.judge(
            test,
            (line, *(worked.at for worked in there(view, row))),
            fault=say("This bike has no {what}: {reason}.", what=what, reason=reason),
            ask=say("whether a {what} is needed", what=what),
            because=lambda: (*causes_of(test.facts), *_no_line(view, row)),  # noqa: B023
        )


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=False, source="common practice, no source")
def shifter_missing(self: Rule, context: Context) -> Iterator[Finding]:
    """An electric derailleur has no shifter: none of the levers on the bike tells it what to do.

    By wire or by radio, a derailleur moves when a lever of its family is pressed. A lever that only brakes sends
    nothing, however well the battery is charged.

    Cure: a lever or a shifter of the derailleur's family.
    """
    view = context.view
    for row, worked, test in each(shifting_in_doubt(view)):
        yield from self.judge(
            test,
            (worked.at, *(control.at for control in row.controls)),
            fault=say("No lever on this bike shifts {worked}.", worked=view.name(worked.at)),
            ask=say("whether any lever on this bike shifts {worked}", worked=view.name(worked.at)),
            because=lambda: _why_no_control(view, row),  # noqa: B023
        )


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=False, source="common practice, no source")
def derailleur_missing(self: Rule, context: Context) -> Iterator[Finding]:
    """There are several sprockets or several rings, and nothing moves the chain from one to the other.

    A chain stays on the sprocket or the ring where it lies, and without a rear derailleur nothing takes up the
    chain that a smaller one sets free. What shifts nothing, such as a tensioner, only keeps the chain tight.

    Cure: a derailleur with its shifter and cable, or one sprocket, or one ring.
    """
    view = context.view
    for function, choice in each(_CHOICES.items()):
        among, one = choice(view)
        mover = view.standards.functions[function].works[0]
        there_is = mover.at in view.bike
        test = one.either(is_not_word(view.word(mover.at, mover.by), "none")) if there_is else one
        if self.is_silent(test):
            continue
        yield from self.judge(
            test,
            (mover.at, *among),
            fault=say(_IDLE[function], derailleur=view.name(mover.at)) if there_is else say(_NONE[function]),
            ask=say(_SEVERAL[function]),
            because=lambda: causes_of(one.facts) or tuple(_is_there(view, name) for name in among),  # noqa: B023
        )


@rule(Level.EXTRA, use_proves=Proof.NOTHING, source="common practice, no source", rider=False)
def front_derailleur_idle(self: Rule, context: Context) -> Iterator[Finding]:
    """A front derailleur stands over a single ring and has nothing to shift.

    Its cage only keeps the chain from falling off, and a pull at its shifter throws the chain. What stays on for
    nothing is weight, and a cable to look after.

    Cure: take it off with its shifter and cable, or set it with its stops as a guide for the chain; or another ring.
    """
    view = context.view
    if "front-derailleur" not in view.bike:
        return
    among, one = one_ring(view)
    if not among:
        return
    test = one.opposite()
    if self.is_silent(test):
        return
    told: dict[str, Value] = {"derailleur": view.name("front-derailleur")}
    yield from self.judge(
        test,
        ("front-derailleur", *among),
        fault=say("{derailleur} stands over one ring and has nothing to shift.", **told),
        ask=say("whether {derailleur} stands over more than one ring", **told),
    )


@rule(Level.CAUTION, Level.NOTE, use_proves=Proof.NOTHING, source="common practice, no source", rider=True)
def control_works_nothing(self: Rule, context: Context) -> Iterator[Finding]:
    """A lever is on the bike, and nothing hangs on it.

    Who pulls a brake lever in fright counts on it. A shifter or a remote that works nothing is only in the way, and
    its clamp takes the place of another thing.

    Cure: take it off, or lead a line to it from what it is to work.
    """
    view = context.view
    for idle in each(idle_controls(view)):
        text = say(_WORKS_NOTHING[idle.pull], lever=view.name(idle.lever))
        level = Level.CAUTION if idle.pull == BRAKE else Level.NOTE
        yield self.tell(text, (idle.lever, *idle.beside), idle.test.facts, level=level)


_WORKS_NOTHING = {
    BRAKE: "No brake hangs on {lever}: who pulls it does not stop.",
    SHIFT: "{lever} shifts or lowers nothing: no line leads from it, and nothing on the bike takes its signal.",
}
_CHOICES = {"shift-rear": one_sprocket, "shift-front": one_ring}
_NONE = {
    "shift-rear": "This bike has no rear derailleur: nothing moves the chain over the sprockets and keeps it tight.",
    "shift-front": "This bike has no front derailleur: nothing moves the chain from ring to ring.",
}
_IDLE = {
    "shift-rear": "{derailleur} shifts nothing: nothing moves the chain over the sprockets.",
    "shift-front": "{derailleur} shifts nothing: nothing moves the chain from ring to ring.",
}
_SEVERAL = {
    "shift-rear": "whether the chain has several sprockets to be moved over",
    "shift-front": "whether the chain has several rings to be moved over",
}


def _is_there(view: View, name: str) -> Cause:
    return Cause(say("{part} is there", part=view.name(name)))


def _no_line(view: View, row: FunctionRow) -> Iterator[Cause]:
    """The chain without its line: the levers that could pull at it, and that nothing leads on from there."""
    able = [each.at for each in controls(view, row) if not pulls(view, row, each.at).no]
    yield from (Cause(say("{lever} is a lever for it", lever=view.name(lever))) for lever in able)
    if not able:
        yield Cause(say("no lever for it is on the bike"))
    yield Cause(say("{line} is empty", line=At(row.line or "")))


def _why_no_control(view: View, row: FunctionRow) -> tuple[Cause, ...]:
    """What the levers say of what they do; that there is none, if there is none."""
    if controls(view, row):
        return causes_of(control_words(view, row))
    return (Cause(say("no lever for it is on the bike")),)


def _leads(line: Fitted) -> Cause:
    told: dict[str, Value] = {"line": At(line.position), "start": At(line.start or "")}
    if line.end is None:
        return Cause(say("{line} leads from {start}, and nobody said where to", **told))
    return Cause(say("{line} leads from {start} to {end}", **told, end=At(line.end)))
