"""What a rule is given: the bike now, the bike before the change, and their graphs, each built once."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

from buildcheck.fit import tape
from buildcheck.fit.joints import Joint, find_joints
from buildcheck.fit.lines import Routing, find_routes
from buildcheck.fit.support import Support, build_support
from buildcheck.fit.tape import PositionAsked
from buildcheck.fit.view import View
from buildcheck.fit.wiring import Wiring, build_wiring
from buildcheck.model.bikes import Fitted


class Build:
    """One bike with its graphs."""

    def __init__(self, view: View) -> None:
        self.view = view
        self.bike = view.bike

    @cached_property
    def joints(self) -> tuple[Joint, ...]:
        """Where two positions meet."""
        with tape.recording(None):
            return find_joints(self.view)

    @cached_property
    def routing(self) -> Routing:
        """The way of every line. What it rests on is told with each line: `line_facts`."""
        with tape.recording(None):
            return self.view.layout.recall("routing", lambda: find_routes(self.view))

    @cached_property
    def wiring(self) -> Wiring:
        """Devices and wires."""
        return build_wiring(self.view)

    @cached_property
    def support(self) -> Support:
        """What is mounted on what."""
        return build_support(self.view)


class Context(Build):
    """The bike that rules look at. `before` is None when a bike is vetted as it stands."""

    def __init__(self, view: View, before: Build | None = None) -> None:
        super().__init__(view)
        self.before = before

    @cached_property
    def changed(self) -> frozenset[str]:
        """Positions whose part is another one, is new, is put in new, or is gone."""
        if self.before is None:
            return frozenset()
        old, new = self.before.bike.fitted, self.bike.fitted
        return frozenset(
            name
            for name in old.keys() | new.keys()
            if name not in old or name not in new or new[name].renewed or old[name].part.id != new[name].part.id
        )

    @cached_property
    def touched(self) -> frozenset[str]:
        """The changed positions, and those whose part now stands, sits or ends somewhere else."""
        if self.before is None:
            return frozenset()
        old = self.before.bike.fitted
        moved = (name for name, spot in self.bike.fitted.items() if name in old and _lies(spot) != _lies(old[name]))
        return self.changed.union(moved)


    def is_changed(self, position: str) -> bool:
        """Is the part at a position another one than before, new, or gone?"""
        tape.asked(PositionAsked(position))
        return position in self.changed

    def is_touched(self, position: str) -> bool:
        """Is it changed, or does it stand, sit or end somewhere else?"""
        tape.asked(PositionAsked(position))
        return position in self.touched

    def first_changed(self, *positions: str) -> str | None:
        """The first of these positions that is changed. A yes rests on it alone, that there is none on all of them."""
        found = next((position for position in positions if position in self.changed), None)
        for position in positions if found is None else (found,):
            tape.asked(PositionAsked(position))
        return found

    def changed_of(self, positions: Iterable[str]) -> tuple[str, ...]:
        """Those of these positions that are changed."""
        return tuple(position for position in positions if self.is_changed(position))


def _lies(spot: Fitted) -> tuple[str | None, ...]:
    return spot.on, spot.place, spot.start, spot.end
