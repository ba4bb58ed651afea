"""The page of every finding name: rules and joint rows alike."""

from __future__ import annotations

from typing import NamedTuple

from buildcheck.model.levels import Level, Proof
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
    in_use: str


_RULED_OUT = "so that a bike that is ridden today does not have it, and what goes with what is fitted is known"
_LASTS = "it can be there for years on a bike that is ridden today"
_IN_USE = {
    (Proof.ASSEMBLED, None): f"with this fault the parts would not go together, {_RULED_OUT}",
    (Proof.RIDDEN, None): f"with this fault the bike would have failed at once, {_RULED_OUT}",
    (Proof.NOTHING, None): _LASTS,
    (Proof.NOTHING, True): f"{_LASTS}, so it stays a question or a fault; it endangers the rider, so it blocks every "
    "change to such a bike",
    (Proof.NOTHING, False): f"{_LASTS}, so it stays a question or a fault; it does not block a change to such a bike "
    "that leaves it alone",
}


def pages(standards: Standards) -> dict[str, Page]:
    """All pages by name, in alphabetical order."""
    found = [*_rule_pages(), *_row_pages(standards)]
    return {page.name: page for page in sorted(found, key=lambda page: page.name)}


class OnUse(NamedTuple):
    """What it proves of a finding that a bike is ridden today, and whether it endangers the rider where it lasts."""

    proves: Proof
    endangers: bool


def on_use(standards: Standards) -> dict[str, OnUse]:
    """What use proves, by the name of the finding."""
    found = {rule.name: OnUse(rule.use_proves, bool(rule.endangers)) for rule in RULES}
    return found | {row.name: OnUse(row.use_proves, bool(row.endangers)) for row in standards.joints}


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
                rule.name, rule.levels, fault.strip(), _flow(why), _flow(cure), rule.source,
                "the whole bike, by a rule", _IN_USE[rule.use_proves, rule.endangers],
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
        in_use = _IN_USE[row.use_proves, row.endangers]
        fault = f"The two sides of a joint disagree on the {interface.what}."
        why, cure = _flow(row.why), _flow(row.cure)
        rows[row.name] = Page(row.name, row.levels, fault, why, cure, row.source, looks_at, in_use)
    return list(rows.values())


def _other(of: str) -> str:
    words = {"on": "what it is mounted on", "from": "the lever end", "to": "the far end"}
    return words.get(of, f"the {of}")


def _flow(text: str) -> str:
    """Paragraphs on one line each."""
    paragraphs = (" ".join(part.split()) for part in text.strip().split("\n\n"))
    return "\n".join(paragraph for paragraph in paragraphs if paragraph)
