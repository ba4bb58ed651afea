"""Where two fitted parts stay in contact: their materials, the compound between them, whose torque counts."""

from __future__ import annotations

from typing import NamedTuple

from buildcheck.fit.facts import Amount, Fact
from buildcheck.fit.view import View
from buildcheck.model.standards import Contact

# What goes between two parts of which one is of carbon, or of titanium.
CARBON_PASTE, ANTI_SEIZE = "carbon assembly paste and no grease", "anti-seize"


class Touch(NamedTuple):
    """One contact of two fitted parts: the row, and the positions of its sides."""

    row: Contact
    a: str
    b: str

    @property
    def places(self) -> tuple[str, str]:
        """Both positions."""
        return self.a, self.b


class TorqueLimits(NamedTuple):
    """What both sides of a clamp say of its torque in N m, and where they are."""

    least: Amount
    most: Amount
    borne: Amount
    clamp: str
    other: str


def touches(view: View) -> list[Touch]:
    """Every contact of two parts that are both on the bike."""
    return view.layout.recall("contacts", lambda: _find_touches(view))


def _find_touches(view: View) -> list[Touch]:
    return [
        Touch(row, name, row.of)
        for row in view.standards.contacts for at in row.at for name in view.of_row(at)
        if view.has(name, row.a) and view.has(row.of, row.b) and view.bike[name].home != view.bike[row.of].home
    ]  # fmt: skip


def clamps(view: View) -> list[tuple[Touch, TorqueLimits]]:
    """Those of them at which the torque of a clamp counts, with its limits."""
    return view.layout.recall("clamps", lambda: _find_clamps(view))


def _find_clamps(view: View) -> list[tuple[Touch, TorqueLimits]]:
    found = ((touch, torque_limits(view, touch)) for touch in touches(view))
    return [(touch, limits) for touch, limits in found if limits is not None]


def materials(view: View, touch: Touch) -> tuple[str | None, str | None, tuple[Fact, ...]]:
    """The materials of both sides, None where unknown, and the facts that they come from."""
    sides = ((touch.a, touch.row.a, touch.row.a_is), (touch.b, touch.row.b, touch.row.b_is))
    facts = [None if constant else view.word(place, name) for place, name, constant in sides]
    words = [side[2] if fact is None else fact.value for side, fact in zip(sides, facts, strict=True)]
    return words[0], words[1], tuple(fact for fact in facts if fact is not None)


def compound_between(row: Contact, between: tuple[str, str]) -> tuple[str, str]:
    """What goes between parts of these two materials, and why; `dry` and no reason where nothing does."""
    if "carbon" in between and row.how in ("clamp", "insert"):
        return CARBON_PASTE, "so that it holds at a low torque"
    if "titanium" in between and row.how != "clamp":
        return ANTI_SEIZE, "because titanium galls"
    reasons = {
        "grease": "so that it comes apart again",
        "thread-locker": "so that it does not shake loose",
    }
    return row.compound, reasons.get(row.compound, "")


def torque_limits(view: View, touch: Touch) -> TorqueLimits | None:
    """The least and the most that the clamp's maker states, and what the other side bears; None if no torque counts."""
    row = touch.row
    if row.clamp is None or row.borne is None:
        return None
    clamp, other = (touch.a, touch.b) if row.clamp == "a" else (touch.b, touch.a)
    names = _torque_names(row)
    if not view.has(clamp, *names) or not view.has(other, row.borne):
        return None
    least, most = (view.amount(clamp, name) for name in names)
    return TorqueLimits(least, most, view.amount(other, row.borne), clamp, other)


def _torque_names(row: Contact) -> tuple[str, str]:
    stem = f"{row.torque}_torque" if row.torque else "torque"
    return f"{stem}_min_nm", f"{stem}_max_nm"
