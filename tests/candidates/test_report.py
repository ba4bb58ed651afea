"""What the report tells of remedies: prices, kinds, proofs, the shop's terms, and how the search ends."""

from __future__ import annotations

import os
from dataclasses import replace

import pytest

from buildcheck.candidates.domains import PartDomains
from buildcheck.candidates.report import MOST_FOR_OTHERS, FoundRemedies, find_remedies
from buildcheck.jobs import with_parts
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.levels import Level
from buildcheck.model.report import Outcome, Remedy, Report
from buildcheck.model.terms import InStock, Terms
from buildcheck.vetting import Vetting
from generated import catalogue_of
from laws.bench import bike, catalogue, change, findings_of, usual_swap, vetting

DEMO = ("allroad-wired", "wexcombe-veil-420-100@handlebar")
CASSETTE = ("road-rim", "merrowby-beck-11-34-11@cassette")
# What takes seconds for each is asked of all by `make prove`, of the first by every run.
MOST = None if os.environ.get("HYPOTHESIS_PROFILE") == "prove" else 1
# Wider tyres than the mudguards are made for.
WIDER = ("tourer-cable", "dunreth-townley-47-622@front-tyre", "dunreth-townley-47-622@rear-tyre")


def swap(name: str, *fits: str, terms: Terms | None = None) -> Report:
    of = bike(name)
    return usual_swap(name, *fits) if terms is None else Vetting(of, catalogue(), terms).swap(change(of, *fits))


def places(remedy: Remedy) -> dict[str, str | None]:
    return {part.position: part.id for part in remedy.parts}


def search(name: str, part: str, most: int) -> FoundRemedies:
    of = bike(name)
    asked, bench = change(of, part), vetting(of)
    positions = frozenset(position for _, position in asked.fit)
    start = bench._vet(asked)[0]
    return find_remedies(bench.vetter(positions), asked, start, bench._pinned(start.context, positions), most)


def test_a_remedy_leaves_alone_what_was_asked_for() -> None:
    for remedy in swap(*DEMO).remedies:
        assert not {"handlebar", "stem"} & {part.position for part in remedy.parts}


def test_costs_add_up() -> None:
    wider, dear = swap(*WIDER), swap(*DEMO)
    assert len(wider.remedies) > 1
    for remedy in (*wider.remedies, *dear.remedies):
        bought = sum(part.price or 0.0 for part in remedy.parts if part.id is not None)
        left_off = sum(part.price or 0.0 for part in remedy.parts if part.id is None)
        assert remedy.parts_cost == pytest.approx(bought)
        work = remedy.extra_minutes.mean / 60 * catalogue().standards.shop.rate_eur_per_hour
        assert remedy.total_cost == pytest.approx(bought + left_off + work, abs=0.1)  # the mean is told to 0.1 min


