"""Lines: a continuous way, bores, bends, fittings, lengths."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Answer, Fact, Test
from buildcheck.fit.lines import LINE_KINDS, Route, bore_test, other_ways, shared_bores
from buildcheck.fit.passages import PassageGraph, Way
from buildcheck.fit.places import device_opening, mount_facts, place_facts
from buildcheck.fit.threading import threading
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level, Origin
from buildcheck.rules.bar_geometry import stem_stretch

# A hose loses up to about this much for each end that is cut off and made new: from memory, so it never blocks.
CUT_LOSS_MM = 15.0
# Spare length up to here hides in a loop; more has nowhere to go inside a frame: our choice.
SPARE_ENCLOSED_MM, SPARE_OPEN_MM = 60.0, 150.0


def passages_facts(view: View) -> tuple[Fact, ...]:
    """What is known of the ways in every part that could offer one."""
    return view.local.recall("passages-facts", None, lambda: _passages_facts(view))


def _passages_facts(view: View) -> tuple[Fact, ...]:
    return tuple(
        view.memo.recall(("passages-fact", spot.home, id(spot.part)), spot.part, lambda: _passages_fact(spot))  # noqa: B023
        for spot in view.bike.main_spots() if spot.part.passages is not None
    )  # fmt: skip


def _passages_fact(spot: Fitted) -> Fact:
    names = tuple(passage.id for passage in spot.part.passages or ()) or ("none",)
    return Fact(spot.home, "passages", names, "", Origin.STATED, spot.where.get("passages") or spot.where.get("", ""))


def size_facts(view: View, line: str) -> tuple[Fact, ...]:
    """What is known of the line's own thickness and bend, and of where the things at its ends sit."""
    spot = view.bike[line]
    ends = (view.bike.get(end) for end in (spot.start, spot.end))
    seats = (fact for end in ends if end is not None and end.part.mounts for fact in _seat_facts(view, end))
    return (view.word(line, "outer_mm"), view.word(line, "bend_radius_min_mm"), *seats)


def _seat_facts(view: View, rider: Fitted) -> Iterator[Fact]:
    """How a thing is mounted and on what; for one without a place, all that it could sit on or that sits there."""
    carrier = view.bike.get(rider.on)
    if carrier is not None and device_opening(view, rider.position) is not None:
        yield from (*mount_facts(rider), *place_facts(carrier))
        return
    families = {mount.type.partition(".")[0] for mount in rider.part.mounts}
    for spot in view.bike.main_spots():
        if any(place.type.partition(".")[0] in families for place in spot.part.places):
            yield from place_facts(spot)
        if any(mount.type.partition(".")[0] in families for mount in spot.part.mounts):
            yield from mount_facts(spot)


@rule(Level.BLOCKS, source="common practice: each line needs a continuous way from lever to caliper or derailleur")
def line_has_no_way(self: Rule, context: Context) -> Iterator[Finding]:
    """A line finds no continuous way, because a part on its path offers none.

    Each hose, housing and wire must run from its lever to its far end without leaving the bike's passages:
    bar, stem, bearing cover, upper bearing, head tube, frame or fork. Where one part has no way through,
    the line stops there, however well the others suit.

    Cure: the part named first must give way to one that lets lines through.
    """
    stopped: dict[str, list[Route]] = {}
    for _, route in sorted(_all_routes(context).items()):
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
            because=tuple(Cause(_told(view, route)) for route in routes),
            also=facts,
        )
    for name, route in sorted(context.routing.routes.items()):
        for step in route.steps:
            if step.way is not None and not step.carried:
                yield from _refused(self, view, step.way, name, step.bore)
    for line in context.routing.disconnected:
        text = f"Nothing on this bike leads {line.position} from {line.start} to {line.end}."
        yield self.tell(text, (line.position,), (*passages_facts(view), *size_facts(view, line.position)))


def _refused(self: Rule, view: View, way: Way, name: str, test: Test) -> Iterator[Finding]:
    part, takes, kind = view.name(way.spot.home), " and ".join(way.passage.carries), view.bike[name].part.kind
    fault = f"{part}: the passage {way.passage.id} takes {takes or 'nothing'} only, and {view.name(name)} is a {kind}."
    also = (*passages_facts(view), *size_facts(view, name))
    yield from self.judge(test, (way.spot.home, name), fault=fault, ask="", also=also)


def _all_routes(context: Context) -> dict[str, Route]:
    """The routes of all lines; a line whose end has no place yet by its shortest possible one."""
    return context.view.local.recall("all-routes", None, lambda: _routes_of(context))


def _routes_of(context: Context) -> dict[str, Route]:
    routes = dict(context.routing.routes)
    for name, choices in context.routing.homeless.items():
        if choices:
            routes[name] = min(
                choices, key=lambda route: (sum(step.gap is not None for step in route.steps), route.length.low)
            )
    return routes


