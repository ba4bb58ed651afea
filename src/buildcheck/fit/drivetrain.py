"""The sizes of rings and chain that several rules and the table of gears share."""

from __future__ import annotations

from buildcheck.fit.context import Context
from buildcheck.fit.facts import Amount, Answer, Fact, Test, amount_of, is_word
from buildcheck.fit.view import View
from buildcheck.model.levels import Origin
from buildcheck.model.quantities import Interval


def ring_positions(view: View) -> tuple[str, ...]:
    """The positions that hold chainrings."""
    return view.layout.recall("ring-positions", lambda: tuple(
        sorted(name for name in view.of_row("chainring") if view.has(name, "teeth"))
    ))  # fmt: skip


def ring_teeth(view: View) -> tuple[Amount, ...]:
    """The teeth of each ring, or of the biggest and the smallest where they do not come off.

    Empty without a crank, and where the ring is one for a belt.
    """
    return view.layout.recall("ring-teeth", lambda: _ring_teeth(view))


def _ring_teeth(view: View) -> tuple[Amount, ...]:
    positions = ring_positions(view)
    if positions or any(True for _ in view.of_row("chainring")):
        return tuple(view.amount(name, "teeth") for name in positions)
    if view.has("crankset", "largest_ring_teeth", "smallest_ring_teeth"):
        return view.amount("crankset", "largest_ring_teeth"), view.amount("crankset", "smallest_ring_teeth")
    return ()


def one_sprocket(view: View) -> tuple[tuple[str, ...], Test]:
    """Where the sprockets are, and whether it is one only; no position where that is not the question."""
    return view.layout.recall("one sprocket", lambda: _one_sprocket(view))


def _one_sprocket(view: View) -> tuple[tuple[str, ...], Test]:
    if not view.has("cassette", "speeds"):
        return (), Test(Answer.YES, ())
    return ("cassette",), view.amount("cassette", "speeds").at_most(1)


def one_ring(view: View) -> tuple[tuple[str, ...], Test]:
    """The same of the rings."""
    return view.layout.recall("one ring", lambda: _one_ring(view))


def _one_ring(view: View) -> tuple[tuple[str, ...], Test]:
    rings = ring_positions(view)
    if rings:
        return rings, Test(Answer.YES if len(rings) == 1 else Answer.NO, ())
    if not view.has("crankset", "rings", "ring_mounts"):
        return (), Test(Answer.YES, ())
    fixed = is_word(view.word("crankset", "ring_mounts"), "fixed")
    return ("crankset",), view.amount("crankset", "rings").at_most(1).only_if(fixed)


def chain_is_new(context: Context, at: str = "chain") -> bool:
    """Is the chain put on by the change? Then it is as long as it is sold, and cut to length at the bench."""
    return context.is_changed(at)


def links_on_bike(context: Context, at: str = "chain") -> Amount:
    """The links of the chain: as sold for a new one, as counted for an old one, else no more than it was sold with.

    Raises KeyError where there is no chain.
    """
    view = context.view
    fact = view.fact(view.bike[at], "links")
    if chain_is_new(context, at) or fact.value is None or fact.origin is Origin.MEASURED:
        return amount_of(fact)
    sold = amount_of(fact)
    where = f"{fact.where}, as sold; links were cut off that nobody counted"
    return amount_of(Fact(at, "links", Interval(0.0, sold.high), fact.unit, Origin.ASSUMED, where))
