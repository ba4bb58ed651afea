"""Laws of packing: sound, monotone, indifferent to order; then examples from the workshop."""

import math
from itertools import combinations
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from buildcheck.trade.packing import packs_in_irregular, packs_in_round, packs_in_slot, placement
from buildcheck.trade.slot_rows import order_possible, rows

# Tenths of a millimetre besides arbitrary sizes, so that lines that just touch come up.
size = st.floats(1, 8) | st.integers(10, 80).map(lambda tenths: tenths / 10)
lines = st.lists(size, max_size=6)
some_lines = st.lists(size, min_size=1, max_size=6)
tightness = st.floats(0.9, 2.0)


def tight_slot(diameters: list[float], share: float, flat: float) -> tuple[float, float]:
    """A slot near the limit, where the laws are at risk: flat is the height in thickest lines."""
    height = max(diameters) * flat
    area = sum(d * d for d in diameters) * share * math.pi / 4
    width = max(height, (area - math.pi / 4 * height * height) / height + height)
    return width, height


def assert_sound(diameters: list[float], width: float, height: float) -> None:
    centres = placement(diameters, width, height)
    verdict = packs_in_slot(diameters, width, height)
    assert (centres is not None) == (verdict is True)
    if centres is None:
        return
    slack = 2e-9 * max(1, width)
    half = (width - height) / 2
    for (x, y), d in zip(centres, diameters, strict=True):
        assert math.hypot(max(0, abs(x) - half), y) + d / 2 <= height / 2 + slack
    for i, j in combinations(range(len(diameters)), 2):
        assert math.dist(centres[i], centres[j]) >= (diameters[i] + diameters[j]) / 2 - slack
    assert sum(d * d for d in diameters) * math.pi / 4 <= ((width - height) * height + math.pi / 4 * height**2) * (
        1 + 1e-8
    )


@given(some_lines, st.floats(0.3, 0.999))
def test_nothing_fits_that_the_area_forbids(diameters: list[float], share: float) -> None:
    squares = sum(d * d for d in diameters) * share
    assert packs_in_round(diameters, math.sqrt(squares)) is not True
    height = max(diameters)
    if squares > height * height:
        width = height + (squares - height * height) * math.pi / 4 / height
        assert packs_in_slot(diameters, width, height) is not True
    rod = min(*diameters, math.sqrt(squares))
    assert packs_in_irregular(diameters, rod, squares * math.pi / 4) is not True


@settings(deadline=None)
@given(some_lines, tightness)
def test_a_placement_in_a_round_bore_overlaps_nothing_and_stays_inside(diameters: list[float], share: float) -> None:
    bore = math.sqrt(sum(d * d for d in diameters) * share)
    assert_sound(diameters, bore, bore)
    assert packs_in_round(diameters, bore) == packs_in_slot(diameters, bore, bore)


@settings(deadline=None)
@given(some_lines, tightness, st.floats(0.9, 2.5))
def test_a_placement_in_a_slot_overlaps_nothing_and_stays_inside(
    diameters: list[float], share: float, flat: float
) -> None:
    assert_sound(diameters, *tight_slot(diameters, share, flat))


ORDER = {False: 0, None: 1, True: 2}
"""A more favourable case may only move the verdict up this order: never out of True, never into False."""


@settings(deadline=None)
@given(some_lines, tightness, st.floats(0.9, 2.5), st.floats(0, 3), st.floats(0, 3))
def test_a_larger_opening_never_makes_it_worse(
    diameters: list[float], share: float, flat: float, wider: float, higher: float
) -> None:
    width, height = tight_slot(diameters, share, flat)
    verdict = packs_in_slot(diameters, width, height)
    grown = height + higher
    assert ORDER[packs_in_slot(diameters, max(width, grown) + wider, grown)] >= ORDER[verdict]
    assert ORDER[packs_in_slot(diameters, max(width, grown), grown)] >= ORDER[verdict]
    assert ORDER[packs_in_slot(diameters, width + wider, height)] >= ORDER[verdict]
    assert ORDER[packs_in_round(diameters, width)] >= ORDER[verdict]


