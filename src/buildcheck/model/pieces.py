"""What belongs to one piece of a part and not to its sort: worn, cut or filled, it goes with the old piece.

Every other attribute is a size or a shape of the sort, so that the same part new has it, too, wherever it was told.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from buildcheck.model.parts import Part
from buildcheck.model.slots import with_value_at

# By kind: what a new piece has as its record tells of the part as it is sold.
OF_THE_PIECE: Mapping[str, frozenset[str]] = {
    "brake-pads": frozenset({"thickness_mm"}),
    "caliper": frozenset({"filled"}),
    "chain": frozenset({"links", "half_link"}),
    "fork": frozenset({"steerer_length_mm"}),
    "hose": frozenset({"length_mm", "filled"}),
    "housing": frozenset({"length_mm"}),
    "inner-cable": frozenset({"length_mm"}),
    "lever": frozenset({"filled"}),
    "rotor": frozenset({"thickness_mm"}),
}
_NONE: frozenset[str] = frozenset()


def of_the_piece(kind: str) -> frozenset[str]:
    """The attributes that go with an old piece of a part of this kind."""
    return OF_THE_PIECE.get(kind, _NONE)


def new_piece(part: Part, measured: Collection[str], sold: Part | None) -> Part:
    """A new piece of a part: its sort as it is known, the rest as it is sold, which nobody knows without `sold`."""
    for name in sorted(of_the_piece(part.kind)):
        value = None if sold is None else getattr(sold, name)
        if name in measured or getattr(part, name) != value:
            part = with_value_at(part, (name,), value)
    return part
