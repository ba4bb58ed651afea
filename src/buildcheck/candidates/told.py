"""Parts and prices of the search in the words of a report."""

from __future__ import annotations

from collections.abc import Mapping

from buildcheck.candidates.costs import PARTS_OF_A_EURO
from buildcheck.candidates.features import PartCandidate
from buildcheck.fit.functions import ends_named
from buildcheck.fit.view import View, called
from buildcheck.model.report import RemedyPart
from buildcheck.model.sentences import At, Said, say
from buildcheck.remedies import to_pay


def told_parts(picked: Mapping[str, PartCandidate], view: View) -> tuple[RemedyPart, ...]:
    """What is picked, in the order of its positions; `view` shows the bike on which it takes the place of something."""
    return tuple(_part(position, candidate, view) for position, candidate in sorted(picked.items()))


def euros(cost: int) -> float:
    """What is to be paid."""
    return round(to_pay(cost) / PARTS_OF_A_EURO, 2)


def _part(position: str, candidate: PartCandidate, view: View) -> RemedyPart:
    price = candidate.price / PARTS_OF_A_EURO
    if candidate.part is None:
        return RemedyPart(None, say("leave off {part}", part=called(view.bike[position])), position, price)
    if candidate.onto:
        return RemedyPart(None, _moved(candidate.part.name, candidate.onto, view), position, 0.0, candidate.onto)
    known = candidate.supply is not None or candidate.part.best_price_eur() is not None
    price_eur = round(price, 2) if known else None
    if candidate.renews is not None:
        told = say("{part}, the same part new", part=candidate.part.name)
        return RemedyPart(candidate.part.id, told, position, price_eur, renew=True)
    return RemedyPart(candidate.part.id, candidate.part.name, position, price_eur)


def _moved(part: str, onto: str, view: View) -> Said:
    """A thing that another part is to carry, or a wire that is to lead elsewhere."""
    ends = ends_named(view.standards, onto)
    if ends is None:
        return say("move {part} to another place, on the {carrier}", part=part, carrier=At(onto))
    return say("lead {part} from the {start} to the {end}", part=part, start=At(ends[0]), end=At(ends[1]))
