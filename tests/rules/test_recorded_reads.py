"""Rules read facts in ways that are recorded; what is not recorded stands in few places, each with its reason."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import buildcheck
from buildcheck.fit.context import Context
from buildcheck.fit.facts import Amount, Fact, Test
from buildcheck.fit.view import Memo

RULES = Path(buildcheck.__file__).parent / "rules"
# What looks at facts, or at the change, without a record of it.
UNRECORDED = {
    "held": Fact, "least": Amount, "most": Amount, "bounded": Amount, "is_yes": Test, "is_no": Test,
    "changed": Context, "touched": Context, "recall": Memo,
}  # fmt: skip
_WORDING = "which sentence it is; the test that is told has the facts"
_A_CAUSE = "told among the causes, which only say more of what the finding rests on"
_IN_THE_TEST = "makes a test of it, or an amount, which has the facts"
_AN_AMOUNT = "an amount, which has its facts"
_AMOUNTS = "amounts and tests, which have their facts"
_WHERE = "where there is something of a kind, which is no fact; what it has is read where it is called"
# The file, the function and what it reads; the reason.
ALLOWED: dict[tuple[str, str, str], str] = {
    ("accessories.py", "_with", "recall"): _WHERE,
    ("belt.py", "belt_cannot_be_tensioned", "is_no"): _WORDING,
    ("brakes.py", "_bolts", "recall"): _AMOUNTS,
    ("brakes.py", "brake_ratio_unusual", "recall"): _AN_AMOUNT,
    ("chain.py", "_even", "least"): _WORDING,
    ("chain.py", "_even", "most"): _WORDING,
    ("chain.py", "drive_of", "recall"): _AMOUNTS,
    ("chain.py", "links_needed", "recall"): _AN_AMOUNT,
    ("chain.py", "chain_too_long", "recall"): _AN_AMOUNT,
    ("chain.py", "chain_too_long", "bounded"): _WORDING,
    ("chain.py", "chain_too_long", "least"): _WORDING,
    ("chain.py", "chain_too_long", "most"): _WORDING,
    ("chain_joining.py", "_even", "least"): _IN_THE_TEST,
    ("chain_joining.py", "_even", "most"): _IN_THE_TEST,
    ("chain_tension.py", "_axle_wanted_mm", "least"): _WORDING,
    ("chain_tension.py", "_axle_wanted_mm", "most"): _WORDING,
    ("chain_tension.py", "chain_cannot_be_tensioned", "is_no"): _WORDING,
    ("cockpit.py", "_why_no_place", "is_yes"): _A_CAUSE,
    ("completeness.py", "_needs", "recall"): _WHERE,
    ("crank.py", "_bearings", "recall"): _AMOUNTS,
    ("crank.py", "_on_outer_circle", "held"): _IN_THE_TEST,
    ("electronic.py", "_place_words", "is_yes"): "where else a thing can go; the test tells that it cannot stay",
    ("headset.py", "threaded_steerer_too_long", "most"): _WORDING,
    ("hydraulics.py", "_held", "recall"): "facts and tests; who asks a test is recorded then",
    ("hydraulics.py", "_one_grade", "is_yes"): _IN_THE_TEST,
    ("line_causes.py", "_mark", "is_no"): _A_CAUSE,
    ("line_causes.py", "_mark", "is_yes"): _A_CAUSE,
    ("line_causes.py", "_reach", "held"): _A_CAUSE,
    ("line_facts.py", "_passages_facts", "recall"): "the facts themselves, which are read where it is called",
    ("line_facts.py", "_size_facts", "recall"): "the facts themselves, which are read where it is called",
    ("line_facts.py", "_routes_of", "least"): "which way is told of a line; whoever asks reads all ways of it",
    ("line_facts.py", "all_routes", "recall"): "ways are read as a whole, line by line",
    ("line_lengths.py", "_kinds_in_the_open", "recall"): "which passages run in the open; ways are read as a whole",
    ("line_lengths.py", "_need_of", "least"): _IN_THE_TEST,
    ("line_lengths.py", "_needs", "recall"): "the names of the lines; ways are read as a whole, line by line",
    ("line_lengths.py", "_stretch_of", "recall"): "which ways there are; ways are read as a whole",
    ("line_lengths.py", "_why_so_long", "least"): _A_CAUSE,
    ("line_lengths.py", "line_too_short", "bounded"): _WORDING,
    ("line_lengths.py", "line_too_short", "is_no"): "passes over what has another finding; the test has the facts",
    ("lines.py", "bore_too_small", "is_no"): "the test of all lines has the facts of each, and each way is read",
    ("lines.py", "bore_too_small", "is_yes"): "the test of all lines has the facts of each, and each way is read",
    ("lines.py", "bore_too_small", "recall"): "which lines lie in one bore; the way of each is read",
    ("lines.py", "line_has_no_way", "is_no"): "the worst of several; the way of each line is read as a whole",
    ("lines.py", "line_has_no_way", "recall"): "which lines stop where; the way of each is read as a whole",
    ("loads.py", "_bears_clamp", "is_yes"): _IN_THE_TEST,
    ("loads.py", "_built", "bounded"): _AN_AMOUNT,
    ("loads.py", "_is", "recall"): "the words of the vocabulary",
    ("loads.py", "_things", "recall"): _WHERE,
    ("loads.py", "place_overloaded", "recall"): "passes over what is not told; the rest is read again",
    ("loads.py", "bike_overloaded", "bounded"): "which of three sentences it is; what blocks needs both",
    ("materials.py", "lower_torque_limit_counts", "most"): "a field of the record of limits, itself an amount",
    ("materials.py", "torque_limits_apart", "least"): "a field of the record of limits, itself an amount",
    ("seat.py", "_too_little", "most"): _WORDING,
    ("seat.py", "_why_so_deep", "least"): _A_CAUSE,
    ("seat.py", "_why_so_deep", "most"): _A_CAUSE,
    ("seat.py", "seatpost_inserted_too_little", "least"): _WORDING,
    ("seat.py", "shim_without_wall", "recall"): _WHERE,
    ("shifting.py", "_mm", "least"): _WORDING,
    ("shifting.py", "_mm", "most"): _WORDING,
    ("shifting.py", "shift_step_inexact", "least"): _WORDING,
    ("shifting.py", "shift_step_inexact", "most"): _WORDING,
    ("steering.py", "_no_preload", "most"): _WORDING,
    ("steering.py", "stack_below_stem", "recall"): _AN_AMOUNT,
    ("steering.py", "stem_top", "recall"): _AN_AMOUNT,
    ("tyre_facts.py", "ends_with_tyre", "recall"): _WHERE,
    ("tyre_facts.py", "inflated_width", "recall"): _AN_AMOUNT,
    ("tyre_facts.py", "tyre_radius", "recall"): _AN_AMOUNT,
    ("tyre_pressure.py", "pressure_limit", "is_no"): _IN_THE_TEST,
    ("tyre_pressure.py", "pressure_limit", "is_yes"): _IN_THE_TEST,
    ("tyre_room.py", "_front_centre", "recall"): _AN_AMOUNT,
}


def unrecorded_in(source: str) -> Iterator[tuple[str, str]]:
    """The outermost function, class or constant round each look that is not recorded, and the name of what is read."""
    for top in ast.parse(source).body:
        name = getattr(top, "name", "") or _assigned(top)
        for node in ast.walk(top):
            if isinstance(node, ast.Attribute) and node.attr in UNRECORDED:
                yield name, node.attr
            elif _by_name(node) in UNRECORDED:
                yield name, _by_name(node)


def _assigned(node: ast.stmt) -> str:
    return ast.unparse(node.targets[0] if isinstance(node, ast.Assign) else getattr(node, "target", node))


def _by_name(node: ast.AST) -> str:
    """What `getattr` and `attrgetter` are given."""
    if not isinstance(node, ast.Call) or not node.args:
        return ""
    function = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
    given = node.args[-1] if function == "attrgetter" else node.args[min(1, len(node.args) - 1)]
    named = isinstance(given, ast.Constant) and isinstance(given.value, str)
    return given.value if function in ("getattr", "attrgetter") and named else ""


def test_what_is_not_recorded_stands_where_it_has_a_reason() -> None:
    found = {
        (path.relative_to(RULES).as_posix(), *look)
        for path in sorted(RULES.rglob("*.py"))
        for look in unrecorded_in(path.read_text(encoding="utf-8"))
    }
    assert found == ALLOWED.keys()


def misused_in(source: str) -> Iterator[int]:
    """The lines that ask whether a test is silent for anything but to pass over what is judged below."""
    tree = ast.parse(source)
    fine = {
        id(call)
        for block in _blocks(tree) for index, node in enumerate(block)
        if isinstance(node, ast.If) and not node.orelse and isinstance(node.body[0], (ast.Continue, ast.Return))
        and not any(_calls(after, "tell") for after in block[index + 1 :])
        for call in _passing_over(node.test)
    }  # fmt: skip
    yield from sorted(call.lineno for call in _calls(tree, "is_silent") if id(call) not in fine)


def _blocks(tree: ast.AST) -> Iterator[list[ast.stmt]]:
    for node in ast.walk(tree):
        yield from (block for name in ("body", "orelse") if isinstance(block := getattr(node, name, None), list))


def _calls(tree: ast.AST, name: str) -> list[ast.Call]:
    return [
        node for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == name
    ]  # fmt: skip


def _passing_over(condition: ast.expr) -> list[ast.Call]:
    """The tests that all hold where the condition does: one alone, several with `and`, or one that may be missing."""
    match condition:
        case ast.BoolOp(ast.And(), values) if all(_passing_over(value) for value in values):
            return [call for value in values for call in _passing_over(value)]
        case ast.BoolOp(ast.Or(), [ast.Compare(_, [ast.Is()], [ast.Constant(None)]), ast.Call() as call]):
            return _passing_over(call)
        case ast.Call(ast.Attribute(_, "is_silent")):
            return [condition]
    return []


def test_rules_ask_whether_a_test_is_silent_only_to_pass_over_it() -> None:
    misused = {
        path.name: lines
        for path in sorted(RULES.rglob("*.py"))
        if (lines := list(misused_in(path.read_text(encoding="utf-8"))))
    }
    assert not misused


@pytest.mark.parametrize(
    ("body", "is_fine"),
    [
        ("if self.is_silent(test): return\n    yield from self.judge(test)", True),
        ("if self.is_silent(one) and self.is_silent(other): return\n    yield from self.judge(one)", True),
        ("if test is None or self.is_silent(test): return\n    yield from self.judge(test)", True),
        ("if self.is_silent(one) or self.is_silent(other): return\n    yield from self.judge(one)", False),
        ("if self.is_silent(test) and fork: return\n    yield from self.judge(test)", False),
        ("if not self.is_silent(test): return\n    yield from self.judge(test)", False),
        ("if self.is_silent(test): return\n    yield self.tell(text)", False),
        ("if self.is_silent(test): yield self.tell(text)", False),
        ("text = one if self.is_silent(test) else other", False),
    ],
)
def test_what_else_it_is_asked_for_is_found(body: str, is_fine: bool) -> None:
    assert set(misused_in(f"def f(self):\n    {body}")) == (set() if is_fine else {2})


def test_what_is_looked_for_is_there_to_be_found() -> None:
    for name, record in UNRECORDED.items():
        assert name in {*dir(record), *getattr(record, "__annotations__", ())}, name


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("def f(test): return test.is_yes", [("f", "is_yes")]),
        ("def f(context): return 'stem' in context.changed", [("f", "changed")]),
        ("def f(self, context):\n    for spot in context.view: yield lambda: spot.fact.held", [("f", "held")]),
        ("class F:\n    def g(self): return self.amount.least", [("F", "least")]),
        ("F = lambda test: test.is_no", [("F", "is_no")]),
        ("F: object = lambda amount: amount.most", [("F", "most")]),
        ("def f(fact): return getattr(fact, 'held')", [("f", "held")]),
        ("def f(facts): return sorted(facts, key=attrgetter('held'))", [("f", "held")]),
        ("def f(fact, amount, test): return fact.value, amount.low, test.yes, context.is_changed('stem')", []),
    ],
)
def test_every_way_of_looking_is_found(source: str, found: list[tuple[str, str]]) -> None:
    assert list(unrecorded_in(source)) == found
