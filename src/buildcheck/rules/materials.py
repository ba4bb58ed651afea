"""Materials that touch: corrosion, the compound that a joint needs, the torque where two limits meet."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Fact, is_not_word, is_word
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.standards import Contact
from buildcheck.trade.galvanic import CONTROLLED_LIMIT_V, NORMAL_LIMIT_V, galvanic_difference_v, less_noble


class _Touch(NamedTuple):
    """One contact of two fitted parts: the row, and the positions of its sides."""

    row: Contact
    a: str
    b: str

    @property
    def places(self) -> tuple[str, str]:
        return self.a, self.b


def _touches(view: View) -> list[_Touch]:
    return view.layout.recall("contacts", None, lambda: _find_touches(view))


def _find_touches(view: View) -> list[_Touch]:
    return [
        _Touch(row, name, row.of)
        for row in view.standards.contacts for at in row.at for name in view.of_row(at)
        if view.has(name, row.a) and view.has(row.of, row.b) and view.bike[name].home != view.bike[row.of].home
    ]  # fmt: skip


def _changed(context: Context) -> list[_Touch]:
    """The contacts that the change makes anew."""
    return [touch for touch in _touches(context.view) if touch.a in context.touched or touch.b in context.touched]


def _joined(context: Context) -> list[_Touch]:
    """Those of them in which the two sides lie on one another."""
    return [touch for touch in _changed(context) if touch.row.how is not None]


def _materials(view: View, touch: _Touch) -> tuple[str | None, str | None, tuple[Fact, ...]]:
    """The materials of both sides, None where unknown, and the facts that they come from."""
    sides = ((touch.a, touch.row.a, touch.row.a_is), (touch.b, touch.row.b, touch.row.b_is))
    facts = [None if constant else view.word(place, name) for place, name, constant in sides]
    words = [side[2] if fact is None else fact.value for side, fact in zip(sides, facts, strict=True)]
    return words[0], words[1], tuple(fact for fact in facts if fact is not None)


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
        one, other, facts = _materials(context.view, touch)
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
        one, other, facts = _materials(context.view, touch)
        if one is None or other is None:
            continue
        compound, why = _compound(touch.row, (one, other))
        if compound == "dry":
            continue  # it holds by friction
        yield self.tell(f"{touch.row.what}, {one} and {other}: {compound}, {why}.", touch.places, facts)


def _compound(row: Contact, materials: tuple[str, str]) -> tuple[str, str]:
    """What goes between the two, and why."""
    if "carbon" in materials and row.how in ("clamp", "insert"):
        return "carbon assembly paste and no grease", "so that it holds at a low torque"
    if "titanium" in materials and row.how != "clamp":
        return "anti-seize", "because titanium galls"
    reasons = {
        "grease": "so that it comes apart again",
        "anti-seize": "so that it comes apart again",
        "thread-locker": "so that it does not shake loose",
    }
    return row.compound, reasons.get(row.compound, "")


def _limits(view: View, touch: _Touch) -> tuple[Amount, Amount, Amount, str] | None:
    """The least and the most that the clamp's maker states, what the other side bears, and where the other side is."""
    row = touch.row
    if row.clamp is None or row.borne is None:
        return None
    clamp, other = (touch.a, touch.b) if row.clamp == "a" else (touch.b, touch.a)
    names = _torque_names(row)
    if not view.has(clamp, *names) or not view.has(other, row.borne):
        return None
    least, most = (view.amount(clamp, name) for name in names)
    return least, most, view.amount(other, row.borne), other


def _torque_names(row: Contact) -> tuple[str, str]:
    stem = f"{row.torque}_torque" if row.torque else "torque"
    return f"{stem}_min_nm", f"{stem}_max_nm"


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
    for touch in _touches(view):
        found = _limits(view, touch)
        if found is None:
            continue
        least, _, borne, other = found
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
        found = _limits(view, touch)
        if found is None:
            continue
        _, most, borne, other = found
        if most.known and borne.known and borne.high < most.low:
            yield self.tell(
                f"{touch.row.what}: at most {borne.shown('N·m')}, because {view.name(other)} bears no more; the clamp "
                f"alone would bear {most.shown('N·m')}.",
                touch.places,
                (*most.facts, *borne.facts),
            )
