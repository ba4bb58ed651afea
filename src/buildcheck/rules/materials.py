"""Materials that touch: corrosion, the compound that a joint needs, the torque where two limits meet."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.contacts import (
    ANTI_SEIZE,
    CARBON_PASTE,
    Touch,
    clamps,
    compound_between,
    materials,
    torque_limits,
    touches,
)
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import is_not_word, is_word
from buildcheck.fit.tape import each
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Exact, Value, Word, as_said, say
from buildcheck.trade.galvanic import CONTROLLED_LIMIT_V, OUTDOOR_LIMIT_V, galvanic_difference_v, less_noble


def _changed(context: Context) -> Iterator[Touch]:
    """The contacts that the change makes anew, one by one."""
    for touch in each(touches(context.view)):
        if context.is_touched(touch.a) or context.is_touched(touch.b):
            yield touch


def _joined(context: Context) -> Iterator[Touch]:
    """Those of them in which the two sides lie on one another."""
    return (touch for touch in _changed(context) if touch.row.how is not None)


@rule(
    Level.CAUTION,
    Level.NOTE,
    use_proves=Proof.NOTHING,
    source="tables of the anodic index (vk6ysf.com; eicac.co.uk): 0.15 V outdoors, as MIL-STD-889B; carbon as graphite",
    rider=True,
    needs_change=True,
    settled_at_work=True,
)
def metals_corrode_together(self: Rule, context: Context) -> Iterator[Finding]:
    """Two materials that touch lie so far apart in the galvanic series that the less noble one dissolves.

    Wet with rain, sweat or road salt, two unlike materials are a battery. Bare aluminium beside carbon is the
    usual case: white powder, a post or a bar that will not come out, and in the end a hole. Tables allow 0.15 V
    outdoors, in salt and rain, and nothing above 0.50 V even indoors. Makers put glass fibre, anodising or paint
    between the two; the record does not show whether it is whole. What sits deep in a tube or a thread is a risk; a
    clamp that is opened now and then, and a pair below 0.50 V, are only told.

    Cure: keep them apart with the compound that the report names, look at the coating, and take the joint apart
    once a year.
    """
    for touch in _joined(context):
        one, other, _ = materials(context.view, touch)
        volts = galvanic_difference_v(one, other) if one and other else None
        if one is None or other is None or volts is None or volts <= OUTDOOR_LIMIT_V:
            continue
        text = say(
            "{what}: {one} touches {other}, {volts} V apart in the galvanic series where {limit} V is the limit "
            "outdoors; the {lesser} dissolves if water gets in.",
            what=as_said(touch.row.what), one=Word(one), other=Word(other), volts=Exact(volts, 2),
            limit=OUTDOOR_LIMIT_V, lesser=Word(less_noble(one, other)),
        )  # fmt: skip
        level = Level.CAUTION if volts > CONTROLLED_LIMIT_V and touch.row.how != "clamp" else Level.NOTE
        yield self.tell(text, touch.places, level=level)


@rule(
    Level.NOTE, use_proves=Proof.NOTHING,
    source="common practice, no source; the maker's instructions come first", needs_change=True,
)  # fmt: skip
def joint_seizes_without_compound(self: Rule, context: Context) -> Iterator[Finding]:
    """A joint that the change makes anew needs something between its two sides.

    Grease keeps threads and posts from seizing. Titanium galls on itself and on others and wants anti-seize. Carbon in
    a clamp wants assembly paste with grit, so that it holds at a low torque; grease there makes it slip and swells
    some resins. A thread that must not come loose gets thread-locker.

    Cure: clean both sides and put on what is named, unless the maker of one of the two says otherwise.
    """
    for touch in _joined(context):
        one, other, _ = materials(context.view, touch)
        if one is None or other is None:
            continue
        compound, _ = compound_between(touch.row, (one, other))
        if compound == "dry":
            continue  # it holds by friction
        text = say(_NEEDS[compound], what=as_said(touch.row.what), one=Word(one), other=Word(other))
        yield self.tell(text, touch.places)


# By what goes between the two.
_NEEDS = {
    CARBON_PASTE: "{what}, {one} and {other}: carbon assembly paste and no grease, so that it holds at a low "
    "torque.",
    ANTI_SEIZE: "{what}, {one} and {other}: anti-seize, because titanium galls.",
    "grease": "{what}, {one} and {other}: grease, so that it comes apart again.",
    "thread-locker": "{what}, {one} and {other}: thread-locker, so that it does not shake loose.",
}


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="the makers' own figures; bolted joints bear 1.5 times what is recommended: ISO 4210-2 cl. 4.3.2 (2014)",
    rider=False,
)
def torque_limits_apart(self: Rule, context: Context) -> Iterator[Finding]:
    """The clamp asks for more torque than the part in it bears.

    A clamp below its least torque slips; a part above its greatest is crushed. Where the least of the one lies
    above the greatest of the other, no setting of the wrench is right. Carbon gives no warning before it cracks,
    so there it must not be built; on metal it dents or creaks, and the makers have to be asked.

    Cure: a stem, post or lever whose clamp asks for less, or a part that bears more. Paste does not make up for it.
    """
    view = context.view
    for touch, found in each(clamps(view)):
        least, borne, other = found.least, found.borne, found.other
        test = least.at_most(borne)
        if self.is_silent(test):
            continue
        material = view.word(other, touch.row.a if other == touch.a else touch.row.b)
        told: dict[str, Value] = {
            "what": as_said(touch.row.what), "part": view.name(other), "least": least.told("N·m"),
            "borne": borne.told("N·m"),
        }  # fmt: skip
        fault = say("{what}: the clamp asks for at least {least}, and {part} bears at most {borne}.", **told)
        yield from self.judge(
            test.only_if(is_word(material, "carbon")),
            touch.places,
            fault=fault,
            ask=say("whether {part} bears the torque that its clamp asks for", part=view.name(other)),
        )
        if is_not_word(material, "carbon").yes and test.no:
            yield from self.judge(test, touch.places, level=Level.CAUTION, fault=fault)


@rule(
    Level.NOTE, use_proves=Proof.NOTHING,
    source="the makers' own figures: both must be kept, so the lower one counts", needs_change=True,
)  # fmt: skip
def lower_torque_limit_counts(self: Rule, context: Context) -> Iterator[Finding]:
    """Two makers state a greatest torque for one joint, and the part in the clamp bears less than the clamp.

    The figure on the stem is what its bolts and its own wall bear. The bar, the post or the steerer inside may
    bear less, and its figure is printed where nobody looks once it is built.

    Cure: set the torque wrench to the lower of the two, in small steps and in turn.
    """
    view = context.view
    for touch in _changed(context):
        found = torque_limits(view, touch)
        if found is None:
            continue
        most, borne, other = found.most, found.borne, found.other
        if most.known and borne.known and borne.high < most.low:
            text = say(
                "{what}: at most {borne}, because {part} bears no more; the clamp alone would bear {most}.",
                what=as_said(touch.row.what), borne=borne.told("N·m"), part=view.name(other), most=most.told("N·m"),
            )  # fmt: skip
            yield self.tell(text, touch.places)
