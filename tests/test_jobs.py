"""The job card: one change with one of its remedies, worked out for the bench."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildcheck.jobs import Agreed, NoSuchRemedyError, job_card, with_remedy
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.job import JobCard
from buildcheck.model.levels import Level, Verdict
from buildcheck.model.terms import Terms
from buildcheck.trade.pert import pert_mean_min
from laws.bench import bike, catalogue, change, usual_swap, usual_vetting, vetting, with_facts
from laws.strategies import jobs

DEMO = ("allroad-wired", "wexcombe-veil-420-100@handlebar")
IMPOSSIBLE = ("kids-20", "dunreth-toddle-plain-406@accessory-stabilisers")
STEM = ("allroad-wired", "tolverne-alder-110@stem")
RING = ("city-rim", "merrowby-twill-ring-46@chainring-single")  # with several remedies that are soon found


@cache
def card(name: str, fit: str, **agreed: object) -> JobCard:
    return job_card(usual_vetting(name), change(bike(name), fit), Agreed(**agreed))  # type: ignore[arg-type]


def worn(of: Bike, position: str, *words: str) -> Bike:
    return of.with_fitted({**of.fitted, position: replace(of.fitted[position], condition=words)})


def test_a_blocked_change_is_planned_with_its_cheapest_remedy() -> None:
    made = card(*DEMO)
    report = usual_swap(*DEMO)
    assert (made.remedy, made.asked_verdict, made.verdict) == (1, Verdict.BLOCKED, Verdict.FITS_WITH_EXTRA_WORK)
    assert made.parts[0].id == "wexcombe-veil-420-100"
    assert made.parts[1:] == report.remedies[0].parts
    assert [step.id for step in made.steps] == [operation.id for operation in report.work.operations]
    assert [step.number for step in made.steps] == list(range(1, len(made.steps) + 1))
    assert {reason.level for reason in made.blocking} == {Level.BLOCKS}


def test_another_remedy_is_planned_where_it_is_asked_for() -> None:
    asked, report = change(bike(RING[0]), RING[1]), usual_swap(*RING)
    made = card(*RING, remedy=2)
    assert made.parts[1:] == report.remedies[1].parts != report.remedies[0].parts
    assert set(with_remedy(asked, report.remedies[1]).fit) > set(asked.fit)


@pytest.mark.parametrize(("job", "number", "has"), [(DEMO, 4, "has 1, numbered from 1"), (STEM, 0, "has none")])
def test_a_remedy_that_is_not_there_is_refused(job: tuple[str, str], number: int, has: str) -> None:
    with pytest.raises(NoSuchRemedyError, match=has):
        card(*job, remedy=number)


def test_there_is_no_order_of_work_for_what_cannot_be_ridden() -> None:
    made = card(*IMPOSSIBLE)
    assert (made.verdict, made.remedy, made.steps, made.torques, made.advice) == (Verdict.BLOCKED, None, (), (), ())
    assert made.time.real.mean == made.work_cost == 0.0
    assert made.blocking


def test_what_is_used_up_and_laid_out_is_that_of_the_steps() -> None:
    made = card(*DEMO)
    fluid = [item for item in made.consumables if "brake fluid" in item.what]
    assert [(item.amount, item.unit) for item in fluid] == [(120.0, "ml")]
    tools = [str(tool) for tool in made.tools]
    assert {tool for step in made.steps for tool in step.tools} <= set(tools)
    assert len(set(tools)) == len(tools)


def test_a_joint_that_is_only_opened_again_takes_its_compound() -> None:
    bench = usual_vetting("road-disc")
    asked = Change((), ("spacer-1",))
    made = job_card(bench, asked, Agreed())
    assert not any(found.name == "joint-seizes-without-compound" for found in bench.swap(asked).findings)
    paste = [item for item in made.consumables if "carbon assembly paste" in item.what]
    assert [(item.amount, item.unit) for item in paste] == [(1.0, "g")]


def test_what_a_wrench_needs_to_reach_a_fastener_is_laid_out_too() -> None:
    made = card("allroad-wired", "merrowby-slab@pedals")
    tools = [str(tool) for tool in made.tools]
    assert {tool for step in made.steps for tool in step.tools} < set(tools)
    assert any("crow-foot" in tool for tool in tools)


# Each example plans a job of its own, mostly with a search for remedies.
@settings(max_examples=settings.default.max_examples // 2)
@given(data=st.data())
def test_the_times_add_up(data: st.DataObject) -> None:
    job = data.draw(jobs(), label="job")
    made = job_card(vetting(job.bike), job.change, Agreed())
    mean = sum(pert_mean_min(step.minutes.low, step.minutes.likely, step.minutes.high) for step in made.steps)
    assert made.time.real.mean == pytest.approx(mean, abs=0.1)
    asked = sum(step.minutes.mean for step in made.steps if step.asked)
    assert made.time.asked.mean == pytest.approx(asked, abs=0.05 * len(made.steps) + 0.1)
    extra = sum(reason.minutes for reason in made.reasons)
    assert extra == pytest.approx(made.time.real.mean - made.time.asked.mean, abs=0.05 * len(made.reasons) + 0.2)
    for spread in (made.time.asked, made.time.real):
        assert spread.p50 <= spread.p80 <= spread.p95
    assert made.time.elapsed_min <= made.time.real.mean + made.time.waiting_min + 0.1
    assert made.time.elapsed_min >= made.time.real.mean - 0.1


def test_the_battery_is_charged_while_the_work_goes_on() -> None:
    time = card(*DEMO).time
    assert time.waiting_min == 90.0
    assert time.elapsed_min == pytest.approx(time.real.mean, abs=0.2)


def test_operations_that_run_late_together_make_a_late_day_later() -> None:
    alone, together = (card(*DEMO, correlation=value).time.real for value in (0.0, 0.8))
    assert alone.mean == together.mean
    assert alone.p95 < together.p95


def test_a_seized_part_widens_the_times_and_the_card_says_so() -> None:
    of = worn(bike(STEM[0]), "stem", "corroded")
    made = job_card(vetting(of), change(of, STEM[1]), Agreed())
    plain = card(*STEM)
    assert made.time.real.p95 > plain.time.real.p95
    assert any("stem" in str(note) for note in made.time.notes)
    assert plain.time.notes == ()


def test_what_jobs_really_took_counts_and_the_book_stays_told() -> None:
    of = bike(STEM[0])
    taken = {"fit-stem": (30.0,) * 10}
    bench = replace(vetting(of), terms=Terms(60.0, taken_min=taken))
    made = job_card(bench, change(of, STEM[1]), Agreed())
    times = {step.operation: step.minutes for step in made.steps}
    book = catalogue().standards.operations["fit-stem"]
    assert book.likely_min < times["fit-stem"].likely < 30.0
    (note,) = made.time.notes
    assert f"{book.likely_min:.1f}" in str(note)
    assert "10 times" in str(note)


def test_a_job_that_opens_a_known_bolt_has_it_on_its_torque_sheet() -> None:
    rows = {(row.position, row.fastener): row for row in card(*STEM).torques}
    assert {position for position, _ in rows} >= {"stem"}
    assert all(
        row.by_hand or row.low_nm is None or row.high_nm is None or row.low_nm <= row.high_nm for row in rows.values()
    )


def test_what_is_there_already_is_neither_bought_nor_planned_and_the_card_says_so() -> None:
    there = bike("tourer-cable")["chain"].part
    made = card("tourer-cable", f"{there.id}@chain")
    assert (made.parts, made.steps) == ((), ())
    assert any(there.name in caution and "already" in caution for caution in map(str, made.cautions))


def test_a_job_that_is_undecided_tells_what_is_open() -> None:
    of = with_facts(bike(STEM[0]), change(bike(STEM[0]), STEM[1]), fork__steerer_length_mm="unknown")
    made = job_card(vetting(of), change(of, STEM[1]), Agreed())
    assert made.verdict is Verdict.UNDECIDED
    assert {reason.level for reason in made.open} == {Level.UNKNOWN}
    assert any(item.attribute == "steerer_length_mm" and item.kind == "fork" and item.how for item in made.to_fill)


def test_each_brake_that_is_bled_names_its_fluid() -> None:
    told = map(str, card(*DEMO).cautions)
    cautions = [caution for caution in told if "only" in caution and "goes into this brake" in caution]
    fluid = str(bike(DEMO[0])["front-brake-line"].part.fluid)
    assert len(cautions) == 2
    assert all(fluid in caution for caution in cautions)


def test_oily_pads_that_come_off_call_for_the_source_of_the_oil() -> None:
    of = worn(bike("road-disc"), "front-pads", "contaminated")
    made = job_card(vetting(of), change(of, "dunreth-pads-a-resin@front-pads"), Agreed())
    steps = [step.operation for step in made.steps]
    assert steps.index("clean-oily-brake") < steps.index("fit-brake-pads")
    assert next(step for step in made.steps if step.operation == "clean-oily-brake").hold


def test_what_is_stuck_is_freed_before_it_comes_off() -> None:
    of = worn(bike("tourer-cable"), "seatpost", "seized")
    made = job_card(vetting(of), change(of, "wexcombe-birch-272-300@seatpost"), Agreed())
    steps = [step.operation for step in made.steps]
    assert steps.index("soak-stuck-part") < steps.index("free-stuck-part") < steps.index("take-out-seatpost")
    assert "test-seat-post" in steps


def test_a_brake_adapter_goes_under_the_brake() -> None:
    made = card("trail-hardtail", "brackwater-scar-rotor-203-six@front-rotor")
    steps = [(step.operation, step.position) for step in made.steps]
    if any(position == "front-brake-adapter" for _, position in steps):
        assert steps.index(("take-off-caliper", "front-caliper")) < steps.index(("fit-caliper", "front-caliper"))
        assert steps.index(("fit-adapter", "front-brake-adapter")) < steps.index(("fit-caliper", "front-caliper"))


def test_a_screwed_freewheel_is_no_cassette() -> None:
    steps = {step.operation for step in card("vintage-quill", "merrowby-corrie-13-24-6@cassette").steps}
    assert {"take-off-freewheel", "fit-freewheel"} <= steps
    assert not {"take-off-cassette", "fit-cassette"} & steps


def test_a_part_of_the_bike_file_is_planned_like_any_other() -> None:
    of = bike(STEM[0])
    own = of["stem"].part.model_copy(update={"id": "own-stem", "price_eur": None})
    mine = replace(of, own_parts={**of.own_parts, "own-stem": (own, {})})
    made = job_card(vetting(mine), Change((("own-stem", "stem"),)), Agreed())
    assert [(part.id, part.price) for part in made.parts] == [("own-stem", own.best_price_eur())]
