"""Threading a line through its closed bores: can its ends pass, and which must be cut for it?"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from typing import NamedTuple

from buildcheck.fit.facts import Answer, Test, one_of
from buildcheck.fit.line_graph import fact_keys
from buildcheck.fit.lines import Route, other_ways
from buildcheck.fit.passages import Way, ways_token
from buildcheck.fit.turning import OTHER, turning
from buildcheck.fit.view import Same, View
from buildcheck.model.bikes import Fitted

_YES = Test(Answer.YES, ())
_CUTS: tuple[tuple[str, ...], ...] = ((), ("start",), ("end",), ("start", "end"))


class Threading(NamedTuple):
    """Can a line be threaded, and which ends (`start`, `end`) are cut for it? `uncut` is the test without cutting."""

    test: Test
    cuts: tuple[str, ...]
    uncut: Test


def threading(view: View, route: Route) -> Threading:
    """Can the line be threaded through its closed bores, and which ends are cut for it?

    Bores on the lever's side of some point are passed by the lever end, the others by the far end; without
    cutting if any such point will do. The fewest cuts that certainly do are taken, then those that may do.
    """
    line = view.bike[route.line.position]  # lines that differ in their ends alone share a route
    devices = _turned(view, line)[1]
    return view.memo.recall(("threading", line.token, devices, Same(route)), lambda: _thread(view, route))


def _thread(view: View, route: Route) -> Threading:
    """A `no` holds for this way alone: where there is another one to try, nothing is proven."""
    ends = _Ends(view, route.line.position)
    made = _thread_on(ends, route.ways)
    if made.test.is_no and any(not _thread_on(ends, ways).test.is_no for ways in other_ways(route)):
        return made._replace(test=Test(Answer.UNKNOWN, made.test.facts))
    return made


def _thread_on(ends: _Ends, ways: Iterable[Way]) -> Threading:
    bores = [way for way in ways if way.closed and way.known]
    tried: list[tuple[Test, tuple[str, ...]]] = []
    for cuts in _CUTS:
        tests = [ends.all_pass(bores, point, cuts) for point in range(len(bores) + 1)]
        tried.append((_any_of(tests), cuts))
        if tried[-1][0].is_yes:
            break
    test, cuts = min(tried, key=lambda pair: (pair[0].is_no, not pair[0].is_yes))  # the first of equals
    if test.is_no:
        test, cuts = _any_of([test for test, _ in tried]), _CUTS[-1]
    return Threading(test, cuts, tried[0][0])


def _any_of(tests: Sequence[Test]) -> Test:
    """The best of these tests; a `no` rests on them all."""
    best = min(tests, key=lambda test: (test.is_no, not test.is_yes))
    return Test(Answer.NO, tuple(dict.fromkeys(fact for test in tests for fact in test.facts))) if best.is_no else best


# All that is asked of a line here.
_AT_START, _AT_END = ("start_fitting_mm", "start_cuttable"), ("end_fitting_mm", "end_cuttable")
_ASKED = ("outer_mm", *_AT_START, *_AT_END)


class _Ends:
    """The ends of one line, as bores see them; what was asked before is known."""

    def __init__(self, view: View, line: str) -> None:
        self.view, self.line = view, line
        self.turned, devices = _turned(view, view.bike[line])
        key = ("ends", line, fact_keys(view, view.bike[line], _ASKED), devices)
        self.key = view.memo.recall(key, object)

    def all_pass(self, bores: Sequence[Way], point: int, cuts: tuple[str, ...]) -> Test:
        """Do the ends pass all these bores, those before the point by the start, the others by the far end?"""
        result = _YES
        for index, way in enumerate(bores):
            end = "start" if index < point else "end"
            test, can_be_cut = self._passes(way, end, end in cuts)
            if not can_be_cut:
                return test
            result = result.both(test)
        return result

    def _passes(self, way: Way, end: str, cut: bool) -> tuple[Test, bool]:
        """Does an end pass, and is it sure that it can be cut, if it has to be?"""
        key = ("passes", self.key, way.passage.id, ways_token(self.view, way.spot), end, cut)
        return self.view.memo.recall(key, lambda: self._passes_anew(way, end, cut))

    def _passes_anew(self, way: Way, end: str, cut: bool) -> tuple[Test, bool]:
        ends = self._may_be(end)
        size = one_of(*(self.view.amount(self.line, f"{each}_fitting_mm") for each in ends))
        if cut:
            cuttable = [self.view.word(self.line, f"{each}_cuttable") for each in ends]
            held = {fact.held for fact in cuttable}
            if held != {True}:
                answer = Answer.NO if held == {False} else Answer.UNKNOWN
                return Test(answer, (*cuttable, *size.facts)), False
            size = self.view.amount(self.line, "outer_mm")
        return way.holds((size if self.turned is None else size.resting_on(self.turned),)), True

    def _may_be(self, end: str) -> tuple[str, ...]:
        """The ends of the line that may come to lie at its start, or at its far end: one, unless nobody knows."""
        if self.turned is None or self.turned.is_no:
            return (end,)
        return (OTHER[end],) if self.turned.is_yes else (end, OTHER[end])


def _turned(view: View, line: Fitted) -> tuple[Test | None, Hashable]:
    """Is a wire run the other way round, and what that depends on; nothing where its ends are alike."""
    if line.part.kind != "wire" or fact_keys(view, line, _AT_START) == fact_keys(view, line, _AT_END):
        return None, ()
    devices = (view.bike.get(end) for end in (line.start, line.end))
    plugs = fact_keys(view, line, ("start_plug", "end_plug"))
    told = tuple((spot.position, spot.home, spot.token) for spot in devices if spot is not None)
    return turning(view, line).is_turned, (line.start, line.end, *plugs, *told)
