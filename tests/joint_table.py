"""The tables of catalog/standards/README.md: every place where two parts meet, what is compared, and the source."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from buildcheck.library.catalogue import load
from buildcheck.library.folders import bundled_folder
from buildcheck.model.levels import Level
from buildcheck.model.parts import PART_KINDS
from buildcheck.model.quantities import Unit, Vocabulary
from buildcheck.model.standards import Interface, JointRow, MatingRule, Standards
from plain_yaml import plain

HEAD = (
    "| finding | where they do not fit; where nobody knows | this side | that side | they fit where | source |\n"
    "| --- | --- | --- | --- | --- | --- |"
)
UNKNOWN = {Level.BLOCKS: "blocks; `unknown`", Level.EXTRA: "extra; caution"}


def table() -> str:
    """All rows, those of one file of the catalogue in one table under what the file is about."""
    standards = load().standards
    family = {name: path for path in _files() for name in _names(path)}
    tables = []
    for path in _files():
        rows = [_row(row, standards) for row in standards.joints if family[row.name] == path]
        if rows:
            tables.append("\n".join([f"### {_title(path)}\n", f"From `catalog/standards/{path.name}`.\n", HEAD, *rows]))
    return "\n\n".join(tables)


def _files() -> list[Path]:
    return sorted((bundled_folder() / "standards").glob("*.yaml"))


def _names(path: Path) -> list[str]:
    return [row["name"] for row in plain(path).get("joints", ())]


def _title(path: Path) -> str:
    """The first line of the file says what it is about."""
    return path.read_text(encoding="utf-8").partition("\n")[0].removeprefix("# ").rstrip(".")


def _row(row: JointRow, standards: Standards) -> str:
    interface = standards.interfaces[row.interface]
    a, b = _side_a(row, standards), _side_b(row, standards)
    limit = row.blocks_beyond
    level = UNKNOWN.get(row.level, f"{row.level}; nothing")
    if limit is not None:
        level = f"{row.level}, blocks beyond {limit:g}; `unknown`"
    cells = (f"`{row.name}`", level, a, b, _mates(interface, row), row.source)
    return f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |"


def _side_a(row: JointRow, standards: Standards) -> str:
    relation, dot, _ = row.a.rpartition(".")
    kinds = set(row.a_kinds) or {kind for at in row.at for kind in _kinds(standards, relation if dot else at, at)}
    words = {"on": "what carries the {at}", "from": "the lever end of the {at}", "to": "the far end of the {at}"}
    places = ", ".join(words.get(relation, relation).replace("{at}", at) if dot else at for at in row.at)
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
    pairs = "the one listed pair" if len(rule.pairs) == 1 else f"one of {len(rule.pairs)} listed pairs"
    pairs += ", this one first" if rule.one_way else ""
    unit = f", to {rule.leeway:g}" if rule.leeway else f", or {pairs}" if rule.pairs else ""
    words = {
        "equal": f"the same{unit}", "one-of": "one in common",
        "at-least": f"this at least as great as that{unit}", "at-most": f"this at most as great as that{unit}",
        "table": pairs, "never": f"not {pairs}",
    }  # fmt: skip
    return words[rule.kind] + (f"; or with the {row.adapter.replace('{at}', 'its')} between" if row.adapter else "")
