"""Hydraulics: the fluid in a brake, and what an opened line costs. Fluids of lever, hose and caliper are joint rows."""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce
from typing import NamedTuple

from buildcheck.fit import tape
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Fact, Test, is_word, same_word
from buildcheck.fit.joints import mates
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import At, Said, Value, say
from buildcheck.rules.line_facts import must_be_threaded


def opened_hoses(context: Context) -> Iterator[tuple[str, Said]]:
    """The hydraulic lines that the change opens, one by one, each with the reason."""
    if context.before is None:
        return
    for spot in each(context.view.of_kind(("hose",))):
        if spot.start not in context.bike or spot.end not in context.bike:
            continue  # a brake without one of its ends is no brake to bleed
        reason = _why_opened(context, spot.position, (spot.start or "", spot.end or ""))
        if reason is not None:
            yield spot.position, reason


def _why_opened(context: Context, name: str, ends: tuple[str, str]) -> Said | None:
    if context.first_changed(name) is not None:
        return say("the hose is new")
    end = context.first_changed(*ends)
    if end is not None:
        return say("the {end} at its end changes", end=At(end))
    if context.is_touched(name):
        return say("it leads elsewhere from now on")
    if context.first_changed(*_was_enclosed_by(context, name)) is not None:
        if must_be_threaded(context, name):
            return say("it has to be threaded through an enclosed passage")
        return say("it has to come out of a part that is taken off")
    return say("it has to be threaded through an enclosed passage") if must_be_threaded(context, name) else None


def _was_enclosed_by(context: Context, name: str) -> tuple[str, ...]:
    """The parts through whose closed bores a line ran before."""
    route = context.before.routing.routes.get(name) if context.before is not None else None
    return tuple(way.spot.home for way in (route.ways if route is not None else ()) if way.closed)


# What goes into an opened brake anew, fluid, inserts and olives, has to agree with these on the hose and at both ends,
# and so has what was in it.
_RENEWED = ("fluid", "filled", "hose_system")


def renewed_facts(context: Context) -> frozenset[tuple[str, str]]:
    """The facts, by position and attribute, that have to be known because the change opens a hose.

    The parts stay, and it worked with what was in it; but nobody can fill in again what nobody knows.
    """
    with tape.recording(None):
        names = [name for name, _ in opened_hoses(context)]
    hoses = (context.bike[name] for name in names)
    opened = {context.bike[at].home for hose in hoses for at in (hose.position, hose.start, hose.end) if at is not None}
    return frozenset((at, attribute) for at in opened for attribute in _RENEWED)


@rule(
    Level.EXTRA, use_proves=Proof.NOTHING,
    source="common practice: an opened hydraulic brake has air in it", rider=False, needs_change=True,
)  # fmt: skip
def brake_line_opened(self: Rule, context: Context) -> Iterator[Finding]:
    """A hydraulic line is disconnected for the change, so the brake must be bled.

    Air in the line compresses where fluid does not: the lever comes to the bar. Catch the fluid, keep it
    off pads and rotor, and use only the fluid that the brake is made for.

    Cure: bleed the brake after the hose is connected, before the tape goes on.
    """
    for name, reason in opened_hoses(context):
        text = say("{hose} is opened ({reason}): bleed this brake.", hose=context.view.name(name), reason=reason)
        yield self.tell(text, (name,))


@rule(
    Level.EXTRA,
    use_proves=Proof.NOTHING,
    source="insert and olive are single use: common practice, no source; hose joints: workshop articles",
    rider=False,
    needs_change=True,
)
def hose_end_used_up(self: Rule, context: Context) -> Iterator[Finding]:
    """The insert and the olive at a hose end that is opened can be used once only.

    The olive bites into the hose when the nut is tightened and does not seal a second time.

    Cure: a new insert and olive of the hose's own system for each end that is opened.
    """
    for name, _ in opened_hoses(context):
        told: dict[str, Value] = {"hose": context.view.name(name), "system": _system(context.view, name)}
        only_far = not context.is_changed(name) and context.is_changed(context.bike[name].end or "")
        if only_far and not must_be_threaded(context, name):
            text = say("{hose} needs new single-use parts ({system}) at its caliper end.", **told)
        else:
            text = say("{hose} needs new single-use parts ({system}) at its lever end.", **told)
        yield self.tell(text, (name,))


def _system(view: View, name: str) -> Value:
    system = view.word(name, "hose_system")
    return say("of its own hose system, which is not on record") if system.value is None else system.told()


# What holds fluid at both ends of a hose.
_ENDS = ("lever", "caliper")


class _Held(NamedTuple):
    """The fluid that a part is made for, what is in it, and whether the one may hold the other."""

    position: str
    fluid: Fact
    filled: Fact
    go_together: Test


def _held(view: View, kinds: tuple[str, ...] = _ENDS) -> Iterator[_Held]:
    """Parts of these kinds, one by one, each with what it holds."""
    return each(view.layout.recall(("held", kinds), lambda: [
        _held_by(view, spot.position) for spot in view.of_kind(kinds)
    ]))  # fmt: skip


