"""What is put in new, and what goes elsewhere on the bike, takes what a mechanic would say; minutes from memory."""

from __future__ import annotations

from dataclasses import replace

import pytest

from buildcheck.jobs import Agreed, job_card
from buildcheck.library.requests import read_request
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.levels import Level, Verdict
from buildcheck.model.terms import InStock
from buildcheck.report.json_view import job_json
from buildcheck.vetting import Vetting
from laws.bench import bike, catalogue, findings_of, vetting, with_facts
from laws.test_work import work_of


def asked(of: Bike, **words: list[str]) -> Change:
    return read_request(words, of, catalogue())


@pytest.mark.parametrize(
    ("name", "words", "low_min", "high_min"),
    [
        ("tourer-cable", {"renew": ["chain"]}, 10, 25),
        ("road-rim", {"renew": ["chain"]}, 10, 25),
        ("road-disc", {"renew": ["rear-pads"]}, 10, 25),
        ("city-rim", {"renew": ["front-pads"]}, 10, 25),
        ("road-rim", {"renew": ["cassette", "chain"]}, 20, 45),
        ("city-rim", {"renew": ["front-brake-line"]}, 15, 35),
        ("tourer-cable", {"move": ["stem,on=spacer-1"]}, 10, 25),
        ("tourer-cable", {"move": ["spacer-2,on=stem"]}, 10, 25),
        ("kids-20", {"move": ["stem,on=spacer-1"]}, 10, 25),
    ],
)
def test_the_work_takes_what_a_mechanic_would_say(
    name: str, words: dict[str, list[str]], low_min: float, high_min: float
) -> None:
    of = bike(name)
    work = work_of(of, asked(of, **words))
    assert low_min <= work.asked_minutes.mean + work.extra_minutes.mean <= high_min


@pytest.mark.parametrize("words", [{"move": ["spacer-2,on=stem"]}, {"move": ["stem,on=spacer-1"]}])
def test_a_spacer_above_the_stem_and_a_lower_stem_are_one_thing(words: dict[str, list[str]]) -> None:
    of = bike("tourer-cable")
    done = vetting(of).vetted(asked(of, **words))
    fitted = done.context.bike.fitted
    assert {name: fitted[name].on for name in ("spacer-1", "stem", "spacer-2")} == {
        "spacer-1": "headset-cover", "stem": "spacer-1", "spacer-2": "stem",
    }  # fmt: skip
    told = {finding.name: finding for finding in done.findings}
    assert "(-5 mm)" in str(told["bar-position-changes"].message)
    assert not done.blocking
    assert "steerer-too-long" not in told


def test_a_stem_that_is_moved_back_is_as_it_was() -> None:
    of = bike("allroad-wired")
    down = vetting(of).vetted(asked(of, move=["stem,on=spacer-1"])).context.bike
    lower = replace(of, fitted=down.fitted)
    up = vetting(lower).vetted(asked(lower, move=["stem,on=spacer-3"])).context.bike
    assert up.fitted == of.fitted


def test_more_spacers_above_the_stem_than_the_fork_allows_are_told() -> None:
    of = bike("allroad-wired")
    told = findings_of(of, asked(of, move=["spacer-3,on=stem"]))
    assert [finding.name for finding in told if finding.level is Level.BLOCKS] == ["spacers-above-stem-too-high"]


def test_a_thing_goes_to_the_place_that_is_named() -> None:
    of = bike("tourer-cable")
    moved = vetting(of).vetted(asked(of, take_off=["accessory-bottle-2"], move=["accessory-bottle-1,place=bottle-2"]))
    bottle = moved.context.bike["accessory-bottle-1"]
    assert (bottle.on, bottle.place) == ("frame", "bottle-2")
    assert not moved.blocking


def test_a_new_stem_goes_where_it_is_told() -> None:
    of = bike("tourer-cable")
    after = vetting(of).vetted(asked(of, fit=["tolverne-carrow-100@stem,on=spacer-1"])).context.bike
    assert (after["stem"].on, after["spacer-2"].on) == ("spacer-1", "stem")


def test_a_line_leads_where_it_is_told() -> None:
    of = bike("tourer-cable")
    after = vetting(of).vetted(asked(of, move=["rear-shift-line,from=lever-left"])).context
    assert (after.bike["rear-shift-line"].start, after.bike["rear-shift-line"].end) == ("lever-left", "rear-derailleur")
    assert "rear-shift-line" in after.touched


def test_the_same_part_new_is_longer_than_the_old_one_that_was_cut() -> None:
    of = with_facts(bike("tourer-cable"), chain__links=90)
    assert Level.BLOCKS in {finding.level for finding in findings_of(of)}
    told = findings_of(of, asked(of, renew=["chain"]))
    assert Level.BLOCKS not in {finding.level for finding in told}


