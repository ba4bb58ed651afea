"""The joints of the standards against published figures: which sizes mate and which do not.

Each check goes through a bike of two parts and the row that would tell the fault, with the part between them if there
is one.
"""

from dataclasses import replace
from itertools import combinations, pairwise, product
from typing import Any

import pytest

from buildcheck.fit.context import Context
from buildcheck.fit.engine import run_named
from buildcheck.fit.facts import Fact
from buildcheck.fit.joints import each_joint, joint_holds
from buildcheck.fit.joints import mates as mate
from buildcheck.fit.reading import has_attribute
from buildcheck.fit.view import View
from buildcheck.model.bikes import Bike, Fitted
from buildcheck.model.levels import Level, Origin
from buildcheck.model.parts import Part
from buildcheck.model.quantities import Interval
from buildcheck.model.standards import JointRow
from buildcheck.rules import RULES
from laws.bench import bike, catalogue, findings_of, with_facts

# Ends of lines in these checks.
ENDS = {
    "front-brake-line": ("lever-right", "front-caliper"),
    "rear-shift-line": ("lever-right", "rear-derailleur"),
}
INCH_MM = 25.4


def row_of(name: str) -> JointRow:
    return next(row for row in catalogue().standards.joints if row.name == name)


def _part(position: str, attribute: str, kinds: tuple[str, ...], facts: dict[str, Any]) -> Part:
    """Some part for this position that has the attribute, with these facts in the place of its own."""
    row = catalogue().standards.position(position)
    assert row is not None
    wanted = [kind for kind in row.kinds if not kinds or kind in kinds]
    part = next(each for each in catalogue().of_kinds(wanted) if has_attribute(type(each), attribute))
    return part.model_copy(
        update={
            name: value if isinstance(value, (str, tuple)) else Interval(value, value) for name, value in facts.items()
        }
    )


def mates(name: str, a: Any, b: Any, between: tuple[Any, Any] | None = None, at: str | None = None) -> bool:
    """Does the joint of this row hold between a (at the row's own position) and b, by way of an adapter if given?"""
    row = row_of(name)
    at = at or row.at[0]
    start, end = ENDS.get(at, (None, None))
    on = next(iter(catalogue().standards.positions[at].on), None)
    ends = {"on": on, "from": start, "to": end}
    near, other = ends.get(row.a.rpartition(".")[0], at), ends.get(row.of, row.of)
    assert near is not None
    assert other is not None
    facts = [value if isinstance(value, dict) else {key: value} for key, value in ((row.a_attribute, a), (row.b, b))]
    parts = {
        near: _part(near, row.a_attribute, row.a_kinds, facts[0]),
        other: _part(other, row.b, row.b_kinds, facts[1]),
    }
    if at not in parts:
        parts[at] = _part(at, "length_mm", (), {})
    if between is not None:
        assert row.adapter is not None
        suffix = "" if isinstance(between[0], str) else "_mm"
        sides = {"interface": row.interface, f"side_a{suffix}": between[0], f"side_b{suffix}": between[1]}
        parts[row.adapter.replace("{at}", at)] = _part("seatpost-shim", "side_a", (), sides)
    fitted = {
        position: Fitted(position, position, part, on=on if position == at else None, start=start, end=end)
        for position, part in parts.items()
    }
    view = View(Bike("two-parts", "two parts", "city", fitted), catalogue().standards)
    (joint,) = [joint for joint in each_joint(view) if joint.row.name == name]
    test = joint_holds(view, joint)
    assert test.yes or test.no
    return test.yes


def only_like_mates(name: str, *words: Any, at: str | None = None) -> None:
    """Each mates with itself and none with another, in both directions."""
    for word in words:
        assert mates(name, word, word, at=at)
    for one, other in combinations(words, 2):
        assert not mates(name, one, other, at=at)
        assert not mates(name, other, one, at=at)


# ---- steering --------------------------------------------------------------------------------------------

# Wikipedia, "Headset (bicycle part)": steerers of 1, 1-1/8, 1-1/4 and 1-1/2 in; the trade writes 25.4, 28.6, 31.8 and
# 38.1 mm. One maker's fork of 1-9/16 in (39.6875 mm) is a size of its own.
STEERERS = ((1, 25.4), (1.125, 28.6), (1.25, 31.8), (1.5, 38.1), (1.5625, 39.6875))


