"""The anodic index against its published tables.

vk6ysf.com, "Galvanic table" (down to lead); eicac.co.uk, "Anodic index" (limits); MIL-STD-889B, quoted: 0.15 V
outdoors; ideambox.com (steel, aluminium, magnesium, graphite); Westlawn, Masthead 16: graphite and carbon fibre share
a row.
"""

import pytest

from buildcheck.trade.galvanic import (
    ANODIC_INDEX_V,
    CONTROLLED_LIMIT_V,
    OUTDOOR_LIMIT_V,
    galvanic_difference_v,
)

GRAPHITE_V, TITANIUM_V, BRASS_V, STAINLESS_18_V, STEEL_V, MAGNESIUM_V = 0.0, -0.30, -0.40, -0.50, -0.85, -1.75
WROUGHT_ALUMINIUM_V = (-0.95, -0.75)  # other wrought alloys and castings, and the 2000 series


def test_the_index_is_that_of_the_tables() -> None:
    assert ANODIC_INDEX_V["carbon"] == GRAPHITE_V
    assert ANODIC_INDEX_V["titanium"] == TITANIUM_V
    assert ANODIC_INDEX_V["brass"] == BRASS_V
    assert ANODIC_INDEX_V["stainless-steel"] == STAINLESS_18_V
    assert ANODIC_INDEX_V["steel"] == STEEL_V
    assert ANODIC_INDEX_V["magnesium"] == MAGNESIUM_V
    assert WROUGHT_ALUMINIUM_V[0] <= ANODIC_INDEX_V["aluminium"] <= WROUGHT_ALUMINIUM_V[1]


def test_the_limit_is_that_of_the_tables() -> None:
    assert (OUTDOOR_LIMIT_V, CONTROLLED_LIMIT_V) == (0.15, 0.50)


@pytest.mark.parametrize(
    ("one", "other", "allowed"),
    [
        # The differences of the table's rows against the limit for salt and rain.
        ("aluminium", "stainless-steel", False),
        ("titanium", "carbon", False),
        ("aluminium", "carbon", False),
        ("magnesium", "steel", False),
        ("steel", "aluminium", True),
        ("stainless-steel", "titanium", False),
        ("brass", "stainless-steel", True),
    ],
)
def test_which_pairs_are_allowed_outdoors(one: str, other: str, allowed: bool) -> None:
    volts = galvanic_difference_v(one, other)
    assert volts is not None
    assert (volts <= OUTDOOR_LIMIT_V) is allowed
