"""The words and sizes of the standards against published figures, and where each row says it has them from.

Figures that nobody has read in a source are not here, save those that are marked so.
"""

import math
import re
from collections.abc import Iterator
from itertools import combinations

import pytest

from buildcheck.model.standards import Term
from buildcheck.rules import RULES
from buildcheck.trade.headset import parse_half
from buildcheck.trade.shifting import STEP_ERROR_WARN, shift_step_mm, step_error
from laws.bench import catalogue

INCH_MM = 25.4


def term(vocabulary: str, word: str) -> Term:
    """The term that a word of the trade stands for."""
    neutral = catalogue().words.resolve(vocabulary, word)
    return next(each for each in catalogue().standards.vocabularies[vocabulary].terms if each.id == neutral)


# Word of the trade, neutral id, size in mm and a part of the source that the row must name. Beside each group: where
# the figure was read.
SIZES = [
    # BikeMan, "Disc brake mounting standards" (dealer article); 22 and 68 mm are its old sizes.
    ("brake-mount", "IS 51", "is-51", 51, "disc-brake mounts"),
    ("brake-mount", "international standard", "is-51", 51, "disc-brake mounts"),
    ("brake-mount", "post mount", "post-74", 74, "disc-brake mounts"),
    ("brake-mount", "old post mount", "post-68", 68, "old sizes"),
    ("brake-mount", "tab-22", "tab-22", 22, "old sizes"),
    # Road bike axle standards (copy, weak): over-locknut widths.
    ("axle-type", "QR 100", "qr-9x100", 100, "road bike axle list"),
    ("axle-type", "12x100", "thru-12x100", 100, "road bike axle list"),
    ("axle-type", "15x100", "thru-15x100", 100, "road bike axle list"),
    ("axle-type", "12x150", "thru-12x150", 150, "road bike axle list"),
    ("axle-type", "12x157", "thru-12x157", 157, "road bike axle list"),
    # "Hub widths" (dealer article): 120 and 126 mm. "Axle standards" (dealer blog): 130 and 135 mm, 20 mm axle.
    ("axle-type", "qr-10x120", "qr-10x120", 120, "hub widths"),
    ("axle-type", "qr-10x126", "qr-10x126", 126, "hub widths"),
    ("axle-type", "QR 130", "qr-10x130", 130, "axle types"),
    ("axle-type", "QR 135", "qr-10x135", 135, "axle types"),
    ("axle-type", "20x110", "thru-20x110", 110, "Wikipedia: Bicycle wheel"),
    # BikeGremlin forum, "Understanding rear chainline"; BikeTips, "Axle types" (the wide-flanged pair).
    ("axle-type", "12x142", "thru-12x142", 142, "BikeGremlin"),
    ("axle-type", "12x148", "thru-12x148", 148, "BikeTips"),
    ("axle-type", "15x110", "thru-15x110", 110, "BikeTips"),
    # "Freehubs and cassettes" (cornant.uk): lengths of the bodies.
    ("freehub", "HG 7", "spline9-7", 31, "Freehubs and cassettes"),
    ("freehub", "HG 8/9/10", "spline9", 35, "Freehubs and cassettes"),
    ("freehub", "spline9-deep-10", "spline9-deep-10", 35, "Freehubs and cassettes"),
    ("freehub", "spline8-shallow", "spline8-shallow", 36, "Freehubs and cassettes"),
    ("freehub", "spline8-deep", "spline8-deep", 38, "Freehubs and cassettes"),
    ("freehub", "spline9-6", "spline9-6", 24, "Freehubs and cassettes"),
    ("freehub", "spline9-single", "spline9-single", 11, "Freehubs and cassettes"),
    # BikeRaceInfo, "Bottom bracket threading": 1.370 in x 24, 36 mm x 24, 35 x 1 mm.
    ("bb-shell", "BSA", "english-1.37x24", 1.370 * INCH_MM, "BikeRaceInfo"),
    ("bb-shell", "Italian", "italian-36x24", 36, "BikeRaceInfo"),
    ("bb-shell", "French", "french-35x1", 35, "BikeRaceInfo"),
    ("bb-shell", "Swiss", "swiss-35x1", 35, "BikeRaceInfo"),
    # "On cycle threads" (a workshop's blog, 2013): 1-3/8 in x 26 tpi, left and right; "BMX bottom brackets" (dealer
    # help): 37 mm Spanish.
    ("bb-shell", "26 tpi shell", "english-1.375x26", 34.9, "On cycle threads"),
    ("bb-shell", "Spanish", "press37x68", 37, "dealer help on BMX bottom brackets"),
    # Headset specification guide Rev F+ 2010: bores of head tubes, 29.85 to 29.90 mm (JIS) and 30.05 to 30.10 mm (ISO).
    ("headset-seat", "EC29", "EC29", 29.9, "bore 29.85 to 29.90 mm"),
    ("headset-seat", "EC30", "EC30", 30.1, "bore 30.05 to 30.10 mm"),
    # "On cycle threads": steerers of 1 in x 24 tpi and of 1 in x 26 tpi. The forum of a German road bike magazine on
    # 1 in headsets: French ones M25 x 1 with a stem of 22.0 mm, others M26 x 1.
    ("steerer-thread", "1x24", "1x24", INCH_MM, "On cycle threads"),
    ("steerer-thread", "1x26", "1x26", INCH_MM, "On cycle threads"),
    ("steerer-thread", "25x1", "25x1", 25, "German road bike magazine"),
    ("steerer-thread", "m26x1", "m26x1", 26, "German road bike magazine"),
    ("steerer-section", "quill-22.0", "quill-22.0", 22, "German road bike magazine"),
    # "British Standard Cycle threads": axles of 5/16 in x 26 tpi. "Axle nut" (a workshop's blog): 9 and 10 mm x 1 and
    # 3/8 in.
    ("nut-thread", "5/16x26", "5-16x26", 5 / 16 * INCH_MM, "British Standard Cycle"),
    ("nut-thread", "3/8x26", "3-8x26", 3 / 8 * INCH_MM, "Axle nut"),
    ("nut-thread", "M9", "m9x1", 9, "Axle nut"),
    ("nut-thread", "M10", "m10x1", 10, "Axle nut"),
    # MOBI and a blog of 2013, "Bottom bracket standards": bores.
    ("bb-shell", "BB30", "press42", 41.96, "MOBI"),
    ("bb-shell", "US one-piece", "one-piece-51", 51.3, "MOBI"),
    ("bb-shell", "PF30", "press46", 46, "blog of 2013"),
    ("bb-shell", "press46x79-asym", "press46x79-asym", 46, "blog of 2013"),
    ("bb-shell", "BB86", "press41x86.5", 41, "blog of 2013"),
    ("bb-shell", "BB92", "press41x92", 41, "blog of 2013"),
    # The same two pages: spindles of 30 mm, and of 19 and 24 mm in a 41 mm shell.
    ("spindle", "round-30-short", "round-30-short", 30, "MOBI"),
    ("spindle", "round-30-long", "round-30-long", 30, "MOBI"),
    ("spindle", "round-19", "round-19", 19, "blog of 2013"),
    ("spindle", "round-24", "round-24", 24, "blog of 2013"),
    # Jitetan, "Clamp-on derailleur"; "Front derailleur types" (a blog): distances of the bolts.
    ("front-derailleur-mount", "clamp-28.6", "clamp-28.6", 28.6, "Jitetan"),
    ("front-derailleur-mount", "clamp-31.8", "clamp-31.8", 31.8, "Jitetan"),
    ("front-derailleur-mount", "clamp-34.9", "clamp-34.9", 34.9, "Jitetan"),
    ("front-derailleur-mount", "S1", "direct-low", 42.7, "blog"),
    ("front-derailleur-mount", "S2", "direct-high", 22.1, "blog"),
    ("front-derailleur-mount", "S3", "direct-high-offset", 22.1, "5 mm further out"),
    # Bicycle glossary, "Pedal": 9/16 and 1/2 in; Classic Rendezvous 2003: M14.
    ("pedal-thread", "9/16", "9-16x20", 9 / 16 * INCH_MM, "bicycle glossary"),
    ("pedal-thread", "1/2", "1-2x20", INCH_MM / 2, "bicycle glossary"),
    ("pedal-thread", "French pedal", "m14x1.25", 14, "Classic Rendezvous"),
    # Wikipedia, "European Tyre and Rim Technical Organisation": table.
    ("bead-seat", "700C", "622", 622, "Wikipedia"),
    ("bead-seat", "700B", "635", 635, "Wikipedia"),
    ("bead-seat", "406", "406", 406, "Wikipedia"),
    ("bead-seat", "451", "451", 451, "Wikipedia"),
    ("bead-seat", "355", "355", 355, "Wikipedia"),
    ("bead-seat", "349", "349", 349, "Wikipedia"),
    ("bead-seat", "305", "305", 305, "Wikipedia"),
    ("bead-seat", "203", "203", 203, "Wikipedia"),
    *(("bead-seat", f"{size}", f"{size}", size, "Wikipedia") for size in (137, 152, 254, 298, 337, 369, 387, 390, 419)),
    # ISO 5775-2:2021 and IS 624:2003, by their titles.
    *(("bead-seat", f"{size}", f"{size}", size, "IS 624:2003") for size in (438, 457, 490, 541, 547)),
    # Wikipedia, "Gear inches": 27 in is 630 mm. Wikipedia, "ISO 5775": the example marking 32-597.
    ("bead-seat", "630", "630", 630, "Gear inches"),
    ("bead-seat", "597", "597", 597, "ISO 5775"),
    # Two dealers' tables (weak): decimal sizes of 26, 24 and 29 in, and the 24, 26 and 27.5 in groups.
    ("bead-seat", "29er", "622", 622, "Wikipedia"),
    ("bead-seat", "559", "559", 559, "weak"),
    ("bead-seat", "507", "507", 507, "weak"),
    ("bead-seat", "650B", "584", 584, "weak"),
    ("bead-seat", "571", "571", 571, "weak"),
    ("bead-seat", "590", "590", 590, "weak"),
    ("bead-seat", "540", "540", 540, "weak"),
    ("bead-seat", "520", "520", 520, "weak"),
]