@pytest.mark.parametrize(("inches", "trade_mm"), STEERERS)
def test_steerer_in_inches(inches: float, trade_mm: float) -> None:
    for _, size_mm in STEERERS:
        alike = size_mm == trade_mm
        assert mates("steerer-clamp-mismatch", size_mm, inches * INCH_MM) is alike
        if size_mm != 39.6875:  # no code writes it
            code = {"code": f"EC34/{size_mm:.1f}"}
            assert mates("headset-steerer-mismatch", code, inches * INCH_MM) is alike


def test_shims_on_the_steerer_go_one_way() -> None:
    # From memory: a stem for 28.6 mm takes 25.4 mm with a shim; there is no reverse shim.
    assert mates("steerer-clamp-mismatch", 28.6, 25.4, between=(28.6, 25.4))
    assert not mates("steerer-clamp-mismatch", 25.4, 28.6, between=(28.6, 25.4))


def test_crown_race_seats_of_one_inch_forks() -> None:
    # Wikipedia, "Headset (bicycle part)": ISO 26.4 mm and JIS 27.0 mm do not mate. The code rounds 26.4 to 26
    # (WikiPedalia, "SHIS").
    for code, seat_mm, fits in (
        ("EC30/26", 26.4, True),
        ("EC30/26.4", 26.4, True),
        ("EC30/27", 27.0, True),
        ("EC30/26", 27.0, False),
        ("EC30/26.4", 27.0, False),
        ("EC30/27", 26.4, False),
        ("EC34/30", 30.0, True),
        ("EC34/30", 27.0, False),
        ("EC49/40", 39.8, True),
        ("EC49/40", 40.0, True),
        ("EC49/40", 40.1, False),
        ("EC30/26", 26.5, True),
        ("EC30/26.4", 26.84, False),
        ("EC29/27", 27.0, True),
    ):
        assert mates("crown-seat-mismatch", {"code": code}, seat_mm) is fits, (code, seat_mm)


def test_headset_codes_in_head_tubes() -> None:
    # WikiPedalia, "SHIS", and the trade press, 2010-11-09: EC34/28.6 | EC34/30 and ZS44/28.6 | ZS44/30.
    for code, seat, fits in (
        ("EC34/28.6", "EC34", True),
        ("ZS44/28.6", "ZS44", True),
        ("ZS44/28.6", "EC34", False),
        ("ZS44/28.6", "IS42", False),
    ):
        assert mates("headset-upper-seat-mismatch", {"code": code}, seat) is fits
        assert mates("headset-lower-seat-mismatch", {"code": code.replace("28.6", "30")}, seat) is fits
    # From memory: an external cup and one that is sunk in take each other's place in one bore. Headset specification
    # guide Rev F+ 2010: EC29 (JIS, bore 29.85 to 29.90 mm) and EC30 (ISO, 30.05 to 30.10 mm) are two bores.
    for code, seat, fits in (
        ("EC44/40", "ZS44", True),
        ("ZS44/30", "EC44", True),
        ("EC56/40", "ZS56", True),
        ("EC49/40", "ZS49", True),
        ("EC56/40", "ZS55", False),
        ("EC29/27", "EC30", False),
        ("EC44/40", "IS42", False),
    ):
        assert mates("headset-lower-seat-mismatch", {"code": code}, seat) is fits
    # From memory: ZS41 (41.4 mm) is not IS41 (41 mm), and IS41 is not IS42.
    only_like_mates_seats = ("ZS41", "IS41", "IS42")
    for code, seat in combinations(only_like_mates_seats, 2):
        assert not mates("headset-upper-seat-mismatch", {"code": f"{code}/28.6"}, seat)


def test_star_nut_in_carbon() -> None:
    # Road Bike Rider, "Bicycle carbon steerer tubes and safety": no star nut in carbon; a plug supports the wall.
    assert not mates("star-nut-in-carbon", "star-nut", "carbon")
    assert mates("star-nut-in-carbon", "expanding", "carbon")
    assert mates("star-nut-in-carbon", "star-nut", "steel")


