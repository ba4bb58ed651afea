"""The joints of a bike: which interfaces meet, whether they mate, and what a fitted part lets us infer."""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterator, Mapping
from functools import partial
from typing import Any, NamedTuple

from buildcheck.fit.facts import Amount, Answer, Fact, Test, amount_of, of_pattern, one_of_possible, same_word
from buildcheck.fit.reading import has_attribute, read_fact
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.levels import Origin
from buildcheck.model.quantities import Interval
from buildcheck.model.sentences import shown
from buildcheck.model.standards import Interface, JointRow, MatingRule, Standards


class Joint(NamedTuple):
    """Two positions that meet by one row of the standards, with the adapter between them, if there is one."""

    row: JointRow
    at: str  # the position that the row is about
    a: Fitted
    b: Fitted
    adapter: Fitted | None
    key: Hashable  # stands for the row and for the parts that meet by it


def _related(view: View, spot: Fitted, relation: str) -> Fitted | None:
    """The part that a row means by `on`, `from`, `to`, or by a position's name."""
    if relation == "on":
        return view.bike.get(spot.on)
    if relation == "from":
        return view.bike.get(spot.start)
    if relation == "to":
        return view.bike.get(spot.end)
    return view.bike.get(relation.replace("{at}", spot.position) if "{" in relation else relation)


def _sides(view: View, row: JointRow, spot: Fitted) -> tuple[Fitted, Fitted] | None:
    """Both sides of a row at one position; None where a side is empty or of a kind the row is not about."""
    met = _ends(view, row, spot)
    return met if met is not None and _applies(row, *met) else None


def _ends(view: View, row: JointRow, spot: Fitted) -> tuple[Fitted, Fitted] | None:
    """The parts at both sides of a row; None where a side is empty or another part keeps the two apart."""
    b = _related(view, spot, row.of)
    if b is None or (row.unless is not None and _related(view, spot, row.unless) is not None):
        return None
    relation, dot, _ = row.a.rpartition(".")
    a = _related(view, spot, relation) if dot else spot
    return None if a is None else (a, b)


def _applies(row: JointRow, a: Fitted, b: Fitted) -> bool:
    return (
        a.home != b.home  # a one-piece part has no joint with itself
        and (not row.a_kinds or a.part.kind in row.a_kinds)
        and (not row.b_kinds or b.part.kind in row.b_kinds)
        and has_attribute(type(a.part), row.a_attribute)
        and has_attribute(type(b.part), row.b)
        and (not row.a_where or _may_be_meant(row, a))
    )


def _may_be_meant(row: JointRow, a: Fitted) -> bool:
    has_all = all(has_attribute(type(a.part), name) for name in row.a_where)
    return has_all and not _is_meant(row, partial(read_fact, a)).is_no


def rows_by_position(standards: Standards) -> dict[str, list[JointRow]]:
    """The joint rows of each position row."""
    table: dict[str, list[JointRow]] = {}
    for row in standards.joints:
        for position in row.at:
            table.setdefault(position, []).append(row)
    return table


def _only_named(table: Mapping[str, list[JointRow]], names: Collection[str]) -> dict[str, list[JointRow]]:
    kept = {at: [row for row in rows if row.name in names] for at, rows in table.items()}
    return {at: rows for at, rows in kept.items() if rows}


def each_joint(view: View, names: Collection[str] | None = None) -> Iterator[Joint]:
    """Every joint of a bike, position by position; of some rows if their names are given."""
    for spot, row in _rows(view, names):
        sides = _sides(view, row, spot)
        if sides is not None:
            adapter = view.bike.get(row.adapter.replace("{at}", spot.position)) if row.adapter else None
            met = sides if adapter is None else (*sides, adapter)
            key = ("joint", row.name, row.a, *((side.home, side.token) for side in met))
            yield Joint(row, spot.position, *sides, adapter, key)


def _rows(view: View, names: Collection[str] | None = None) -> Iterator[tuple[Fitted, JointRow]]:
    """Each filled position with each row that is about it, or each of these names."""
    table = every = view.memo.recall("joint-rows", lambda: rows_by_position(view.standards))
    if names is not None:
        table = view.memo.recall(("joint-rows", frozenset(names)), lambda: _only_named(every, names))
    for name, spot in view.bike.fitted.items():
        for row in table.get(view.row(name).id, ()):
            yield spot, row


