"""The one part that no catalogue has and that would make a change possible."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import chain, combinations, islice

from buildcheck.candidates.domains import PartDomains
from buildcheck.candidates.entailment import FindingReason
from buildcheck.candidates.evidence import rests_on, values_of
from buildcheck.candidates.features import PartCandidate
from buildcheck.candidates.joints import ADAPTER
from buildcheck.candidates.oracle import PartsOracle
from buildcheck.fit.reading import least_of, unit_of
from buildcheck.model.parts import Part
from buildcheck.model.quantities import Interval
from buildcheck.model.report import NewPart, RemedyPart, Wanted
from buildcheck.model.sentences import say, shown
from buildcheck.remedies import GaveUpError, RemedySearch

# So many vettings may the search for one new part take, and so many sorts of it are thought up.
_MOST_VETTINGS = 60
_MOST_IDEAS = 150
NEW = "new-part"


def new_part(oracle: PartsOracle, core: Sequence[FindingReason]) -> NewPart | None:
    """A part that alone, or beside parts that are there, would clear what blocks; `core` is why nothing else does."""
    places = dict.fromkeys(chain.from_iterable(rests_on(reason.context, reason.finding) for reason in core))
    found = (_idea_for(oracle, position, core) for position in places)
    return min(
        (idea for idea in found if idea is not None),
        key=lambda idea: (len(idea.attributes), len(idea.beside)),
        default=None,
    )


def _idea_for(oracle: PartsOracle, position: str, core: Sequence[FindingReason]) -> NewPart | None:
    stock = oracle.stock
    base = None if stock.fixed(position) else _base(stock, position)
    if base is None:
        return None
    ideas = dict(islice(_ideas(stock, position, base, core), _MOST_IDEAS))
    for part in ideas.values():
        oracle.vetter.invent(part)
    trial_oracle = PartsOracle(oracle.vetter, oracle.change, _With(stock, position, ideas))
    trial = RemedySearch(trial_oracle, _MOST_VETTINGS, stop=oracle.vetter.stop)
    try:
        found = next(iter(trial), None)
    except GaveUpError:
        return None
    if found is None or position not in found.picked or found.picked[position].id not in ideas:
        return None
    return _told(position, base, found.picked)


class _With(PartDomains):
    """The same domains with parts in one of them that are thought up."""

    def __init__(self, stock: PartDomains, position: str, ideas: Mapping[str, Part]) -> None:
        self.position, self.ideas = position, ideas
        super().__init__(stock.vetter, stock.change, stock.start, stock.pinned)

    def adapters(self) -> Iterator[Part]:
        return chain(super().adapters(), (part for part in self.ideas.values() if part.kind == ADAPTER))

    def of(self, position: str) -> list[PartCandidate]:
        candidates = super().of(position)
        if position != self.position:
            return candidates
        return candidates + [PartCandidate(part, 0) for part in self.ideas.values()]


def _ideas(stock: PartDomains, position: str, base: Part, core: Sequence[FindingReason]) -> Iterator[tuple[str, Part]]:
    """Parts like the base with one or two other attributes."""
    others = stock.everything(position)
    names = sorted({
        name for reason in core for at, names in rests_on(reason.context, reason.finding).items() if at == position
        for name in names if isinstance(name, str) and name in type(base).model_fields
    })  # fmt: skip
    pools = {name: _pool(others, name, base, core) for name in names}
    changes = [{name: value} for name in names for value in pools[name]]
    changes += [{one: x, other: y} for one, other in combinations(names, 2) for x in pools[one] for y in pools[other]]
    for number, change in enumerate(changes, 1):
        identity = f"{NEW}-{position}-{number}"
        yield (
            identity,
            base.model_copy(update={**change, "id": identity, "name": "a new part", "offers": (), "price_eur": None}),
        )


def _base(stock: PartDomains, position: str) -> Part | None:
    """The part there, or the cheapest that may come there; what is thought up is like it."""
    spot = stock.start.bike.get(position)
    return spot.part if spot is not None else next(iter(stock.everything(position)), None)


def _pool(others: Sequence[Part], name: str, base: Part, core: Sequence[FindingReason]) -> list[object]:
    """The values that parts of the catalogue have for an attribute, and what the findings compare it with.

    What is compared may be the height of an arch below its bolt, and no tyre is -9 mm wide.
    """
    own = getattr(base, name)
    least = least_of(type(base), name)
    values = {repr(value): value for part in others if (value := getattr(part, name, None)) is not None}
    sort = type(own if own is not None else next(iter(values.values()), None))
    for reason in core:
        for attribute, value in values_of(reason.finding):
            if attribute != name and (isinstance(value, str) or (isinstance(value, Interval) and value.low >= least)):
                values.setdefault(repr(value), value)
    return [value for text, value in sorted(values.items()) if text != repr(own) and type(value) is sort]


def _told(position: str, base: Part, picked: Mapping[str, PartCandidate]) -> NewPart:
    part = picked[position].part
    assert part is not None
    wanted = tuple(
        Wanted(name, shown(getattr(part, name)), unit_of(type(part), name))
        for name in type(part).model_fields
        if name not in ("id", "name", "offers", "price_eur") and getattr(part, name) != getattr(base, name)
    )
    beside = tuple(
        RemedyPart(each.id or None, each.part.name if each.part is not None else say("leave off"), at, None)
        for at, each in sorted(picked.items()) if at != position
    )  # fmt: skip
    return NewPart(position, part.kind, base.id, wanted, beside)
