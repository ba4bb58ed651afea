"""The table of gears: every ring with every sprocket, honest about what is not known."""

from dataclasses import replace

import pytest

from buildcheck.fit.view import View
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.quantities import Interval
from buildcheck.model.report import Gear, Gears, Report
from buildcheck.pictures.gears import gears_of
from buildcheck.report.lines import WIDTH
from buildcheck.report.text import report_lines
from buildcheck.vetting import Vetting
from laws.bench import BIKES, bike, catalogue, change, with_facts


def text_of(report: Report) -> str:
    return "\n".join(line.text for line in report_lines(report))



def gears(of: Bike) -> tuple[Gear, ...]:
    return gears_of(View(of, catalogue().standards))


def only(value: float) -> Interval:
    return Interval(value, value)


@pytest.mark.parametrize(("name", "count"), [("allroad-wired", 24), ("tourer-cable", 27), ("city-rim", 8)])
def test_every_ring_with_every_sprocket(name: str, count: int) -> None:
    found = gears(bike(name))
    assert len(found) == count
    assert all(gear.development_m and gear.gain_ratio and gear.hub_gear is None for gear in found)


def test_one_gear_by_hand() -> None:
    # 42-622 is 706 mm over the tread; 48 over 11 teeth; arms of 170 mm.
    first = gears(bike("tourer-cable"))[0]
    assert (first.ring_teeth, first.sprocket_teeth) == (only(48), only(11))
    assert first.development_m is not None
    assert first.gain_ratio is not None
    assert first.development_m.low == pytest.approx(3.14159265 * 0.706 * 48 / 11)
    assert first.gain_ratio.high == pytest.approx(353 / 170 * 48 / 11)


def test_each_cassette_lists_the_sprockets_that_it_says_it_has() -> None:
    for part in catalogue().of_kinds(["cassette"]):
        teeth = part.sprockets  # type: ignore[attr-defined]
        assert teeth is not None, part.id
        assert list(teeth) == sorted(set(teeth)), part.id
        ends = (part.smallest_teeth, part.largest_teeth, part.speeds)  # type: ignore[attr-defined]
        assert ends == (only(teeth[0]), only(teeth[-1]), only(len(teeth))), part.id


def test_what_is_not_known_stays_so() -> None:
    of = bike("city-rim")
    assert all(gear.development_m is None for gear in gears(with_facts(of, rear_AT_tyre__width_mm="unknown")))
    assert all(gear.ring_teeth is None for gear in gears(with_facts(of, chainring_AT_single__teeth="unknown")))
    assert all(gear.gain_ratio is None for gear in gears(with_facts(of, crankset__arm_length_mm="unknown")))
    assert all(gear.development_m is None for gear in gears(with_facts(of, rear_AT_wheel__hub_shift_system="unknown")))
    without_tyre = of.with_fitted({name: spot for name, spot in of.fitted.items() if name != "rear-tyre"})
    assert all(gear.development_m is None for gear in gears(without_tyre))


def test_limits_give_limits() -> None:
    wide = gears(with_facts(bike("city-rim"), rear_AT_tyre__width_mm="35..37"))[0].development_m
    true = gears(bike("city-rim"))[0].development_m
    assert wide is not None
    assert true is not None
    assert wide.low < wide.high == pytest.approx(true.high)


def test_a_list_that_disagrees_with_the_ends_does_not_count() -> None:
    found = gears(with_facts(bike("city-rim"), cassette__largest_teeth=34))
    assert [gear.sprocket_teeth for gear in found] == [only(11), only(34)]
    one = with_facts(bike("city-rim"), cassette__largest_teeth=16, cassette__smallest_teeth=16, cassette__speeds=1)
    assert [gear.sprocket_teeth for gear in gears(one)] == [only(16)]


def hub_bike() -> Bike:
    of = bike("city-rim")
    wheel = of["rear-wheel"]
    part = wheel.part.model_copy(update={"gear_ratios": (0.75, 1.0, 1.333), "hub_shift_system": "hub-gear-3"})
    return of.with_fitted({**of.fitted, "rear-wheel": replace(wheel, part=part)})


def test_a_gear_hub_multiplies_them() -> None:
    found = gears(hub_bike())
    assert len(found) == 24
    low, straight, high = (gear.development_m for gear in found[:3])
    assert low is not None
    assert straight is not None
    assert high is not None
    assert straight == gears(bike("city-rim"))[0].development_m
    assert (low.low / straight.low, high.low / straight.low) == pytest.approx((0.75, 1.333))


def test_no_rings_no_gears() -> None:
    of = bike("city-rim")
    assert gears(of.with_fitted({n: s for n, s in of.fitted.items() if n != "cassette"})) == ()
    bare = {n: s for n, s in of.fitted.items() if n not in ("crankset", "chainring-single")}
    assert gears(of.with_fitted(bare)) == ()


def swap(of: Bike, asked: Change) -> Report:
    return Vetting(of, catalogue()).swap(asked)


def test_the_text_tells_gears_only_if_they_change() -> None:
    of = bike("allroad-wired")
    stem = swap(of, change(of, "tolverne-alder-110@stem"))
    assert stem.gears.before == stem.gears.after != ()
    assert "Gears" not in text_of(stem)
    text = text_of(swap(of, change(of, "merrowby-tarn-11-36@cassette")))
    table = text[text.index("Gears\n") : text.index("Cautions\n")]
    assert table.count("ring 48") == table.count("ring 34") == 2
    assert table.count("gain") == 5  # two rings before and after, and the line that says what it is
    assert "36" in table.partition("After:")[2] not in table.partition("After:")[0]


@pytest.mark.parametrize("name", BIKES)
def test_the_table_keeps_to_80_columns(name: str) -> None:
    of = bike(name)
    before = gears(of)
    vague = tuple(replace(gear, development_m=Interval(9.5, 10.25), gain_ratio=None) for gear in gears(hub_bike()))
    report = replace(Vetting(of, catalogue()).check(), gears=Gears(before, vague))
    text = text_of(report)
    table = text[text.index("Gears\n") : text.index("Cautions\n")]
    assert max(len(line) for line in table.splitlines()) <= WIDTH
    assert "9.50..10.25" in table
    assert "hub gear" in table
    emptied = replace(report, gears=Gears(before, ()))
    assert "After: none" in text_of(emptied)
