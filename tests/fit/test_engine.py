"""A finding is found again on another bike: the same one, also where two are about the same parts."""

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, found_again, rule
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Word, say
from laws.bench import bike, context_of


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="made up for this test")
def battery_on_two_systems(self: Rule, context: Context) -> Iterator[Finding]:
    """A battery hangs on two systems of wires, and both have the same fault there."""
    for system in ("first", "second"):
        yield self.tell(say("Something is wrong with the {system} system.", system=Word(system)), ("battery",))


def test_of_two_about_the_same_parts_the_one_that_says_the_same_is_found_again() -> None:
    context = context_of(bike("allroad-wired"))
    both = battery_on_two_systems.found(context)
    assert [each.identity for each in both] == [("battery-on-two-systems", ("battery",))] * 2
    for each in both:
        again = found_again(context, (battery_on_two_systems,), each)
        assert again is not None
        assert again.message == each.message


def test_one_that_says_it_in_other_words_is_the_same_finding() -> None:
    context = context_of(bike("allroad-wired"))
    first = battery_on_two_systems.found(context)[0]
    asked = Finding(first.name, first.level, say("In other words."), first.positions)
    assert found_again(context, (battery_on_two_systems,), asked) is not None


def test_what_is_about_another_part_is_not_found_again() -> None:
    context = context_of(bike("allroad-wired"))
    first = battery_on_two_systems.found(context)[0]
    elsewhere = Finding(first.name, first.level, first.message, ("frame",))
    assert found_again(context, (battery_on_two_systems,), elsewhere) is None