@pytest.mark.parametrize(("vocabulary", "word", "neutral", "size_mm", "source"), SIZES)
def test_size(vocabulary: str, word: str, neutral: str, size_mm: float, source: str) -> None:
    found = term(vocabulary, word)
    assert found.id == neutral
    assert found.value == pytest.approx(size_mm, abs=0.005)
    assert source in found.source
    assert not found.source.startswith("common practice")


def test_wide_rear_axles_are_the_narrow_ones_with_shelves() -> None:
    # BikeGremlin forum, "Understanding rear chainline": 142 = 135 + 2 x 3.5. Road bike axle standards (weak copy):
    # 157 = 150 + 7.
    width = {name: term("axle-type", name).value or 0 for name in ("QR 135", "12x142", "12x150", "12x157")}
    assert width["QR 135"] + 2 * 3.5 == width["12x142"]
    assert width["12x150"] + 7 == width["12x157"]


def test_axle_names_say_their_diameter_and_width() -> None:
    # The over-locknut lists named above write an axle as diameter x width, as in 12x142.
    for each in catalogue().standards.vocabularies["axle-type"].terms:
        written = re.fullmatch(r"(?:qr|thru|nutted)-(\d+)x(\d+)(?:-wide)?", each.id)
        assert written is not None
        assert each.value == float(written[2])
        assert f"{written[1]} mm" in each.what
        assert f"{written[2]} mm wide" in each.what


