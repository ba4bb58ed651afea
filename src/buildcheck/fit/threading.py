"""Threading a line through its closed bores: can its ends pass, and which must be cut for it?"""

from __future__ import annotations

from buildcheck.fit.facts import Answer, Test
from buildcheck.fit.lines import Route
from buildcheck.fit.passages import Way
from buildcheck.fit.view import View

_YES = Test(Answer.YES, ())


def threading(view: View, route: Route) -> tuple[Test, tuple[str, ...]]:
    """Can the line be threaded through its closed bores, and which ends must be cut for it?

    Bores on the lever's side of some point are passed by the lever end, the others by the far end; without
    cutting if any such point will do. Returns the test and the ends (`start`, `end`) that must be cut.
    """
    key = ("threading", route.line.home, id(route.line.part), id(route))
    return view.memo.recall(key, (route.line.part, route), lambda: _thread(view, route))


def _thread(view: View, route: Route) -> tuple[Test, tuple[str, ...]]:
    bores = [way for way in route.ways if way.closed and way.known]
    position = route.line.position
    for cuts in ((), ("start",), ("end",), ("start", "end")):
        tests = [_passes(view, position, bores, point, cuts) for point in range(len(bores) + 1)]
        best = min(tests, key=lambda test: (test.no, not test.yes))
        if not best.no:
            return best, cuts
    return _passes(view, position, bores, 0, ("start", "end")), ("start", "end")


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
