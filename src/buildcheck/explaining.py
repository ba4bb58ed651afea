"""An example of a finding and its cure, both found by the rules: a case that fires, and what makes it fall silent."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice
from pathlib import Path
from typing import NamedTuple

from buildcheck.candidates.domains import ANOTHER_BIKE
from buildcheck.library.cases import Case, bike_and_change, read_case
from buildcheck.library.catalogue import Catalogue
from buildcheck.model.bikes import Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.vetting import Vetting

# The cheapest parts that are looked at, and those of them that are vetted in full: some tenths of a second.
_MOST_LOOKED_AT, _MOST_VETTED = 120, 20
# What is only to be told, and what is done as a step of the work, asks for no other part.
_CURED_BY_PARTS = (Level.BLOCKS, Level.CAUTION)


class CurePart(NamedTuple):
    """A part that makes the example fall silent, and brings nothing that blocks; no id: what to leave off."""

    id: str | None
    name: str
    position: str
    price_eur: float | None


class Difference(NamedTuple):
    """One thing that is otherwise where it stays silent; None where it is not done at all."""

    what: str
    fires: str | None
    silent: str | None


class Example(NamedTuple):
    """A case that fires with what is found there, the cheapest part that cures it, and the nearest silent case."""

    case: Case
    finding: Finding
    part: CurePart | None
    silent: Case | None
    differences: tuple[Difference, ...]


def example_of(name: str, level: Level, catalogue: Catalogue, folder: Path) -> Example | None:
    """The first case of a finding that fires at a level; None where the folder has no such case."""
    for path in sorted((folder / name).glob("fires-*.yaml")):
        case = read_case(path)
        if case.said["expect"]["level"] != level:
            continue
        bike, change = bike_and_change(case, catalogue)
        vetting = Vetting(bike, catalogue)
        fired = vetting.findings(change)
        finding = next((finding for finding in fired if finding.name == name and finding.level is level), None)
        if finding is not None:
            silent = _nearest_silent(name, case, catalogue, folder)
            differences = _differences(case, silent) if silent is not None else ()
            return Example(case, finding, _cure(vetting, change, finding, fired), silent, differences)
    return None


def _cure(vetting: Vetting, change: Change, finding: Finding, fired: tuple[Finding, ...]) -> CurePart | None:
    if finding.level not in _CURED_BY_PARTS:
        return None
    blocked = _blocks(fired)
    hits = (
        trial for trial in islice(_trials(vetting, change, finding), _MOST_LOOKED_AT)
        if not vetting.findings_named(trial[2], finding.name)
    )  # fmt: skip
    for part_id, position, trial in islice(hits, _MOST_VETTED):
        after = vetting.findings(trial)
        if _blocks(after) <= blocked and all(other.name != finding.name for other in after):
            if part_id is None:
                return CurePart(None, vetting.bike[position].part.name, position, None)
            part = vetting.catalogue.part(part_id)
            return CurePart(part.id, part.name, position, part.best_price_eur())
    return None


def _blocks(findings: tuple[Finding, ...]) -> set[tuple[str, str]]:
    return {finding.key for finding in findings if finding.level is Level.BLOCKS}


def _trials(vetting: Vetting, change: Change, finding: Finding) -> Iterator[tuple[str | None, str, Change]]:
    """Another part in one of the finding's positions, besides the change or instead of what it fits; cheapest first.

    Then what could be left off, and last another frame or fork, with which it would be another bike.
    """
    catalogue = vetting.catalogue
    found: list[tuple[tuple[bool, float, str], str, str]] = []
    now = {name: spot.part.id for name, spot in vetting.bike.fitted.items()} | {name: part for part, name in change.fit}
    for position in finding.positions:
        row = catalogue.standards.position(position)
        found.extend(
            (group.rank, position, group.ids[0])
            for group in (catalogue.groups(row.kinds) if row is not None else ())
            if now.get(position) not in group.ids
            and group.price_eur is not None
            and _of_the_same_use(vetting, position, group.ids[0])
        )
    def fitted(last: bool) -> Iterator[tuple[str | None, str, Change]]:
        for _, position, part_id in sorted(found):
            row = catalogue.standards.position(position)
            if row is not None and (row.way_rank >= ANOTHER_BIKE) is last:
                others = tuple(pair for pair in change.fit if pair[1] != position)
                left = tuple(there for there in change.take_off if there != position)
                yield part_id, position, replace(change, fit=(*others, (part_id, position)), take_off=left)

    yield from fitted(last=False)
    fits = {position for _, position in change.fit}
    for position in finding.positions:
        if position in vetting.bike and vetting.bike[position].home == position and position not in fits:
            yield None, position, replace(change, take_off=(*change.take_off, position))
    yield from fitted(last=True)


def _of_the_same_use(vetting: Vetting, position: str, part_id: str) -> bool:
    """A lamp is no cure for a bag, though both are accessories."""
    spot = vetting.bike.get(position)
    return spot is None or getattr(spot.part, "use", None) == getattr(vetting.catalogue.part(part_id), "use", None)


def _nearest_silent(name: str, fires: Case, catalogue: Catalogue, folder: Path) -> Case | None:
    """The silent case in which least is otherwise, if the rules find nothing of the name there."""
    cases = [read_case(path) for path in sorted((folder / name).glob("silent-*.yaml"))]
    for case in sorted(cases, key=lambda case: len(_differences(fires, case))):
        bike, change = bike_and_change(case, catalogue)
        if not Vetting(bike, catalogue).findings_named(change, name):
            return case
    return None


def _differences(fires: Case, silent: Case) -> tuple[Difference, ...]:
    one, other = fires.steps(), silent.steps()
    return tuple(
        Difference(what, one.get(what), other.get(what))
        for what in dict.fromkeys((*one, *other)) if one.get(what) != other.get(what)
    )  # fmt: skip
