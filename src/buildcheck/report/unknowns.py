"""What is not known, shortly: where much is open, one line for each part and one for all that nobody told of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from buildcheck.model.findings import Finding
from buildcheck.model.sentences import At, Attribute, Value, say
from buildcheck.report.lines import TextLine, wrapped

# With more of them nobody reads on to what can be done about it (our choice).
MOST_TOLD_WHOLE = 12
_QUESTION = "position-untold"


def unknown_lines(findings: Sequence[Finding]) -> Iterator[TextLine]:
    """What nobody told of in one line, and for each part what is not known of it and the findings that turn on that."""
    asked = _untold(findings)
    if asked:
        yield from wrapped(f"- Nobody said whether these are on the bike: {', '.join(asked)}.", 2, 4)
    names: dict[str, dict[str, None]] = {}
    facts: dict[str, dict[str, None]] = {}
    for finding in findings:
        if finding.name == _QUESTION:
            continue
        names.setdefault(_places(finding)[0], {})[finding.name] = None
        for item in finding.undecided:
            facts.setdefault(item.position, {})[_told(Attribute(item.attribute))] = None
    for position in dict.fromkeys((*facts, *names)):
        known = ", ".join(facts.get(position, ()))
        turn = ", ".join(names.get(position, ()))
        told = "; ".join(filter(None, (known, turn and f"for {turn}")))
        yield from wrapped(f"- {_told(At(position))}: {told}", 2, 4)


def unneeded_lines(findings: Sequence[Finding]) -> Iterator[TextLine]:
    """What is not known and does not matter for a change: the parts in one line, and what nobody told of in one."""
    of = dict.fromkeys(place for each in findings if each.name != _QUESTION for place in _places(each))
    if of:
        yield from wrapped(f"* much is not known of: {', '.join(_told(At(name)) for name in of)}", 0, 2)
    if asked := _untold(findings):
        yield from wrapped(f"* nobody said whether these are on the bike: {', '.join(asked)}", 0, 2)


def _untold(findings: Sequence[Finding]) -> list[str]:
    return [_told(At(finding.positions[0])) for finding in findings if finding.name == _QUESTION]


def _places(finding: Finding) -> list[str]:
    """The positions whose facts leave a finding open, or else the first that it is about."""
    return list(dict.fromkeys(item.position for item in finding.undecided)) or list(finding.positions[:1])


def _told(value: Value) -> str:
    return str(say("{value}", value=value))
