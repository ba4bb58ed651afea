"""The use case: a bike and a change in, a report out. Everything else is a part of this sentence."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from buildcheck.candidates.vetter import Vetted
from buildcheck.fit.across import QUESTION, Across, World, across
from buildcheck.fit.change import apply_change
from buildcheck.fit.context import Build, Context
from buildcheck.fit.engine import Ran, found_again, run, run_counting, run_named
from buildcheck.fit.fillings import fillings
from buildcheck.fit.joints import infer_facts
from buildcheck.fit.roots import root_causes
from buildcheck.fit.view import Inferred, Memo, View
from buildcheck.library.alike import Group
from buildcheck.library.bikes import with_told
from buildcheck.library.catalogue import Catalogue
from buildcheck.measure.presence import presence_first
from buildcheck.measure.search import Answers, measure_first
from buildcheck.model.bikes import Bike, Change, Fitted
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof, Since, Verdict
from buildcheck.model.parts import Part
from buildcheck.model.pieces import of_the_piece
from buildcheck.model.report import ChangeItem, Gears, MeasureFirst, Report, RootCause, Skipped
from buildcheck.model.sentences import say
from buildcheck.model.slots import with_value
from buildcheck.model.terms import Terms
from buildcheck.rules import RULES, SETTLED_AT_WORK
from buildcheck.rules.hydraulics import renewed_facts
from buildcheck.rules.pages import OnUse, bench_alone, on_use

if TYPE_CHECKING:  # the search for remedies and its solver, and the order of work: a check has no use for them
    from buildcheck.model.actuals import Recalibrated
    from buildcheck.remedies import Stop
    from buildcheck.work.activities import Activity

_CONTRADICTS_USE = (
    "{fault} The records contradict that the bike is ridden so: one of them, or a measurement, is wrong."
)
CAUTIONS = (
    say(
        "This is a pre-check from records and arithmetic. It does not replace the maker's instructions, local "
        "rules, or the judgement of a qualified mechanic at the bike."
    ),
    say(
        "Brakes and steering: after any of this work, test both on the stand and on a short ride before the "
        "bike is handed over."
    ),
)


def verdict_of(findings: Sequence[Finding], changed: bool) -> Verdict:
    """The outcome: blocked, else undecided, else fits with extra work, else fits.

    An `unknown` that was there before a change, and that the change neither touches nor opens, does not count. What
    blocks counts whenever it was there, save on a bike in use: what that is ridden with today, and the change leaves
    alone, does not block the change, unless it endangers the rider.
    """
    levels = {finding.level for finding in findings if finding.counts or not changed}
    if Level.BLOCKS in levels:
        return Verdict.BLOCKED
    if Level.UNKNOWN in levels:
        return Verdict.UNDECIDED
    return Verdict.FITS_WITH_EXTRA_WORK if Level.EXTRA in levels else Verdict.FITS


@dataclass(frozen=True)
class Vetting:
    """One bike against one catalogue; changes to it are vetted against the same first vetting.

    Without terms the shop's own rate counts, every part may be used and every position be touched. `stop` may end
    the search for remedies.
    """

    bike: Bike
    catalogue: Catalogue
    terms: Terms | None = None
    stop: Stop | None = field(default=None, compare=False)
    as_told: bool = False  # nothing is asked of what may be in positions that nobody told of

    @cached_property
    def fillings(self) -> tuple[tuple[Vetting, Mapping[str, str]], ...]:
        """The bikes that this one may be besides as it is told; none where all is told."""
        if self.as_told or not self.bike.untold:
            return ()
        found = fillings(self.bike, self.catalogue.standards)
        return tuple((replace(self, bike=each.bike, as_told=True), each.filled) for each in found)

    @cached_property
    def plain(self) -> Vetting:
        """The bike as it is told, with nothing more: what the search for remedies tries sets of parts on."""
        return replace(self, as_told=True) if self.fillings else self

    @cached_property
    def agreed(self) -> Terms:
        """The terms, or those of the shop in the standards."""
        return self.terms or Terms(self.catalogue.standards.shop.rate_eur_per_hour)

    @cached_property
    def recalibrated(self) -> Mapping[str, Recalibrated]:
        """The minutes of operations of which the shop has records."""
        from buildcheck.work.actuals import recalibrate

        return recalibrate(self.catalogue.standards, self.agreed.taken_min)

    @cached_property
    def kept(self) -> frozenset[str]:
        """The positions that no remedy touches: those that were named, and what the parts in them fill too."""
        return self.bike.with_whole_parts(self.agreed.keep)

    @cached_property
    def memo(self) -> Memo:
        """Answers about parts and the facts inferred here, shared with every vetting that infers the same."""
        return _shared_memo(self.catalogue, self.inferred)

    @cached_property
    def invented(self) -> dict[str, Part]:
        """Parts that no catalogue has, which the search for remedies thought up."""
        return {}

    @cached_property
    def tried(self) -> Memo:
        """The changes that were tried on this bike."""
        return Memo()

    @cached_property
    def inferred(self) -> Inferred:
        """What the fitted parts tell of each other."""
        if not self.bike.in_use:
            return self._bare.layout.recall("inferred", lambda: infer_facts(self._bare))
        from buildcheck.fit.in_use import proven

        make = partial(proven, self._bare, infer_facts(self._bare), RULES)
        return self._bare.layout.recall(("proven", self.bike.untold), make)

    @cached_property
    def _on_use(self) -> Mapping[str, OnUse]:
        """What use proves of each finding; nothing is asked of a bike that is not in use."""
        standards = self.catalogue.standards
        return self._bare.memo.recall("on-use", lambda: on_use(standards)) if self.bike.in_use else {}

    @cached_property
    def _bare(self) -> View:
        """The bike as the records alone tell of it."""
        return View(self.bike, self.catalogue.standards, memo=_shared_memo(self.catalogue, {}))

    @cached_property
    def before(self) -> Build:
        """The bike as it stands."""
        if not self.inferred:
            return Build(self._bare)
        return Build(View(self.bike, self.catalogue.standards, self.inferred, self.memo))

    @cached_property
    def ran_before(self) -> Ran:
        """The findings on the bike as it stands."""
        return run(Context(self.before.view), RULES)

    @cached_property
    def standing(self) -> tuple[Finding, ...]:
        """The same as a report tells them: as what was there before any change."""
        found = (replace(finding, since=Since.BEFORE) for finding in self.ran_before.findings)
        return tuple(sorted(map(self._as_ridden, found), key=Finding.sort_key)) if self.bike.in_use else tuple(found)

    def check(self) -> Report:
        """Vet the bike as it stands."""
        ran = self.ran_before
        findings = self._across(Change()).findings
        return Report(
            verdict=verdict_of(findings, changed=False),
            bike=self.bike.id,
            bike_name=self.bike.name,
            findings=findings,
            measure_first=self.measure_first(Change()),
            cautions=CAUTIONS,
            root_causes=self._root_causes(findings),
            bench_alone=self._bench_alone(findings),
            rules_run=ran.rules_run,
            rules_skipped=tuple(Skipped(*item) for item in ran.rules_skipped),
        )

    def swap(self, change: Change) -> Report:
        """Vet a change: findings before and after, what clears it, what it takes."""
        from buildcheck.candidates.renewed import fitted_already, not_sold
        from buildcheck.candidates.report import find_remedies
        from buildcheck.candidates.siblings import asked_parts, siblings_of
        from buildcheck.pictures.gears import gears_of
        from buildcheck.work.plan import plan_work

        vetted, ran = self._vet(change)
        findings = vetted.findings
        pinned = self.asked_positions(change, vetted) | self.kept
        vetter = self.plain.vetter(change.positions)
        start = self.plain.vetted(change) if vetted.blocking else vetted
        found = find_remedies(vetter, change, start, pinned)
        done = self._vet(found.cheapest)[0] if found.cheapest else vetted
        positions = self.asked_positions(change, done)
        rate = self.agreed.rate_eur_per_hour
        work = plan_work(done.context, done.findings, positions, rate, self.recalibrated)
        return Report(
            verdict=verdict_of(findings, changed=True),
            bike=self.bike.id,
            bike_name=self.bike.name,
            change=_items(change, self.bike),
            findings=findings,
            cleared=self._cleared(findings),
            remedies=found.remedies,
            search=found.search,
            work=work,
            work_note="counted with remedy 1, since the change as asked is blocked" if found.cheapest else "",
            measure_first=self.measure_first(found.cheapest or change),
            gears=Gears(gears_of(self.before.view), gears_of(vetted.context.view)),
            cautions=(
                *CAUTIONS,
                *fitted_already(change, vetted.context),
                *not_sold(vetter, change, vetted.context),
            ),
            root_causes=self._root_causes(findings, change.positions),
            siblings=tuple(siblings_of(self.vetter(change.positions), change, vetted)),
            asked_parts=asked_parts(vetter, change, vetted),
            bench_alone=self._bench_alone(findings),
            rules_run=ran.rules_run,
            rules_skipped=tuple(Skipped(*item) for item in ran.rules_skipped),
        )

    def _root_causes(self, findings: Sequence[Finding], asked: Collection[str] = ()) -> tuple[RootCause, ...]:
        return root_causes(findings, self.catalogue.standards.follows_from, asked)

    def _bench_alone(self, findings: Iterable[Finding]) -> tuple[str, ...]:
        """The names of those findings whose cautions concern the bench alone."""
        cautions = {finding.name for finding in findings if finding.level is Level.CAUTION}
        return tuple(sorted(cautions & bench_alone(self.catalogue.standards))) if cautions else ()

    def vetted(self, change: Change) -> Vetted:
        """The bike after a change with what was found, without the search for remedies."""
        return self._vet(change)[0]

    def asked_positions(self, change: Change, vetted: Vetted) -> frozenset[str]:
        """The positions of the bare swap, with all that the asked parts fill."""
        return self._pinned(vetted.context, change.positions)

    def findings(self, change: Change) -> tuple[Finding, ...]:
        """What is found after a change, or on the bike as it stands; without the search for remedies."""
        return self._vet(change)[0].findings if change.positions else self._across(change).findings

    def findings_named(self, change: Change, name: str) -> list[Finding]:
        """As `findings`, of one name only: far cheaper."""
        return run_named(self._context(change) if change.positions else Context(self.before.view), RULES, name)

    def _vet(self, change: Change) -> tuple[Vetted, Ran]:
        return self.tried.recall(("vetted", change), lambda: self._vet_anew(change))

    def _vet_anew(self, change: Change) -> tuple[Vetted, Ran]:
        context, ran = self._ran(change)
        findings = self._across(change).findings if self.fillings else self._dated(ran.findings, context)
        return Vetted(context, findings), ran

    def _ran(self, change: Change) -> tuple[Context, Ran]:
        return self.tried.recall(("ran", change), lambda: self._run_anew(change))

    def _run_anew(self, change: Change) -> tuple[Context, Ran]:
        context = self._context(change)
        return context, run(context, RULES)

    def _across(self, change: Change) -> Across:
        """What is found whatever is in the positions that nobody told of."""
        return self.tried.recall(("across", change), lambda: self._across_anew(change))

    def _across_anew(self, change: Change) -> Across:
        worlds = [World(vetting._found(change), filled) for vetting, filled in self.fillings]
        return across(self._found(change), worlds) if worlds else Across(self._found(change), {})

    def _found(self, change: Change) -> tuple[Finding, ...]:
        """What is found on the bike as it is told, with when it came."""
        if change == Change():
            return self.standing
        context, ran = self._ran(change)
        return self._dated(ran.findings, context)

    def _context(self, change: Change) -> Context:
        """The bike after a change, beside the bike before it."""
        return self.tried.recall(("context", change), lambda: self._context_anew(change))

    def _context_anew(self, change: Change) -> Context:
        # A change with one more part is that part fitted to the bike that is there already.
        shorter = self.tried.get(("context", replace(change, fit=change.fit[:-1]))) if len(change.fit) > 1 else None
        if isinstance(shorter, Context):
            last = Change(change.fit[-1:], move=change.move, placed=change.placed)
            after = apply_change(shorter.bike, last, self._look_up, self.catalogue.standards)
        else:
            after = apply_change(self.bike, change, self._look_up, self.catalogue.standards)
        view = View(after, self.catalogue.standards, self._still_inferred(after), self.memo)
        return Context(view, self.before)

    def _still_inferred(self, after: Bike) -> Inferred:
        """What was read off the fitted parts holds for the parts that stay."""
        return {
            key: fact for key, fact in self.inferred.items() if key[0] in after and self._stays(after[key[0]], key[1])
        }  # fmt: skip

    def _stays(self, spot: Fitted, attribute: str) -> bool:
        """Is what was known of a part known of the one that is there after a change, too?"""
        if spot.renewed:
            return attribute not in of_the_piece(spot.part.kind)
        return spot.part is self.bike[spot.position].part

    def _dated(self, findings: Sequence[Finding], context: Context) -> tuple[Finding, ...]:
        """Mark what was there before: the same finding, which the change has not touched."""
        old = {finding.identity: finding.level for finding in self.ran_before.findings}
        dated = [
            self._left_alone(finding)
            if old.get(finding.identity) is finding.level and not _touches(finding, context)
            else finding
            for finding in findings
        ]
        return tuple(sorted(dated, key=Finding.sort_key))

    def _left_alone(self, finding: Finding) -> Finding:
        """A finding that was there before, which the change leaves as it was."""
        counts = finding.level is not Level.UNKNOWN and not self._is_ridden_with(finding)
        return self._as_ridden(replace(finding, since=Since.BEFORE, counts=counts))

    def _is_ridden_with(self, finding: Finding) -> bool:
        """Is it a fault that the bike is ridden with today, without danger to the rider?"""
        use = self._on_use.get(finding.name)
        lasts = use is not None and use.proves is Proof.NOTHING and not use.endangers
        return lasts and finding.level is Level.BLOCKS

    def _as_ridden(self, finding: Finding) -> Finding:
        """What blocks on the bike as it stands: with what it means that the bike is ridden so today."""
        use = self._on_use.get(finding.name)
        if use is None or finding.level is not Level.BLOCKS:
            return finding
        if use.proves is Proof.NOTHING:
            return replace(finding, endangers=use.endangers)
        return replace(finding, message=say(_CONTRADICTS_USE, fault=finding.message))

    def _cleared(self, findings: Sequence[Finding]) -> tuple[Finding, ...]:
        """What is gone. The same fault at the same place that is now about other parts too is not."""
        now = {finding.identity for finding in findings}
        before = [finding for finding in self._across(Change()).findings if finding.name != QUESTION]
        gone = [finding for finding in before if finding.identity not in now]
        old = {finding.identity for finding in before}
        new = Counter(finding.key for finding in findings if finding.identity not in old)
        cleared = []
        for finding in gone:
            if new[finding.key]:
                new[finding.key] -= 1
            else:
                cleared.append(finding)
        return tuple(cleared)

    def vetter(self, asked: frozenset[str]) -> PartsVetter:
        """What the search for remedies needs of the rules, the catalogue and the work."""
        return PartsVetter(self, asked)

    def measure_first(self, change: Change) -> tuple[MeasureFirst, ...]:
        """What to measure first for a change, or for the bike as it stands; nothing if the verdict is decided."""
        return self.tried.recall(("measure first", change), lambda: self._measure_first(change))

    def _measure_first(self, change: Change) -> tuple[MeasureFirst, ...]:
        if change == Change():
            view, findings = self.before.view, self._across(change).findings
        else:
            vetted = self._vet(change)[0]
            view, findings = vetted.context.view, tuple(_counting(vetted.findings))
        asked = presence_first(view, findings, self._across(change).decides) if self.fillings else ()
        facts = tuple(finding for finding in findings if finding.name != QUESTION)
        return asked + measure_first(view, facts, MeasuringOracle(self, change))

    def _told(self, facts: Mapping[tuple[str, str], object], change: Change) -> Vetting:
        """The same bike with more facts known."""
        bike = self.bike
        for (position, attribute), value in facts.items():
            bike = with_told(bike, change, position, partial(_with_fact, attribute, value), self.catalogue)
        told = replace(self, bike=bike)
        if bike.in_use:  # what use proves of the bike as it is holds for the trial; rules are not asked again for each
            from buildcheck.fit.in_use import with_more_told

            told.__dict__["inferred"] = with_more_told(told._bare, infer_facts(told._bare), self.inferred)
        return told

    def _that_count(self, change: Change, names: Collection[str] | None) -> list[Finding]:
        """The findings that decide the verdict, or those of some names. The bike before is vetted as far as needed."""
        if change == Change():
            return run_counting(Context(self.before.view), RULES, names)
        context = self._context(change)
        return [
            finding for finding in run_counting(context, RULES, names)
            if (finding.level is Level.BLOCKS and not self._is_ridden_with(finding))
            or _touches(finding, context) or not self._was_there(finding)
        ]  # fmt: skip

    def _was_there(self, finding: Finding) -> bool:
        """Was this, as serious, on the bike as it stands?"""
        old = sorted(run_named(Context(self.before.view), RULES, finding.name), key=Finding.sort_key)
        return {each.identity: each.level for each in old}.get(finding.identity) is finding.level

    def _invent(self, part: Part) -> None:
        self.invented[part.id] = part

    def _pinned(self, context: Context, asked: frozenset[str]) -> frozenset[str]:
        """What the customer asked for stays; so does every position that the asked part fills."""
        return asked | {name for name, spot in context.bike.fitted.items() if spot.home in asked}

    def parts_for(self, position: str) -> list[Part]:
        """The catalogue's parts for a position."""
        row = self.catalogue.standards.position(position)
        return [] if row is None else list(self.catalogue.of_kinds(row.kinds))

    def _look_up(self, part_id: str) -> tuple[Part, Mapping[str, str]]:
        if part_id in self.bike.own_parts:
            return self.bike.own_parts[part_id]
        if part_id in self.invented:
            return self.invented[part_id], {}
        return self.catalogue.part(part_id), self.catalogue.where(part_id)


