"""The table of README.md that lists every joint: what is compared, what each side may be, and the source."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.library.catalogue import load
from buildcheck.model.levels import Level
from buildcheck.model.parts import PART_KINDS
from buildcheck.model.quantities import Unit, Vocabulary
from buildcheck.model.standards import Interface, JointRow, MatingRule, Standards

HEAD = (
    "| finding | level; where unknown | side a | side b | they mate if | source |\n"
    "| --- | --- | --- | --- | --- | --- |"
)
UNKNOWN = {Level.BLOCKS: "blocks; `unknown`", Level.EXTRA: "extra; caution"}


def table() -> str:
    """All rows by name."""
    standards = load().standards
    return "\n".join([HEAD, *(_row(row, standards) for row in standards.joints)])


def _row(row: JointRow, standards: Standards) -> str:
    interface = standards.interfaces[row.interface]
    a, b = _side_a(row, standards), _side_b(row, standards)
    level = UNKNOWN.get(row.level, f"{row.level}; nothing")
    cells = (f"`{row.name}`", level, a, b, _mates(interface, row), row.source)
    return f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |"


def _side_a(row: JointRow, standards: Standards) -> str:
    relation, dot, _ = row.a.rpartition(".")
    kinds = set(row.a_kinds) or {kind for at in row.at for kind in _kinds(standards, relation if dot else at, at)}
    words = {"on": "what carries the {at}", "from": "the lever end of the {at}", "to": "the far end of the {at}"}
    places = ", ".join(words.get(relation, "{at}").format(at=at) if dot else at for at in row.at)
    return f"{places}: `{row.a_attribute}`, {_sort(kinds, row.a_attribute)}"


def _side_b(row: JointRow, standards: Standards) -> str:
    kinds = set(row.b_kinds) or {kind for at in row.at for kind in _kinds(standards, row.of, at)}
    words = {"on": "what carries it", "from": "the lever end", "to": "the far end"}
    return f"{words.get(row.of, row.of)}: `{row.b}`, {_sort(kinds, row.b)}"


def _kinds(standards: Standards, relation: str, at: str) -> Iterator[str]:
    """The kinds that a side of a row can be."""
    position = standards.position(at)
    assert position is not None
    if relation == "on":
        targets: tuple[str, ...] = position.on
    elif relation in ("from", "to"):
        targets = position.ends.get("from" if relation == "from" else "to", tuple(standards.positions))
    else:
        targets = (relation.replace("{at}", at),)
    for target in targets:
        found = standards.position(target)
        assert found is not None, target
        yield from found.kinds


def _sort(kinds: set[str], attribute: str) -> str:
    """What the attribute may be, from the records that have it."""
    for kind in sorted(kinds):
        field = PART_KINDS[kind].model_fields.get(attribute)
        for mark in field.metadata if field is not None else ():
            if isinstance(mark, Unit):
                return f"{mark.name}: value, interval or unknown"
            if isinstance(mark, Vocabulary):
                return f"{'words' if mark.many else 'word'} or unknown"
        if field is not None:
            return "yes, no or unknown"
        if hasattr(PART_KINDS[kind], attribute):
            return "read off its code, or unknown"
    raise AssertionError((kinds, attribute))


def _mates(interface: Interface, row: JointRow) -> str:
    rule: MatingRule = interface.mates
    unit = "" if rule.tolerance == 0 else f", to {rule.tolerance:g}"
    words = {
        "equal": f"equal{unit}", "at-least": "a at least b", "at-most": "a at most b", "one-of": "one in common",
        "table": f"a pair of {len(rule.pairs)}", "never": f"none of {len(rule.pairs)} pairs",
    }  # fmt: skip
    return words[rule.kind] + (f"; by way of {row.adapter.replace('{at}', 'its')}" if row.adapter else "")
