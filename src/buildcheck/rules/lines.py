"""Lines: a continuous way, bores, bends, ends that lead somewhere."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.causes import causes_of
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Answer, Test
from buildcheck.fit.lines import LINE_KINDS, Route, bore_test, shared_bores
from buildcheck.fit.passages import Way
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.rules.line_causes import cut_off_causes, way_cause
from buildcheck.rules.line_facts import all_routes, passages_facts, size_facts


@rule(
    Level.BLOCKS,
    source="common practice: each line needs a continuous way from lever to caliper or derailleur",
    ways_help=True,
)
def line_has_no_way(self: Rule, context: Context) -> Iterator[Finding]:
    """A line finds no continuous way, because a part on its path offers none.

    Each hose, housing and wire must run from its lever to its far end without leaving the bike's passages:
    bar, stem, bearing cover, upper bearing, head tube, frame or fork. Where one part has no way through,
    the line stops there, however well the others suit.

    Cure: the part named first must give way to one that lets lines through.
    """
    stopped: dict[str, list[Route]] = {}
    for _, route in sorted(all_routes(context).items()):
        for step in route.steps:
            if step.gap is not None:
                routes = stopped.setdefault(step.gap, [])
                if route not in routes:
                    routes.append(route)
    view = context.view
    for gap, routes in sorted(stopped.items()):
        lines = tuple(route.line.position for route in routes)
        tests = [step.bore for route in routes for step in route.steps if step.gap == gap]
        worst = next((test for test in tests if test.no), tests[0])
        facts = (*passages_facts(view), *(fact for line in lines for fact in size_facts(view, line)))
        part = view.bike[gap].home
        yield from self.judge(
            worst,
            (part, *lines),
            fault=f"{view.name(part)} has no way through for {_listed(lines)}.",
            ask=f"whether {view.name(part)} has a way through for {_listed(lines)}",
            because=lambda: tuple(way_cause(view, route) for route in routes),  # noqa: B023
            also=facts,
        )
    for _, route in sorted(context.routing.routes.items()):
        for step in route.steps:
            if step.way is not None and not step.carried:
                yield from _refused(self, view, step.way, route, step.bore)
    for line in context.routing.disconnected:
        text = f"Nothing on this bike leads {line.position} from {line.start} to {line.end}."
        facts = (*passages_facts(view), *size_facts(view, line.position))
        yield self.tell(text, (line.position,), facts, cut_off_causes(view, line))


def _refused(self: Rule, view: View, way: Way, route: Route, test: Test) -> Iterator[Finding]:
    name = route.line.position
    part, takes, kind = view.name(way.spot.home), " and ".join(way.passage.carries), view.bike[name].part.kind
    fault = f"{part}: the passage {way.passage.id} takes {takes or 'nothing'} only, and {view.name(name)} is a {kind}."
    also = (*passages_facts(view), *size_facts(view, name))
    because = lambda: (way_cause(view, route),)  # noqa: E731
    yield from self.judge(test, (way.spot.home, name), fault=fault, ask="", because=because, also=also)


def _listed(lines: tuple[str, ...]) -> str:
    words = [line.replace("-", " ") for line in lines]
    return ", ".join(words[:-1]) + f" and {words[-1]}" if len(words) > 1 else words[0]


@rule(
    Level.BLOCKS,
    source="geometry: circles packed in the bore (Wikipedia, Circle packing in a circle; see trade.packing)",
)
def bore_too_small(self: Rule, context: Context) -> Iterator[Finding]:
    """A passage is too narrow for the lines that have to share it.

    All lines in one bore lie side by side, so the test is whether circles of their diameters can be packed
    into its section. It answers yes only with a layout in hand and no only with a proof; between the two
    nobody can tell without trying, and the finding says so.

    Cure: thinner lines, a part with a wider bore, or another way for one of them.
    """
    view = context.view
    routes = context.routing.routes
    for name, route in sorted(routes.items()):
        for step in route.steps:
            if step.way is not None and step.gap is None and step.carried:
                yield from _bore(self, context, step.way, (name,), step.bore)
    for way, lines in shared_bores(routes):
        names = tuple(line.position for line in lines)
        test = bore_test(view, way, lines)
        if test.no and any(routes[name].other_layouts_unknown for name in names):
            test = Test(Answer.UNKNOWN, test.facts)
        if all(bore_test(view, way, [line]).yes for line in lines):
            yield from _bore(self, context, way, names, test)


def _bore(self: Rule, context: Context, way: Way, names: tuple[str, ...], test: Test) -> Iterator[Finding]:
    if test.yes:
        return
    view, routes = context.view, context.routing.routes
    bore = way.passage.bore
    sizes = {
        "round": f"{bore.diameter_mm} mm",
        "slot": f"{bore.width_mm} x {bore.height_mm} mm",
        "irregular": f"{bore.inscribed_mm} mm rod",
    }
    outers = " + ".join(view.amount(name, "outer_mm").shown("mm") for name in names)
    part, lines = view.name(way.spot.home), f"{_listed(names)} ({outers})"
    pass_, fail, more = ("passes", "does not pass", "") if len(names) == 1 else ("pass", "do not pass", " together")
    at = f"the {way.passage.id} bore"
    yield from self.judge(
        test,
        (way.spot.home, *names),
        fault=f"{part}: {lines} {fail} {at} ({sizes.get(bore.shape, 'open')}).",
        ask=f"whether {lines} {pass_} {at} of {part}{more}",
        because=lambda: tuple(way_cause(view, routes[name]) for name in names) + causes_of(test.facts),
        also=(*passages_facts(view), *(fact for name in names for fact in size_facts(view, name))),
    )


@rule(Level.CAUTION, source="typical bend radii, from memory (low confidence), so never more than a caution")
def bend_too_tight(self: Rule, context: Context) -> Iterator[Finding]:
    """A passage bends a line tighter than the line's record allows.

    A kinked hose brakes badly or not at all, a tight housing shifts badly. Bend radii are seldom
    published, and the usual figures are from memory, so this warns and does not block.

    Cure: try it with a piece of the same line before anything is cut.
    """
    view = context.view
    for name, route in sorted(context.routing.routes.items()):
        for step in route.steps:
            if step.way is not None and step.bend.no:
                part, radius = step.way.spot.home, step.way.passage.bend_radius_mm
                least = view.amount(name, "bend_radius_min_mm").shown("mm")
                fault = f"{view.name(part)} bends {name} to a radius of {radius} mm; it takes {least}."
                yield from self.judge(step.bend, (part, name), fault=fault, also=passages_facts(view))


@rule(Level.BLOCKS, source="common practice, no source")
def line_end_missing(self: Rule, context: Context) -> Iterator[Finding]:
    """A line leads to a position that is empty, or does not say where it leads.

    A line works only between two things. Without both ends neither its way nor its length can be looked at.

    Cure: name the line's ends in the bike file, fit what belongs there, or take the line off.
    """
    view = context.view
    for line in view.of_kind(LINE_KINDS):
        for end in (line.start, line.end):
            if end is None:
                text = f"{view.name(line.position)} does not say where it runs from and to."
                yield self.tell(text, (line.position,))
                break
            if end not in view.bike:
                text = f"{view.name(line.position)} leads to {end}, and nothing is there."
                yield self.tell(text, (line.position, end))