def test_long_freehub_body() -> None:
    # Rookie Journal, "The weird compatibility of 11-speed hubs": 1.85 mm longer than the body for 8 to 10 speeds. The
    # whole length of 36.75 mm is arithmetic: the shorter one is 34.9 mm, which the list of bodies rounds to 35.
    short, long = term("freehub", "HG 8/9/10"), term("freehub", "HG road 11")
    assert "1.85 mm longer" in long.what
    assert (long.value or 0) - 1.85 == pytest.approx(34.9)
    assert (long.value or 0) - 1.85 == pytest.approx(short.value, abs=0.11)
    assert "1.85 mm" in long.source
    assert "arithmetic" in long.source


def test_threads_of_freewheel_and_hanger() -> None:
    # Wikipedia, "Cogset": 1.375 in x 24 tpi (34.925 x 1.058 mm). Escape to the Pyrenees: hangers are M10 x 1.
    assert term("freehub", "screw-on").id == "freewheel-1.375x24"
    sizes_mm = (1.375 * INCH_MM, INCH_MM / 24)
    assert sizes_mm == pytest.approx((34.925, 1.0583), abs=5e-5)
    assert term("hanger", "standard hanger").id == "m10x1"
    assert "M10 x 1 thread" in term("hanger", "m10x1").what


