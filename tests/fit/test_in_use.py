"""What a bike in use proves of what no record tells."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

from buildcheck.fit.engine import rule
from buildcheck.fit.facts import Answer, Fact, is_word, of_pattern, same_word
from buildcheck.fit.joints import joint_holds, mates
from buildcheck.model.bikes import Bike
from buildcheck.model.levels import Level, Origin, Proof
from buildcheck.model.quantities import Interval
from buildcheck.model.standards import Interface, MatingRule
from laws.bench import bike, change, vetting, with_facts


def proven(of: Bike, position: str, attribute: str) -> Fact | None:
    found = vetting(replace(of, in_use=True)).inferred.get((position, attribute))
    return found if found is not None and found.origin is Origin.IN_USE else None


def known(of: Bike, position: str, attribute: str) -> Fact:
    fact = proven(of, position, attribute)
    assert fact is not None
    return fact


# ---------------------------------------------------------------- by rows of the joints


def test_a_limit_lies_at_least_at_what_is_within_it() -> None:
    of = with_facts(bike("tourer-cable"), front_AT_wheel__valve_hole_mm="unknown")
    fact = known(of, "front-wheel", "valve_hole_mm")
    assert fact.held == Interval(5.8, inf), "a valve of 6 mm is in it; the row allows 0.2"
    assert str(fact.told()) == "at least 5.8 mm"
    assert [(each.position, each.attribute) for each in fact.read_off] == [("front-tube", "valve_mm")]


def test_a_limit_lies_at_most_at_what_is_beyond_it() -> None:
    of = with_facts(bike("tourer-cable"), front_AT_wheel__tyre_width_min_mm="unknown")
    fact = known(of, "front-wheel", "tyre_width_min_mm")
    assert fact.held == Interval(0.0, 42.5)
    assert str(fact.told()) == "at most 42.5 mm"


def test_what_is_known_within_limits_is_narrowed() -> None:
    of = with_facts(bike("tourer-cable"), front_AT_wheel__tyre_width_min_mm="30..60")
    assert known(of, "front-wheel", "tyre_width_min_mm").held == Interval(30.0, 42.5)
    amount = vetting(replace(of, in_use=True)).before.view.amount("front-wheel", "tyre_width_min_mm")
    assert (amount.least, amount.most) == (30.0, 42.5)


def test_a_word_is_one_of_those_that_go_with_the_other_side() -> None:
    of = with_facts(bike("tourer-cable"), cassette__freehub="unknown")
    fact = known(of, "cassette", "freehub")
    assert fact.held is None
    assert "spline9" in fact.possible
    assert "fine-spline23" not in fact.possible
    assert fact.one_word


def test_of_a_list_of_words_one_goes_with_the_other_side() -> None:
    of = with_facts(bike("tourer-cable"), fork__bead_seat_mm="unknown")
    fact = known(of, "fork", "bead_seat_mm")
    assert (fact.possible, fact.one_word, fact.held) == (("622",), False, None)


def test_a_word_that_is_left_alone_is_known() -> None:
    of = with_facts(bike("tourer-cable"), front_AT_caliper__mount="unknown")
    assert known(of, "front-caliper", "mount").held == "is-51"


def test_what_can_be_wrong_for_years_proves_nothing() -> None:
    of = with_facts(bike("tourer-cable"), fork__rotor_max_mm="unknown", frame__rear_tyre_max_mm="unknown")
    assert proven(of, "fork", "rotor_max_mm") is None
    assert proven(of, "frame", "rear_tyre_max_mm") is None


def test_where_a_shim_can_hide_nothing_is_proven() -> None:
    of = with_facts(bike("tourer-cable"), stem__bar_clamp_mm="unknown")
    assert ("stem", "bar_clamp_mm") not in vetting(replace(of, in_use=True)).inferred


def test_through_an_adapter_nothing_is_proven() -> None:
    """A plate of the right kind lies between fork and brake, so that the mount of the brake is not that of the fork."""
    of = bike("tourer-cable")
    asked = change(of, "brackwater-drystone-post@front-caliper", "brackwater-is-post@front-brake-adapter")
    after = with_facts(vetting(of).vetted(asked).context.bike, fork__brake_mount="unknown")
    assert "front-brake-adapter" in after
    assert proven(after, "fork", "brake_mount") is None


def test_where_nobody_knows_whether_an_adapter_lies_between_nothing_is_proven() -> None:
    of = with_facts(bike("tourer-cable"), fork__brake_mount="unknown")
    assert proven(of, "fork", "brake_mount") is not None
    assert proven(replace(of, untold=frozenset({"front-brake-adapter"})), "fork", "brake_mount") is None


def test_records_that_contradict_use_tell_nothing() -> None:
    of = with_facts(bike("tourer-cable"), front_AT_wheel__tyre_width_min_mm="50..60")
    assert proven(of, "front-wheel", "tyre_width_min_mm") is None
    found = vetting(replace(of, in_use=True)).check().findings[0]
    assert (found.level, found.name) == (Level.BLOCKS, "tyre-too-narrow-for-rim")
    assert "The records contradict that the bike is ridden so" in str(found.message)


def test_a_bike_that_is_not_in_use_proves_nothing() -> None:
    of = with_facts(bike("tourer-cable"), front_AT_wheel__tyre_width_min_mm="unknown")
    assert vetting(of).inferred == {}


# ---------------------------------------------------------------- by rules


def test_a_rule_tells_the_size_from_which_it_blocks() -> None:
    of = with_facts(bike("track"), frame__ring_max_single_teeth="unknown")
    ring = bike("track")["chainring-single"].part
    fact = known(of, "frame", "ring_max_single_teeth")
    assert fact.held == Interval(ring.teeth.low, inf)  # type: ignore[attr-defined]
    assert ("chainring-single", "teeth") in {(each.position, each.attribute) for each in fact.read_off}


def test_a_limit_between_two_steps_is_found_to_within_rounding() -> None:
    of = with_facts(bike("track"), frame__ring_max_single_teeth="unknown", chainring_AT_single__teeth="44.123456")
    held = known(of, "frame", "ring_max_single_teeth").held
    assert held.low == pytest.approx(44.123456, abs=1e-8)


def test_a_rule_tells_which_words_it_does_not_block() -> None:
    of = with_facts(bike("tourer-cable"), front_AT_wheel__rim_type="unknown")
    fact = known(of, "front-wheel", "rim_type")
    assert "hooked" in fact.possible
    assert "tubular" not in fact.possible


# ---------------------------------------------------------------- words of which it is known that they are one of some


def _one_of(*possible: str, one_word: bool = True) -> Fact:
    return Fact("hub", "freehub", None, "", Origin.IN_USE, "", (), possible, one_word)


def _word(word: str | tuple[str, ...]) -> Fact:
    return Fact("cassette", "freehub", word, "", Origin.STATED, "")


def test_what_holds_of_all_possible_words_holds() -> None:
    fact = _one_of("red", "rust")
    assert is_word(fact, "red", "rust", "blue").held is Answer.YES
    assert is_word(fact, "red").held is Answer.UNKNOWN
    assert is_word(fact, "blue").held is Answer.NO
    assert of_pattern(fact, "r*").held is Answer.YES
    assert of_pattern(fact, "b*").held is Answer.NO
    assert same_word(fact, _word(("red", "rust"))).held is Answer.YES
    assert same_word(_word("blue"), fact).held is Answer.NO
    assert same_word(_one_of("red"), _one_of("red")).held is Answer.UNKNOWN


def test_a_list_may_have_other_words_beside_the_one() -> None:
    fact = _one_of("red", "rust", one_word=False)
    assert same_word(fact, _word(("red", "rust"))).held is Answer.YES
    assert same_word(fact, _word("blue")).held is Answer.UNKNOWN
    assert is_word(fact, "red", "rust").held is Answer.UNKNOWN


@pytest.mark.parametrize("one_way", [True, False])
def test_a_table_is_asked_with_each_possible_word(one_way: bool) -> None:
    rule_ = MatingRule(kind="table", pairs=(("a", "x"), ("a", "y"), ("b", "x")), one_way=one_way)
    interface = Interface(id="made-up", what="made up", mates=rule_, source="made up")
    open_side = _one_of("x", "y")
    assert mates(interface, _word("a"), open_side).held is Answer.YES
    assert mates(interface, _word("b"), open_side).held is Answer.UNKNOWN
    assert mates(interface, _word("c"), open_side).held is Answer.NO


def test_a_joint_with_another_part_like_the_last_one_holds() -> None:
    of = replace(with_facts(bike("tourer-cable"), rear_AT_wheel__freehub="unknown"), in_use=True)
    bench = vetting(of)
    joints = [joint for joint in bench.before.joints if joint.row.name == "freehub-mismatch"]
    assert [joint_holds(bench.before.view, joint).held for joint in joints] == [Answer.YES]


# ---------------------------------------------------------------- what a rule has to say


def test_a_rule_must_say_what_use_proves_and_what_endangers() -> None:
    with pytest.raises(TypeError, match="use_proves"):
        rule(Level.BLOCKS, source="made up")  # type: ignore[call-arg]
    with pytest.raises(ValueError, match="endangers"):
        rule(Level.BLOCKS, use_proves=Proof.NOTHING, source="made up")
    with pytest.raises(ValueError, match="endangers"):
        rule(Level.CAUTION, use_proves=Proof.NOTHING, endangers=True, source="made up")
    with pytest.raises(ValueError, match="use proves no caution"):
        rule(Level.CAUTION, use_proves=Proof.RIDDEN, source="made up")


