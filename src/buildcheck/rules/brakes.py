"""Brakes at the wheels: that each wheel has one, and that the two work on their own."""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Test, is_not_word
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level


@rule(Level.BLOCKS, source="ISO 4210-2: two braking systems, front and rear, that work on their own (from memory)")
def brake_missing(self: Rule, context: Context) -> Iterator[Finding]:
    """The bike has no working brake at one of its wheels.

    Two brakes that work on their own, one at each wheel, are what the standard and most local rules ask
    for: when one fails, the other must stop the rider. A brake on frame or fork counts, and so does one in
    the hub. A lever without a brake, or a brake whose record says that it does nothing, is no brake.

    Cure: fit the brake with its lever and line, or a wheel with a brake in its hub.
    """
    view = context.view
    for end in ("front", "rear"):
        caliper = f"{end}-caliper"
        places = [(caliper, "brake"), (f"{end}-wheel", "hub_brake")]
        tests = [is_not_word(view.word(at, attribute), "none") for at, attribute in places if view.has(at, attribute)]
        if not tests:
            yield self.tell(f"This bike has no {end} brake.", (caliper,))
            continue
        there = caliper in view.bike
        yield from self.judge(
            reduce(Test.either, tests),
            (caliper,),
            fault=f"{view.name(caliper)} brakes nothing." if there else f"This bike has no {end} brake.",
            ask=f"whether this bike has a {end} brake",
        )


@rule(Level.BLOCKS, source="ISO 4210-2: two braking systems that work on their own (from memory)")
def brakes_share_a_lever(self: Rule, context: Context) -> Iterator[Finding]:
    """One lever works both brakes.

    If the lever, its clamp or its pivot fails, both brakes are gone at once. The standard asks for two
    systems that do not depend on each other.

    Cure: run the second line to a lever of its own; with a coaster brake one lever is enough.
    """
    front, rear = (context.bike.get(name) for name in ("front-brake-line", "rear-brake-line"))
    if front is None or rear is None or front.start is None:
        return
    if front.start == rear.start:
        text = f"Front and rear brake both hang on {context.view.name(front.start)}."
        yield self.tell(text, (front.position, rear.position, front.start))


@rule(Level.BLOCKS, source="common practice, no source: back-pedalling pulls the lower run of the chain tight")
def coaster_with_derailleur(self: Rule, context: Context) -> Iterator[Finding]:
    """A coaster brake is driven by a chain that runs through a derailleur.

    The rider brakes by pulling the lower run of the chain tight. A derailleur keeps that run tight with a
    weak spring: under the brake the cage is torn forwards before the hub bites, and the chain drops.

    Cure: one sprocket and a chain without derailleur, or a wheel without a coaster brake and a brake with
    its lever.
    """
    view = context.view
    if "rear-derailleur" in context.bike and view.has("rear-wheel", "hub_brake"):
        yield from self.judge(
            is_not_word(view.word("rear-wheel", "hub_brake"), "coaster"),
            ("rear-wheel", "rear-derailleur"),
            fault=f"{view.name('rear-wheel')} has a coaster brake, and its chain runs through a rear derailleur.",
            ask="whether the rear hub has a coaster brake, which does not go with a derailleur",
        )