@dataclass(frozen=True)
class PartsVetter:
    """A vetting as the search for remedies sees it; `asked` are the positions of the bare swap."""

    vetting: Vetting
    asked: frozenset[str]

    @property
    def terms(self) -> Terms:
        """The shop's prices, its stock, and what it leaves out."""
        return self.vetting.agreed

    @property
    def settled_at_work(self) -> frozenset[str]:
        """The names of the findings for whose cautions no other part would be better."""
        return SETTLED_AT_WORK

    @property
    def stop(self) -> Stop | None:
        """What may stop the search."""
        return self.vetting.stop

    @cached_property
    def known_before(self) -> frozenset[object]:
        """The identities of the findings before the change."""
        return frozenset(finding.identity for finding in self.vetting.ran_before.findings)

    def vet(self, change: Change) -> Vetted:
        """The bike after a change with all that is found."""
        return self.vetting.vetted(change)

    def context(self, change: Change) -> Context:
        """The bike after a change, of which nothing is vetted yet."""
        return self.vetting._context(change)

    def found_again(self, context: Context, finding: Finding) -> Finding | None:
        """The same finding on another bike, if it is there and as serious; without its causes."""
        return found_again(context, RULES, finding)

    def extra_work(self, vetted: Vetted) -> list[Activity]:
        """The activities beyond the bare swap."""
        from buildcheck.work.activities import bare_and_rest

        positions = self.vetting._pinned(vetted.context, self.asked)
        return bare_and_rest(vetted.context, vetted.findings, positions, self.vetting.recalibrated)[1]

    def groups(self, kinds: Iterable[str]) -> Sequence[Group]:
        """The catalogue's groups of parts that no rule can tell apart."""
        return self.vetting.catalogue.groups(kinds)

    def part(self, part_id: str) -> Part:
        """A record of the catalogue."""
        return self.vetting.catalogue.part(part_id)

    def invent(self, part: Part) -> None:
        """Make a part known that is in no catalogue."""
        self.vetting._invent(part)


