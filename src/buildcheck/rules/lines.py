"""Lines: a continuous way, bores, bends, ends that lead somewhere."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from buildcheck.fit.causes import causes_of
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Answer, Fact, Test
from buildcheck.fit.lines import LINE_KINDS, Route, bore_test, shared_bores
from buildcheck.fit.passages import Way
from buildcheck.fit.places import mount_facts
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import At, Kind, Several, Value, say
from buildcheck.rules.line_causes import cut_off_causes, way_cause
from buildcheck.rules.line_facts import all_routes, each_line, laid_lines, read_ways


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="common practice: each line needs a continuous way from lever to caliper or derailleur",
)
def line_has_no_way(self: Rule, context: Context) -> Iterator[Finding]:
    """A line finds no continuous way, because a part on its path offers none.

    Each hose, housing and wire must run from its lever to its far end without leaving the bike's passages:
    bar, stem, bearing cover, upper bearing, head tube, frame or fork. Where one part has no way through,
    the line stops there, however well the others suit.

    Cure: the part named first must give way to one that lets lines through.
    """
    view = context.view
    for gap, routes in each(view.layout.recall("stopped-lines", lambda: sorted(_stopped(context).items()))):
        lines = tuple(route.line.position for route in routes)
        tests = [step.bore for route in routes for step in route.steps if step.gap == gap]
        worst = next((test for test in tests if test.is_no), tests[0])
        read_ways(view, lines)
        part = view.bike[gap].home
        told: dict[str, Value] = {"part": view.name(part), "lines": _listed(lines)}
        yield from self.judge(
            worst,
            (part, *lines),
            fault=say("{part} has no way through for {lines}.", **told),
            ask=say("whether {part} has a way through for {lines}", **told),
            because=lambda: tuple(way_cause(view, route) for route in routes),  # noqa: B023
        )
    for _, route in laid_lines(context):
        for step in route.steps:
            if step.way is not None and not step.carried:
                yield from _refused(self, view, step.way, route, step.bore)
    cut_off = {line.position: line for line in context.routing.disconnected}
    for name in each_line(view, cut_off):
        line = cut_off[name]
        ends: dict[str, Value] = {"line": At(line.position), "start": At(line.start or ""), "end": At(line.end or "")}
        text = say("Nothing on this bike leads {line} from {start} to {end}.", **ends)
        doubt = _where_it_hangs(view, line)
        if doubt:
            ask = say("whether anything leads {line} from {start} to {end}", **ends)
            yield from self.judge(Test(Answer.UNKNOWN, doubt), (line.position,), fault=text, ask=ask)
            continue
        yield self.tell(text, (line.position,), because=lambda: cut_off_causes(view, line))  # noqa: B023


def _where_it_hangs(view: View, line: Fitted) -> tuple[Fact, ...]:
    """How the things at the ends of a line are mounted, where nobody knows: then the line may lead elsewhere."""
    hang = view.standards.kinds_that_hang("accessory", "wiring")
    ends = (view.bike.get(end) for end in (line.start, line.end))
    open_ends = (spot for spot in ends if spot is not None and spot.part.kind in hang and not spot.part.lists("mounts"))
    return tuple(fact for spot in open_ends for fact in mount_facts(spot))


def _stopped(context: Context) -> dict[str, list[Route]]:
    """The positions at which lines find no way on, each with the lines that it stops."""
    stopped: dict[str, list[Route]] = {}
    for _, route in sorted(all_routes(context).items()):
        for gap in dict.fromkeys(step.gap for step in route.steps if step.gap is not None):
            stopped.setdefault(gap, []).append(route)
    return stopped


def _refused(self: Rule, view: View, way: Way, route: Route, test: Test) -> Iterator[Finding]:
    name = route.line.position
    told: dict[str, Value] = {
        "part": view.name(way.spot.home), "passage": way.passage.id, "line": view.name(name),
        "takes": Several(tuple(map(Kind, way.passage.carries))), "kind": Kind(view.bike[name].part.kind),
    }  # fmt: skip
    if way.passage.carries:
        fault = say("{part}: the passage {passage} takes only: {takes}; {line} is none ({kind}).", **told)
    else:
        fault = say("{part}: the passage {passage} takes no line at all, and {line} runs there.", **told)
    yield from self.judge(test, (way.spot.home, name), fault=fault, because=lambda: (way_cause(view, route),))


def _listed(lines: Iterable[str]) -> Several:
    return Several(tuple(map(At, lines)))


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
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
    for name, route in laid_lines(context):
        for step in route.steps:
            if step.way is None or self.is_silent(step.bore):
                continue
            if step.gap is None and step.carried:
                yield from _bore(self, context, step.way, (name,), step.bore)
    routes = context.routing.routes
    for way, lines in each(view.layout.recall("shared-bores", lambda: shared_bores(routes))):
        test = bore_test(view, way, lines)
        if self.is_silent(test):
            continue
        names = tuple(line.position for line in lines)
        read_ways(view, names)
        if test.is_no and any(routes[name].other_layouts_unknown for name in names):
            test = Test(Answer.UNKNOWN, test.facts)
        if all(bore_test(view, way, [line]).is_yes for line in lines):
            yield from _bore(self, context, way, names, test)


def _bore(self: Rule, context: Context, way: Way, names: tuple[str, ...], test: Test) -> Iterator[Finding]:
    view, routes = context.view, context.routing.routes
    thick = (view.amount(name, "outer_mm").told("mm") for name in names)
    told: dict[str, Value] = {
        "part": view.name(way.spot.home), "lines": _listed(names), "thick": Several(tuple(thick), " + "),
        "passage": way.passage.id, "section": _section(way),
    }  # fmt: skip
    if len(names) == 1:
        fault = say("{part}: {lines} ({thick}) does not pass the {passage} bore ({section}).", **told)
        ask = say("whether {lines} ({thick}) passes the {passage} bore of {part}", **told)
    else:
        fault = say("{part}: {lines} ({thick}) do not pass the {passage} bore ({section}).", **told)
        ask = say("whether {lines} ({thick}) pass the {passage} bore of {part} together", **told)
    yield from self.judge(
        test,
        (way.spot.home, *names),
        fault=fault,
        ask=ask,
        because=lambda: tuple(way_cause(view, routes[name]) for name in names) + causes_of(test.facts),
    )


def _section(way: Way) -> Value:
    bore = way.passage.bore
    match bore.shape:
        case "round":
            return way.size("diameter_mm").told("mm")
        case "slot":
            return say("{width} x {height}", width=way.size("width_mm").bare(), height=way.size("height_mm").told("mm"))
        case "irregular":
            return say("{rod} rod", rod=way.size("inscribed_mm").told("mm"))
        case _:
            return say("open")


@rule(
    Level.CAUTION,
    use_proves=Proof.NOTHING,
    source="typical bend radii, from memory (low confidence), so never more than a caution",
    rider=True,
)
def bend_too_tight(self: Rule, context: Context) -> Iterator[Finding]:
    """A passage bends a line tighter than the line's record allows.

    A kinked hose brakes badly or not at all, a tight housing shifts badly. Bend radii are seldom
    published, and the usual figures are from memory, so this warns and does not block.

    Cure: try it with a piece of the same line before anything is cut.
    """
    view = context.view
    for name, route in laid_lines(context):
        for step in route.steps:
            if step.way is None or self.is_silent(step.bend):
                continue
            part = step.way.spot.home
            fault = say(
                "{part} bends {line} to a radius of {radius}; it takes {least}.",
                part=view.name(part), line=At(name), radius=step.way.bend_radius().told("mm"),
                least=view.amount(name, "bend_radius_min_mm").told("mm"),
            )  # fmt: skip
            yield from self.judge(step.bend, (part, name), fault=fault)


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def line_end_missing(self: Rule, context: Context) -> Iterator[Finding]:
    """A line leads to a position that is empty, or does not say where it leads.

    A line works only between two things. Without both ends neither its way nor its length can be looked at.

    Cure: name the line's ends in the bike file, fit what belongs there, or take the line off.
    """
    view = context.view
    for line in each(view.of_kind(LINE_KINDS)):
        if line.start is None or line.end is None:
            text = say("{line} does not say where it runs from and to.", line=view.name(line.position))
            level = Level.UNKNOWN if _may_have_ends(context, line) else None
            yield self.tell(text, (line.position,), level=level)
            continue
        for end in (line.start, line.end):
            if end not in view.bike:
                text = say("{line} leads to {end}, and nothing is there.", line=view.name(line.position), end=At(end))
                yield self.tell(text, (line.position, end))


def _may_have_ends(context: Context, line: Fitted) -> bool:
    """Could it lead somewhere that nobody told: is it a line without a record, or did nobody tell of one there?"""
    before = context.bike if context.before is None else context.before.bike
    return not line.part.has_record() or line.position in before.untold