def test_the_cheapest_comes_first_and_the_others_differ_in_more_than_size(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("buildcheck.candidates.report.MOST_FOR_OTHERS", 100)
    first, second, third = search(*DEMO, most=100).remedies
    costs = [remedy.total_cost or 0.0 for remedy in (first, second, third)]
    assert costs == sorted(costs)
    hoses = {"front-brake-line", "rear-brake-line", "headset-cover"}
    for one, other in ((first, second), (first, third), (second, third)):
        apart = {at for at in {**places(one), **places(other)} if places(one).get(at, "") != places(other).get(at, "")}
        assert apart - hoses, "another length or height alone is no other kind"


def test_further_remedies_are_looked_for_only_as_long_as_few_sets_were_vetted() -> None:
    """What the cheapest one leaves of that is for others, and it is told where that did not do."""
    demo, wider = swap(*DEMO).search, swap(*WIDER).search
    assert demo.vetted >= MOST_FOR_OTHERS
    assert demo.limit == f"{demo.vetted} sets of parts were vetted"
    assert (wider.vetted < MOST_FOR_OTHERS, wider.limit) == (True, "")


def test_mudguards_of_another_size_are_passed_over_for_those_of_the_wheel() -> None:
    best = swap(*WIDER).remedies[0]
    assert places(best) == {"accessory-mudguards": "dunreth-eaves-mudguards-622-60"}
    assert best.gives_up == ()
    none, small = best.passed_over
    assert [part.id for part in small.parts] == ["dunreth-eaves-mudguards-406-wide"]
    assert "made for wheels of 406" in str(small.gives_up[0])
    assert [str(text) for text in none.gives_up] == ["Dunreth Eaves mudguards, pair, 50 mm is left off"]


def test_what_no_set_does_without_is_told_to_be_given_up() -> None:
    best = swap(*DEMO).remedies[0]
    assert [str(text) for text in best.gives_up] == ["Dunreth Pannikin bar bag is left off"]
    assert all("light 30 lux instead of 60 lux" in str(other.gives_up[-1]) for other in best.passed_over)
    assert "Nothing works that gives up less" in best.proof


def test_a_new_shifter_is_no_brake_lever() -> None:
    bench = vetting(bike("track"))
    asked = change(bike("track"), "merrowby-beck-rear-9@rear-derailleur")
    domains = PartDomains(bench.vetter(frozenset()), asked, bench.vetted(asked).context, frozenset())
    shifters = [each.part for each in domains.of("shifter-right") if each.part is not None]
    assert shifters
    assert all(part.model_dump()["brake"] == "none" for part in shifters)


def test_a_lamp_on_a_bike_without_a_dynamo_gets_a_wheel_with_one_and_the_wire_between() -> None:
    best = swap("city-rim", "quillbeck-wisp-60-clamp@accessory-lamp").remedies[0]
    assert places(best)["front-wheel"] == "quillbeck-lane-front-dynamo"
    wire = catalogue().part(places(best)["wire-front-wheel-to-accessory-lamp"] or "")
    assert (wire.kind, best.gives_up) == ("wire", ())


def test_a_converter_joins_a_shifter_of_one_pull_and_a_derailleur_of_another() -> None:
    best = swap("road-rim", "merrowby-rill-rear-11@rear-derailleur").remedies[0]
    assert places(best) == {"rear-shift-line-converter": "brackwater-sluice-shift-road-trail"}
    assert (best.gives_up, best.clears) == ((), ("shift-system-mismatch",))
    assert {"fit-shift-converter", "set-shift-converter", "test-shift-converter"} <= {
        operation.partition("@")[0] for operation in best.operations
    }


def moved(remedy: Remedy) -> dict[str, str]:
    return {part.position: part.onto for part in remedy.parts if part.onto is not None}


def test_a_battery_goes_to_the_holder_of_the_frame_and_is_not_given_up() -> None:
    best = swap("allroad-wired", "wexcombe-rowan-272-250@seatpost").remedies[0]
    assert (moved(best), best.gives_up) == ({"battery": "frame"}, ())
    assert [part.price for part in best.parts if part.onto] == [0.0]
    assert {"take-off-battery@battery", "fit-battery@battery"} <= set(best.operations)
    assert "set-up-electronic-shifting" not in best.operations, "it is the same battery"


def altered(name: str, **spots: object) -> Bike:
    """A bike of which something is said otherwise."""
    of = bike(name)
    told = {at.replace("_", "-"): replace(of[at.replace("_", "-")], **new) for at, new in spots.items()}  # type: ignore[arg-type]
    return of.with_fitted({**of.fitted, **told})


def test_a_battery_goes_back_into_the_post_where_the_frame_has_no_holder() -> None:
    frame = bike("allroad-wired")["frame"].part
    bare = frame.model_copy(update={"places": tuple(at for at in frame.places if at.type != "battery.frame")})
    of = altered("allroad-wired", battery={"on": "frame", "place": "seat-tube-clip"}, frame={"part": bare})
    best = Vetting(of, catalogue()).swap(change(of, "tolverne-alder-110@stem")).remedies[0]
    assert moved(best) == {"battery": "seatpost"}


def test_of_two_cages_on_one_pair_of_bosses_one_goes_to_the_next() -> None:
    of = altered("allroad-wired", accessory_bottle_2={"place": "bottle-1"})
    bench = Vetting(of, catalogue())
    asked = change(of, "tolverne-alder-110@stem")
    best = bench.swap(asked).remedies[0]
    assert moved(best) == {"accessory-bottle-2": "frame"}
    after = bench.vetted(with_parts(asked, best.parts))
    assert (after.blocking, after.context.bike["accessory-bottle-2"].place) == ((), "bottle-2")


def test_what_hangs_behind_does_not_go_to_the_front() -> None:
    of = bike("tourer-cable")
    frame = of["frame"].part
    bare = frame.model_copy(update={"places": tuple(at for at in frame.places if not at.type.startswith("rack"))})
    bench = vetting(altered("tourer-cable", frame={"part": bare}))
    asked = Change((("tolverne-alder-110", "stem"),))
    domains = PartDomains(bench.vetter(frozenset()), asked, bench.vetted(asked).context, frozenset())
    assert domains.moves("accessory-rack") == ()
    assert not any(each.onto for each in domains.of("accessory-rack"))


def test_a_chain_for_another_number_of_speeds_is_passed_over() -> None:
    best = swap("city-rim", "merrowby-twill-ring-46@chainring-single").remedies[0]
    assert places(best) == {"chain": "merrowby-twill-chain-8"}  # the same one new: the old one was cut
    assert best.parts[0].renew
    assert [part.id for part in best.passed_over[0].parts] == ["dunreth-chain-6"]
    assert "5, 6 or 7 speeds" in str(best.passed_over[0].gives_up[0])


def chains_with(extra: str, but: str, **left_out: None) -> Vetting:
    """City bike and a catalogue in which a cheap copy of the one chain stands; of the copy `left_out` is not told."""
    parts = dict(catalogue()._content["parts"])
    data = {key: value for key, value in parts[but]["data"].items() if key not in (*left_out, "offers")}
    parts[extra] = {**parts[but], "data": {**data, "id": extra, "name": f"Dunreth {extra}", "price_eur": 1.0}}
    return Vetting(bike("city-rim"), catalogue_of(parts))


def test_a_part_of_which_less_is_on_record_is_offered_only_where_no_other_does() -> None:
    asked = change(bike("city-rim"), "merrowby-twill-ring-46@chainring-single")
    told = chains_with("cheap-chain", "dunreth-chain-8-long").swap(asked).remedies[0]
    assert places(told) == {"chain": "cheap-chain"}
    bench = chains_with("cheap-chain", "dunreth-chain-8-long", links=None)
    same = terms(exclude=frozenset({"merrowby-twill-chain-8"}))
    best = replace(bench, terms=same).swap(asked).remedies[0]
    assert places(best) == {"chain": "dunreth-chain-8-long"}
    assert "parts of which less is on record" in best.proof
    others = frozenset(part.id for part in bench.catalogue.of_kinds(["chain", "cassette", "chainring"]))
    without = replace(bench, terms=terms(exclude=others - {"cheap-chain"})).swap(asked).remedies[0]
    assert places(without) == {"chain": "cheap-chain"}
    assert "measure first" in without.proof


def test_a_tubeless_wheel_keeps_the_dynamo() -> None:
    best = swap("tourer-cable", "dunreth-tubeless-25-slim-55@front-tube").remedies[0]
    assert places(best)["front-wheel"] == "quillbeck-fold-front-dynamo-tubeless"
    assert best.gives_up == ()


def test_of_stems_that_are_all_shorter_the_longest_is_offered() -> None:
    best = swap("cargo", "wexcombe-ridge-780-35@handlebar").remedies[0]
    assert places(best)["stem"] == "tolverne-bluff-60"
    assert [str(text) for text in best.gives_up] == ["stem: angle 0 deg instead of 35 deg"]


def test_a_remedy_tells_its_proof_and_what_is_cheaper_and_does_not_do() -> None:
    report = swap(*DEMO)
    assert report.search.outcome is Outcome.CHEAPEST
    best = report.remedies[0]
    assert report.search.lower_bound == best.total_cost
    assert "nothing blocks" in best.proof
    assert f"{best.rejected_count + 1} cheaper sets" in best.proof, "and the change as asked"
    assert 0 < len(best.rejected) <= 3 <= best.rejected_count < report.search.vetted
    of, asked = bike(DEMO[0]), change(bike(DEMO[0]), DEMO[1])
    for other in best.rejected:
        assert other.total_cost < (best.total_cost or 0.0)
        left = findings_of(of, with_parts(asked, other.parts))
        assert set(other.blocked_by) <= {f.name for f in left if f.level in (Level.BLOCKS, Level.UNKNOWN)}
        assert other.message in {finding.message for finding in left}


def test_the_operations_of_a_remedy_are_those_beyond_the_bare_swap() -> None:
    report = swap(*DEMO)
    ids = {operation.id for operation in report.work.operations}
    assert set(report.remedies[0].operations) < ids
    assert "bleed-brake@front-brake-line" in report.remedies[0].operations


def test_an_accessory_that_is_left_off_counts_with_its_price_and_what_only_serves_with_nothing() -> None:
    rigid = swap("trail-hardtail", "wexcombe-hazel-309-350@seatpost").remedies[0]
    assert [(part.id, part.position, part.price) for part in rigid.parts] == [(None, "dropper-line", 0.0)]
    bag = next(part for part in swap(*DEMO).remedies[0].parts if part.position == "accessory-bag")
    assert (bag.id, bag.price) == (None, bike(DEMO[0])["accessory-bag"].part.best_price_eur())


def test_a_part_does_what_the_one_before_did() -> None:
    report = swap(*CASSETTE)
    rings = [part.id for remedy in report.remedies for part in remedy.parts if part.position == "chainring-outer"]
    assert all(catalogue().part(ring or "").model_dump()["place_in_set"] == "outer" for ring in rings)
    assert set(places(report.remedies[0])) == {"chain", "rear-derailleur"}
    hidden = swap("allroad-wired", "tolverne-lych-420-100@handlebar")
    changed = {at for remedy in hidden.remedies for at in places(remedy)}
    assert changed
    assert not {"lever-left", "lever-right"} & changed, "a lever that only brakes does not shift"


def test_a_change_that_fits_needs_no_search() -> None:
    report = swap("allroad-wired", "tolverne-alder-110@stem")
    assert (report.search.outcome, report.remedies) == (Outcome.NOT_NEEDED, ())


# ---------------------------------------------------------------- terms of the shop


def terms(**given: object) -> Terms:
    return replace(Terms(60.0), **given)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("asked", "position"),
    [
        (("city-rim", "merrowby-twill-ring-46@chainring-single"), "chain"),
        (("city-rim", "ostmoor-bb-square-110-iso@bottom-bracket"), "crankset"),
    ][:MOST],
)
def test_an_excluded_part_gives_way_to_the_next_of_its_sort(asked: tuple[str, str], position: str) -> None:
    first = places(swap(*asked).remedies[0])[position]
    without = swap(*asked, terms=terms(exclude=frozenset({first or ""})))
    assert all(places(remedy).get(position) != first for remedy in without.remedies)


