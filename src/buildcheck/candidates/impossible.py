"""Why no remedy exists, told from the derivation of that: facts that are enough, and what keeps other parts out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from buildcheck.candidates.domains import PartDomains
from buildcheck.candidates.entailment import Reason
from buildcheck.candidates.evidence import rests_on
from buildcheck.candidates.features import PartCandidate
from buildcheck.candidates.new_part import new_part
from buildcheck.candidates.oracle import PartsOracle
from buildcheck.model.findings import Cause
from buildcheck.model.report import Outcome, Search
from buildcheck.remedies import Conflict, Follows, RemedySearch, Seen, infeasibility

_MOST_TOLD = 3
PartSearch = RemedySearch[PartCandidate]


def why_impossible(oracle: PartsOracle, search: PartSearch, sets: float) -> Search:
    """What a search that found nothing has to tell."""
    core = _core(search)
    return Search(
        outcome=Outcome.IMPOSSIBLE,
        sets=sets,
        vetted=len(search.assessed),
        causes=tuple(_causes(oracle, search, core)),
        new_part=new_part(oracle, core),
    )


def _core(search: PartSearch) -> list[Reason]:
    """Findings of the change as asked that cannot all be cleared; none of them can be left out."""
    derivation = infeasibility(search.store).derivation
    assert isinstance(derivation, Follows)
    taught = [parent.derivation.conflict for parent in derivation.parents if isinstance(parent.derivation, Seen)]
    return _reasons(taught) or _reasons(search.start.conflicts[:1])


def _reasons(conflicts: Sequence[Conflict]) -> list[Reason]:
    return [conflict for conflict in conflicts if isinstance(conflict, Reason)]


def _causes(oracle: PartsOracle, search: PartSearch, core: Sequence[Reason]) -> Iterator[Cause]:
    stock = oracle.stock
    for reason in core:
        finding, below = reason.finding, []
        for position in rests_on(reason.context, finding):
            if position in search.store.domains or not stock.fixed(position):
                below.append(_choices(stock, search, position))
            elif position in finding.positions:
                below.append(Cause(f"the {position.replace('-', ' ')} stays: {_why_fixed(stock, position)}"))
        yield Cause(f"{finding.name}: {finding.message}", tuple(below))


def _why_fixed(stock: PartDomains, position: str) -> str:
    if position in stock.pinned:
        return "it was asked for, or is to be kept"
    return "another one would make another bike"


def _choices(stock: PartDomains, search: PartSearch, position: str) -> Cause:
    """How many other parts there are for a position, and what keeps them out."""
    place = position.replace("-", " ")
    total, why = stock.refused(position)
    if not total:
        return Cause(f"the catalogue has no other part for the {place}")
    counts = Counter(why.values())
    told = ", ".join(f"{count} x {name}" for name, count in sorted(counts.items(), key=lambda row: (-row[1], row[0])))
    left = total - len(why)
    refused = [f"{len(why)} clash with what stays ({told})"] if why else []
    if left:
        blocks = Counter(
            reason.finding.name
            for assessment in search.assessed.values() if position in assessment.picked
            for reason in _reasons(assessment.conflicts) if position in rests_on(reason.context, reason.finding)
        )  # fmt: skip
        names = (
            ", ".join(name for name, _ in blocks.most_common(_MOST_TOLD)) or "each needs a neighbour that is not there"
        )
        refused.append(f"{left} block in another way ({names})")
    return Cause(f"{total} other sorts for the {place}, and none helps: {'; '.join(refused)}")
