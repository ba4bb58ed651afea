"""The page of every finding name: rules and joint rows alike."""

from __future__ import annotations

from typing import NamedTuple

from buildcheck.model.levels import Level
from buildcheck.model.standards import Standards
from buildcheck.rules import RULES


class Page(NamedTuple):
    """What `buildcheck explain` tells of one name."""

    name: str
    levels: tuple[Level, ...]
    fault: str
    why: str
    cure: str
    source: str
    looks_at: str


def pages(standards: Standards) -> dict[str, Page]:
    """All pages by name, in alphabetical order."""
    found = [*_rule_pages(), *_row_pages(standards)]
    return {page.name: page for page in sorted(found, key=lambda page: page.name)}


def bench_alone(standards: Standards) -> frozenset[str]:
    """The names whose cautions concern the bench alone; all others concern the rider, too."""
    whom = (*((rule.name, rule.rider) for rule in RULES), *((row.name, row.rider) for row in standards.joints))
    return frozenset(name for name, rider in whom if rider is False)


def _rule_pages() -> list[Page]:
    rows = []
    for rule in RULES:
        fault, _, rest = rule.page.partition("\n")
        why, _, cure = rest.partition("Cure:")
        rows.append(
            Page(
                rule.name, rule.levels, fault.strip(), _flow(why), _flow(cure), rule.source, "the whole bike, by a rule"
            )
        )
    return rows


def _row_pages(standards: Standards) -> list[Page]:
    rows: dict[str, Page] = {}
    for row in standards.joints:
        interface = standards.interfaces[row.interface]
        looks_at = f"{' and '.join(row.at)}: {row.a} against {row.b} of {_other(row.of)} ({interface.mates.kind})"
        old = rows.get(row.name)
        if old is not None:
            looks_at = f"{old.looks_at}; {looks_at}"
        fault = f"The two sides of a joint disagree on the {interface.what}."
        rows[row.name] = Page(row.name, row.levels, fault, _flow(row.why), _flow(row.cure), row.source, looks_at)
    return list(rows.values())


def _other(of: str) -> str:
    words = {"on": "what it is mounted on", "from": "the lever end", "to": "the far end"}
    return words.get(of, f"the {of}")


def _flow(text: str) -> str:
    """Paragraphs on one line each."""
    paragraphs = (" ".join(part.split()) for part in text.strip().split("\n\n"))
    return "\n".join(paragraph for paragraph in paragraphs if paragraph)