@settings(deadline=None)
@given(some_lines, tightness, st.floats(0, 3))
def test_a_larger_bore_never_makes_it_worse(diameters: list[float], share: float, wider: float) -> None:
    bore = math.sqrt(sum(d * d for d in diameters) * share)
    assert ORDER[packs_in_round(diameters, bore + wider)] >= ORDER[packs_in_round(diameters, bore)]


@settings(deadline=None)
@given(
    st.lists(size, min_size=2, max_size=7),
    tightness,
    st.floats(0.9, 2.5) | st.none(),
    st.floats(0.2, 1),
    st.data(),
)
def test_a_thinner_or_missing_line_never_makes_it_worse(
    diameters: list[float], share: float, flat: float | None, thinner: float, data: st.DataObject
) -> None:
    bore = math.sqrt(sum(d * d for d in diameters) * share)
    width, height = (bore, bore) if flat is None else tight_slot(diameters, share, flat)
    verdict = packs_in_slot(diameters, width, height)
    k = data.draw(st.integers(0, len(diameters) - 1))
    shaved = [d * thinner if n == k else d for n, d in enumerate(diameters)]
    assert ORDER[packs_in_slot(shaved, width, height)] >= ORDER[verdict]
    assert ORDER[packs_in_slot(diameters[:k] + diameters[k + 1 :], width, height)] >= ORDER[verdict]


@settings(deadline=None)
@given(some_lines, tightness, st.floats(0.9, 2.5), st.randoms(use_true_random=False))
def test_the_order_of_the_lines_does_not_matter(
    diameters: list[float], share: float, flat: float, random: Random
) -> None:
    width, height = tight_slot(diameters, share, flat)
    shuffled = list(diameters)
    random.shuffle(shuffled)
    assert packs_in_slot(shuffled, width, height) is packs_in_slot(diameters, width, height)
    assert_sound(shuffled, width, height)


@settings(deadline=None)
@given(some_lines, st.floats(1, 40), st.floats(0, 3))
def test_an_irregular_opening_is_sound_and_monotone(diameters: list[float], rod: float, extra: float) -> None:
    area = math.pi / 4 * rod * rod * (1 + extra)
    verdict = packs_in_irregular(diameters, rod, area)
    if packs_in_round(diameters, rod):
        assert verdict is True
    if max(diameters) > rod + 1e-6 or sum(d * d for d in diameters) > rod * rod * (1 + extra) + 1e-6:
        assert verdict is False
    if verdict is False and max(diameters) <= rod:
        assert packs_in_irregular(diameters, rod, None) is None
    assert ORDER[packs_in_irregular(diameters, rod, area * 1.1)] >= ORDER[verdict]


def numeric_bore(diameters: list[float], seed: int) -> float:
    """Smallest round bore by a general optimiser from random starts, independent of our code."""
    r = np.array(diameters) / 2
    n = len(r)
    upper = np.triu_indices(n, 1)
    reach = (r[:, None] + r[None, :])[upper]
    random = np.random.default_rng(seed)

    def room(v: np.ndarray) -> np.ndarray:
        p = v[:-1].reshape(n, 2)
        apart = ((p[:, None] - p[None]) ** 2).sum(-1)[upper] - reach**2
        return np.concatenate([apart, (v[-1] - r) ** 2 - (p**2).sum(1), [v[-1] - r.max()]])

    best = math.inf
    for _ in range(6):
        start = np.append(random.normal(size=2 * n) * r.mean() * 1.5, r.sum())
        found = minimize(
            lambda v: v[-1],
            start,
            constraints={"type": "ineq", "fun": room},
            method="SLSQP",
            options={"maxiter": 200},
        )
        if found.success and room(found.x).min() > -1e-7:
            best = min(best, 2 * float(found.fun))
    return best


