"""Hydraulics: what an opened brake line costs. Fluids and hose systems are joint rows of the standards."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.sentences import At, Said, Value, say
from buildcheck.rules.line_facts import must_be_threaded


def opened_hoses(context: Context) -> Iterator[tuple[str, Said]]:
    """The hydraulic lines that the change opens, one by one, each with the reason."""
    if context.before is None:
        return
    for spot in each(context.view.of_kind(("hose",))):
        if spot.start not in context.bike or spot.end not in context.bike:
            continue  # a brake without one of its ends is no brake to bleed
        reason = _why_opened(context, spot.position, (spot.start or "", spot.end or ""))
        if reason is not None:
            yield spot.position, reason


def _why_opened(context: Context, name: str, ends: tuple[str, str]) -> Said | None:
    if context.first_changed(name) is not None:
        return say("the hose is new")
    end = context.first_changed(*ends)
    if end is not None:
        return say("the {end} at its end changes", end=At(end))
    if context.first_changed(*_was_enclosed_by(context, name)) is not None:
        if must_be_threaded(context, name):
            return say("it has to be threaded through an enclosed passage")
        return say("it has to come out of a part that is taken off")
    return say("it has to be threaded through an enclosed passage") if must_be_threaded(context, name) else None


def _was_enclosed_by(context: Context, name: str) -> tuple[str, ...]:
    """The parts through whose closed bores a line ran before."""
    route = context.before.routing.routes.get(name) if context.before is not None else None
    return tuple(way.spot.home for way in (route.ways if route is not None else ()) if way.closed)


@rule(Level.EXTRA, source="common practice: an opened hydraulic brake has air in it", needs_change=True)
def brake_line_opened(self: Rule, context: Context) -> Iterator[Finding]:
    """A hydraulic line is disconnected for the change, so the brake must be bled.

    Air in the line compresses where fluid does not: the lever comes to the bar. Catch the fluid, keep it
    off pads and rotor, and use only the fluid that the brake is made for.

    Cure: bleed the brake after the hose is connected, before the tape goes on.
    """
    for name, reason in opened_hoses(context):
        text = say("{hose} is opened ({reason}): bleed this brake.", hose=context.view.name(name), reason=reason)
        yield self.tell(text, (name,))


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
    for name, _ in opened_hoses(context):
        told: dict[str, Value] = {"hose": context.view.name(name), "system": _system(context.view, name)}
        only_far = not context.is_changed(name) and context.is_changed(context.bike[name].end or "")
        if only_far and not must_be_threaded(context, name):
            text = say("{hose} needs new single-use parts ({system}) at its caliper end.", **told)
        else:
            text = say("{hose} needs new single-use parts ({system}) at its lever end.", **told)
        yield self.tell(text, (name,))


def _system(view: View, name: str) -> Value:
    system = view.word(name, "hose_system")
    return say("of its own hose system, which is not on record") if system.value is None else system.told()