def test_stepped_body_is_for_ten_teeth() -> None:
    # BikeGremlin, "Rear hubs".
    assert "smallest sprocket of 10 teeth" in term("freehub", "XD").what


@pytest.mark.parametrize(
    ("shell", "hands"),
    [
        # BikeRaceInfo, "Bottom bracket threading": on an English shell the drive side (fixed cup) is left-hand; Italian
        # and French have right-hand threads on both sides.
        ("english-1.37x24", "with a left-hand thread on the drive side"),
        ("italian-36x24", "with right-hand threads on both sides"),
        ("french-35x1", "with right-hand threads on both sides"),
    ],
)
def test_hand_of_bottom_bracket_threads(shell: str, hands: str) -> None:
    assert hands in term("bb-shell", shell).what


def test_widths_of_bottom_bracket_shells() -> None:
    # BikeRaceInfo and a blog of 2013: English 68, 73, 83, 100; Italian 70; French 68; 46 mm bore 68 (73 from
    # memory); asymmetric 79; 41 mm bore 86.5 and 92. From memory: M47 as wide as the English shell, or 85.5 and 86.5
    # with the bearings inside; 46 mm bore 86.5. Every frame of the catalogue has a width of its shell.
    widths = {
        "english-1.37x24": {68, 73, 83, 100},
        "italian-36x24": {70},
        "french-35x1": {68},
        "press42": {68, 73},
        "press46": {68, 73},
        "press46x79-asym": {79},
        "m47x1": {68, 73, 85.5, 86.5},
        "press46x86.5": {86.5},
        "press41x86.5": {86.5},
        "press41x92": {92},
        "eccentric-54": {68},  # from memory
    }
    for frame in catalogue().of_kinds(["frame"]):
        assert frame.bb_shell_width_mm.low in widths[frame.bb_shell]  # type: ignore[attr-defined]
    for bracket in catalogue().of_kinds(["bottom-bracket"]):
        ends = {bracket.shell_width_min_mm.low, bracket.shell_width_max_mm.high}  # type: ignore[attr-defined]
        assert ends <= widths[bracket.shell]  # type: ignore[attr-defined]
    for named in ("press46x79-asym", "press41x86.5", "press41x92"):
        assert f"{next(iter(widths[named])):g} mm wide" in term("bb-shell", named).what
    assert "11 mm more on the left" in term("bb-shell", "press46x79-asym").what  # non-drive side, a blog of 2013


def test_left_pedal_has_a_left_hand_thread() -> None:
    # Bicycle glossary, "Pedal"; Classic Rendezvous 2003.
    assert "the left pedal has a left-hand thread" in catalogue().standards.vocabularies["pedal-thread"].what
    assert all("20 tpi" in term("pedal-thread", word).what for word in ("9/16", "1/2"))


# ModernBike, "Understanding chainring measurements" (dealer help): bolt circle, bolts, distance of neighbouring bolts,
# and its factors 1.155 (3 bolts), 1.414 (4) and 1.701 (5). It prints 73.6 for 104 mm (exact 73.5) and 34.3 for 58 mm
# (exact 34.1); the distances here are worked out from the formula.
@pytest.mark.parametrize(
    ("circle_mm", "bolts", "apart_mm"),
    [
        (144, 5, 84.6),
        (135, 5, 79.4),
        (130, 5, 76.4),
        (110, 5, 64.7),
        (104, 4, 73.5),
        (94, 5, 55.3),
        (74, 5, 43.5),
        (64, 4, 45.3),
        (58, 5, 34.1),
    ],
)
def test_bolt_circle(circle_mm: float, bolts: int, apart_mm: float) -> None:
    found = term("ring-mount", f"bcd-{circle_mm}x{bolts}")
    assert found.value == circle_mm
    count = {4: "four", 5: "five"}[bolts]
    assert f"{count} bolts on {circle_mm} mm" in found.what
    assert "dealer help table" in found.source
    assert circle_mm * math.sin(math.pi / bolts) == pytest.approx(apart_mm, abs=0.06)
    assert apart_mm * {4: 1.414, 5: 1.701}[bolts] == pytest.approx(circle_mm, abs=0.2)