def _told(view: View, route: Route) -> str:
    """The way of a line in words, with the gaps marked."""
    names: list[str] = []
    for step in route.steps:
        name = view.bike[step.gap].home if step.gap is not None else step.way.spot.home if step.way else ""
        label = name if step.gap is None else f"[{name}: no way]" if step.bore.no else f"[{name}: not known]"
        if not names or names[-1] != label:
            names.append(label)
    return f"{route.line.position}: {' > '.join([route.start, *names, route.end])}"


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
                yield from _bore(self, view, step.way, (name,), step.bore)
    for way, lines in shared_bores(routes):
        names = tuple(line.position for line in lines)
        test = bore_test(view, way, lines)
        if test.no and any(routes[name].other_layouts_unknown for name in names):
            test = Test(Answer.UNKNOWN, test.facts)
        if all(bore_test(view, way, [line]).yes for line in lines):
            yield from _bore(self, view, way, names, test)


def _bore(self: Rule, view: View, way: Way, names: tuple[str, ...], test: Test) -> Iterator[Finding]:
    bore = way.passage.bore
    sizes = {
        "round": f"{bore.diameter_mm} mm",
        "slot": f"{bore.width_mm} x {bore.height_mm} mm",
        "irregular": f"{bore.inscribed_mm} mm rod",
    }
    outers = " + ".join(view.amount(name, "outer_mm").shown("mm") for name in names)
    part, lines = view.name(way.spot.home), f"{_listed(names)} ({outers})"
    yield from self.judge(
        test,
        (way.spot.home, *names),
        fault=f"{part}: {lines} do not pass the {way.passage.id} bore ({sizes.get(bore.shape, 'open')}).",
        ask=f"whether {lines} pass the {way.passage.id} bore of {part} together",
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


def must_be_threaded(context: Context, name: str) -> bool:
    """Does the change mean that this line goes through a closed bore anew?"""
    route = _all_routes(context).get(name)
    if route is None or context.before is None:
        return False
    new_line = name in context.changed
    return any(
        way.closed and (new_line or way.spot.home in context.changed or not _was_in(context, name, way))
        for way in route.ways
    )


def _was_in(context: Context, name: str, way: Way) -> bool:
    old = context.before.routing.routes.get(name) if context.before is not None else None
    return old is not None and any(way.id == other.id for other in old.ways)


@rule(
    Level.BLOCKS,
    Level.EXTRA,
    Level.CAUTION,
    source="common practice: compression nuts seldom pass a bar's port, so the hose end is cut",
    needs_change=True,
)
def line_end_too_large(self: Rule, context: Context) -> Iterator[Finding]:
    """The fitting at a line's end does not pass a bore that the line must be threaded through.

    A hose end that can be cut passes wherever the bare hose does, at the price of a new end; a moulded
    plug cannot be cut.

    Cure: cut the end and make it new where that is possible; otherwise a line with a smaller end.
    """
    view = context.view
    for name, route in sorted(_all_routes(context).items()):
        if not must_be_threaded(context, name):
            continue
        test, cuts, uncut = threading(view, route)
        bores = ", ".join(way.id for way in route.ways if way.closed)
        yield from self.judge(
            test, (name,),
            fault=f"Neither end of {view.name(name)} passes the bores on its way: {bores}.",
            ask=f"whether an end of {view.name(name)} passes the bores on its way",
            also=(*passages_facts(view), *size_facts(view, name)),
        )  # fmt: skip
        if test.yes and cuts and route.line.part.kind != "wire":
            ends = " and ".join({"start": "lever", "end": "far"}[cut] for cut in cuts)
            must, level = ("must", Level.EXTRA) if uncut.no else ("may have to", Level.CAUTION)
            text = f"The {ends} end of {view.name(name)} {must} be cut to pass the bores on its way."
            yield self.tell(text, (name,), (*uncut.facts, *test.facts, *passages_facts(view)), level=level)


@rule(
    Level.BLOCKS,
    source="arithmetic over the passages; slack so that the bars turn fully (workshop articles)",
)
def line_too_short(self: Rule, context: Context) -> Iterator[Finding]:
    """A line is shorter than its way with the slack that steering needs.

    The needed length is the sum over the passages on the way, with the extra that turning the bars to full
    lock asks for. A hose that pulls tight at full lock steers the bike or tears off.

    Cure: a longer line. A hose can be shortened but not lengthened.
    """
    for name, needed, route in _needed_lengths(context):
        view = context.view
        length = view.amount(name, "length_mm")
        extra = ""
        undecided = not length.at_least(needed).no
        if undecided and (name in context.routing.homeless or route.blocked):
            continue  # told with the places that its end could go to, or with the part that stands in its way
        if name in context.routing.homeless:
            extra = " wherever the thing at its end comes to sit"
        took = f", {length.shown('mm')} for {needed.shown('mm')}" if length.known and needed.known else ""
        yield from self.judge(
            length.at_least(needed), (name,),
            fault=f"{view.name(name)} is {length.shown('mm')} long; its way takes {needed.shown('mm')}{extra}.",
            ask=f"whether {view.name(name)} is long enough for its way{took}",
            also=(*passages_facts(view), *size_facts(view, name)),
        )  # fmt: skip


def _needed_lengths(context: Context) -> Iterator[tuple[str, Amount, Route]]:
    """Each line with the length that its way takes. With gaps in it, that is a lower bound."""
    view = context.view
    stretch = stem_stretch(context)
    for name, route in sorted(context.routing.routes.items()):
        needed = route.needed
        if stretch.facts:
            needed = needed + _stretch_of(view, route, stretch)
        if must_be_threaded(context, name) and name not in context.changed and _is_hose(view, name):
            needed = needed + Amount(0.0, CUT_LOSS_MM * len(threading(view, route).cuts))
        yield name, needed, route
    for name, choices in sorted(context.routing.homeless.items()):
        if choices:
            shortest = min(choices, key=lambda route: route.needed.low)
            yield name, Amount(shortest.needed.low, float("inf"), shortest.needed.facts), shortest


def _stretch_of(view: View, route: Route, stretch: Amount) -> Amount:
    """How much of the stretch this line takes part in; where another way is open, it need not take a longer one."""
    passages = route.graph.passages
    if not view.memo.recall(("any-in-the-open", id(passages)), passages, lambda: _any_in_the_open(passages)):
        return Amount(0.0, 0.0)
    inside = not any(map(_in_the_open, route.ways))
    low = stretch.low
    if inside == (low < 0):  # another way could make it less
        make = lambda: any(any(map(_in_the_open, other.ways)) is inside for other in other_ways(route))  # noqa: E731
        low = low if view.memo.recall(("could-be-less", id(route)), route, make) is inside else 0.0
    elif inside:
        low = 0.0
    return Amount(low, 0.0 if inside else stretch.high, stretch.facts)


def _any_in_the_open(passages: PassageGraph[str]) -> bool:
    return any(_in_the_open(data["way"]) for _, _, data in passages.edges(data=True) if "way" in data)


def _in_the_open(way: Way) -> bool:
    """Does this passage run through the air in front of the head tube, from the bar to frame or fork?"""
    return (
        not way.closed
        and way.spot.position in ("stem", "handlebar")
        and "head-front" in (way.passage.start, way.passage.end)
    )


def _is_hose(view: View, name: str) -> bool:
    return bool(view.bike[name].part.kind == "hose")


@rule(Level.EXTRA, source="our choice of what is too much: 60 mm enclosed, 150 mm in the open", needs_change=True)
def line_too_long(self: Rule, context: Context) -> Iterator[Finding]:
    """A line is so much longer than its new way that the rest has nowhere to go.

    Inside a frame or a bar spare length rattles and kinks. A hose or housing is cut to length, a wire is
    tied in a loop or exchanged for a shorter one.

    Cure: cut hoses and housings to length when they are fitted, and only after full lock has been tried.
    """
    view = context.view
    for name, needed, route in _needed_lengths(context):
        moved = name in context.changed or must_be_threaded(context, name)
        if not moved or route.blocked or name in context.routing.homeless or route.line.part.kind == "wire":
            continue
        spare = view.amount(name, "length_mm") - needed
        limit = SPARE_ENCLOSED_MM if any(way.closed for way in route.ways) else SPARE_OPEN_MM
        test = spare.at_most(limit)
        if test.no:
            fault = f"{view.name(name)} is {spare.shown('mm')} longer than its way takes; cut it to length."
            yield from self.judge(test, (name,), fault=fault, ask="", also=passages_facts(view))


@rule(Level.NOTE, source="arithmetic over the passages", needs_change=True)
def line_can_stay(self: Rule, context: Context) -> Iterator[Finding]:
    """A line that the change touches is long enough for its new way and is used again.

    The counterpart of line-too-short and line-too-long, so that the order for parts is complete: every
    line that moves is named as reused, shortened or replaced.

    Cure: none needed.
    """
    view = context.view
    for name, needed, route in _needed_lengths(context):
        if name in context.changed or route.blocked or not must_be_threaded(context, name):
            continue
        length = view.amount(name, "length_mm")
        test = length.at_least(needed)
        if test.yes:
            message = f"{view.name(name)} ({length.shown('mm')}) reaches: its new way takes {needed.shown('mm')}."
            yield self.tell(message, (name,), test.facts)


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
