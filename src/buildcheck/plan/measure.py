"""What to measure first: the missing facts behind undecided findings, those that settle most per minute first."""

from __future__ import annotations

from collections.abc import Iterable

from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.report import MeasureFirst
from buildcheck.model.standards import Measurement

ANY_ATTRIBUTE = "*"


def measure_first(view: View, findings: Iterable[Finding]) -> tuple[MeasureFirst, ...]:
    """Each missing fact once, with how to measure it and the findings that it decides."""
    decides: dict[tuple[str, str], set[str]] = {}
    for finding in findings:
        if finding.level is not Level.UNKNOWN:
            continue
        for item in finding.undecided:
            decides.setdefault((item.position, item.attribute), set()).add(finding.name)
    rows = []
    for (position, attribute), names in decides.items():
        how = how_to_measure(view, position, attribute)
        rows.append(MeasureFirst(position, attribute, how.how, how.minutes, tuple(sorted(names))))
    return tuple(sorted(rows, key=lambda row: (-len(row.decides) / row.minutes, row.position, row.attribute)))


def how_to_measure(view: View, position: str, attribute: str) -> Measurement:
    """The standards' row for an attribute of the part in a position, or the row for any attribute."""
    spot = view.bike.get(position)
    kind = spot.part.kind if spot is not None else ""
    name = attribute.rpartition(".")[2] if attribute.startswith("passages.") else attribute
    rows = [row for row in view.standards.measurements if row.attribute in (name, ANY_ATTRIBUTE)]
    rows = [row for row in rows if not row.kinds or kind in row.kinds]
    exact = [row for row in rows if row.attribute == name]
    if exact or rows:
        return (exact or rows)[0]
    return Measurement(
        attribute=name,
        how="Look it up in the maker's papers, or measure it on the part.",
        minutes=5.0,
        source="our choice",
    )
