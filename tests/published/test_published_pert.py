"""Critical paths of textbook networks. Where the page prints no answer, the answer is worked out by hand."""

import numpy as np
import pytest

from buildcheck.trade.durations import total_of
from buildcheck.trade.pert import pert_mean_min, pert_variance


def network(text: str) -> tuple[dict[str, tuple[float, float, float]], dict[str, list[str]]]:
    """Read rows such as "B 1 2 9 A": name, low, likely, high, predecessors."""
    activities, after = {}, {}
    for row in text.strip().splitlines():
        name, low, likely, high, *earlier = row.split()
        activities[name] = (float(low), float(likely), float(high))
        after[name] = earlier
    return activities, after


# PERT page of pmknowledgecenter.be, table 1 (inputs read there, answers worked out).
PERT_PAGE = """
A 2 5 8
B 1 2 9 A
C .25 .5 3.75 A
D 1 1 7 B
E 1 2 9 B C
F 1 3 11 D E
"""

# Exercise wizedu.com 717873 (inputs, means and earliest dates read there, the rest worked out).
FOURTEEN = """
A 5 5 7
B 1 2 5
C 5 5 5 A
D 4 8 13 A
E 1 10 17 B C
F 1 5 7 D
G 2 6 9 D
H 4 4 6 E F
I 2 7 10 G H
J 2 4 7 I
K 6 10 13 I
L 2 6 6 J
M 2 2 3 K
N 7 7 12 L M
"""

# Introduction to Operations Research, "Reliable Construction" (from memory; the
# printed answers 44 weeks, variance 9 and P(47) = 0.84 come out of these inputs).
RELIABLE = """
A 1 2 3
B 2 3.5 8 A
C 6 9 18 B
D 4 5.5 10 C
E 1 4.5 5 C
F 4 4 10 E
G 5 6.5 11 D
H 5 8 17 E G
I 3 7.5 9 C
J 3 9 9 F I
K 4 4 4 J
L 1 5.5 7 J
M 1 2 3 H
N 5 5.5 9 K L
"""

# Exercise justaaa.com 460263 (inputs read there, answers worked out).
ELEVEN = """
A 8 10 15
B 7 8 9
C 5 6 10 A
D 3 3 3 A
E 1 5 9 B D
F 4 7 10 B D
G 3 8 10 C
H 5 7 9 E
I 4 5 8 E
J 2 5 8 F
K 1 3 6 H I
"""

# Introduction to Management Science, chapter 8 (flylib.com/books/en/3.287.1.117/1): only the printed
# critical chain, as the precedences of the other activities are in a figure that was not seen.
CRITICAL_CHAIN = """
1 5 8 17
3 3 5 7 1
5 4 6 8 3
7 3 4 5 5
"""


NETWORKS = [
    (PERT_PAGE, "A B E F", 15, 22 / 3, {18: 0.866, 20: 0.9676}),
    (FOURTEEN, "A C E H I K M N", 50.8333, 11.1944, {53: 0.7414, 55: 0.8935}),
    (RELIABLE, "A B C E F J L N", 44, 9, {47: 0.8413}),
    (ELEVEN, "A D E H K", 28.6667, 4.2778, {35: 0.9989}),
    (CRITICAL_CHAIN, "1 3 5 7", 24, 5, {28: 0.9633}),
]


@pytest.mark.parametrize(("text", "path", "mean", "variance", "chances"), NETWORKS)
def test_the_exact_sum_along_the_critical_path(
    text: str, path: str, mean: float, variance: float, chances: dict[float, float]
) -> None:
    """Mean and variance are the printed ones; the chances were printed with the sum taken as normal.

    A normal sum is an approximation: with 4 to 8 activities, many skewed, its chances are about a hundredth off.
    """
    activities, _ = network(text)
    total = total_of([activities[name] for name in path.split()], 0)
    middles = (total.minutes[1:] + total.minutes[:-1]) / 2
    assert total.mean_min == pytest.approx(mean, abs=5e-5)
    assert float(np.diff(total.chances) @ (middles - mean) ** 2) == pytest.approx(variance, rel=1e-3)
    for limit, chance in chances.items():
        assert np.interp(limit, total.minutes, total.chances) == pytest.approx(chance, abs=0.015)


def test_means_of_single_activities() -> None:
    # The PERT page as above: the six means.
    activities, _ = network(PERT_PAGE)
    assert [pert_mean_min(*e) for e in activities.values()] == pytest.approx([5, 3, 1, 2, 3, 4])
    # Formulas as at curioustab.com 68395.
    assert pert_variance(2, 5, 8) == 1