def test_factors_of_bolt_circles() -> None:
    # The same page: 1.155, 1.414 and 1.701 (exact 1.7013).
    factors = [1 / math.sin(math.pi / bolts) for bolts in (3, 4, 5)]
    assert factors == pytest.approx([1.155, 1.414, 1.701], abs=5e-4)
    assert "sin(180/n)" in catalogue().standards.interfaces["ring-mount"].source


def test_saddle_rails() -> None:
    # Suspension Traveler, "Are mountain bike saddles universal?": rails 44 mm apart; single rail, pivot and tripod.
    assert "44 mm apart" in term("rails", "round-7").what
    assert {term("rails", word).id for word in ("monorail", "pivot", "tripod")} == {"single-rail", "pivot", "tripod"}


def test_chains() -> None:
    # BikeGremlin, "Bicycle drive chain standard dimensions": 1/8 in = 3.175 mm for one speed, 2.38 mm for 5 to 8 and
    # 2.18 mm for 9 to 12. The row that explains the difference rounds to hundredths.
    widths_mm = [INCH_MM / 8, INCH_MM * 3 / 32, INCH_MM * 11 / 128]
    assert widths_mm == pytest.approx([3.175, 2.38, 2.18], abs=5e-3)
    why = next(row.why for row in catalogue().standards.joints if row.name == "chain-ring-speeds-differ")
    assert "3.18 mm" in why
    assert "2.18 mm" in why


# Wikibooks, "Gear-changing dimensions": cable pull times ratio is the distance of the sprockets. The distances of 6, 8,
# 9 and 10 sprockets: crib sheet of sprocket pitches, quoted in two blogs (5.5, 4.8, 4.34, 3.95 mm); of 7, and of 9 and
# 10 of family G: a public crib sheet, thickness and spacer (5.0, 4.55, 4.12 mm). Those for 11 are from memory, as are
# most pulls.
PITCHES_MM = {
    "cable-a-6": 5.5, "cable-a-7": 5.0, "cable-a-8": 4.8, "cable-a-9": 4.34, "cable-a-10": 3.95,
    "cable-b-11": 3.7,
    "cable-c-11": 3.9,
    "cable-d-7": 5.0, "cable-d-8": 4.8, "cable-d-9": 4.34,
    "cable-e-10": 3.95,
    "cable-f-11": 3.9,
    "cable-g-9": 4.55, "cable-g-10": 4.12, "cable-g-11": 3.85,
}  # fmt: skip
FIGURES = re.compile(r"\(([\d.]+) mm a click and ratio ([\d.]+)\)")


def test_each_shift_family_passes_its_own_arithmetic() -> None:
    words = {each.id: each.what for each in catalogue().standards.vocabularies["shift-system"].terms}
    stated = {word: (float(found[1]), float(found[2])) for word in words if (found := FIGURES.search(words[word]))}
    assert stated.keys() == PITCHES_MM.keys()
    for family, (pull_mm, ratio) in stated.items():
        assert abs(step_error(shift_step_mm(pull_mm, ratio), PITCHES_MM[family])) < STEP_ERROR_WARN, family


def test_families_that_take_each_others_derailleurs_state_one_ratio() -> None:
    words = {each.id: each.what for each in catalogue().standards.vocabularies["shift-system"].terms}
    ratios = {word: found[1] for word, what in words.items() if (found := re.search(r"ratio ([\d.]+)\)", what))}
    cables = catalogue().standards.words_with("shift-system", "by_clicks")
    pairs = [
        (shifter, derailleur)
        for shifter, derailleur in catalogue().standards.interfaces["shift-system"].mates.pairs
        if shifter in cables and shifter != derailleur
    ]
    assert len(pairs) > 30
    assert [pair for pair in pairs if ratios[pair[0]] != ratios[pair[1]]] == []


