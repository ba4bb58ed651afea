"""Near misses: a part that was asked for does not fit, and the same in another size does."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from heapq import nsmallest

from buildcheck.candidates.renewed import renewed_parts
from buildcheck.candidates.vetter import Vetted, Vetter
from buildcheck.fit.reading import unit_of
from buildcheck.library.records import fields_of
from buildcheck.model.bikes import Change
from buildcheck.model.blind import unseen
from buildcheck.model.levels import Level
from buildcheck.model.parts import Part
from buildcheck.model.report import RemedyPart, Sibling, Wanted
from buildcheck.model.sentences import shown

# As many as can be tried without anybody noticing: our choice.
_MOST_TRIED = 6
# Of one line of a maker two parts may differ in sizes that go together, as bore and length: our choice.
_MOST_DIFFERENCES = 4
_Differences = tuple[str, ...]
_UNFIT = (Level.BLOCKS, Level.UNKNOWN)


def siblings_of(vetter: Vetter, change: Change, vetted: Vetted) -> Iterator[Sibling]:
    """For each part of the change that brings what blocks: the one nearest to it that fits for sure.

    A part is near that differs from it in a single fact, or that is of the same line of the same maker, and if what
    it differs in is among the evidence of what blocks.
    """
    spots = vetted.context.bike
    for number, (part_id, position) in enumerate(change.fit):
        spot = spots.get(position)
        clashing = {
            item.attribute.partition(".")[0]
            for finding in vetted.blocking for item in finding.evidence if item.position == position
        }  # fmt: skip
        if spot is None or spot.part.id != part_id or not clashing:
            continue
        for part, differs in nsmallest(_MOST_TRIED, _near(vetter, spot.part, clashing), key=_rank):
            other = replace(change, fit=(*change.fit[:number], (part.id, position), *change.fit[number + 1 :]))
            if not any(finding.counts and finding.level in _UNFIT for finding in vetter.vet(other).findings):
                wanted = tuple(_wanted(part, name) for name in differs if name in clashing)
                yield Sibling(position, part_id, part.id, part.name, part.best_price_eur(), wanted)
                break


def asked_parts(vetter: Vetter, change: Change, vetted: Vetted) -> tuple[RemedyPart, ...]:
    """The parts that a change fits or puts in new, at the shop's own price where a piece lies in its stock.

    What is there already is not bought.
    """
    context, found = vetted.context, []
    for part_id, position in change.fit:
        spot = context.bike.get(position)
        if spot is None or position not in context.changed:
            continue
        lying = vetter.terms.stock.get(part_id)
        price = lying.price_eur if lying is not None and lying.quantity else spot.part.best_price_eur()
        found.append(RemedyPart(part_id, spot.part.name, position, price))
    return (*found, *renewed_parts(vetter, change.renew, context))


def _near(vetter: Vetter, part: Part, clashing: set[str]) -> Iterator[tuple[Part, _Differences]]:
    names = [name for name in fields_of(type(part)) if name not in unseen(part.kind)]
    for group in vetter.groups((part.kind,)):
        # All parts of a group are alike to the rules: the line of one of them may be the same.
        for part_id in group.ids:
            other = vetter.part(part_id)
            differs = tuple(name for name in names if getattr(other, name, None) != getattr(part, name, None))
            same_line = (other.maker, _line(other)) == (part.maker, _line(part))
            most = _MOST_DIFFERENCES if same_line else 1
            if 0 < len(differs) <= most and not clashing.isdisjoint(differs):
                yield other, differs


def _line(part: Part) -> tuple[str, ...]:
    """The words of a name without its sizes."""
    return tuple(word for word in part.name.casefold().split() if not any(map(str.isdigit, word)))


def _rank(near: tuple[Part, _Differences]) -> tuple[int, bool, float, str]:
    part, differs = near
    price = part.best_price_eur()
    return len(differs), price is None, price or 0.0, part.id


def _wanted(part: Part, name: str) -> Wanted:
    return Wanted(name, shown(getattr(part, name)), unit_of(type(part), name))