def find_joints(view: View) -> tuple[Joint, ...]:
    """All joints of a bike, in an order that does not depend on the order of the file."""
    return view.layout.recall("joints", lambda: tuple(sorted(each_joint(view), key=_place_of)))


def joints_named(view: View, names: Collection[str]) -> list[Joint]:
    """The joints of some rows, in the order in which `find_joints` has them."""
    return sorted(each_joint(view, names), key=_place_of)


def _place_of(joint: Joint) -> tuple[str, str, str]:
    return joint.row.name, joint.a.position, joint.b.position


class Neighbour(NamedTuple):
    """A joint that the part at a position has or could have: the row, and the part at its other side."""

    row: JointRow
    at_side_a: bool
    other: Fitted


def neighbours(view: View, position: str) -> list[Neighbour]:
    """The rows by which whatever sits at a position meets other parts, whether the kind there now takes part or not."""
    found = []
    for spot, row in _rows(view):
        met = _ends(view, row, spot)
        if met is not None and (met[0].home == position) != (met[1].home == position):
            at_side_a = met[0].home == position
            found.append(Neighbour(row, at_side_a, met[at_side_a]))
    return found


def clash(view: View, row: JointRow, a: Fitted, b: Fitted, fact: Callable[[Fitted, str], Fact]) -> bool:
    """Would these two certainly not mate by a row, if they met without an adapter?"""
    if not _applies(row, a, b):
        return False
    test = mates(view.standards.interfaces[row.interface], fact(a, row.a_attribute), fact(b, row.b))
    return test.only_if(_is_meant(row, partial(fact, a))).is_no


def mates(interface: Interface, a: Fact, b: Fact, beyond: float | None = None) -> Test:
    """Do two sides mate by the interface's rule, or within another tolerance?

    Symmetric for `equal` and `one-of`, and for pairs but one-way ones.
    """
    rule = interface.mates
    if rule.kind == "one-of" or (rule.kind == "equal" and compares_words(a, b)):
        same = same_word(a, b)
        return _by_table(rule, a, b) if rule.pairs and not same.is_yes else same
    if rule.kind in ("table", "never"):
        return _by_table(rule, a, b)
    left, right = amount_of(a), amount_of(b)
    tolerance = rule.leeway if beyond is None else beyond
    if rule.kind == "at-least":
        return left.at_least(right - tolerance)
    if rule.kind == "at-most":
        return left.at_most(right + tolerance)
    return left.within(right, tolerance)


def compares_words(a: Fact, b: Fact) -> bool:
    """Are these words, not sizes?"""
    return any(isinstance(fact.held, (str, tuple)) for fact in (a, b)) or not (a.unit or b.unit)


def _by_table(rule: MatingRule, a: Fact, b: Fact) -> Test:
    """Words against a table of pairs. A side that takes several words mates if one of them does.

    A word that stands in no pair that does not mate goes with anything, so the other side need not be known.
    """
    listed_mate = rule.kind != "never"
    if a.held is None or b.held is None:
        free = not listed_mate and any(_stands_in_none(rule, side, fact) for side, fact in enumerate((a, b)))
        return Test(Answer.YES if free else _by_possible(rule, a, b), (a, b))
    fits = any(_listed(rule, x, y) == listed_mate for x in _words(a) for y in _words(b))
    return Test(Answer.YES if fits else Answer.NO, (a, b))


def _by_possible(rule: MatingRule, a: Fact, b: Fact) -> Answer:
    """The same where one side is not known, by the words that it can be."""
    listed_mate = rule.kind != "never"
    if a.held is None and b.held is not None:
        return one_of_possible(a, lambda word: any(_mate(rule, word, y, listed_mate) for y in _words(b)))
    if b.held is None and a.held is not None:
        return one_of_possible(b, lambda word: any(_mate(rule, x, word, listed_mate) for x in _words(a)))
    return Answer.UNKNOWN


def _mate(rule: MatingRule, x: str, y: str, listed_mate: bool) -> bool:
    return _listed(rule, x, y) == listed_mate or (rule.kind in ("equal", "one-of") and x == y)


def _listed(rule: MatingRule, x: str, y: str) -> bool:
    return (x, y) in rule.pairs or (not rule.one_way and (y, x) in rule.pairs)


