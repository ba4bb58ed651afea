"""Threading a line through its closed bores: can its ends pass, and which must be cut for it?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from buildcheck.fit.facts import Answer, Test
from buildcheck.fit.lines import Route, other_ways
from buildcheck.fit.passages import Way
from buildcheck.fit.view import View

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
    part = view.bike[route.line.position].part  # lines that differ in their ends alone share a route
    return view.memo.recall(("threading", id(part), id(route)), (part, route), lambda: _thread(view, route))


def _thread(view: View, route: Route) -> Threading:
    """A `no` holds for this way alone: where there is another one to try, nothing is proven."""
    made = _thread_on(view, route)
    if made.test.no and any(not _thread_on(view, other).test.no for other in other_ways(route)):
        return made._replace(test=Test(Answer.UNKNOWN, made.test.facts))
    return made


def _thread_on(view: View, route: Route) -> Threading:
    bores = [way for way in route.ways if way.closed and way.known]
    position = route.line.position
    tried: list[tuple[Test, tuple[str, ...]]] = []
    for cuts in _CUTS:
        tests = [_passes(view, position, bores, point, cuts) for point in range(len(bores) + 1)]
        tried.append((_any_of(tests), cuts))
        if tried[-1][0].yes:
            break
    test, cuts = min(tried, key=lambda pair: (pair[0].no, not pair[0].yes))  # the first of equals
    if test.no:
        test, cuts = _any_of([test for test, _ in tried]), _CUTS[-1]
    return Threading(test, cuts, tried[0][0])


def _any_of(tests: Sequence[Test]) -> Test:
    """The best of these tests; a `no` rests on them all."""
    best = min(tests, key=lambda test: (test.no, not test.yes))
    return Test(Answer.NO, tuple(dict.fromkeys(fact for test in tests for fact in test.facts))) if best.no else best


def _passes(view: View, position: str, bores: list[Way], point: int, cuts: tuple[str, ...]) -> Test:
    result = _YES
    for index, way in enumerate(bores):
        end = "start" if index < point else "end"
        size = view.amount(position, f"{end}_fitting_mm")
        if end in cuts:
            cuttable = view.word(position, f"{end}_cuttable")
            if cuttable.value is not True:
                return Test(Answer.UNKNOWN if cuttable.value is None else Answer.NO, (cuttable, *size.facts))
            size = view.amount(position, "outer_mm")
        result = result.both(way.holds((size,)))
    return result