def test_derailleurs_and_shifters_of_the_catalogue_have_the_figures_of_their_family() -> None:
    words = {each.id: each.what for each in catalogue().standards.vocabularies["shift-system"].terms}
    for part in catalogue().of_kinds(["rear-derailleur", "lever"]):
        found = FIGURES.search(words[part.shift_system])  # type: ignore[attr-defined]
        if found is None:
            continue
        pull_mm, ratio = float(found[1]), float(found[2])
        is_shifter = part.kind == "lever"
        told = part.cable_per_shift_mm if is_shifter else part.shift_ratio  # type: ignore[attr-defined]
        assert told.low == told.high == (pull_mm if is_shifter else ratio), part.id


def test_headset_codes_resolve_to_seats() -> None:
    # WikiPedalia "SHIS" and the trade press, 2010-11-09: the bore stands before the slash and is written in whole mm,
    # rounded down (49.6 is written 49, 41.4 is 41). The two examples are of 34 and 44 mm.
    for code, bore_mm in (("EC34/28.6 | EC34/30", 34), ("ZS44/28.6 | ZS44/30", 44)):
        for half in map(parse_half, code.split(" | ")):
            assert term("headset-seat", half.seat).value == bore_mm
            assert "WikiPedalia" in term("headset-seat", half.seat).source
    for each in catalogue().standards.vocabularies["headset-seat"].terms:
        assert each.id[:2] in ("EC", "ZS", "IS")
        assert math.floor(each.value or 0) == int(each.id[2:])
    assert (term("headset-seat", "EC49").value, term("headset-seat", "ZS41").value) == (49.6, 41.4)


def test_fluids_that_mix_have_one_base() -> None:
    # 49 CFR 571.116: DOT 5 is silicone, DOT 3, 4 and 5.1 are glycol ethers; mineral oil must not touch the rubbers that
    # brake fluid is made for (S4).
    base = {
        "dot-3": "glycol ether", "dot-4": "glycol ether", "dot-5.1": "glycol ether", "dot-5": "silicone",
        "mineral-a": "mineral oil", "mineral-b": "mineral oil",
    }  # fmt: skip
    for one, other in catalogue().standards.interfaces["brake-fluid"].mates.pairs:
        if one != "none":
            assert base[one] == base[other]


# ---- where the rows have it from ---------------------------------------------------------------------------

PUBLISHED = (
    "Wikipedia|WikiPedalia|Wikibooks|crib sheet|bicycle glossary|BikeGremlin|BikeTips|BikeRaceInfo|BikeRadar|"
    "Bicycle Retailer|FMVSS 116|CFR|ISO 5775|ISO 4210|TBIS|Urban Velo|Rookie Journal|Escape Collective|"
    "Freehubs and cassettes|Escape to the Pyrenees|Canadian Cycling Magazine|Jitetan|blog of 2013|MOBI|"
    "Square taper standards|Classic Rendezvous|Suspension Traveler|Road Bike Rider|Chainring sizing 2010|"
    "open headset code|"
    r"dealer (?:article|help|blog)|article on axle interfaces|article on shortening brake hoses|VeloNews|"
    "front derailleur types, blog|road bike axle list|"
    "table of tyre and wheel sizes, weak|table of decimal sizes, weak|indexing calculation|"
    "Bike Forums 2021|De Fietssite|tables of the anodic index|ETRTO 2023 as the press reported|"
    "owner's manual|Salvaged Spares|nominal thread sizes|British Standard Cycle threads|DIN 79012|ISO 6695|ISO 8488|"
    "Axle nut, wrenchfu|thru-axle measuring guide|spacer chart|article on fat-bike|article on fitting a saddle|"
    "articles on rotor sizes|stem sizes|BMX hubs|How (?:to|wide)|bicycleparameters|question and answer on post|"
    "On cycle threads|forum of a German road bike magazine|urbanusmagnus|note on chainlines|Radavist|"
    "by its designation|bicycle crib sheet|headset specification guide Rev F|Velotechnik glossary|workshop blog|"
    "printed hint, read second-hand|Arbeitswerteliste of the German trade associations|"
    "IS 624:2003"
)
HONEST = (
    r"from memory|common practice|our choice|no source|invented family|^geometry|^arithmetic|the \w+'s own limit|"
    "the makers' own figures|^what the words mean$|the mark of the cap's maker"
)


