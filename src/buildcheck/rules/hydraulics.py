"""Hydraulics: what an opened brake line costs. Fluids and hose systems are joint rows of the standards."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Fact
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.rules.line_facts import must_be_threaded, passages_facts, size_facts, threaded_for


class Opened(NamedTuple):
    """A hydraulic line that the change opens, with the reason, and what makes it so."""

    name: str
    reason: str
    turns_on: tuple[str, ...]
    facts: tuple[Fact, ...] = ()
    threads: bool = False


def opened_hoses(context: Context) -> list[Opened]:
    """The hydraulic lines that the change opens."""
    if context.before is None:
        return []
    found = []
    for spot in context.view.of_kind(("hose",)):
        name = spot.position
        if spot.start not in context.bike or spot.end not in context.bike:
            continue  # a brake without one of its ends is no brake to bleed
        if name in context.changed:
            found.append(Opened(name, "the hose is new", (name,)))
        elif ends := [end for end in (spot.start, spot.end) if end in context.changed]:
            found.append(Opened(name, f"the {' and the '.join(ends)} at its end changes", (ends[0],)))
        else:
            found += _by_its_way(context, name)
    return found


def _by_its_way(context: Context, name: str) -> Iterator[Opened]:
    """What comes off is enough to open a line, whatever goes on; otherwise it depends on every way there is."""
    threaded, off = threaded_for(context, name), _comes_out_of(context, name)
    if threaded is None and not off:
        return
    reason = "it has to be threaded through an enclosed passage"
    if threaded is None:
        reason = "it has to come out of a part that is taken off"
    facts = () if off else (*passages_facts(context.view), *size_facts(context.view, name))
    yield Opened(name, reason, off[:1] or threaded or (), facts, threads=not off)


def _comes_out_of(context: Context, name: str) -> tuple[str, ...]:
    before = context.before
    route = before.routing.routes.get(name) if before is not None else None
    ways = route.ways if route is not None else ()
    return tuple(way.spot.home for way in ways if way.closed and way.spot.home in context.changed)


@rule(Level.EXTRA, source="common practice: an opened hydraulic brake has air in it", needs_change=True)
def brake_line_opened(self: Rule, context: Context) -> Iterator[Finding]:
    """A hydraulic line is disconnected for the change, so the brake must be bled.

    Air in the line compresses where fluid does not: the lever comes to the bar. Catch the fluid, keep it
    off pads and rotor, and use only the fluid that the brake is made for.

    Cure: bleed the brake after the hose is connected, before the tape goes on.
    """
    for name, reason, turns_on, facts, threads in opened_hoses(context):
        text = f"{context.view.name(name)} is opened ({reason}): bleed this brake."
        yield replace(self.tell(text, (name,), facts, turns_on=turns_on), threads=threads)


@rule(
    Level.EXTRA,
    source="insert and olive are single use: from memory; hose joints: workshop articles",
    needs_change=True,
)
def hose_end_used_up(self: Rule, context: Context) -> Iterator[Finding]:
    """The insert and the olive at a hose end that is opened can be used once only.

    The olive bites into the hose when the nut is tightened and does not seal a second time.

    Cure: a new insert and olive of the hose's own system for each end that is opened.
    """
    for name, _, turns_on, facts, threads in opened_hoses(context):
        system = _system(context.view, name)
        only_far = name not in context.changed and context.bike[name].end in context.changed
        end = "caliper" if only_far and not must_be_threaded(context, name) else "lever"
        text = f"{context.view.name(name)} needs new single-use parts ({system}) at its {end} end."
        yield replace(self.tell(text, (name,), facts, turns_on=turns_on), threads=threads)


def _system(view: View, name: str) -> str:
    return str(view.word(name, "hose_system").value or "of its own hose system, which is not on record")
