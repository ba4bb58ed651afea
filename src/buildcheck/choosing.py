"""The third use case: what else fits a position of a bike; a position in, every part with its verdict out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from buildcheck.library.looking import belonging, sizes_told
from buildcheck.model.bikes import Change
from buildcheck.model.choices import CauseCount, Choice, Choices
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Since, Verdict
from buildcheck.model.parts import Part
from buildcheck.vetting import Vetting, verdict_of


def choices(vetting: Vetting, position: str) -> Choices:
    """Every part that belongs at a position, fitted there one by one. Raises KeyError."""
    now = vetting.bike.get(position)
    judged = [pair for ids in _alike(vetting, position) for pair in _choices_of(vetting, position, ids)]
    judged.sort(key=lambda pair: (pair[0].price is None, pair[0].price or 0.0, pair[0].id))
    return Choices(
        bike=vetting.bike.id,
        bike_name=vetting.bike.name,
        position=position,
        fitted_now=None if now is None else now.part.id,
        fits=tuple(choice for choice, _ in judged if choice.verdict.startswith("fits")),
        undecided=tuple(choice for choice, _ in judged if choice.verdict is Verdict.UNDECIDED),
        blocked=tuple(choice for choice, _ in judged if choice.verdict is Verdict.BLOCKED),
        causes=_causes(judged),
    )


def _alike(vetting: Vetting, position: str) -> Iterator[tuple[str, ...]]:
    """The parts that a position takes, by id: those that no rule can tell apart together, the cheapest first.

    One that the bike knows, fitted or yet to come, is by itself: it changes less, or more is known of it.
    """
    row, bike = vetting.catalogue.standards.position(position), vetting.bike
    known = {spot.part.id for spot in (*bike.fitted.values(), *bike.layout.values())}
    known |= bike.own_parts.keys() | {part_id for part_id, _ in bike.to_come}
    for group in vetting.catalogue.groups(row.kinds) if row is not None else ():
        if not _belongs(vetting, position, vetting.catalogue.part(group.ids[0])):
            continue
        yield from ((part_id,) for part_id in group.ids if part_id in known)
        if others := tuple(part_id for part_id in group.ids if part_id not in known):
            yield others


def _choices_of(vetting: Vetting, position: str, ids: Sequence[str]) -> Iterator[tuple[Choice, tuple[Finding, ...]]]:
    """Parts that no rule can tell apart. The findings are those of the first: their messages name it."""
    first, brought = _choice(vetting, position, vetting.catalogue.part(ids[0]))
    yield first, brought
    for part in map(vetting.catalogue.part, ids[1:]):
        yield _told(vetting, part, first.verdict, first.names), brought


def _choice(vetting: Vetting, position: str, part: Part) -> tuple[Choice, tuple[Finding, ...]]:
    findings = vetting.vetted(Change(((part.id, position),))).findings
    brought = tuple(finding for finding in findings if finding.since is Since.CHANGE)
    names = tuple(dict.fromkeys(finding.name for finding in brought if finding.level.rank < Level.NOTE.rank))
    verdict = verdict_of(brought, changed=True)
    return _told(vetting, part, verdict, names), brought


def _told(vetting: Vetting, part: Part, verdict: Verdict, names: tuple[str, ...]) -> Choice:
    stock = vetting.agreed.stock
    lying, price = stock.get(part.id), part.best_price_eur()
    if lying is not None and lying.quantity:
        price = lying.price_eur
    pieces = None if not stock else lying.quantity if lying is not None else 0
    sizes = sizes_told(part, vetting.catalogue.standards)
    return Choice(part.id, part.name, price, verdict, names, sizes, pieces)


def _belongs(vetting: Vetting, position: str, part: Part) -> bool:
    """Is it what such a position is called by, or of the sort that sits there now? What nobody knows may be."""
    now = vetting.bike.get(position)
    for attribute, words in belonging(position, vetting.catalogue.standards).items():
        there = getattr(now.part, attribute, None) if now is not None else None
        if getattr(part, attribute, None) not in (None, there, *words):
            return False
    return True


def _causes(judged: Sequence[tuple[Choice, tuple[Finding, ...]]]) -> tuple[CauseCount, ...]:
    """What keeps parts out or leaves them undecided, the most frequent first; a part counts once for each name.

    The message is that of the first part; of parts that no rule can tell apart, the first is the one it names.
    """
    found: dict[tuple[str, Level], list[tuple[str, str]]] = {}
    for choice, findings in judged:
        serious = {(f.name, f.level): f for f in reversed(findings) if f.level in (Level.BLOCKS, Level.UNKNOWN)}
        for key, finding in serious.items():
            found.setdefault(key, []).append((choice.id, str(finding.message)))
    counts = [CauseCount(name, level, len(parts), *parts[0]) for (name, level), parts in found.items()]
    return tuple(sorted(counts, key=lambda cause: (cause.level.rank, -cause.count, cause.name)))
