"""What is ordered where the same part is put in new: itself or its equal, out of the stock first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice

from buildcheck.candidates.vetter import Vetter
from buildcheck.fit.context import Context
from buildcheck.fit.view import View
from buildcheck.library.records import fields_of
from buildcheck.model.bikes import Change, Fitted
from buildcheck.model.blind import unseen
from buildcheck.model.parts import Part
from buildcheck.model.pieces import of_the_piece
from buildcheck.model.quantities import is_fact
from buildcheck.model.report import RemedyPart
from buildcheck.model.sentences import At, Attribute, Kind, Said, Several, Value, Word, say

# So many sizes and shapes tell a part to whoever orders it (our choice).
_MOST_TOLD = 6


def renewed_parts(vetter: Vetter, positions: Iterable[str], context: Context) -> tuple[RemedyPart, ...]:
    """The part for each position whose part is put in new, with its price: in stock, or else as it is bought."""
    return tuple(_part(vetter, context.bike[position]) for position in positions if position in context.bike)


def _part(vetter: Vetter, spot: Fitted) -> RemedyPart:
    terms, own = vetter.terms, spot.part.id
    # Of those that no rule can tell apart: the very part first, then the others, the cheapest first.
    names = sorted(_equals(vetter, spot.part), key=lambda name: name != own)
    names = [name for name in names if name not in terms.exclude or name == own]
    lying = next((name for name in names if name in terms.stock and terms.stock[name].quantity), None)
    if lying is not None:
        return _as_new(vetter.part(lying), spot, terms.stock[lying].price_eur)
    parts = [vetter.part(name) for name in names] or [spot.part]
    part = next((part for part in parts if part.best_price_eur() is not None), spot.part)
    return _as_new(part, spot, part.best_price_eur())


def _equals(vetter: Vetter, part: Part) -> tuple[str, ...]:
    """All parts that no rule can tell from this one; none where the catalogue does not have it."""
    groups = vetter.groups((part.kind,))
    return next((group.ids for group in groups if part.id in group.ids), ())


def _as_new(part: Part, spot: Fitted, price_eur: float | None) -> RemedyPart:
    same = part.id == spot.part.id
    told = say("{part}, the same part new" if same else "{part}, equal to the part that is there", part=part.name)
    return RemedyPart(part.id, told, spot.position, price_eur, renew=True)


def fitted_already(change: Change, context: Context) -> Iterator[Said]:
    """What was asked for and is there: fitting it changes nothing, so it is neither bought nor planned."""
    for _, position in change.fit:
        if position not in context.touched:
            yield say(
                "{position}: {part} is fitted already, so nothing is planned for it; to put the same part in new, ask "
                "with --renew {name}",
                position=At(position), part=context.bike[position].part.name, name=Word(position),
            )  # fmt: skip


def not_sold(vetter: Vetter, change: Change, context: Context) -> Iterator[Said]:
    """What to buy where the part that is put in new stands in no catalogue."""
    for position in change.renew:
        spot = context.bike.get(position)
        if spot is None or _equals(vetter, spot.part):
            continue
        told = tuple(islice(_told(context.view, spot), _MOST_TOLD))
        at: dict[str, Value] = {"position": At(position), "kind": Kind(spot.part.kind)}
        if told:
            yield say("{position}: no catalogue has this part; buy a {kind} with {sizes}", sizes=Several(told), **at)
        else:
            yield say(
                "{position}: no catalogue has this part, and nothing is known of it; take the old {kind} along, or "
                "measure it, before one is ordered",
                **at,
            )  # fmt: skip


def _told(view: View, spot: Fitted) -> Iterator[Said]:
    """The sizes and shapes that are known of a part, in the order of its record."""
    kind = spot.part.kind
    left_out = unseen(kind) | of_the_piece(kind)
    for name, field in fields_of(type(spot.part)).items():
        if name not in left_out and is_fact(field.metadata):
            fact = view.fact(spot, name)
            if fact.held is not None:
                yield say("{attribute} {value}", attribute=Attribute(name), value=fact.told())
