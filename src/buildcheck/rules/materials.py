"""Materials that touch: corrosion, the compound that a joint needs, the torque where two limits meet."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.contacts import Touch, compound_between, materials, torque_limits, touches
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import is_not_word, is_word
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.trade.galvanic import CONTROLLED_LIMIT_V, NORMAL_LIMIT_V, galvanic_difference_v, less_noble


def _changed(context: Context) -> list[Touch]:
    """The contacts that the change makes anew."""
    return [touch for touch in touches(context.view) if touch.a in context.touched or touch.b in context.touched]


def _joined(context: Context) -> list[Touch]:
    """Those of them in which the two sides lie on one another."""
    return [touch for touch in _changed(context) if touch.row.how is not None]


@rule(
    Level.CAUTION,
    Level.NOTE,
    source="tables of the anodic index (vk6ysf.com; eicac.co.uk): 0.25 V in ordinary air; carbon as graphite",
    needs_change=True,
)
def metals_corrode_together(self: Rule, context: Context) -> Iterator[Finding]:
    """Two materials that touch lie so far apart in the galvanic series that the less noble one dissolves.

    Wet with rain, sweat or road salt, two unlike materials are a battery. Bare aluminium beside carbon is the
    usual case: white powder, a post or a bar that will not come out, and in the end a hole. Tables allow 0.25 V in
    ordinary air, and nothing above 0.50 V even indoors. Makers put glass fibre, anodising or paint between the two;
    the record does not show whether it is whole. What sits deep in a tube or a thread is a risk; a clamp that is
    opened now and then, and a pair below 0.50 V, are only told.

    Cure: keep them apart with the compound that the report names, look at the coating, and take the joint apart
    once a year.
    """
    for touch in _joined(context):
        one, other, facts = materials(context.view, touch)
        volts = galvanic_difference_v(one, other) if one and other else None
        if one is None or other is None or volts is None or volts <= NORMAL_LIMIT_V:
            continue
        yield self.tell(
            f"{touch.row.what}: {one} touches {other}, {volts:.2f} V apart in the galvanic series where "
            f"{NORMAL_LIMIT_V:g} V is the usual limit; the {less_noble(one, other)} dissolves if water gets in.",
            touch.places,
            facts,
            level=Level.CAUTION if volts > CONTROLLED_LIMIT_V and touch.row.how != "clamp" else Level.NOTE,
        )


@rule(Level.NOTE, source="common practice, from memory; the maker's instructions come first", needs_change=True)
def joint_seizes_without_compound(self: Rule, context: Context) -> Iterator[Finding]:
    """A joint that the change makes anew needs something between its two sides.

    Grease keeps threads and posts from seizing. Titanium galls on itself and on others and wants anti-seize. Carbon in
    a clamp wants assembly paste with grit, so that it holds at a low torque; grease there makes it slip and swells
    some resins. A thread that must not come loose gets thread-locker.

    Cure: clean both sides and put on what is named, unless the maker of one of the two says otherwise.
    """
    for touch in _joined(context):
        one, other, facts = materials(context.view, touch)
        if one is None or other is None:
            continue
        compound, why = compound_between(touch.row, (one, other))
        if compound == "dry":
            continue  # it holds by friction
        yield self.tell(f"{touch.row.what}, {one} and {other}: {compound}, {why}.", touch.places, facts)


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    source="the makers' own figures; bolted joints bear 1.5 times what is recommended: ISO 4210-2 cl. 4.3.2 (2014)",
)
def torque_limits_apart(self: Rule, context: Context) -> Iterator[Finding]:
    """The clamp asks for more torque than the part in it bears.

    A clamp below its least torque slips; a part above its greatest is crushed. Where the least of the one lies
    above the greatest of the other, no setting of the wrench is right. Carbon gives no warning before it cracks,
    so there it must not be built; on metal it dents or creaks, and the makers have to be asked.

    Cure: a stem, post or lever whose clamp asks for less, or a part that bears more. Paste does not make up for it.
    """
    view = context.view
    for touch in touches(view):
        found = torque_limits(view, touch)
        if found is None:
            continue
        least, borne, other = found.least, found.borne, found.other
        fault = (
            f"{touch.row.what}: the clamp asks for at least {least.shown('N·m')}, and {view.name(other)} bears at most "
            f"{borne.shown('N·m')}."
        )
        test, material = least.at_most(borne), view.word(other, touch.row.a if other == touch.a else touch.row.b)
        yield from self.judge(
            test.only_if(is_word(material, "carbon")),
            touch.places,
            fault=fault,
            ask=f"whether {view.name(other)} bears the torque that its clamp asks for",
        )
        if is_not_word(material, "carbon").yes and test.no:
            yield from self.judge(test, touch.places, level=Level.CAUTION, fault=fault, also=(material,))


@rule(Level.NOTE, source="the makers' own figures: both must be kept, so the lower one counts", needs_change=True)
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
            yield self.tell(
                f"{touch.row.what}: at most {borne.shown('N·m')}, because {view.name(other)} bears no more; the clamp "
                f"alone would bear {most.shown('N·m')}.",
                touch.places,
                (*most.facts, *borne.facts),
            )