def test_a_steerer_that_was_cut_is_to_be_cut_again() -> None:
    of = bike("tourer-cable")
    assert "steerer-too-long" in {finding.name for finding in findings_of(of, asked(of, renew=["fork"]))}


def oily(name: str) -> Bike:
    return with_facts(bike(name), **{"rear-pads__condition": "[contaminated]"})


def test_oily_pads_are_cured_by_new_ones_of_their_kind() -> None:
    of = oily("road-disc")
    assert vetting(of).swap(asked(of, renew=["rear-pads"])).verdict is not Verdict.BLOCKED
    others = frozenset(
        part.id for part in catalogue().of_kinds(["brake-pads"]) if part.id != of["rear-pads"].part.id
    )  # fmt: skip
    bench = vetting(of)
    best = replace(bench, terms=replace(bench.agreed, exclude=others)).swap(asked(of, renew=["saddle"])).remedies[0]
    assert [(part.id, part.position, part.renew) for part in best.parts] == [
        (of["rear-pads"].part.id, "rear-pads", True)
    ]
    assert "the same part new" in str(best.parts[0].name)


def card_of(bench: Vetting, **words: list[str]) -> str:
    return job_json(job_card(bench, asked(bench.bike, **words), Agreed()))


def test_the_card_names_the_new_part_with_its_price() -> None:
    bench = vetting(bike("tourer-cable"))
    card = job_card(bench, asked(bench.bike, renew=["chain", "cassette"]), Agreed())
    assert [(part.id, part.renew) for part in card.parts] == [
        ("merrowby-beck-chain-9", True), ("merrowby-beck-11-34-9", True),
    ]  # fmt: skip
    assert card.parts_cost == sum(part.price or 0.0 for part in card.parts) > 0
    assert card.steps
    assert card.torques


def test_a_piece_in_stock_is_taken_first_even_of_an_equal_part() -> None:
    bench = vetting(bike("tourer-cable"))
    stock = {"merrowby-beck-chain-9": InStock(1, 9.0)}
    mine = replace(bench, terms=replace(bench.agreed, stock=stock))
    assert job_card(mine, asked(bench.bike, renew=["chain"]), Agreed()).parts[0].price == 9.0


def test_of_a_part_that_nobody_sells_it_is_told_what_to_buy() -> None:
    of = bike("tourer-cable")
    own = of["chain"].part.model_copy(update={"id": "own-chain"})
    spot = replace(of["chain"], part=own)
    mine = replace(of, fitted={**of.fitted, "chain": spot}, own_parts={"own-chain": (own, {})})
    told = [str(said) for said in vetting(mine).swap(asked(mine, renew=["chain"])).cautions]
    assert any(text.startswith("chain: no catalogue has this part; buy a chain with") for text in told), told


def test_fitting_the_part_that_is_there_points_to_the_way_to_renew_it() -> None:
    of = bike("tourer-cable")
    told = [str(said) for said in vetting(of).swap(asked(of, fit=["merrowby-beck-chain-9@chain"])).cautions]
    assert any("is fitted already" in text and "--renew chain" in text for text in told)


def test_json_tells_what_was_asked() -> None:
    bench = vetting(bike("tourer-cable"))
    card = card_of(bench, renew=["chain"], move=["stem,on=spacer-1"], fit=["tolverne-brae-420@handlebar,on=stem"])
    for row in ('"renew": "chain"', '"part": "merrowby-beck-chain-9"', '"move": "stem"', '"on": "spacer-1"'):
        assert row in card


def test_a_line_that_leads_elsewhere_is_laid_and_set_anew() -> None:
    of = bike("tourer-cable")
    work = work_of(of, asked(of, move=["rear-shift-line,from=lever-left"]))
    done = {unit.id for unit in work.operations}
    assert {"relay-line@rear-shift-line", "set-cable@rear-shift-line", "index-rear-gears"} <= done


def test_a_hose_that_leads_elsewhere_is_opened_and_bled() -> None:
    of = bike("road-disc")
    swapped = ["front-brake-line,from=lever-right", "rear-brake-line,from=lever-left"]
    change = asked(of, move=swapped)
    opened = [f.positions for f in findings_of(of, change) if f.name == "brake-line-opened"]
    assert opened == [("front-brake-line",), ("rear-brake-line",)]
    assert {"bleed-brake@front-brake-line", "bleed-brake@rear-brake-line"} <= {
        unit.id for unit in work_of(of, change).operations
    }