@dataclass(frozen=True)
class MeasuringOracle:
    """A vetting of a change as the search for what to measure first sees it."""

    vetting: Vetting
    change: Change

    def vet(self, answers: Answers, names: Collection[str] | None) -> list[Finding]:
        """The findings that count once these facts are known."""
        found = self.vetting._told(answers, self.change)._that_count(self.change, names)
        return [finding for finding in found if finding.name != QUESTION]

    def parts_like(self, position: str) -> list[Part]:
        """The catalogue's parts for a position."""
        return self.vetting.parts_for(position)


# Different sets of inferred facts whose answers are kept at once; a workshop vets a handful of bikes in a day.
_MOST_MEMOS = 64
_MEMOS: WeakKeyDictionary[Catalogue, dict[Hashable, Memo]] = WeakKeyDictionary()


def _shared_memo(catalogue: Catalogue, inferred: Inferred) -> Memo:
    memos = _MEMOS.setdefault(catalogue, {})
    if len(memos) >= _MOST_MEMOS:
        memos.clear()
    told = frozenset((key, fact.value, fact.possible, fact.where) for key, fact in inferred.items())
    return memos.setdefault(told, Memo())


def _with_fact(attribute: str, value: object, spot: Fitted) -> Fitted:
    """The part with one more fact that was measured."""
    told = frozenset({attribute.partition(".")[0]})
    return replace(spot, part=with_value(spot.part, attribute, value), measured=spot.measured | told)


