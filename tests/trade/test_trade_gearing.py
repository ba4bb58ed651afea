"""Gears: two measures of one thing."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.trade.gearing import development_m, gain_ratio

teeth = st.integers(9, 60)
wheels = st.floats(300, 800)
hubs = st.floats(0.3, 3)


@given(wheels, teeth, teeth, hubs, st.floats(100, 200))
def test_the_measures_agree(wheel: float, ring: int, sprocket: int, hub: float, arm: float) -> None:
    metres = development_m(wheel, ring, sprocket, hub)
    assert gain_ratio(wheel, arm, ring, sprocket, hub) * 2 * math.pi * arm / 1000 == pytest.approx(metres)


@given(wheels, teeth, teeth, hubs)
def test_a_bigger_ring_is_harder_and_a_bigger_sprocket_easier(
    wheel: float, ring: int, sprocket: int, hub: float
) -> None:
    metres = development_m(wheel, ring, sprocket, hub)
    assert development_m(wheel, ring + 1, sprocket, hub) > metres > development_m(wheel, ring, sprocket + 1, hub)
    assert development_m(wheel, ring, ring, 1) == pytest.approx(math.pi * wheel / 1000)


@pytest.mark.parametrize(
    "call",
    [
        lambda: development_m(0, 48, 24),
        lambda: development_m(670, 48, 0),
        lambda: gain_ratio(670, 0, 48, 24),
        lambda: development_m(670, math.inf, 24),
        lambda: development_m(670, 48, 24, 0),
    ],
)
def test_what_cannot_be_is_refused(call: object) -> None:
    with pytest.raises(ValueError, match="above 0"):
        call()  # type: ignore[operator]