def test_gap_above_the_steerer() -> None:
    # ISO 4210-2 4.7.4 (TBIS 4210-2:2018, p. 19): g is 5 mm at most. The stack on this bike ends 5.0 mm above 219.5 mm.
    for steerer_mm, faults in ((219.5, 0), (219.4, 1)):
        context = _context("allroad-wired", "fork", steerer_length_mm=steerer_mm)
        found = run_named(context, RULES, "steerer-too-short")
        assert [finding.level for finding in found] == [Level.BLOCKS] * faults


def test_turn_of_the_steering() -> None:
    # ISO 4210-2 4.7.5, read in TBIS 15194 only: 60 degrees to each side. Hence a caution.
    for turn_deg, faults in ((60, 0), (59.9, 1)):
        context = _context("allroad-wired", "stem", steering_angle_deg=turn_deg)
        found = run_named(context, RULES, "steering-turn-limited")
        assert [finding.level for finding in found] == [Level.CAUTION] * faults


def test_spacers_under_a_carbon_steerers_stem() -> None:
    # VeloNews, "Headset spacer stack height": 30 or 40 mm commonly quoted, no universal figure. So only a caution.
    # Without the fork's own figure it is not known whether it holds, and above 30 mm the caution stands beside that.
    unknown = Level.UNKNOWN
    for limit_mm, height_mm, levels in (
        (None, 30, [unknown]),
        (None, 31, [unknown, Level.CAUTION]),
        (20, 31, [Level.BLOCKS]),
    ):
        context = _context("allroad-wired", "fork", spacers_below_max_mm=limit_mm)
        spacers = [name for name in context.bike.fitted if name.startswith("spacer")]
        rest_mm = height_mm
        for name in spacers:
            context = _changed(context.bike, name, height_mm=rest_mm)
            rest_mm = 0
        found = run_named(context, RULES, "spacer-stack-too-high")
        assert [finding.level for finding in found] == levels


def _context(name: str, position: str, **facts: float | None) -> Context:
    return _changed(bike(name), position, **facts)


def _changed(base: Bike, position: str, **facts: float | None) -> Context:
    """A bike with other facts of the part in one position; None is unknown."""
    spot = base[position]
    update = {key: None if value is None else Interval(value, value) for key, value in facts.items()}
    part = spot.part.model_copy(update=update)
    changed = base.with_fitted({**base.fitted, position: replace(spot, part=part)})
    return Context(View(changed, catalogue().standards))


# ---- bar, levers, grips ------------------------------------------------------------------------------------

# Crib sheet of handlebar and stem dimensions (reprint): clamp and grip. 22.2 mm at the grips of a 31.8 mm flat bar, and
# the 35.0 mm row, are from memory: the page has 22.2, 23.8, 25, 25.4, 25.8, 26.0, 26.4, 27 and 31.8 mm.
BARS = [
    (22.2, 22.2),
    (23.8, 22.2),
    (25.0, 23.5),
    (25.4, 22.2),
    (25.4, 23.8),
    (25.8, 23.8),
    (26.0, 23.8),
    (26.4, 23.8),
    (27.0, 23.8),
    (31.8, 23.8),
    (31.8, 22.2),
    (35.0, 22.2),
]
CLAMPS = sorted({clamp for clamp, _ in BARS})


@pytest.mark.parametrize("clamp_mm", CLAMPS)
def test_bar_clamp(clamp_mm: float) -> None:
    assert [stem for stem in CLAMPS if mates("bar-clamp-mismatch", clamp_mm, stem)] == [clamp_mm]


@pytest.mark.parametrize(("clamp_mm", "grip_mm"), BARS)
def test_levers_and_grips(clamp_mm: float, grip_mm: float) -> None:
    # The same page, and a letter on bar sizes, Classic Rendezvous 2007: 22.2 mm controls do not fit 23.8 mm. 23.5 mm is
    # an old French bar; that it takes a band for 23.8 mm is our choice.
    assert mates("lever-clamp-mismatch", 22.2, grip_mm, at="lever-left") is (grip_mm == 22.2)
    assert mates("lever-clamp-mismatch", 23.8, grip_mm, at="lever-left") is (grip_mm != 22.2)
    assert mates("grip-diameter-mismatch", 22.2, grip_mm) is (grip_mm == 22.2)