def test_what_is_kept_is_in_no_remedy() -> None:
    kept = swap(*DEMO, terms=terms(keep=frozenset({"spacer-3"})))
    assert kept.search.outcome is Outcome.IMPOSSIBLE
    assert any("spacer 3" in str(cause.text) for cause in kept.search.causes)


def test_a_part_in_stock_costs_what_the_shop_says_as_long_as_there_are_pieces() -> None:
    plain = swap(*DEMO).remedies[0]
    spacer = places(plain)["spacer-1"] or ""
    assert places(plain)["spacer-2"] == spacer
    for pieces in (1, 2)[:MOST]:
        stocked = swap(*DEMO, terms=terms(stock={spacer: InStock(pieces, 0.0)})).remedies[0]
        free = [part for part in stocked.parts if part.id == spacer and part.price == 0.0]
        assert len(free) == pieces
        saved = pieces * (catalogue().part(spacer).best_price_eur() or 0.0)
        assert (plain.total_cost or 0.0) - (stocked.total_cost or 0.0) == pytest.approx(saved)


def test_what_was_asked_for_comes_out_of_the_stock_first() -> None:
    spacer = "wexcombe-veil-spacer-10"
    for pieces, price in ((1, catalogue().part(spacer).best_price_eur()), (2, 0.0))[:MOST]:
        stocked = terms(stock={spacer: InStock(pieces, 0.0)})
        best = swap(*DEMO, f"{spacer}@spacer-1", terms=stocked).remedies[0]
        assert [(part.position, part.price) for part in best.parts if part.id == spacer] == [("spacer-2", price)]


