"""Usual torques: every row of the fasteners' table against the figures of published tables, in N·m.

A: "Torque Specs: Proper Bolt Tightening" (bikemaintenancepros.com). B: torque tables of two dealers (villagecycle.com,
dedhambike.com). C: an owner's manual, appendix C (manualshive.com 3667378, p. 77). D: owner's manuals, chapter 3
(libble.eu 771343, manualsbrain.com 1851116, manualshive.com 2378871, mwitty.com 5941596). E: "Bicycle Torque
Specifications" (bikefaff.com). F: "Brake Caliper Torque Specifications" (sportsrec.com).
"""

from __future__ import annotations

from math import floor

import pytest

from buildcheck.model.workshop import Fastener
from laws.bench import catalogue

ROWS = {row.id: row for row in catalogue().standards.fasteners}

# What each row keeps to: all of these ranges at once, as far as its bolt bears them.
KEEPS_TO: dict[str, tuple[tuple[float, float], ...]] = {
    "stem-steerer-clamp": ((5, 7),),  # A
    "stem-steerer-clamp-m6": ((13.6, 16.3),),  # C
    "quill-bar-clamp": ((19.7, 29.4),),  # C
    "stem-faceplate": ((4, 6),),  # A
    "quill-expander": ((19.7, 29.4),),  # C; D has 19.8 to 29.4
    "quill-adapter-expander": ((19.7, 29.4),),  # as the quill of a stem
    "top-cap": ((1, 2),),  # A
    "headset-locknut": ((14.7, 16.9),),  # C
    "lever-clamp-drop": ((6, 8),),  # D
    "lever-clamp-flat": ((4, 5),),  # A
    "shifter-clamp": ((3, 4),),  # A
    "caliper-bolts-flat": ((6, 8),),  # A
    "caliper-bolts-post": ((6, 8),),  # A
    "rim-brake-bolt": ((7.9, 9.6),),  # B
    "rim-brake-pivots": ((7.9, 9.6),),  # B, D
    "brake-cable-anchor": ((6, 8),),  # A
    "brake-adapter-bolts": ((6, 8),),  # A
    "rotor-bolts": ((4, 6),),  # A
    "rotor-lockring": ((40, 40),),  # A; B has 350 lb·in, 40.2 N·m as printed
    "rotor-adapter-lockring": ((40, 40),),  # as a rotor
    "brake-shoe-nut-road": ((4.5, 6.8),),  # B
    "brake-shoe-nut-post": ((7.9, 9),),  # B, D
    "reaction-arm": ((2, 3),),  # B
    "thru-axle": ((12, 15), (12, 18)),  # A, front and rear
    "thru-axle-pinch": ((5.1, 6.2),),  # D
    "front-axle-nuts": ((20.3, 27.1),),  # D
    "rear-axle-nuts": ((27.1, 33.9),),  # D
    "cassette-lockring": ((40, 40), (30, 50)),  # A, B
    "pedal-right": ((35, 40),),  # A
    "pedal-left": ((35, 40),),  # A
    "cleat-bolts": ((5, 6),),  # How to fit new cleats, 220triathlon.com
    "crank-bolt-taper": ((40, 55), (39.5, 49.2), (34.5, 44.2)),  # A, B, C
    "crank-bolt-spline": ((40.3, 49),),  # E
    "crank-pinch": ((12, 15), (9.9, 14.9)),  # B, E
    "crank-bolt-single": ((47.5, 54.2),),  # B
    "crank-bolt-middle": ((42, 42),),  # E
    "bb-cup-left-hand": ((34.5, 49.1),),  # E
    "bb-cup-right-hand": ((34.5, 49.1),),
    "bb-cup-left": ((34.5, 49.1),),
    "bb-cartridge-left-hand": ((39.2, 49),),  # E
    "bb-cartridge-right-hand": ((39.2, 49),),
    "bb-cartridge-left": ((39.2, 49),),
    "chainring-bolts-aluminium": ((8, 9), (5, 9.9)),  # B, C
    "chainring-bolts-steel": ((12, 14),),  # B
    "rear-derailleur-bolt": ((8, 10),),  # A
    "rear-derailleur-anchor": ((4, 6),),  # A: 4 to 5; B: 35 to 52 lb·in, which is 4.0 to 5.9
    "front-derailleur-clamp": ((2.8, 4),),  # B
    "front-derailleur-bolt": ((4.9, 6.8),),  # B
    "front-derailleur-anchor": ((5, 6.8),),  # C
    "seat-lug-bolt": ((9.6, 14.1),),  # D, old steel binder
    "seat-clamp-bolt": ((5, 7),),  # A
    "seat-binder-bolt": ((9.6, 14.1),),  # D
    "saddle-clamp-one-bolt": ((19.7, 39.2), (17, 28.3)),  # C, D
    "saddle-clamp-two-bolts": ((9.6, 14.1),),  # D
    "saddle-clamp-small-bolts": ((5.1, 6.8),),  # D
    "saddle-clip": ((20.3, 24.9),),  # D
    "rack-bolts": ((4.2, 4.3),),  # a forum on carriers, globike.net 956435
}
# What tables print that disagree with the row: it must say so.
DISAGREES = {
    "quill-bar-clamp": "11.3 to 13.6 17 to 20.3",  # B, welded and forged stems
    "quill-expander": "11.3 to 13.6",  # B
    "lever-clamp-flat": "6 to 8",  # D
    "shifter-clamp": "6 to 8 2 to 3",  # D
    "caliper-bolts-post": "11.3 to 12.4",  # B
    "brake-adapter-bolts": "6.8 to 7.3 11.3 to 12.4",  # B
    "rim-brake-bolt": "6 to 7",  # B, on a fork
    "crank-bolt-single": "49 to 59",  # E
    "bb-cup-left": "32.9 to 40.7",  # B
    "bb-cartridge-left": "70 32.9 to 40.7",  # E, B
    "chainring-bolts-aluminium": "8 to 12",  # A
    "chainring-bolts-steel": "7.9 to 10.7 8 to 12",  # C, A
    "saddle-clamp-two-bolts": "8 to 14",  # A
}
# ISO 898-1:2013, proof loads in N, and nut factors K in T = K F d: 0.15 lubricated, 0.20 as received.
PROOF_N = {
    ("M5x0.8", "8.8"): 8230, ("M5x0.8", "10.9"): 11800, ("M6x1", "8.8"): 11600, ("M6x1", "10.9"): 16700,
    ("M8x1.25", "8.8"): 21200,
}  # fmt: skip
DIAMETER_MM = {"M5x0.8": 5, "M6x1": 6, "M8x1.25": 8}