def test_shims_in_the_stem_go_one_way() -> None:
    # From memory: a smaller bar in a larger stem, not the reverse.
    assert mates("bar-clamp-mismatch", 25.4, 31.8, between=(25.4, 31.8))
    assert not mates("bar-clamp-mismatch", 31.8, 25.4, between=(25.4, 31.8))


def test_adapters_of_the_catalogue_go_the_right_way() -> None:
    # A shim fills the room round the smaller part: bar in stem, post in seat tube, steerer in stem (from memory).
    for part in catalogue().of_kinds(["adapter"]):
        a, b, interface = part.side_a_mm, part.side_b_mm, part.interface  # type: ignore[attr-defined]
        if interface in ("bar-clamp", "seatpost-bore"):
            assert a.high < b.low
        elif interface == "steerer-clamp":
            assert a.low > b.high
        elif interface == "rotor-mount":
            # "Axle interfaces and rotor type": a six-bolt rotor on a splined hub, and never the reverse.
            assert (part.side_a, part.side_b) == ("six-bolt", "splined-lockring")  # type: ignore[attr-defined]


# ---- brakes ------------------------------------------------------------------------------------------------


def test_brake_mounts() -> None:
    # BikeMan, "Disc brake mounting standards": 51 and 74 mm; 22 and 68 mm existed. Flat mounts from memory.
    mounts = ("is-51", "post-74", "post-68", "tab-22", "flat-front", "flat-rear")
    only_like_mates("front-brake-mount-mismatch", *mounts)
    only_like_mates("rear-brake-mount-mismatch", *mounts)


def test_bracket_from_tab_to_posts() -> None:
    # Arts Cyclery, "Disc brake adapters" (dealer blog): a post-mount brake on IS tabs; the bracket has no other use.
    assert mates("front-brake-mount-mismatch", "post-74", "is-51", between=("post-74", "is-51"))
    assert not mates("front-brake-mount-mismatch", "is-51", "post-74", between=("post-74", "is-51"))


def test_rotor_on_hub() -> None:
    # "Axle interfaces and rotor type" (wheelbuilder): a splined hub takes a six-bolt rotor by an adapter. That the
    # reverse is impossible is from memory.
    ring = ("six-bolt", "splined-lockring")
    only_like_mates("rotor-mount-mismatch", *ring)
    assert mates("rotor-mount-mismatch", "six-bolt", "splined-lockring", between=ring)
    assert not mates("rotor-mount-mismatch", "splined-lockring", "six-bolt", between=ring)


FLUIDS = ("mineral-a", "mineral-b", "dot-3", "dot-4", "dot-5.1", "dot-5")


@pytest.mark.parametrize("row", ["brake-fluid-mismatch", "hose-fluid-mismatch"])
def test_fluids(row: str) -> None:
    # 49 CFR 571.116: DOT 5 is silicone and the other grades are glycol ethers; S4: brake fluid is made for rubbers that
    # mineral oil must not touch, so the three glycol grades go with one another. FAQ on brake fluids for discs: DOT 4
    # and 5.1 mix, DOT 3 in an emergency, which is why a note asks to flush it; mineral oils have no common standard.
    glycol = ("dot-3", "dot-4", "dot-5.1")
    allowed = {(fluid, fluid) for fluid in FLUIDS} | set(product(glycol, glycol))
    found = {(a, b) for a in FLUIDS for b in FLUIDS if mates(row, a, b)}
    assert found == allowed


def test_cable_pull() -> None:
    # Urban Velo no. 21, p. 86, and Rookie Journal, "A must-know peculiarity of road levers": two classes of pull.
    # That hub and roller brakes may have a third is from memory.
    only_like_mates("cable-pull-mismatch", "short", "long", "hub-brake")


def test_heads_and_housings() -> None:
    # BikeMan, "Cables and housing" (dealer article): barrel, pear and a slightly smaller pear; the strands of shift
    # housing burst under a brake.
    only_like_mates("cable-head-mismatch", "barrel", "pear", "pear-small")
    assert mates("shift-housing-on-brake", "brake", "cable")
    assert not mates("shift-housing-on-brake", "shift", "cable")
    assert not mates("brake-housing-on-shifting", "brake", "cable-b-11")
    assert mates("brake-housing-on-shifting", "shift", "cable-b-11")


