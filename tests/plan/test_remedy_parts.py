"""The search for remedies: candidates, prices, what is left alone."""

from __future__ import annotations

from buildcheck.plan.remedies import interface_signature, one_of_each
from laws.bench import bike, catalogue, change, vetting


def test_of_parts_that_differ_in_price_only_the_cheapest_is_tried() -> None:
    part = catalogue().part("tolverne-alder-100")
    dear = part.model_copy(update={"id": "dear", "price_eur": 900.0, "offers": (), "name": "dear one"})
    cheap = part.model_copy(update={"id": "cheap", "price_eur": 1.0, "offers": ()})
    other = catalogue().part("tolverne-alder-110")
    assert [each.id for each in one_of_each([dear, part, cheap, other])] == ["cheap", other.id]


def test_a_part_without_a_price_counts_as_the_dearest() -> None:
    part = catalogue().part("tolverne-alder-100")
    free = part.model_copy(update={"id": "no-price", "price_eur": None, "offers": ()})
    assert [each.id for each in one_of_each([free, part])] == [part.id]


def test_the_signature_is_what_rules_see() -> None:
    part = catalogue().part("tolverne-alder-100")
    assert interface_signature(part) == interface_signature(part.model_copy(update={"price_eur": 1.0, "note": "x"}))
    assert interface_signature(part) != interface_signature(part.model_copy(update={"length_mm": None}))


def test_a_remedy_leaves_alone_what_was_asked_for() -> None:
    of = bike("allroad-wired")
    report = vetting(of).swap(change(of, "wexcombe-veil-420-100@handlebar"))
    assert report.remedies
    assert all(part.position not in ("handlebar", "stem") for remedy in report.remedies for part in remedy.parts)


def test_costs_add_up() -> None:
    of = bike("allroad-wired")
    bench = vetting(of)
    for remedy in bench.swap(change(of, "wexcombe-veil-420-100@handlebar")).remedies:
        prices = [part.price for part in remedy.parts]
        assert remedy.parts_cost == round(sum(price or 0.0 for price in prices), 2)
        hours = remedy.extra_minutes.mean / 60
        assert remedy.total_cost == round((remedy.parts_cost or 0.0) + hours * bench.agreed.rate_eur_per_hour, 2)


def test_a_complete_remedy_comes_first_and_names_what_it_clears() -> None:
    of = bike("allroad-wired")
    report = vetting(of).swap(change(of, "wexcombe-veil-420-100@handlebar"))
    first, *rest = report.remedies
    assert first.complete
    assert not any(remedy.complete for remedy in rest)
    assert {"line-has-no-way", "junction-without-place"} <= set(first.clears)


def test_where_no_set_is_found_the_report_says_so() -> None:
    of = bike("allroad-wired")
    report = vetting(of).swap(change(of, "wexcombe-hide@frame"))
    assert not any(remedy.complete for remedy in report.remedies)
    assert "part-in-wrong-position" in report.remedies_note


def test_a_ring_is_replaced_by_one_for_its_place_and_a_brake_by_one_of_its_kind() -> None:
    of = bike("road-rim")
    report = vetting(of).swap(change(of, "merrowby-beck-11-34-11@cassette"))
    rings = [part.id for remedy in report.remedies for part in remedy.parts if part.position == "chainring-outer"]
    assert rings
    assert all(catalogue().part(ring or "").model_dump()["place_in_set"] == "outer" for ring in rings)
    assert {part.position for part in report.remedies[0].parts} == {"chain", "rear-derailleur"}

    of = bike("allroad-wired")
    report = vetting(of).swap(change(of, "merrowby-tarn-rotor-180-spline@front-rotor"))
    assert {part.position for remedy in report.remedies for part in remedy.parts} == {"front-rotor"}


def test_what_nothing_else_needs_may_be_left_off() -> None:
    of = bike("trail-hardtail")
    rigid = vetting(of).swap(change(of, "wexcombe-hazel-309-350@seatpost")).remedies[0]
    assert rigid.complete
    assert [(part.id, part.position) for part in rigid.parts] == [(None, "dropper-line")]
    narrow = vetting(of).swap(change(of, "merrowby-gill-crank-170@crankset")).remedies[0]
    assert (None, "bb-spacer-1") in [(part.id, part.position) for part in narrow.parts]
