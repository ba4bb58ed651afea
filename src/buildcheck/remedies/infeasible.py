"""Why no remedy exists: nogoods of the unchanged assignment that cannot all be avoided, none of them needless."""

from __future__ import annotations

from buildcheck.remedies.explain import minimal_subset
from buildcheck.remedies.master import excluded_by
from buildcheck.remedies.nogoods import Follows, Nogood, NogoodStore, Seen
from buildcheck.remedies.terms import C


def infeasibility(store: NogoodStore[C]) -> Nogood:
    """The nogood without a body, derived from a minimal unsatisfiable subset of what the start taught.

    What else was learned is taken for granted; of several such subsets one with the plainest nogoods.
    """
    every = store.nogoods()
    asked = [nogood for nogood in every if isinstance(nogood.derivation, Seen) and not nogood.derivation.picked]
    bodies = {nogood.body for nogood in asked}
    rest = [nogood.body for nogood in every if nogood.body not in bodies]
    numbers = sorted(range(len(asked)), key=lambda number: len(asked[number].body), reverse=True)

    def leaves_nothing(kept: frozenset[int]) -> bool:
        return excluded_by(store.domains, [*rest, *(asked[number].body for number in kept)])

    core = minimal_subset(numbers[::-1], leaves_nothing)
    return Nogood(frozenset(), Follows(tuple(asked[number] for number in sorted(core))))
