"""Why no remedy exists: nogoods of the unchanged assignment that cannot all be avoided, none of them needless."""

from __future__ import annotations

from contextlib import suppress

from buildcheck.remedies.explain import minimal_subset
from buildcheck.remedies.master import excluded_by
from buildcheck.remedies.nogoods import Follows, Nogood, NogoodStore, Seen
from buildcheck.remedies.search import GaveUpError, RemedySearch
from buildcheck.remedies.terms import C


def infeasibility(store: NogoodStore[C]) -> Nogood:
    """The nogood without a body, derived from a minimal unsatisfiable subset of what the start taught.

    What else was learned is taken for granted. Of several such subsets one is told whose nogoods turn least on what
    could be exchanged: rather on what stays, and on what could be added, as a mechanic would say it.
    """
    every = store.nogoods()
    asked = [nogood for nogood in every if isinstance(nogood.derivation, Seen) and not nogood.derivation.picked]
    bodies = {nogood.body for nogood in asked}
    rest = [nogood.body for nogood in every if nogood.body not in bodies]
    numbers = sorted(range(len(asked)), key=lambda number: _turns_on(asked[number], store), reverse=True)

    def leaves_nothing(kept: frozenset[int]) -> bool:
        return excluded_by(store.domains, [*rest, *(asked[number].body for number in kept)])

    core = minimal_subset(numbers[::-1], leaves_nothing)
    return Nogood(frozenset(), Follows(tuple(asked[number] for number in sorted(core))))


def settle_what_stays(search: RemedySearch[C], most: int) -> None:
    """Find out, once there is no remedy, whether what turns on nothing that is there is reason enough by itself.

    A search that ended early for another reason has not looked. At most so many assessments are made for each reason.
    """
    store = search.store
    for nogood in store.nogoods():
        if isinstance(nogood.derivation, Seen) and not nogood.derivation.picked and not _turns_on(nogood, store)[0]:
            with suppress(GaveUpError):
                search.ruled_out([literal.slot for literal in nogood.body], most)


def _turns_on(nogood: Nogood, store: NogoodStore[C]) -> tuple[int, int]:
    """At how many slots something else could come in place of what is there, and at how many anything could."""
    there = [literal.slot for literal in nogood.body if store.domains[literal.slot][0].id]
    return len(there), len(nogood.body)