@pytest.mark.parametrize("asked", [CASSETTE, DEMO][:MOST])
def test_a_dear_hour_makes_work_count_for_more(asked: tuple[str, str]) -> None:
    cheap, dear = (swap(*asked, terms=Terms(rate)).remedies[0] for rate in (1.0, 200.0))
    assert cheap.extra_minutes.mean >= dear.extra_minutes.mean


# ---------------------------------------------------------------- none, or not known


def test_giving_up_is_not_being_impossible() -> None:
    found = search(*DEMO, most=5)
    assert found.search.outcome is Outcome.GAVE_UP
    assert "5 sets" in found.search.limit
    assert 0 < (found.search.lower_bound or 0.0) <= (swap(*DEMO).remedies[0].total_cost or 0.0)
    assert (found.search.causes, found.search.gap) == ((), None)


def test_it_is_told_that_a_new_wire_was_not_considered_where_one_could_do() -> None:
    wired, tyre = swap(*DEMO), swap("road-disc", "dunreth-packhorse-42-622@rear-tyre")
    assert "wires" in wired.search.unconsidered
    assert all(remedy.proof.endswith(f"Not considered: {wired.search.unconsidered}.") for remedy in wired.remedies)
    assert tyre.search.unconsidered == ""


def test_impossible_tells_facts_that_are_enough() -> None:
    report = swap("road-disc", "dunreth-packhorse-42-622@rear-tyre")
    assert report.search.outcome is Outcome.IMPOSSIBLE
    (cause,) = report.search.causes
    assert str(cause.text).startswith("tyre-too-wide-for-frame")
    assert any("another bike" in str(below.text) for below in cause.because)
    assert report.search.new_part is None, "no single part makes room in a frame"


def test_impossible_tells_the_one_part_that_would_do() -> None:
    of: Bike = bike("tourer-cable")
    asked = change(of, "merrowby-linn-11-34-12@cassette")
    bench = vetting(of)
    new = bench.swap(asked).search.new_part
    assert new is not None
    assert new.attributes
    made = catalogue().part(new.like).model_copy(update={"id": "made-to-measure"})
    for wanted in new.attributes:
        value = made.model_validate({**made.model_dump(mode="json", by_alias=True, exclude_unset=True),
                                     wanted.attribute: float(wanted.value)})  # fmt: skip
        made = made.model_copy(update={wanted.attribute: getattr(value, wanted.attribute)})
    bench._invent(made)
    beside = tuple((part.id, part.position) for part in new.beside if part.id is not None)
    findings = bench._vet(Change((*asked.fit, *beside, (made.id, new.position))))[0].findings
    assert not [finding for finding in findings if finding.level is Level.BLOCKS]