def sources() -> Iterator[tuple[str, str]]:
    """Every row of the standards and the workshop, and every rule, with its source."""
    standards = catalogue().standards
    for vocabulary in standards.vocabularies.values():
        yield from ((f"{vocabulary.id}: {each.id}", each.source) for each in vocabulary.terms)
    yield from ((each.id, each.source) for each in standards.interfaces.values())
    yield from ((each.name, each.source) for each in standards.joints)
    yield from ((each.id, each.source) for each in standards.contacts)
    yield from ((each.id, each.source) for each in standards.operations.values())
    yield from ((each.attribute, each.source) for each in standards.measurements)
    yield from ((each.name, each.source) for each in RULES)


def test_every_row_says_where_it_is_from() -> None:
    everything = list(sources())
    assert len(everything) > 400
    assert [name for name, source in everything if not re.search(f"{PUBLISHED}|{HONEST}", source)] == []


def test_a_tolerance_is_published_or_our_choice() -> None:
    # A standard gives the gap between stem and post; none gives a tolerance for the other fits, so each says that it is
    # ours.
    for each in catalogue().standards.interfaces.values():
        of_a_standard = each.id == "clamped-post" and "ISO 4210-2 cl. 4.7.4" in each.source
        assert (each.mates.leeway > 0) == ("our choice" in each.source or of_a_standard), each.id
        assert (each.mates.tolerance == 0) == ("tolerance 0: " in each.source), each.id


def test_cups_of_one_bore_take_each_others_place() -> None:
    # A pressed cup does not care whether its bearing lies inside the head tube or below it; a bearing without a cup
    # (IS) is another matter.
    bores = {each.id: each.value for each in catalogue().standards.vocabularies["headset-seat"].terms}
    cups = sorted(seat for seat in bores if not seat.startswith("IS"))
    one_bore = {pair for pair in combinations(cups, 2) if bores[pair[0]] == bores[pair[1]]}
    assert set(catalogue().standards.interfaces["headset-seat"].mates.pairs) == one_bore


UNSURE = r"unsure|low confidence"


def test_an_unsure_memory_never_blocks() -> None:
    standards = catalogue().standards
    unsure_interfaces = {each.id for each in standards.interfaces.values() if re.search(UNSURE, each.source)}
    for row in standards.joints:
        if re.search(UNSURE, row.source) or row.interface in unsure_interfaces:
            assert row.level != "blocks", row.name
    for rule in RULES:
        if re.search(UNSURE, rule.source):
            assert "blocks" not in rule.levels, rule.name
    # Bend radii are such figures: typical ones, from memory.
    assert "blocks" not in next(rule.levels for rule in RULES if rule.name == "bend-too-tight")


def test_unsure_words_are_few_and_carry_no_size_into_a_joint() -> None:
    # Two words either agree or not, whatever their sizes in mm are, so an unsure size decides nothing. These are all.
    unsure = {
        f"{vocabulary.id}: {each.id}"
        for vocabulary in catalogue().standards.vocabularies.values()
        for each in vocabulary.terms
        if re.search(UNSURE, each.source)
    }
    assert unsure == {
        "headset-seat: IS46",
        "headset-seat: IS49",
        "headset-seat: IS51",
        "cable-head: shift-small-c",
        "shift-system: cable-b-12",
        "shift-system: cable-c-12",
        "shift-system: cable-g-12",
    }
    assert next(row.level for row in catalogue().standards.joints if row.name == "quill-diameter-mismatch") == "caution"
    # Sizes of shift-cable heads (about 4.4 and 4.0 mm) are from memory and unsure: no head has a size.
    assert all(each.value is None for each in catalogue().standards.vocabularies["cable-head"].terms)


def test_sizes_without_a_source_say_so() -> None:
    # A size in mm, or a count, is either published, or from memory and marked; "no source" is for plain words.
    for vocabulary in catalogue().standards.vocabularies.values():
        for each in vocabulary.terms:
            if each.value is not None or each.deg is not None:
                assert re.search(f"{PUBLISHED}|from memory|^arithmetic|our choice: counted", each.source), (
                    vocabulary.id, each.id,
                )  # fmt: skip
