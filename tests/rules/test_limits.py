"""What cautions about a size ends in a limit from which it blocks; what has none stands here with its reason."""

from __future__ import annotations

from buildcheck.library.cases import read_case
from buildcheck.model.levels import Level
from buildcheck.model.parts import PART_KINDS
from buildcheck.model.quantities import Unit
from buildcheck.model.standards import JointRow
from buildcheck.rules import RULES
from laws.bench import catalogue
from rules.test_cases import CASES

STANDARDS = catalogue().standards
LESSER = {Level.CAUTION, Level.NOTE}
NO_SIZE = "it is about what was seen or about words, not about a size"
WITHOUT_LIMIT = {
    # about sizes
    "bend-too-tight": "the usual radii are from memory with low confidence, so no figure may block",
    "brake-ratio-unusual": "families of levers and brakes decide; usual ratios are from memory, and the hand feels it",
    "chain-angle-steep": "the rider leaves the worst gear alone; where the lines are far apart chain-line-off blocks",
    "mudguards-of-another-size": "what is far too small or too large cannot be screwed on, so nobody rides it",
    "shift-step-inexact": "families of shifters decide; figures of pull and ratio vary with who measured them",
    "shift-errors-add-up": "as shift-step-inexact, of which it is the sum",
    "steering-geometry-changes": "it compares with before, and what is felt is no fault",
    "toe-clearance-small": "small frames have it by design and are ridden",
    "tyre-narrow-for-straight-side": "the rim's own range blocks: tyre-too-narrow-for-rim",
    "tyre-width-unusual": "a tyre that cannot stand in its rim blocks: tyre-narrower-than-rim",
    "tyre-swells-past-limit": "the room itself is judged by tyre-clearance-too-small, which blocks",
    "valve-hardly-reached": "a valve that ends within the rim blocks: valve-too-short-for-rim",
    "bar-position-changes": "it tells where the hands come to be, which is no fault",
    "chain-sold-too-long": "it is cut",
    "timing-phase-to-set": "it tells what to set",
    "line-can-stay": "it tells that nothing is wrong",
    "lower-torque-limit-counts": "it tells which of two limits to set",
    "derailleur-made-for-other-speeds": "shifter and cassette decide: clicks-miss-sprockets; the derailleur only "
    "follows, and how far its cage reaches and how wide the chain is are compared by themselves",
    **dict.fromkeys(
        ("chain-cassette-speeds-differ", "chain-crank-speeds-differ", "chain-ring-speeds-differ"),
        "whether the chain goes over the teeth and past the next sprocket is told by its widths, which block",
    ),
    "fixed-wheel-for-a-brake": "it tells what the law of the place allows",
    "rack-above-its-place": "the load itself is judged, and blocks",
    # about words and conditions
    **dict.fromkeys(
        ("rotor-grooved", "pads-glazed", "part-worn", "part-corroded", "seal-weeps", "fluid-grades-mixed",
         "condition-noted", "left-hand-thread", "metals-corrode-together", "joint-seizes-without-compound",
         "brake-housing-on-shifting", "cleat-on-platform-pedal", "front-pad-compound-unsuitable",
         "rear-pad-compound-unsuitable", "wire-turned-round", "control-works-nothing", "strap-on-dropper",
         "pedals-without-cleats", "seat-clamp-idle", "pair-partly-replaced",
         "wear-partner-kept"),
        NO_SIZE,
    ),
}  # fmt: skip


def _is_size(row: JointRow) -> bool:
    fields = (kind.model_fields.get(row.a_attribute) for kind in PART_KINDS.values())
    return any(isinstance(mark, Unit) for field in fields if field is not None for mark in field.metadata)


def test_what_cautions_about_a_size_has_a_limit_or_a_reason() -> None:
    rules = {rule.name for rule in RULES if Level.BLOCKS not in rule.levels and LESSER & set(rule.levels)}
    rows = {row.name for row in STANDARDS.joints if row.level in LESSER and row.blocks_beyond is None}
    assert rules | rows == WITHOUT_LIMIT.keys()


def test_what_is_said_to_have_no_size_has_none() -> None:
    bare = [row.name for row in STANDARDS.joints if _is_size(row) and WITHOUT_LIMIT.get(row.name) == NO_SIZE]
    assert not bare


def test_a_limit_lies_beyond_the_tolerance_and_each_level_of_a_row_has_a_firing_case() -> None:
    limited = [row for row in STANDARDS.joints if row.blocks_beyond is not None]
    assert limited
    for row in limited:
        mates = STANDARDS.interfaces[row.interface].mates
        assert mates.kind in ("equal", "at-least", "at-most")
        assert _is_size(row)
        assert row.blocks_beyond is not None
        assert row.blocks_beyond > mates.leeway, row.name
        shown = {read_case(path).said["expect"]["level"] for path in (CASES / row.name).glob("fires-*.yaml")}
        assert set(row.levels) <= shown, row.name
