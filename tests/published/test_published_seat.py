"""The seat post against the regulation."""

import pytest

from buildcheck.trade.seat import least_insertion_mm


# 16 CFR 1512.15(b): the insertion mark stands at least two seat-post diameters above the post's lower end.
@pytest.mark.parametrize(("diameter_mm", "least_mm"), [(25.4, 50.8), (27.2, 54.4), (31.6, 63.2)])
def test_a_post_is_inserted_by_two_of_its_diameters(diameter_mm: float, least_mm: float) -> None:
    assert least_insertion_mm(diameter_mm) == pytest.approx(least_mm)
