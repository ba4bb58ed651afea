"""Galvanic corrosion: how far two materials lie apart in the table of the anodic index.

Source of the index and of the limits: published tables of the anodic index (vk6ysf.com, galvanic table;
eicac.co.uk, anodic index; ideambox.com). Carbon fibre counts as graphite, as in the table of the American Boat
and Yacht Council (Westlawn, Masthead 16).
"""

from __future__ import annotations

# Volt against gold, by the neutral id of a material; what is not in it conducts no current.
ANODIC_INDEX_V = {
    "carbon": 0.00,
    "titanium": -0.30,
    "brass": -0.40,
    "stainless-steel": -0.50,
    "steel": -0.85,
    "aluminium": -0.90,
    "magnesium": -1.75,
}

OUTDOOR_LIMIT_V, CONTROLLED_LIMIT_V = 0.15, 0.50
"""How far in volts two metals may lie apart without something between them, in salt and rain, and in controlled
air. Source: the same tables, after MIL-STD-889B."""


def galvanic_difference_v(one: str, other: str) -> float | None:
    """Volts between two materials; None where one of them conducts no current.

    Source: tables of the anodic index, as in the module's docstring.
    """
    if one not in ANODIC_INDEX_V or other not in ANODIC_INDEX_V:
        return None
    return abs(ANODIC_INDEX_V[one] - ANODIC_INDEX_V[other])


def less_noble(one: str, other: str) -> str:
    """The material of the two that dissolves. Raises KeyError for one that is not in the table."""
    return min(one, other, key=lambda material: ANODIC_INDEX_V[material])