def _held_by(view: View, name: str) -> _Held:
    fluid, filled = view.word(name, "fluid"), view.word(name, "filled")
    return _Held(name, fluid, filled, _go_together(view, fluid, filled))


def _go_together(view: View, one: Fact, other: Fact) -> Test:
    """May a brake for the one fluid hold the other?"""
    return mates(view.standards.interfaces["brake-fluid"], one, other)


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="FMVSS 116 (49 CFR 571.116) S4 and S5.1; swelling of seals: dealer FAQ on brake fluids",
)  # fmt: skip
def wrong_fluid_in_brake(self: Rule, context: Context) -> Iterator[Finding]:
    """A lever or a caliper holds another fluid than the one its seals are made for.

    Mineral oil swells the seals of a DOT brake, DOT fluid those of a mineral-oil brake, and silicone DOT 5 goes in
    neither. It works when it is filled; days later the pistons stick or leak. Fresh fluid of the right kind does not
    heal a seal, so what is in it now counts as well as what the brake is made for.

    Cure: a new brake, or new seals and a new hose where the maker has them. Rinsing does not help.
    """
    view = context.view
    for name, fluid, filled, test in _held(view):
        if self.is_silent(test):
            continue
        told: dict[str, Value] = {"part": view.name(name), "filled": filled.told(), "fluid": fluid.told()}
        yield from self.judge(
            test,
            (name,),
            fault=say("In the {part} is {filled}; its seals are made for {fluid}.", **told),
            ask=say("whether the {part} holds the fluid that its seals are made for", **told),
        )


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="FMVSS 116 (49 CFR 571.116) S4 and S5.1; swelling of seals: dealer FAQ on brake fluids",
)  # fmt: skip
def wrong_fluid_in_hose(self: Rule, context: Context) -> Iterator[Finding]:
    """A brake hose holds, or has held, another fluid than the hose or the brake at its ends is made for.

    Fluid soaks into the hose and stands in every joint of it. Put to another brake, a hose that was filled with DOT
    carries it into mineral-oil seals, and a few drops are enough to swell them. What it is made of may bear both.

    Cure: a new hose. Rinsing does not get the old fluid out of the wall.
    """
    view = context.view
    for name, fluid, filled, _ in _held(view, ("hose",)):
        hose = view.bike[name]
        made_for = [fluid, *(view.word(end, "fluid") for end in (hose.start or "", hose.end or "")
                             if view.has(end, "fluid"))]  # fmt: skip
        tests = [_go_together(view, one, filled) for one in made_for]
        test = reduce(Test.both, tests)
        if self.is_silent(test):
            continue
        wrong = next((one for one, may_hold in zip(made_for, tests, strict=True) if may_hold.no), fluid)
        told: dict[str, Value] = {"hose": view.name(name), "filled": filled.told()}
        yield from self.judge(
            test,
            (name,),
            fault=say(
                "In the {hose} is {filled}, or was; the {part} is made for {fluid}.",
                part=At(wrong.position), fluid=wrong.told(), **told,
            ),
            ask=say("whether the {hose} has held none but the fluid of its brake", hose=view.name(name)),
        )  # fmt: skip


@rule(Level.NOTE, use_proves=Proof.NOTHING, source="FMVSS 116 (49 CFR 571.116) S5.1.1: boiling points by grade")
def fluid_grades_mixed(self: Rule, context: Context) -> Iterator[Finding]:
    """A brake for one grade of glycol fluid holds another, or its lever and its caliper are made for two grades.

    DOT 3, DOT 4 and DOT 5.1 go with one another and do no harm to the seals. They boil at different temperatures,
    205, 230 and 260 degrees Celsius when dry, and a mixture boils as early as its worst part asks for.

    Cure: flush the whole line with one grade, the higher of the two.
    """
    view = context.view
    for name, fluid, filled, go_together in _held(view, (*_ENDS, "hose")):
        test = _one_grade(fluid, filled, go_together)
        if self.is_silent(test):
            continue
        text = say("In the {part} is {filled}; it is made for {fluid}: flush it.", part=view.name(name),
                   filled=filled.told(), fluid=fluid.told())  # fmt: skip
        yield from self.judge(test, (name,), fault=text)
    for spot in each(view.of_kind(("hose",))):
        if not (view.has(spot.start or "", "fluid") and view.has(spot.end or "", "fluid")):
            continue
        start, end = spot.start or "", spot.end or ""
        fluid, other = view.word(start, "fluid"), view.word(end, "fluid")
        test = _one_grade(fluid, other, _go_together(view, fluid, other))
        if self.is_silent(test):
            continue
        text = say("The {lever} is made for {fluid}, the {caliper} for {other}: flush the line with one of the two.",
                   lever=view.name(start), caliper=view.name(end), fluid=fluid.told(), other=other.told())  # fmt: skip
        yield from self.judge(test, (start, end), fault=text)


def _one_grade(one: Fact, other: Fact, go_together: Test) -> Test:
    """The same fluid twice, where two fluids that go together are held at all."""
    same = same_word(one, other)
    if same.is_yes:
        return same
    held = is_word(one, "none").either(is_word(other, "none"))
    return same.either(held).only_if(go_together)