def proof_nm(row: Fastener) -> float:
    if row.property_class is None:
        return float("inf")
    factor = 0.15 if row.compound == "grease" else 0.20
    return factor * PROOF_N[row.thread, row.property_class] * DIAMETER_MM[row.thread] / 1000


def test_no_row_has_a_figure_that_was_not_found_published() -> None:
    assert {row.id for row in ROWS.values() if row.low_nm is not None} == KEEPS_TO.keys()


@pytest.mark.parametrize("name", KEEPS_TO)
def test_a_range_is_what_the_tables_print(name: str) -> None:
    row, ranges = ROWS[name], KEEPS_TO[name]
    high = min(top for _, top in ranges)
    if high > proof_nm(row):
        high = floor(proof_nm(row))
        assert "proof load" in row.source
    assert (row.low_nm, row.high_nm) == (max(low for low, _ in ranges), high)


@pytest.mark.parametrize("name", DISAGREES)
def test_where_tables_disagree_the_row_says_so(name: str) -> None:
    found = DISAGREES[name].split(" ")
    assert all(figure in ROWS[name].source for figure in found)


@pytest.mark.parametrize("row", ROWS.values(), ids=lambda row: row.id)
def test_no_range_ends_beyond_the_proof_load_of_its_bolt(row: Fastener) -> None:
    assert row.property_class is None or row.high_nm is not None
    assert row.high_nm is None or row.high_nm <= proof_nm(row)


def test_the_front_axle_nut_is_no_looser_than_the_law_wants_it() -> None:
    # 16 CFR 1512.12(a)(2): no less than 17 N·m to take off a front nut that is no quick release.
    assert (ROWS["front-axle-nuts"].low_nm or 0) >= 17
