"""What a rule reads is recorded, once, and forgotten where it is no condition of what comes next."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.fit import tape
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Fact, amount_of, is_word, largest, one_of, worked_out
from buildcheck.fit.tape import PositionAsked, Tape, Threaded, each
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Origin, Proof
from buildcheck.model.quantities import Interval
from buildcheck.model.sentences import say
from fit.make import fitted, part, view

STEM, BAR, FORK, POST = (
    Fact(position, "size_mm", Interval(size, size + 1), "mm", Origin.STATED, "bike.yaml:1")
    for position, size in (("stem", 10.0), ("handlebar", 20.0), ("fork", 30.0), ("seatpost", 40.0))
)
FACTS = (STEM, BAR, FORK, POST)


def read_by(look: Callable[[], object]) -> list[Fact]:
    """What is recorded while something looks."""
    own = Tape()
    with tape.recording(own):
        look()
    return list(own.facts.values())


READS: dict[str, Callable[[Fact], object]] = {
    "value": lambda fact: fact.value,
    "low": lambda fact: amount_of(fact).low,
    "high": lambda fact: amount_of(fact).high,
    "known": lambda fact: amount_of(fact).known,
    "middle": lambda fact: amount_of(fact).middle,
    "answer": lambda fact: is_word(fact, "10").answer,
    "yes": lambda fact: is_word(fact, "10").yes,
    "no": lambda fact: is_word(fact, "10").no,
}
LOOKS: dict[str, Callable[[Fact], object]] = {
    "held": lambda fact: fact.held,
    "told": lambda fact: str(fact.told()),
    "evidence": lambda fact: fact.evidence().open,
    "least": lambda fact: amount_of(fact).least,
    "most": lambda fact: amount_of(fact).most,
    "bounded": lambda fact: amount_of(fact).bounded,
    "told amount": lambda fact: str(amount_of(fact).told("mm")),
    "bare amount": lambda fact: str(amount_of(fact).bare()),
    "held answer": lambda fact: is_word(fact, "10").held,
    "is_yes": lambda fact: is_word(fact, "10").is_yes,
    "is_no": lambda fact: is_word(fact, "10").is_no,
    "sum": lambda fact: amount_of(fact) + amount_of(BAR) - 3.0,
    "share": lambda fact: -(amount_of(fact) / 2),
    "formula": lambda fact: worked_out(lambda size, other: size * other, amount_of(fact), amount_of(BAR)),
    "choice": lambda fact: one_of(amount_of(fact), largest([amount_of(BAR), amount_of(FORK)])),
    "comparison": lambda fact: amount_of(fact).at_most(amount_of(BAR)).both(amount_of(fact).within(10, 5)),
    "condition": lambda fact: amount_of(fact).at_least(3).only_if(is_word(BAR, "x")).either(is_word(FORK, "y")),
    "doubt": lambda fact: amount_of(fact).at_least(99).unless_known(),
}


@pytest.mark.parametrize("name", READS)
def test_what_turns_a_fact_into_something_else_is_recorded(name: str) -> None:
    assert read_by(lambda: READS[name](STEM)) == [STEM]


@pytest.mark.parametrize("name", LOOKS)
def test_what_only_puts_facts_together_or_tells_them_is_not_recorded(name: str) -> None:
    assert read_by(lambda: LOOKS[name](STEM)) == []


def test_all_that_an_amount_or_a_test_was_made_from_is_recorded() -> None:
    whole = amount_of(STEM) + amount_of(BAR)
    assert read_by(lambda: whole.low) == [STEM, BAR]
    assert read_by(lambda: whole.resting_on(is_word(FORK, "x")).high) == [STEM, BAR, FORK]
    assert read_by(lambda: amount_of(STEM).at_most(amount_of(BAR)).yes) == [STEM, BAR]


@given(steps=st.lists(st.tuples(st.sampled_from(FACTS), st.sampled_from([*READS, *LOOKS]))))
def test_the_tape_holds_exactly_what_was_read_in_the_order_of_reading(steps: list[tuple[Fact, str]]) -> None:
    def look() -> None:
        for fact, name in steps:
            (READS.get(name) or LOOKS[name])(fact)

    assert read_by(look) == list(dict.fromkeys(fact for fact, name in steps if name in READS))


def test_without_a_tape_nothing_is_recorded() -> None:
    assert tape.running() is None
    assert STEM.value == STEM.held
    tape.asked(PositionAsked("stem"))
    tape.add(Tape())
    assert tape.running() is None
    assert list(each([1, 2])) == [1, 2]


def test_a_tape_within_hears_all_and_the_one_before_it_nothing() -> None:
    outer, inner = Tape(), Tape()
    with tape.recording(outer):
        assert STEM.value
        with tape.recording(inner):
            assert tape.running() is inner
            assert BAR.value
            with tape.recording(None):
                assert FORK.value
                tape.asked(PositionAsked("fork"))
        assert tape.running() is outer
        assert POST.value
    assert list(outer.facts.values()) == [STEM, POST]
    assert list(inner.facts.values()) == [BAR]
    assert outer.places == inner.places == ()


def test_after_an_error_the_tape_before_it_runs_again() -> None:
    outer = Tape()
    with tape.recording(outer):
        with pytest.raises(KeyError), tape.recording(Tape()):
            raise KeyError("stem")
        assert tape.running() is outer
    assert tape.running() is None


def test_what_is_on_another_tape_can_be_added() -> None:
    one, other = Tape(), Tape()
    other.add((STEM, BAR), (PositionAsked("stem"), Threaded("front-brake-line")))
    with tape.recording(one):
        assert BAR.value
        tape.add(other)
    assert list(one.facts.values()) == [BAR, STEM], "each once, where it was read first"
    assert list(one.others) == list(other.others)


questions = st.sampled_from([PositionAsked("stem"), PositionAsked("fork"), Threaded("hose")])
marks = st.lists(st.one_of(st.sampled_from(FACTS), questions))


@given(before=marks, after=marks)
def test_back_to_a_mark_forgets_what_was_read_after_it_and_nothing_else(
    before: list[Fact | PositionAsked | Threaded], after: list[Fact | PositionAsked | Threaded]
) -> None:
    def note(reads: list[Fact | PositionAsked | Threaded]) -> None:
        for read in reads:
            if isinstance(read, Fact):
                own.add((read,))
            else:
                own.add((), (read,))

    own = Tape()
    note(before)
    kept = list(own.facts.values()), list(own.others)
    mark = own.mark()
    note(after)
    own.back_to(mark)
    assert (list(own.facts.values()), list(own.others)) == kept


def test_a_finding_is_looked_for_by_its_positions_or_any_is() -> None:
    assert tape.is_sought("stem"), "without a tape nobody says what is looked for"
    for sought, stem in ((None, True), (("fork", "stem"), True), (("fork",), False), ((), False)):
        with tape.recording(Tape(sought)):
            assert tape.is_sought("stem") is stem


# ---------------------------------------------------------------- loops


def test_each_forgets_between_items_and_keeps_what_was_read_before_the_loop() -> None:
    seen: list[list[Fact]] = []

    def look() -> None:
        assert STEM.value
        for fact in each([BAR, STEM, FORK]):
            tape.asked(PositionAsked(fact.position))
            assert fact.value
            running = tape.running()
            assert running is not None
            assert running.places == (fact.position,)
            seen.append(list(running.facts.values()))

    assert read_by(look) == [STEM]
    assert seen == [[STEM, BAR], [STEM], [STEM, FORK]]


def test_a_loop_that_ends_early_keeps_what_it_was_ended_by() -> None:
    def look() -> None:
        for fact in each([BAR, FORK, POST]):
            if fact.value.low == 30:
                break

    assert read_by(look) == [FORK]


def test_loops_within_loops_forget_their_own_items_only() -> None:
    seen: list[list[str]] = []

    def look() -> None:
        for outer in each([STEM, BAR]):
            assert outer.value
            for inner in each([FORK, POST]):
                assert inner.value
                running = tape.running()
                assert running is not None
                seen.append([position for position, _ in running.facts])

    assert read_by(look) == []
    assert seen == [["stem", "fork"], ["stem", "seatpost"], ["handlebar", "fork"], ["handlebar", "seatpost"]]


@rule(Level.BLOCKS, use_proves=Proof.RIDDEN, source="a test")
def short_or_long(self: Rule, context: Context) -> Iterator[Finding]:
    """Two facts are judged each by itself, after a third was looked at."""
    assert STEM.value
    context.is_changed("fork")
    for fact in each([BAR, FORK, POST]):
        context.is_changed(fact.position)
        limit = amount_of(fact).at_most(25)
        told = say("{size} is too much.", size=fact.told())
        yield from self.judge(limit, (fact.position,), fault=told, ask="whether it is", because=_because)


def _because() -> tuple[()]:
    assert BAR.value, "the causes are told of a fact that the finding does not rest on"
    return ()


def test_a_finding_rests_on_its_test_and_on_what_was_read_on_the_way_to_it() -> None:
    found = short_or_long.found(Context(view([])))
    rests_on = [([item.position for item in each_.evidence], each_.turns_on) for each_ in found]
    assert rests_on == [(["fork", "stem"], ("fork",)), (["seatpost", "stem"], ("fork", "seatpost"))]
    assert [str(each_.message) for each_ in found] == ["30..31 mm is too much.", "40..41 mm is too much."]


def test_a_finding_that_is_looked_for_comes_alone_and_rests_on_the_same() -> None:
    context = Context(view([]))
    (fork, post), (alone,) = short_or_long.found(context), short_or_long.found(context, ("seatpost",))
    assert (alone.key, alone.evidence, alone.turns_on) == (post.key, post.evidence, post.turns_on) != fork.key


# ---------------------------------------------------------------- questions that no fact answers


def test_it_is_recorded_of_which_places_was_asked_whether_they_are_changed() -> None:
    before, now = (
        Context(view([fitted("stem", part("stem", id=name)), fitted("fork", part("fork"))])) for name in ("a", "b")
    )
    context = Context(now.view, before)
    asked: dict[str, Callable[[], object]] = {
        "stem": lambda: context.is_changed("stem"),
        "fork": lambda: context.is_touched("fork"),
        "fork stem": lambda: context.changed_of(("fork", "stem")),
        "handlebar fork": lambda: context.first_changed("handlebar", "fork"),
    }
    for places, ask in asked.items():
        own = Tape()
        with tape.recording(own):
            ask()
        assert own.places == tuple(places.split())
    own = Tape()
    with tape.recording(own):
        assert context.first_changed("fork", "stem", "handlebar") == "stem"
        assert own.places == ("stem",), "a yes rests on that one alone"
        assert context.changed == {"stem"}
    assert own.places == ("stem",)


def test_a_line_is_threaded_anew_where_nothing_else_is_rested_on() -> None:
    own = Tape()
    own.add((), (Threaded("hose", frozenset({("stem", "size_mm")})), PositionAsked("stem"), Threaded("wire")))
    assert own.threaded([("stem", "size_mm"), ("hose", "length_mm")]) == ("hose",)
    assert own.threaded([("stem", "size_mm"), ("fork", "size_mm")]) == ()
    assert own.threaded([("wire", "length_mm")]) == ("wire",)
    assert own.threaded([]) == ("hose", "wire")
    assert own.places == ("stem",)


# ---------------------------------------------------------------- values kept for a bike


def test_what_is_worked_out_once_is_read_by_whoever_asks() -> None:
    bike, made = view([]), []

    def make() -> Interval:
        made.append(1)
        tape.asked(PositionAsked("fork"))
        found: Interval = BAR.value
        return found

    for quiet in (False, True, False):
        own = Tape()
        with tape.recording(None if quiet else own):
            assert bike.once("a key", make) == BAR.held
        assert list(own.facts.values()) == ([] if quiet else [BAR])
        assert own.places == (() if quiet else ("fork",))
    assert len(made) == 1


def test_what_was_first_asked_off_the_tape_is_recorded_later() -> None:
    bike = view([])
    with tape.recording(None):
        bike.once("a key", lambda: STEM.value)
    assert read_by(lambda: bike.once("a key", lambda: STEM.value)) == [STEM]


def test_what_is_worked_out_from_another_such_value_is_read_with_it() -> None:
    bike = view([])
    for _ in range(2):
        assert read_by(lambda: bike.once("all", lambda: (bike.once("one", lambda: STEM.value), BAR.value))) == [
            STEM, BAR,
        ]  # fmt: skip
    assert read_by(lambda: bike.once("one", lambda: STEM.value)) == [STEM], "and by itself alone"


def test_what_is_merely_recalled_is_not_read() -> None:
    bike = view([])
    with tape.recording(None):
        bike.local.recall("a key", lambda: amount_of(STEM).low)
    assert read_by(lambda: bike.local.recall("a key", lambda: inf)) == []


def test_a_size_made_by_hand_rests_on_what_was_read_for_it() -> None:
    assert read_by(lambda: Amount(amount_of(STEM).low, amount_of(BAR).high).low) == [STEM, BAR]