def _stands_in_none(rule: MatingRule, side: int, fact: Fact) -> bool:
    """Is one of these words in none of the pairs, read from its side where they are one-way?"""
    listed = {pair[side] for pair in rule.pairs} if rule.one_way else {word for pair in rule.pairs for word in pair}
    return fact.held is not None and any(word not in listed for word in _words(fact))


def _words(fact: Fact) -> tuple[str, ...]:
    return fact.held if isinstance(fact.held, tuple) else (shown(fact.held),)


def joint_holds(view: View, joint: Joint) -> Test:
    """Does the joint hold, straight or through its adapter?"""
    return view.memo.recall(joint.key, lambda: _judge_joint(view, joint).only_if(is_meant(view, joint)))


def joint_bears(view: View, joint: Joint) -> Test:
    """Does a joint that does not hold stay within the limit beyond which its row blocks? Yes if it has none."""
    limit = joint.row.blocks_beyond
    if limit is None:
        return Test(Answer.YES, ())
    interface = view.standards.interfaces[joint.row.interface]
    a, b = view.fact(joint.a, joint.row.a_attribute), view.fact(joint.b, joint.row.b)
    return mates(interface, a, b, limit).only_if(is_meant(view, joint))


def is_meant(view: View, joint: Joint) -> Test:
    """Is the part at side a what its row is about?"""
    return _is_meant(joint.row, partial(view.fact, joint.a))


def _is_meant(row: JointRow, fact: Callable[[str], Fact]) -> Test:
    test = Test(Answer.YES, ())
    for name, pattern in row.a_where.items():
        test = test.both(of_pattern(fact(name), pattern))
    return test


def _judge_joint(view: View, joint: Joint) -> Test:
    interface = view.standards.interfaces[joint.row.interface]
    a, b = view.fact(joint.a, joint.row.a_attribute), view.fact(joint.b, joint.row.b)
    if joint.adapter is None:
        return mates(interface, a, b)
    return joined(interface, a, b, partial(view.fact, joint.adapter))


def joined(interface: Interface, a: Fact, b: Fact, fact: Callable[[str], Fact]) -> Test:
    """Does an adapter, by its facts, join two sides?"""
    made_for = fact("interface")
    if made_for.held is None:
        return Test(Answer.UNKNOWN, (made_for, a, b))
    if made_for.held != interface.id:
        return Test(Answer.NO, (made_for, a, b))
    suffix = "" if compares_words(a, b) else "_mm"
    both = mates(interface, a, fact(f"side_a{suffix}")).both(mates(interface, fact(f"side_b{suffix}"), b))
    return both.only_if(Test(Answer.YES, (made_for,)))


def infer_facts(view: View) -> dict[tuple[str, str], Fact]:
    """What the parts fitted now tell of each other, where they mate by equality and no shim can hide.

    Where two joints tell of one attribute, what both allow is left; readings that exclude each other tell nothing.
    Of words that mate as a pair the neighbour's own stands for both: what mates with one mates with the other.
    """
    found: dict[tuple[str, str], Fact] = {}
    for joint in find_joints(view):
        rule = view.standards.interfaces[joint.row.interface].mates
        told = rule.kind == "equal" and not joint.row.hides_shim and joint.adapter is None
        if not told or not is_meant(view, joint).is_yes:
            continue
        a, b = view.fact(joint.a, joint.row.a_attribute), view.fact(joint.b, joint.row.b)
        if (a.held is None) == (b.held is None):
            continue
        missing, known = (a, b) if a.held is None else (b, a)
        if isinstance(known.held, tuple):
            continue
        value = known.held
        if not isinstance(value, (str, bool)):
            amount: Amount = amount_of(known)
            value = Interval(amount.least - rule.leeway, amount.most + rule.leeway)
        key = (missing.position, missing.attribute)
        told_by = (*found[key].read_off, known) if key in found else (known,)
        if key in found:
            value = _agreed(found[key].held, value)
        where = f"read off the {known.position} that mates with it ({joint.row.name})"
        found[key] = Fact(missing.position, missing.attribute, value, missing.unit, Origin.INFERRED, where, told_by)
    return {key: fact for key, fact in found.items() if fact.held is not None}


def _agreed(one: Any, other: Any) -> Any:
    """What two readings of the same fact leave possible; None where they contradict each other."""
    if isinstance(one, Interval) and isinstance(other, Interval):
        low, high = max(one.low, other.low), min(one.high, other.high)
        return Interval(low, high) if low <= high else None
    return one if one == other else None
