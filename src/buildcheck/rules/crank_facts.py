"""What several rules need to know of cranks: the rings, and the chain line that crank and bottom bracket give."""

from __future__ import annotations

from buildcheck.fit.drivetrain import ring_positions
from buildcheck.fit.facts import Amount, is_not_word, one_of
from buildcheck.fit.view import View


def ring_places(view: View) -> tuple[str, ...]:
    """The positions of the chainrings, that of the largest first; the crank's own if its rings do not come off."""

    def by_size(name: str) -> tuple[float, float, str]:
        teeth = view.amount(name, "teeth")
        return -teeth.high, -teeth.low, name

    return tuple(sorted(ring_positions(view), key=by_size)) or ("crankset",)


def ring_count(view: View) -> Amount:
    """How many rings are on the crank: those that are fitted, or as many as its record says if they do not come off."""
    fitted = len(ring_positions(view))
    return Amount(fitted, fitted) if fitted else view.amount("crankset", "rings", 1.0)


def crank_chain_line(view: View) -> Amount | None:
    """Middle of the bike to the middle of the rings in mm; None where crank or bottom bracket is missing.

    A bottom bracket with a spindle of its own decides it; any other leaves it to the crank.
    """
    if not view.has("crankset", "chainline_mm") or not view.has("bottom-bracket", "chainline_mm"):
        return None
    of_crank, of_bracket = view.amount("crankset", "chainline_mm"), view.amount("bottom-bracket", "chainline_mm")
    own_spindle = view.standards.words_with("spindle", "comes_with_bracket")
    loose = is_not_word(view.word("bottom-bracket", "spindle"), *own_spindle)
    if loose.yes:
        return of_crank
    if loose.no:
        return of_bracket
    return one_of(of_crank, of_bracket).resting_on(loose)