@pytest.mark.parametrize("seed", range(24))
def test_against_a_numeric_optimiser(seed: int) -> None:
    random = np.random.default_rng(seed)
    diameters = [round(float(d), 1) for d in random.uniform(2, 6, size=3 + seed % 4)]
    bore = numeric_bore(diameters, seed)
    assert math.isfinite(bore)
    # What a general optimiser places is possible ...
    assert packs_in_round(diameters, bore + 1e-5) is not False
    # ... and up to five lines hardly more room than it needs is enough for ours.
    assert packs_in_round(diameters, bore * (1.0005 if len(diameters) < 6 else 1.06)) is True
    # What ours places below the optimiser's best is sound all the same.
    assert_sound(diameters, bore * 0.99, bore * 0.99)


@given(st.lists(st.floats(0.5, 3), min_size=1, max_size=5), st.floats(2, 12), st.floats(1, 3))
def test_rows_are_among_the_possible_orders(radii: list[float], height: float, longer: float) -> None:
    width = height * longer
    found = rows(radii, width, height)
    if found is not None:
        assert order_possible(radii, width, height)
    assert not rows([height], width, height)


def test_no_lines_fit_through_anything() -> None:
    assert packs_in_round([], 0) is True
    assert packs_in_irregular([], 0, None) is True
    assert placement([], 3, 2) == ()


def test_lines_of_no_thickness_take_no_room() -> None:
    assert packs_in_round([0, 5, 0], 5) is True
    assert packs_in_round([0, 5], 4.9) is False
    assert_sound([0.0, 5.0, 0.0], 5, 5)


@pytest.mark.parametrize("wrong", [-1.0, math.nan, math.inf])
def test_sizes_that_are_no_sizes_are_refused(wrong: float) -> None:
    for call in (
        lambda: packs_in_round([wrong], 5),
        lambda: packs_in_round([], wrong),
        lambda: packs_in_slot([1], 5, wrong),
        lambda: placement([1, wrong], 5, 5),
        lambda: packs_in_irregular([1], 5, wrong),
        lambda: packs_in_irregular([1], wrong, None),
    ):
        with pytest.raises(ValueError, match="finite"):
            call()


def test_a_slot_lies_on_its_long_side_and_holds_its_own_rod() -> None:
    with pytest.raises(ValueError, match="higher than wide"):
        packs_in_slot([1], 5, 6)
    with pytest.raises(ValueError, match="area"):
        packs_in_irregular([1], 10, 50)


@pytest.mark.parametrize(
    ("diameters", "width", "height", "verdict"),
    [
        ([5.0, 5.0], 10, 10, True),  # two brake hoses
        ([5.0, 5.0], 9.9, 9.9, False),
        ([5.0, 5.0, 2.5], 10, 10, True),  # and a wire in the gap beside them
        ([5.0, 5.0, 5.0], 10.7, 10.7, False),  # three need 5 * 2.1547
        ([5.0, 5.0, 5.0], 10.8, 10.8, True),
        ([5.0, 5.0, 4.0, 4.0], 11.5, 11.5, True),  # two hoses, two shift housings
        ([5.0, 5.0, 4.0, 4.0], 10.8, 10.8, False),
        ([5.0, 5.0, 2.5], 14, 8, True),
        ([5.0, 5.0, 5.0], 15, 5, True),
        ([5.0, 5.0, 5.0], 14.9, 5, False),
        ([5.0, 5.0, 5.0, 5.0], 15, 10, True),  # two on two
        ([6.0], 20, 5.9, False),
    ],
)
def test_examples(diameters: list[float], width: float, height: float, verdict: bool) -> None:
    assert packs_in_slot(diameters, width, height) is verdict


def test_an_irregular_port() -> None:
    assert packs_in_irregular([5, 5], 10, None) is True
    assert packs_in_irregular([5, 5], 8, None) is None
    assert packs_in_irregular([5, 5], 4.9, None) is False
    assert packs_in_irregular([5, 5, 5], 6, 58) is False  # 58.9 mm2 of lines
    assert packs_in_irregular([5, 5], 6, 60) is None
