"""What a finding rests on, and trials of it: is it there, too, with other parts, and by no more than that?"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from buildcheck.candidates.features import CHANGED, PART, Name, Option
from buildcheck.fit.context import Context
from buildcheck.fit.lines import laid_for_sure
from buildcheck.fit.view import View
from buildcheck.library.records import fields_of
from buildcheck.model.bikes import Bike, Fitted
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.parts import Part
from buildcheck.model.quantities import is_fact
from buildcheck.candidates.features import CHANGED, PART, Name, Option
from buildcheck.model.slots import name_to_tell

Still = Callable[[Context, str], Sequence[Finding]]
Shelved = Mapping[str, Sequence[Option]]
# What a thing depends on: attributes of the part at each position.
Names = frozenset[Name]
Needs = Mapping[str, Names]
_WHOLE: Names = frozenset({PART})


def rests_on(context: Context, finding: Finding) -> Needs:
    """The positions that a finding rests on, each with the attributes of its part, or PART where none is named.

    CHANGED stands among them where it matters whether the part is another one.
    """
    named = _named(context, finding)
    unnamed = (
        home for name in finding.positions if not named.get(home := _home(context, name), frozenset()) - {CHANGED}
    )
    return {**named, **{home: named.get(home, _WHOLE) | _WHOLE for home in unnamed}}


def _named(context: Context, finding: Finding) -> Needs:
    """What the evidence of a finding names."""
    found: dict[str, set[Name]] = {}
    for item in finding.evidence:
        found.setdefault(item.position, set()).add(item.attribute.partition(".")[0])
    for position, names in found.items():
        spot = context.bike.get(position)
        # The place that a bike file names is that of the part as it is.
        if "mounts" in names and spot is not None and spot.place is not None:
            names.add(CHANGED)
    for name in finding.turns_on:
        found.setdefault(_home(context, name), set()).add(CHANGED)
    return {position: frozenset(names) for position, names in found.items()}


def _home(context: Context, position: str) -> str:
    spot = context.bike.get(position)
    return position if spot is None else spot.home


class Trials:
    """Trials of one finding of a vetted bike.

    `whole` is what it may rest on, of what stands on the shelves. `settled` tells whether nothing else can ever come
    to a position: what it rests on there does not matter.
    """

    def __init__(
        self, context: Context, finding: Finding, whole: Needs, still: Still, settled: Callable[[str], bool]
    ) -> None:  # fmt: skip
        self.context, self.finding, self.whole = context, finding, whole
        self.still, self.settled = still, settled
        # Work goes by the way that a line is thought to take: where a way is unknown, one is assumed all the same.
        self.by_way = finding.level is not Level.BLOCKS and any("passages" in names for names in whole.values())

    def stays(self, parts: Mapping[str, Part]) -> bool:
        """Is the finding there, too, with these parts in place of those at their positions?

        It must be as serious, and rest on nothing more: the evidence of what is found is enough by itself, so what
        it does not name may be anything.
        """
        if not parts:
            return True
        bike = self.context.bike
        fitted = {
            name: replace(spot, part=parts[spot.home]) if spot.home in parts else spot
            for name, spot in bike.fitted.items()
        }
        context = self._on(bike.with_fitted(fitted), parts)
        found = self._same(context)
        return (
            found is not None
            and all(self._may_rest_on(at, names) for at, names in _named(context, found).items())
            and (not self.by_way or laid_for_sure(context.view, context.routing, found.positions))
        )

    def _may_rest_on(self, position: str, names: Names) -> bool:
        allowed = self.whole.get(position, frozenset())
        return PART in allowed or names <= allowed or self.settled(position)

    def named_with(self, back: Mapping[str, Fitted]) -> frozenset[str]:
        """Of old parts that come back to their positions those on which the finding then rests; all if it is gone."""
        bike = self.context.bike
        context = self._on(bike.with_fitted({**bike.fitted, **back}), {})
        found = self._same(context)
        if found is None:
            return frozenset(back)
        named = _named(context, found)
        if not all(self._may_rest_on(at, names) for at, names in named.items() if at not in back):
            return frozenset(back)
        return frozenset(back) & {*named, *found.positions}

    def _on(self, bike: Bike, parts: Mapping[str, Part]) -> Context:
        old = self.context.view
        inferred = {key: fact for key, fact in old.inferred.items() if key[0] not in parts}
        return Context(View(bike, old.standards, inferred, old.memo), self.context.before)

    def _same(self, context: Context) -> Finding | None:
        found = (other for other in self.still(context, self.finding.name) if other.level is self.finding.level)
        return next((other for other in found if other.identity == self.finding.identity), None)


def vague(part: Part) -> Part:
    """A part of which nothing is known but its lists of places, mounts and plugs."""
    record = type(part)
    fields = fields_of(record).items()
    names = [name for name, field in fields if is_fact(field.metadata) and not field.is_required()]
    unknown: dict[str, object] = dict.fromkeys(names)
    unknown |= {name: None for name in ("passages", "code") if name in record.model_fields}
    return part.model_copy(update=unknown)


def only(part: Part, names: Names) -> Part:
    """A part of which nothing is known but these attributes, and its lists."""
    fields = type(part).model_fields
    told = (name_to_tell(part, name) for name in names if isinstance(name, str))
    known = {name: getattr(part, name) for name in told if name in fields}
    return vague(part).model_copy(update=known)
