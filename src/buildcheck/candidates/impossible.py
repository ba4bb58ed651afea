"""Why no remedy exists, told from the derivation of that: facts that are enough, and what keeps other parts out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from buildcheck.candidates.domains import PartDomains
from buildcheck.candidates.entailment import FindingReason
from buildcheck.candidates.evidence import rests_on
from buildcheck.candidates.features import PartCandidate
from buildcheck.candidates.new_part import new_part
from buildcheck.candidates.oracle import PartsOracle
from buildcheck.model.findings import Cause
from buildcheck.model.report import Outcome, Search
from buildcheck.model.sentences import At, Said, Several, Value, say
from buildcheck.remedies import Conflict, Follows, RemedySearch, Seen, infeasibility, settle_what_stays

_MOST_TOLD = 3
_MOST_TO_SETTLE = 12  # our choice: some tenths of a second for each reason; there are about ten sorts of adapters
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


def _core(search: PartSearch) -> list[FindingReason]:
    """Findings of the change as asked that cannot all be cleared; none of them can be left out."""
    settle_what_stays(search, _MOST_TO_SETTLE)
    derivation = infeasibility(search.store).derivation
    assert isinstance(derivation, Follows)
    taught = [parent.derivation.conflict for parent in derivation.parents if isinstance(parent.derivation, Seen)]
    return _reasons(taught) or _reasons(search.start.conflicts[:1])


def _reasons(conflicts: Sequence[Conflict]) -> list[FindingReason]:
    return [conflict for conflict in conflicts if isinstance(conflict, FindingReason)]


def _causes(oracle: PartsOracle, search: PartSearch, core: Sequence[FindingReason]) -> Iterator[Cause]:
    stock = oracle.stock
    for reason in core:
        finding, below = reason.finding, []
        for position in rests_on(reason.context, finding):
            if position in search.store.domains or not stock.fixed(position):
                below.append(_choices(stock, search, position))
            elif position in finding.positions:
                below.append(Cause(say(_STAYS[position in stock.pinned], position=At(position))))
        yield Cause(say("{name}: {message}", name=finding.name, message=finding.message), tuple(below))


_STAYS = {
    True: "the {position} stays: it was asked for, or is to be kept",
    False: "the {position} stays: another one would make another bike",
}


def _choices(stock: PartDomains, search: PartSearch, position: str) -> Cause:
    """How many other parts there are for a position, and what keeps them out."""
    total, why = stock.refused(position)
    if not total:
        return Cause(say("the catalogue has no other part for the {position}", position=At(position)))
    counts = Counter(why.values())
    left = total - len(why)
    refused: list[Value] = []
    if why:
        rows = sorted(counts.items(), key=lambda row: (-row[1], row[0]))
        told = Several(tuple(say("{count} x {name}", count=count, name=name) for name, count in rows), ", ")
        refused.append(say("{count} clash with what stays ({told})", count=len(why), told=told))
    if left:
        blocks = Counter(
            reason.finding.name
            for assessment in search.assessed.values() if position in assessment.picked
            for reason in _reasons(assessment.conflicts) if position in rests_on(reason.context, reason.finding)
        )  # fmt: skip
        if blocks:
            told = Several(tuple(name for name, _ in blocks.most_common(_MOST_TOLD)), ", ")
            refused.append(say("{count} block in another way ({told})", count=left, told=told))
        else:
            refused.append(say("{count} each need a neighbour that is not there", count=left))
    return Cause(say(_NONE_HELPS, count=total, position=At(position), refused=Several(tuple(refused), "; ")))


_NONE_HELPS = "{count} other sorts for the {position}, and none helps: {refused}"


def in_short(causes: Iterable[Cause]) -> tuple[Said, ...]:
    """What keeps other parts out, without the names of findings and for which of them: each once."""
    found: dict[Said, None] = {}
    for below in (below for cause in causes for below in cause.because):
        told = below.text
        if told.template == _NONE_HELPS:
            values = dict(told.values)
            told = say("{count} other sorts for the {position}, and none helps", count=values["count"],
                       position=values["position"])  # fmt: skip
        found[told] = None
    return tuple(found)