def _touches(finding: Finding, context: Context) -> bool:
    """Is it about what the change touches, or about what it opens and fills anew?"""
    places = {*finding.positions, *(item.position for item in finding.evidence if not item.behind)}
    if finding.whole_bike or places & context.touched:
        return True
    undecided = {(item.position, item.attribute) for item in finding.undecided}
    renewed = context.view.local.recall("renewed-facts", lambda: renewed_facts(context)) if undecided else frozenset()
    return not undecided.isdisjoint(renewed)


def _counting(findings: Sequence[Finding]) -> list[Finding]:
    """Those that decide the verdict on a change."""
    return [finding for finding in findings if finding.counts]


def _items(change: Change, bike: Bike) -> tuple[ChangeItem, ...]:
    where = {each.position: (each.on, each.place, each.start, each.end) for each in change.placed}
    nowhere = (None, None, None, None)
    fits = [ChangeItem(at, part_id, False, None, *where.get(at, nowhere)) for part_id, at in change.fit]
    renewed = [ChangeItem(at, renew=bike[at].part.id) for at in change.renew]
    moved = [ChangeItem(each.position, None, False, None, *where[each.position]) for each in change.moved]
    return (*fits, *renewed, *moved, *(ChangeItem(position, take_off=True) for position in change.take_off))
