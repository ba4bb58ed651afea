"""What is asked before anything is measured: whether there is a part at all, and of which kind. A look answers it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from buildcheck.fit.across import QUESTION
from buildcheck.fit.view import View
from buildcheck.measure.values import row_for
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.report import MeasureFirst


def presence_first(
    view: View, findings: Iterable[Finding], decides: Mapping[str, tuple[str, ...]]
) -> tuple[MeasureFirst, ...]:
    """The questions that count, what decides most first; nothing where something blocks whatever the answers are.

    `decides` gives the names of the findings that turn on each position.
    """
    counting = tuple(findings)
    if any(finding.level is Level.BLOCKS for finding in counting):
        return ()
    asked = [item for finding in counting if finding.name == QUESTION for item in finding.undecided]
    rows = []
    for item in asked:
        how = row_for(view.standards, "", item.attribute)
        names = decides.get(item.position, ())
        rows.append(MeasureFirst(item.position, item.attribute, how.how, how.minutes, names, 0, 0))
    return tuple(sorted(rows, key=lambda row: (-len(row.decides), row.position)))