# ---- wheels ------------------------------------------------------------------------------------------------

# "Axle standards" and "Hub widths" (dealers), BikeTips, a road axle list (weak copy): names that were read there.
FRONT_AXLES = ("qr-9x100", "thru-12x100", "thru-15x100", "thru-15x110", "thru-20x110")
REAR_AXLES = (
    "qr-10x120",
    "qr-10x126",
    "qr-10x130",
    "qr-10x135",
    "thru-12x142",
    "thru-12x148",
    "thru-12x150",
    "thru-12x157",
)


def test_axles() -> None:
    only_like_mates("front-axle-mismatch", *FRONT_AXLES)
    only_like_mates("end-caps-dropout-mismatch", *REAR_AXLES)
    # Hub widths (dealer article): frames of 120, 126, 130 and 135 mm have the same open dropouts, and how far these
    # stand apart is compared by itself. What goes into a closed hole has its very width.
    slotted = [axle for axle in REAR_AXLES if axle.startswith("qr-")]
    assert all(mates("rear-axle-mismatch", one, other) for one, other in product(slotted, repeat=2))
    only_like_mates("rear-axle-mismatch", slotted[0], *(axle for axle in REAR_AXLES if axle not in slotted))
    only_like_mates("axle-hub-mismatch", *FRONT_AXLES, *REAR_AXLES)
    # From memory: the wide-flanged 20 x 110 has its rotor further out.
    assert not mates("front-axle-mismatch", "thru-20x110-wide", "thru-20x110")


def test_widths_over_the_locknuts() -> None:
    # The same lists. That 1 mm is allowed is our choice.
    only_like_mates("rear-hub-width-differs", 120, 126, 130, 135, 142, 148, 157)
    only_like_mates("front-hub-width-differs", 100, 110)


def test_thru_axle_threads_and_lengths() -> None:
    # ModernBike, "How to measure a thru-axle" (dealer help): pitches 1.0, 1.5, 1.75; length is width + 20 to 30 mm.
    for row in ("front-axle-thread-mismatch", "rear-axle-thread-mismatch"):
        only_like_mates(row, "m12x1.0", "m12x1.5", "m12x1.75")
    # "So many standards" (a blog): a 12 x 142 axle of 171 mm; too short for a frame that asks for 172 mm.
    assert mates("rear-axle-too-short", 171, 171)
    assert not mates("rear-axle-too-short", 171, 172)
    for frame in catalogue().of_kinds(["frame"]):
        width, length = frame.rear_over_locknut_mm, frame.rear_axle_length_mm  # type: ignore[attr-defined]
        if "thru" in frame.rear_axle_type and length is not None:  # type: ignore[attr-defined]
            assert 20 <= length.low - width.high <= 32


def test_bead_seats() -> None:
    # Wikipedia, "European Tyre and Rim Technical Organisation": 622 and 635 mm are both 28 in, 406 and 451 mm both
    # 20 in, and do not interchange. "Gear inches": 27 in is 630 mm. ISO 5775: bead seat diameters must be equal.
    only_like_mates("bead-seat-mismatch", "622", "635", "630", "406", "451", "559", "584", "590", "597", "571")
    for row in ("front-wheel-size-mismatch", "rear-wheel-size-mismatch"):
        assert mates(row, "622", ("622", "584"))
        assert not mates(row, "630", ("622", "584"))


def test_freehub_bodies() -> None:
    # "Freehubs and cassettes" (cornant.uk); BikeGremlin, "Rear hubs". Bodies with the same shallow splines differ in
    # length only: a cassette for a short one goes on a longer one, with spacers that are counted, and not the other
    # way round.
    same_splines = ("spline9-7", "spline9", "spline9-long")  # the shortest first
    bodies = ("spline9-7", "spline9", "spline9-deep-10", "spline9-long", "spline8-shallow", "spline8-deep")
    others = ("stepped-threaded", "freewheel-1.375x24", "spline9-single")
    for cassette in (*bodies, *others):
        for hub in (*bodies, *others):
            longer = (cassette, hub) in combinations(same_splines, 2)
            assert mates("freehub-mismatch", cassette, (hub,)) is (cassette == hub or longer)


