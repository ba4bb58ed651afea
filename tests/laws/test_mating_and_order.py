"""Law 3: mating is symmetric, and the order of parts in a file changes nothing."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from buildcheck.fit.facts import Answer, Fact
from buildcheck.fit.joints import mates
from buildcheck.fit.view import View
from buildcheck.model.levels import Origin
from buildcheck.model.quantities import Interval
from buildcheck.model.standards import Interface, MatingRule
from buildcheck.report.json_view import report_json
from laws.bench import catalogue, context_of, findings_of, vetting
from laws.strategies import changes, jobs

SYMMETRIC = [
    row
    for row in catalogue().standards.interfaces.values()
    if row.mates.kind in ("equal", "one-of", "table", "never") and not row.mates.one_way
]
words = st.sampled_from(["a", "b", "c", "d"])
word_facts = st.one_of(st.none(), words, st.lists(words, min_size=1, max_size=3, unique=True).map(tuple))
numbers = st.one_of(
    st.none(),
    st.tuples(st.floats(0, 100), st.floats(0, 5)).map(lambda pair: Interval(pair[0], pair[0] + pair[1])),
)


def fact(value: object, unit: str) -> Fact:
    return Fact("stem", "size", value, unit, Origin.STATED, "")


def rule(
    kind: str, pairs: tuple[tuple[str, str], ...] = (), tolerance: float = 0.0, one_way: bool = False
) -> Interface:
    mating = MatingRule(kind=kind, pairs=pairs, tolerance=tolerance, one_way=one_way)  # type: ignore[arg-type]
    return Interface(id="test", what="test", mates=mating, source="test")


@given(
    a=word_facts,
    b=word_facts,
    kind=st.sampled_from(["equal", "one-of", "table", "never"]),
    pairs=st.lists(st.tuples(words, words), max_size=5),
)
def test_words_mate_the_same_way_from_both_sides(a: object, b: object, kind: str, pairs: list[tuple[str, str]]) -> None:
    interface = rule(kind, tuple(pairs))
    assert mates(interface, fact(a, ""), fact(b, "")).answer is mates(interface, fact(b, ""), fact(a, "")).answer


@given(a=numbers, b=numbers, tolerance=st.floats(0, 3))
def test_numbers_mate_the_same_way_from_both_sides(a: object, b: object, tolerance: float) -> None:
    interface = rule("equal", tolerance=tolerance)
    assert (
        mates(interface, fact(a, "mm"), fact(b, "mm")).answer is mates(interface, fact(b, "mm"), fact(a, "mm")).answer
    )


@given(a=numbers, b=numbers)
def test_at_least_is_at_most_from_the_other_side(a: object, b: object) -> None:
    left, right = fact(a, "mm"), fact(b, "mm")
    assert mates(rule("at-least"), left, right).answer is mates(rule("at-most"), right, left).answer


@given(
    a=word_facts,
    b=word_facts,
    kind=st.sampled_from(["table", "never"]),
    pairs=st.lists(st.tuples(words, words), min_size=1, max_size=5),
)
def test_one_way_pairs_turned_round_mate_from_the_other_side(
    a: object, b: object, kind: str, pairs: list[tuple[str, str]]
) -> None:
    forth = rule(kind, tuple(pairs), one_way=True)
    back = rule(kind, tuple((y, x) for x, y in pairs), one_way=True)
    both = rule(kind, (*forth.mates.pairs, *back.mates.pairs), one_way=True)
    left, right = fact(a, ""), fact(b, "")
    assert mates(forth, left, right).answer is mates(back, right, left).answer
    assert mates(both, left, right).answer is mates(rule(kind, tuple(pairs)), left, right).answer


def test_a_one_way_pair_says_which_word_is_on_which_side() -> None:
    interface = rule("table", (("a", "b"),), one_way=True)
    assert mates(interface, fact("a", ""), fact("b", "")).yes
    assert mates(interface, fact("b", ""), fact("a", "")).no
    barred = rule("never", (("a", "b"),), one_way=True)
    assert mates(barred, fact("b", ""), fact(None, "")).yes  # it may stand on the other side alone
    assert mates(barred, fact("a", ""), fact(None, "")).answer is Answer.UNKNOWN


@given(data=st.data())
def test_the_joints_of_the_bundled_bikes_mate_from_both_sides(data: st.DataObject) -> None:
    job = data.draw(jobs())
    context = context_of(job.bike, job.change)
    view: View = context.view
    for joint in context.joints:
        interface = view.standards.interfaces[joint.row.interface]
        if interface in SYMMETRIC:
            a, b = view.fact(joint.a, joint.row.a_attribute), view.fact(joint.b, joint.row.b)
            assert mates(interface, a, b).answer is mates(interface, b, a).answer


def test_a_table_can_say_all_three_answers() -> None:
    interface = rule("table", (("a", "b"),))
    answers = [mates(interface, fact("a", ""), fact(word, "")).answer for word in ("b", "c", None)]
    assert answers == [Answer.YES, Answer.NO, Answer.UNKNOWN]


# Each example makes two reports, mostly with a search for remedies.
@settings(max_examples=settings.default.max_examples // 2)
@given(data=st.data())
def test_the_order_of_positions_changes_nothing(data: st.DataObject) -> None:
    job = data.draw(jobs())
    order = data.draw(st.permutations(sorted(job.bike.fitted)))
    shuffled = replace(job.bike, fitted={name: job.bike.fitted[name] for name in order})
    changed = bool(job.change.fit or job.change.take_off)
    first, second = (
        report_json(vetting(each).swap(job.change) if changed else vetting(each).check())
        for each in (job.bike, shuffled)
    )
    assert first == second


@given(data=st.data())
def test_the_order_of_parts_to_be_fitted_changes_nothing(data: st.DataObject) -> None:
    job = data.draw(jobs().filter(lambda job: len(job.change.fit) > 1))
    turned = replace(job.change, fit=job.change.fit[::-1])
    assert findings_of(job.bike, job.change) == findings_of(job.bike, turned)


@given(data=st.data())
def test_what_was_tried_before_changes_nothing(data: st.DataObject) -> None:
    job = data.draw(jobs().filter(lambda job: len(job.change.fit) > 1))
    bench = vetting(job.bike)
    for count in range(1, len(job.change.fit)):
        bench._vet(replace(job.change, fit=job.change.fit[:count]))
    bench._vet(data.draw(changes(job.bike)))
    assert bench._vet(job.change)[0].findings == findings_of(job.bike, job.change)
