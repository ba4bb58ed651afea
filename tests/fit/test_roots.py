"""Root causes: folded by rows and by places, never by words."""

from __future__ import annotations

import random

from buildcheck.fit.roots import root_causes
from buildcheck.model.findings import Evidence, Finding
from buildcheck.model.levels import Level, Origin
from buildcheck.model.report import FindingRef
from buildcheck.model.sentences import say
from buildcheck.rules.pages import pages
from laws.bench import catalogue


def found(name: str, *positions: str, rests_on: tuple[str, ...] = (), level: Level = Level.BLOCKS) -> Finding:
    evidence = tuple(Evidence(position, "a", "1", "mm", Origin.STATED, "x:1") for position in rests_on)
    return Finding(name, level, say("{it}.", it=name), positions, evidence)


def test_a_finding_folds_under_the_one_that_its_row_names_where_they_share_a_place() -> None:
    rows = {"short": ("no-place",), "charge": ("no-place", "short")}
    findings = [
        found("no-place", "junction", "bar"), found("short", "wire", rests_on=("junction",)),
        found("short", "hose", rests_on=("bar",)), found("charge", "battery", "junction"),
        found("risk", "junction", level=Level.CAUTION),
    ]  # fmt: skip
    causes = root_causes(findings, rows)
    assert [cause.root.name for cause in causes] == ["no-place", "short"]
    assert {ref.positions[0] for ref in causes[0].follow} == {"wire", "battery"}
    assert causes[1].root.positions == ("hose",)
    # The order in which findings come changes nothing, and each is told once.
    for _ in range(10):
        random.Random(_).shuffle(findings)
        assert root_causes(findings, rows) == causes
    told = [ref for cause in causes for ref in (cause.root, *cause.alike, *cause.follow)]
    blocking = [FindingRef(f.name, f.positions) for f in findings if f.level is Level.BLOCKS]
    assert sorted(told, key=str) == sorted(blocking, key=str)


def test_what_is_about_the_same_positions_is_one_cause() -> None:
    (cause,) = root_causes([found("clamp", "lever", "bar"), found("bar-type", "bar", "lever")], {})
    assert (cause.root.name, [ref.name for ref in cause.follow]) == ("bar-type", ["clamp"])


def test_findings_of_one_name_that_share_a_place_are_alike() -> None:
    places = (("a", "line"), ("b", "line"), ("c", "other"))
    causes = root_causes([found("no-way", *place) for place in places], {})
    assert [(cause.root.positions[0], len(cause.alike)) for cause in causes] == [("a", 1), ("c", 0)]


def test_what_was_asked_for_comes_first() -> None:
    findings = [found("a", "frame"), found("z", "stem")]
    assert [cause.root.name for cause in root_causes(findings, {})] == ["a", "z"]
    assert [cause.root.name for cause in root_causes(findings, {}, {"stem"})] == ["z", "a"]


def test_the_rows_name_findings_and_lead_in_one_direction() -> None:
    standards = catalogue().standards
    known, rows = pages(standards), standards.follows_from
    assert {name for row in rows.items() for name in (row[0], *row[1])} <= known.keys()

    def above(name: str, seen: tuple[str, ...]) -> None:
        assert name not in seen
        for other in rows.get(name, ()):
            above(other, (*seen, name))

    for name in rows:
        assert Level.BLOCKS in known[name].levels
        above(name, ())