# ---- drivetrain --------------------------------------------------------------------------------------------


def test_speeds() -> None:
    # Wikibooks, "Gear-changing dimensions": what a derailleur that is worked by cable moves is pull times ratio, so
    # that the number of speeds that is printed on it is no fault. A motor is told the distance of its own cassettes.
    for one, other in combinations(range(7, 13), 2):
        wired = {"speeds": float(one), "shift_system": "wired-bus-a"}
        assert not mates("derailleur-cassette-speeds-mismatch", wired, float(other))
        assert not mates("derailleur-made-for-other-speeds", {**wired, "shift_system": "cable-a-9"}, float(other))
    assert row_of("derailleur-made-for-other-speeds").level is Level.CAUTION


def test_shift_families() -> None:
    # Wikibooks, "Gear-changing dimensions": pull times ratio is the distance of the sprockets, so that families with
    # other factors do not mix (the factors: see the terms; friction shifting has no clicks).
    only_like_mates(
        "shift-system-mismatch", "cable-a-9", "cable-b-11", "cable-c-10", "cable-c-11", "cable-d-9", "cable-e-10",
        "cable-f-11", "cable-g-10",
    )  # fmt: skip
    # The same page: one ratio serves 6 to 9 speeds and the first road 10 of one maker, 7 to 9 of the second, and 9 to
    # 11 of the third. The mountain groups of the first maker changed theirs from 10 to 11 speeds (1.2 and 1.1).
    for family, speeds in (("a", range(6, 11)), ("d", range(7, 10)), ("g", range(9, 12))):
        for one, other in product(speeds, repeat=2):
            assert mates("shift-system-mismatch", f"cable-{family}-{one}", f"cable-{family}-{other}")
    assert mates("shift-system-mismatch", "friction", "cable-b-11")
    assert not mates("shift-system-mismatch", "cable-b-11", "friction")
    assert mates("front-shift-system-mismatch", "friction", "front-road")
    assert not mates("front-shift-system-mismatch", "front-road", "friction")
    # Electronic families (from memory).
    only_like_mates(
        "shift-system-mismatch", "wired-bus-a", "wired-bus-b", "wireless-a", "wireless-b", "semi-wireless-a"
    )


def test_chains_and_rings() -> None:
    # BikeGremlin, "Bicycle drive chain standard dimensions": 3.175 mm inside for one speed, 2.38 mm for 5 to 8, 2.18 mm
    # for 9 to 12.
    only_like_mates("chain-ring-speeds-differ", ("1",), ("5", "6", "7", "8"), ("9", "10", "11", "12"))
    assert mates("chain-crank-speeds-differ", ("10", "11"), ("11", "12"))
    assert not mates("chain-crank-speeds-differ", ("8",), ("11", "12"))
    only_like_mates("chain-cassette-speeds-differ", ("1",), ("5", "6", "7", "8"), ("9", "10", "11", "12"))


# Crib sheet of sprocket pitches, quoted in blogs: sprockets of 7 to 9 speeds are 1.8 mm thick, of 10 speeds 1.6 mm.
# BikeGremlin, as above: the inner widths of the chains that run on them, and of the 1/8 in chain for one speed.
@pytest.mark.parametrize(("inner_mm", "thickness_mm"), [(2.38, 1.8), (2.18, 1.8), (2.18, 1.6), (3.175, 1.8)])
def test_chains_drop_over_the_sprockets_that_they_are_made_for(inner_mm: float, thickness_mm: float) -> None:
    assert mates("chain-too-narrow-for-sprockets", inner_mm, thickness_mm)
    assert mates("chain-too-narrow-for-ring", thickness_mm, inner_mm)
    # 3/32 and 11/128 in are less than 1/8 in: teeth that fill the wide chain do not go into the others
    assert mates("chain-too-narrow-for-ring", 3.0, inner_mm) is (inner_mm > 3.0)


