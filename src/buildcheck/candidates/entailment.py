"""Is a finding still entailed with other parts, such as parts of which less is known?"""

from __future__ import annotations

from collections.abc import Callable, Container, Mapping
from dataclasses import dataclass, replace
from functools import cache, partial

from buildcheck.candidates.evidence import goes_by_the_way, named_by
from buildcheck.candidates.features import PART
from buildcheck.fit.context import Context
from buildcheck.fit.lines import laid_for_sure
from buildcheck.fit.view import Memo, Same, View
from buildcheck.library.records import fields_of
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Finding
from buildcheck.model.parts import Part
from buildcheck.model.parts.base import token_of
from buildcheck.model.quantities import is_fact
from buildcheck.model.slots import name_to_tell
from buildcheck.remedies import Explanation, Features

# The same finding on another bike, if it is there and as serious.
Again = Callable[[Context, Finding], Finding | None]


@dataclass(frozen=True)
class FindingReason:
    """A finding of a vetted bike as a reason for a conflict or a cost, with the whole of what it rests on."""

    context: Context
    finding: Finding
    whole: Explanation


class TrialBikes:
    """The bikes on which trials are made, each made once: findings of one vetting are tried on the same ones.

    What was worked out on one, such as the ways of its lines, is then known. Those of the latest vetting are kept.
    """

    def __init__(self) -> None:
        self._of: Context | None = None
        self._made = Memo()

    def with_parts(self, context: Context, parts: Mapping[str, Part]) -> Context:
        """The bike of a vetting with these parts in place of those at their positions."""
        memo = context.view.memo

        def make() -> Context:
            fitted = {
                name: _with_part(memo, spot, parts[spot.home]) if spot.home in parts else spot
                for name, spot in context.bike.fitted.items()
            }
            return _changed(context, fitted, parts)

        key = frozenset((position, token_of(part)) for position, part in parts.items())
        return self._made_of(context).recall(("parts", key), make)

    def with_back(self, context: Context, back: Mapping[str, Fitted]) -> Context:
        """The bike of a vetting with these old parts back at their positions."""
        make = partial(_changed, context, {**context.bike.fitted, **back})
        return self._made_of(context).recall(("back", frozenset(back)), make)

    def _made_of(self, context: Context) -> Memo:
        if context is not self._of:
            self._of, self._made = context, Memo()
        return self._made


def _changed(context: Context, fitted: Mapping[str, Fitted], unread: Container[str] = ()) -> Context:
    """The vetting's bike with other parts fitted; nothing is inferred of the parts at some positions."""
    old = context.view
    inferred = {key: fact for key, fact in old.inferred.items() if key[0] not in unread}
    bike = context.bike.with_fitted(fitted)
    return Context(View(bike, old.standards, inferred, old.memo), context.before)


class Entailment:
    """Of one finding of a vetted bike: is it there, too, with other parts, and by no more than its explanation?

    `whole` is what it may rest on at the positions that may change. `settled` tells whether nothing else can ever come
    to a position: what it rests on there does not matter.
    """

    def __init__(
        self, reason: FindingReason, again: Again, settled: Callable[[str], bool], bikes: TrialBikes
    ) -> None:
        self.context, self.finding, self.whole = reason.context, reason.finding, reason.whole
        self.again, self.settled, self.bikes = again, settled, bikes
        self.by_way = goes_by_the_way(self.finding, self.whole)

    def still_entailed(self, parts: Mapping[str, Part]) -> bool:
        """Is the finding there, too, with these parts in place of those at their positions?

        It must be as serious, and rest on nothing more: the evidence of what is found is enough by itself, so what
        it does not name may be anything.
        """
        if not parts:
            return True
        context = self.bikes.with_parts(self.context, parts)
        found = self.again(context, self.finding)
        return (
            found is not None
            and all(self._may_rest_on(at, names) for at, names in named_by(context, found).items())
            and (not self.by_way or laid_for_sure(context.view, context.routing, found.positions))
        )

    def _may_rest_on(self, position: str, names: Features) -> bool:
        allowed = self.whole.get(position, frozenset())
        return PART in allowed or names <= allowed or self.settled(position)

    def named_with(self, back: Mapping[str, Fitted]) -> frozenset[str]:
        """Of old parts that come back to their positions those on which the finding then rests; all if it is gone."""
        context = self.bikes.with_back(self.context, back)
        found = self.again(context, self.finding)
        if found is None:
            return frozenset(back)
        named = named_by(context, found)
        if not all(self._may_rest_on(at, names) for at, names in named.items() if at not in back):
            return frozenset(back)
        return frozenset(back) & {*named, *found.positions}


def _with_part(memo: Memo, spot: Fitted, part: Part) -> Fitted:
    """Another part in a position; the same one for the same part, so that what was read off it is known."""
    return memo.recall(("with part", Same(spot), token_of(part)), lambda: replace(spot, part=part))


@cache
def nothing_known(record: type[Part]) -> Mapping[str, None]:
    """All that can be unknown of a record."""
    fields = fields_of(record).items()
    facts = [name for name, field in fields if is_fact(field.metadata) and not field.is_required()]
    return dict.fromkeys([*facts, *(name for name in ("passages", "code") if name in record.model_fields)])


def only(part: Part, names: Features) -> Part:
    """A part of which nothing is known but these attributes, and its lists of places, mounts and plugs."""
    fields = type(part).model_fields
    told = (name_to_tell(part, name) for name in names if isinstance(name, str))
    known = {name: getattr(part, name) for name in told if name in fields}
    return part.model_copy(update={**nothing_known(type(part)), **known})
