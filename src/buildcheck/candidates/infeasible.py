"""Why no remedy exists: facts that are enough to exclude it, and the one new part that would make it possible."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import chain, combinations, islice

from buildcheck.candidates.domains import Shelves
from buildcheck.candidates.entailment import rests_on
from buildcheck.candidates.features import Option
from buildcheck.fit.facts import shown, unit_of
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.parts import Part
from buildcheck.model.quantities import Interval
from buildcheck.model.report import NewPart, Outcome, RemedyPart, Search, Wanted
from buildcheck.remedies.master import excluded_by
from buildcheck.remedies.search import GaveUpError, Remedies, Tried

# So many vettings may the search for one new part take, and so many sorts of it are thought up.
_MOST_VETTINGS = 60
_MOST_IDEAS = 150
_MOST_TOLD = 3
NEW = "new-part"


def why_impossible(invent: Callable[[Part], None], search: Remedies, sets: float) -> Search:
    """What a search that found nothing has to tell."""
    core = _core(search)
    return Search(
        outcome=Outcome.IMPOSSIBLE,
        sets=sets,
        vetted=len(search.tried),
        causes=tuple(_causes(search, core)),
        new_part=_new_part(invent, search, core),
    )


def _core(search: Remedies) -> list[Finding]:
    """Findings of the change as asked that cannot all be cleared; none of them can be left out."""
    asked = [case for case in search.lessons.conflicts if not case.picked]
    hard = search.lessons.hard()
    own = [search.lessons.condition(case) for case in asked]
    rest = [condition for condition in hard if condition not in own]
    kept = list(range(len(asked)))
    for index in sorted(kept, key=lambda index: len(own[index]), reverse=True):  # the plainest stays
        trial = [own[other] for other in kept if other != index]
        if excluded_by(search.lessons.shelves, [*rest, *trial]):
            kept.remove(index)
    findings = [finding for index in kept if (finding := asked[index].finding) is not None]
    return findings or list(search.start.refused_by[:1])


def _causes(search: Remedies, core: Sequence[Finding]) -> Iterator[Cause]:
    for finding in core:
        below = []
        for position in rests_on(search.start.vetted.context, finding):
            if position in search.lessons.shelves or not search.lessons.stock.fixed(position):
                below.append(_choices(search, position))
            elif position in finding.positions:
                below.append(
                    Cause(f"the {position.replace('-', ' ')} stays: {_why_fixed(search.lessons.stock, position)}")
                )
        yield Cause(f"{finding.name}: {finding.message}", tuple(below))


def _why_fixed(shelves: Shelves, position: str) -> str:
    if position in shelves.pinned:
        return "it was asked for, or is to be kept"
    return "another one would make another bike"


def _choices(search: Remedies, position: str) -> Cause:
    """How many other parts there are for a position, and what keeps them out."""
    shelves, place = search.lessons.stock, position.replace("-", " ")
    total, why = shelves.refused(position)
    if not total:
        return Cause(f"the catalogue has no other part for the {place}")
    counts = Counter(why.values())
    told = ", ".join(f"{count} x {name}" for name, count in sorted(counts.items(), key=lambda row: (-row[1], row[0])))
    left = total - len(why)
    refused = [f"{len(why)} clash with what stays ({told})"] if why else []
    if left:
        blocks = Counter(
            finding.name
            for tried in search.tried.values() if position in tried.picked
            for finding in tried.refused_by if position in rests_on(tried.vetted.context, finding)
        )  # fmt: skip
        names = (
            ", ".join(name for name, _ in blocks.most_common(_MOST_TOLD)) or "each needs a neighbour that is not there"
        )
        refused.append(f"{left} block in another way ({names})")
    return Cause(f"{total} other sorts for the {place}, and none helps: {'; '.join(refused)}")


# ---------------------------------------------------------------------- the part that is missing


def _new_part(invent: Callable[[Part], None], search: Remedies, core: Sequence[Finding]) -> NewPart | None:
    """A part that no catalogue has and that alone, or beside parts that are there, would do."""
    start = search.start.vetted.context
    places = dict.fromkeys(chain.from_iterable(rests_on(start, finding) for finding in core))
    found = (_idea_for(invent, search, position, core) for position in places)
    return min(
        (idea for idea in found if idea is not None),
        key=lambda idea: (len(idea.attributes), len(idea.beside)),
        default=None,
    )


def _idea_for(
    invent: Callable[[Part], None], search: Remedies, position: str, core: Sequence[Finding]
) -> NewPart | None:
    stock = search.lessons.stock
    if stock.fixed(position):
        return None
    ideas = dict(islice(_ideas(search, position, core), _MOST_IDEAS))
    for part in ideas.values():
        invent(part)
    trial = Remedies(search.bench, _With(stock, position, ideas), search.change, _MOST_VETTINGS)
    try:
        tried = next(iter(trial), None)
    except GaveUpError:
        return None
    if tried is None or position not in tried.picked or tried.picked[position].id not in ideas:
        return None
    return _told(search, position, tried)


class _With(Shelves):
    """The same shelves with parts on one of them that are thought up."""

    def __init__(self, stock: Shelves, position: str, ideas: Mapping[str, Part]) -> None:
        super().__init__(stock.store, stock.start, stock.pinned)
        self.position, self.ideas = position, ideas

    def of(self, position: str) -> list[Option]:
        options = super().of(position)
        return options + [Option(part, 0) for part in self.ideas.values()] if position == self.position else options


def _ideas(search: Remedies, position: str, core: Sequence[Finding]) -> Iterator[tuple[str, Part]]:
    """Parts like the one there, or like the cheapest that may come there, with one or two other attributes."""
    start = search.start.vetted.context
    options = search.lessons.stock.everything(position)
    base = _base(search, position)
    if base is None:
        return
    names = sorted({
        name for finding in core for at, names in rests_on(start, finding).items() if at == position
        for name in names if isinstance(name, str) and name in type(base).model_fields
    })  # fmt: skip
    pools = {name: _pool(options, name, getattr(base, name), core) for name in names}
    changes = [{name: value} for name in names for value in pools[name]]
    changes += [{one: x, other: y} for one, other in combinations(names, 2) for x in pools[one] for y in pools[other]]
    for number, change in enumerate(changes, 1):
        identity = f"{NEW}-{position}-{number}"
        yield (
            identity,
            base.model_copy(update={**change, "id": identity, "name": "a new part", "offers": (), "price_eur": None}),
        )


def _base(search: Remedies, position: str) -> Part | None:
    """The part there, or the cheapest that may come there; what is thought up is like it."""
    spot = search.start.vetted.context.bike.get(position)
    return spot.part if spot is not None else next(iter(search.lessons.stock.everything(position)), None)


def _pool(options: Sequence[Part], name: str, own: object, core: Sequence[Finding]) -> list[object]:
    """The values that parts of the catalogue have for an attribute, and what the findings compare it with."""
    values = {repr(value): value for part in options if (value := getattr(part, name, None)) is not None}
    sort = type(own if own is not None else next(iter(values.values()), None))
    for finding in core:
        for item in finding.evidence:
            if item.value is not None and not item.open and item.attribute != name:
                found = _read(item.value, sort)
                if found is not None:
                    values.setdefault(repr(found), found)
    return [value for text, value in sorted(values.items()) if text != repr(own) and type(value) is sort]


def _read(text: str, sort: type) -> object:
    if sort is Interval:
        try:
            return Interval(float(text), float(text))
        except ValueError:
            return None
    return text if sort is str and " " not in text else None


def _told(search: Remedies, position: str, tried: Tried) -> NewPart:
    part, base = tried.picked[position].part, _base(search, position)
    assert part is not None
    assert base is not None
    wanted = tuple(
        Wanted(name, shown(getattr(part, name)), unit_of(type(part), name))
        for name in type(part).model_fields
        if name not in ("id", "name", "offers", "price_eur") and getattr(part, name) != getattr(base, name)
    )
    beside = tuple(
        RemedyPart(option.id or None, option.part.name if option.part is not None else "leave off", at, None)
        for at, option in sorted(tried.picked.items()) if at != position
    )  # fmt: skip
    return NewPart(position, part.kind, base.id, wanted, beside)