# The same sheet: sprockets 5.0, 4.8, 4.34 and 3.95 mm apart. Dealer article that reprints BikeGremlin: chains 7.3 mm
# wide outside for 7 speeds, 7.0 to 7.3 for 8, 6.5 to 6.7 for 9, 5.84 to 6.1 for 10. So a chain for two speeds fewer
# touches the next of nine or ten sprockets.
@pytest.mark.parametrize(
    ("pitch_mm", "thickness_mm", "clear_mm", "touch_mm"),
    [
        (5.0, 1.8, (7.3,), ()),
        (4.8, 1.8, (7.0, 7.3), ()),
        (4.34, 1.8, (6.5, 6.7), (7.3,)),
        (3.95, 1.6, (5.84, 6.1), (7.0, 7.3)),
    ],
)
def test_chains_and_the_next_sprocket(
    pitch_mm: float, thickness_mm: float, clear_mm: tuple[float, ...], touch_mm: tuple[float, ...]
) -> None:
    sizes = {"cassette__sprocket_pitch_mm": pitch_mm, "cassette__sprocket_thickness_mm": thickness_mm}
    for width in (*clear_mm, *touch_mm):
        found = findings_of(with_facts(bike("tourer-cable"), chain__outer_width_mm=width, **sizes))
        touches = any(finding.name == "chain-too-wide-for-sprockets" for finding in found)
        assert touches is (width in touch_mm)


def test_hangers() -> None:
    # Escape to the Pyrenees: M10 x 1. Canadian Cycling Magazine 2020: a direct hanger takes the place of the link. The
    # hanger round the axle, which takes both, is from memory.
    only_like_mates("rear-derailleur-mount-mismatch", "m10x1", "direct")
    assert mates("rear-derailleur-mount-mismatch", "m10x1", "coaxial-m12x1")
    assert not mates("rear-derailleur-mount-mismatch", "coaxial-m12x1", "m10x1")
    assert mates("rear-derailleur-mount-mismatch", "coaxial-direct", "coaxial-m12x1")
    assert not mates("rear-derailleur-mount-mismatch", "coaxial-direct", "m10x1")


def test_front_derailleur_mounts() -> None:
    # Jitetan, "Clamp-on derailleur": 28.6, 31.8, 34.9 mm. "Front derailleur types" (a blog): bolts 42.7 and 22.1 mm
    # apart, the third kind 5 mm further out.
    mounts = ("clamp-28.6", "clamp-31.8", "clamp-34.9", "braze-on", "direct-low", "direct-high", "direct-high-offset")
    only_like_mates("front-derailleur-mount-mismatch", *mounts)


def test_bottom_bracket_shells() -> None:
    # BikeRaceInfo, "Bottom bracket threading"; a blog of 2013 and MOBI, "Bottom bracket standards".
    shells = ("english-1.37x24", "italian-36x24", "french-35x1", "press42", "press46", "press46x79-asym")
    only_like_mates("bb-shell-mismatch", *shells, "press41x86.5", "press41x92", "one-piece-51")


def test_bottom_bracket_widths() -> None:
    # The same pages: English 68, 73, 83, 100 mm; Italian 70 mm. A bracket for 68 to 73 mm takes what lies between.
    for width_mm, narrow, wide in ((68, False, False), (70, False, False), (73, False, False), (83, False, True)):
        assert mates("bb-shell-too-wide", 73, width_mm) is not wide
        assert mates("bb-shell-too-narrow", 68, width_mm) is not narrow
    assert not mates("bb-shell-too-narrow", 73, 68)
    assert not mates("bb-shell-too-wide", 92, 100)
    assert not mates("bb-shell-too-wide", 86.5, 92)


def test_spindles() -> None:
    # "Square taper standards": JIS and ISO are two. MOBI and a blog of 2013: 30, 24 and 19 mm.
    only_like_mates("crank-spindle-mismatch", "square-jis", "square-iso", "round-24", "round-19", "round-30-short")
    # From memory: 28.99 mm and 24/22 mm.
    assert not mates("crank-spindle-mismatch", "round-28.99", "round-30-long")
    assert not mates("crank-spindle-mismatch", "round-24-22", "round-24")


def test_bolt_circles() -> None:
    # ModernBike, "Understanding chainring measurements" (dealer help).
    circles = ("144x5", "135x5", "130x5", "110x5", "104x4", "94x5", "74x5", "64x4", "58x5")
    for ring in circles:
        for row, place in (("ring-mount-mismatch", "outer"), ("inner-ring-mount-mismatch", "inner")):
            one = {"ring_mount": f"bcd-{ring}", "place_in_set": place}
            assert [arm for arm in circles if mates(row, one, (f"bcd-{arm}",))] == [ring]
    # Chainring sizing 2010 (dealer blog): one family's 110 mm has a hole set off.
    one = {"ring_mount": "bcd-110x5-offset", "place_in_set": "outer"}
    assert not mates("ring-mount-mismatch", one, ("bcd-110x5",))


def test_pedal_threads() -> None:
    # Bicycle glossary, "Pedal": 9/16 and 1/2 in x 20; Classic Rendezvous 2003: M14 x 1.25 of old French cranks.
    only_like_mates("pedal-thread-mismatch", "9-16x20", "1-2x20", "m14x1.25")


# ---- seat --------------------------------------------------------------------------------------------------


def test_seat_posts() -> None:
    # BikeGremlin, "Seat post diameter sizes": steps of 0.2 mm, such as 27.0, 27.2, 27.4. A dealer's list: 25.4, 26.8,
    # 30.0, 30.9. 28.6, 31.6 and 34.9 mm are from memory.
    only_like_mates("seatpost-bore-mismatch", 25.4, 26.8, 27.0, 27.2, 27.4, 28.6, 30.0, 30.9, 31.6, 34.9)
    sizes = [(222 + 2 * step) / 10 for step in range(64)]
    for thinner, thicker in pairwise(sizes):
        assert mates("seatpost-bore-mismatch", thinner, thinner)
        assert not mates("seatpost-bore-mismatch", thinner, thicker)


def test_shims_in_the_seat_tube_go_one_way() -> None:
    # From memory: a thinner post in a wider tube.
    assert mates("seatpost-bore-mismatch", 27.2, 30.9, between=(27.2, 30.9))
    assert not mates("seatpost-bore-mismatch", 30.9, 27.2, between=(27.2, 30.9))


def test_seat_collars() -> None:
    # BikeGremlin, "Seat post diameter sizes": seat tubes of 28.6 (British, Italian), 28.0 (French) and 25.4 mm (US).
    only_like_mates("seat-clamp-mismatch", 28.6, 28.0, 25.4)


def test_rails() -> None:
    # Suspension Traveler, "Are mountain bike saddles universal?": single rail, pivot and tripod need their own head.
    # 7 mm and the oval sizes are from memory.
    rails = ("round-7", "oval-7x9", "oval-7x9.6", "single-rail", "pivot", "tripod")
    for saddle in rails:
        assert [post for post in rails if mates("saddle-rails-mismatch", saddle, (post,))] == [saddle]


# ---- how grave it is ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    [
        "steerer-clamp-mismatch",
        "crown-seat-mismatch",
        "bar-clamp-mismatch",
        "lever-clamp-mismatch",
        "brake-fluid-mismatch",
        "hose-fluid-mismatch",
        "front-brake-mount-mismatch",
        "rear-brake-mount-mismatch",
        "front-axle-mismatch",
        "rear-axle-mismatch",
        "bead-seat-mismatch",
        "freehub-mismatch",
        "bb-shell-mismatch",
        "pedal-thread-mismatch",
        "seatpost-bore-mismatch",
        "shift-housing-on-brake",
        "star-nut-in-carbon",
    ],
)
def test_published_misfits_block(name: str) -> None:
    # The pages cited above call each of these unsafe or impossible.
    assert row_of(name).level is Level.BLOCKS


def test_plug_generations() -> None:
    # From memory, not read anywhere: the two generations of plugs do not mate without an adapter wire.
    interface = catalogue().standards.interfaces["plug"]
    assert "from memory" in interface.source
    assert interface.mates.kind == "one-of"
    larger, smaller = (
        Fact("wire", "start_plug", word, "", Origin.STATED, "") for word in ("shift-bus.a", "shift-bus.b")
    )
    for plug, socket, fits in ((larger, larger, True), (smaller, smaller, True), (larger, smaller, False)):
        assert mate(interface, plug, socket).yes is fits
        assert mate(interface, socket, plug).no is not fits
