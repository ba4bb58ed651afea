"""The job card as one A4 page of HTML: for the bench, or in plain words for the customer. It computes nothing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache
from itertools import groupby
from typing import Generic, NamedTuple, TypeVar

from jinja2 import Environment, PackageLoader, StrictUndefined

from buildcheck.model.job import Advice, JobCard, Step, TorqueRow
from buildcheck.model.sentences import Said
from buildcheck.model.texts import Audience, Texts
from buildcheck.report.drawings import Drawing
from buildcheck.report.job_words import asked_for, outcome_of, risks_told, safety_of

Row = TypeVar("Row", TorqueRow, Advice)
# Above so many steps paper gets the small type: our choice, by what comes to two sheets.
_MOST_ROOMY_STEPS = 30
# Reasons that bring less stay off the mechanic's paper; the customer has them all: our choice.
_SMALL_MIN = 10.0


class Run(NamedTuple):
    """Steps one after the other that are the same work at several places: told once, ticked each.

    `like` is the number of an earlier step that has told it already.
    """

    steps: tuple[Step, ...]
    like: int | None

    @property
    def first(self) -> Step:
        """The one that tells of all."""
        return self.steps[0]

    @property
    def whys(self) -> tuple[Said | str, ...]:
        """What calls for them, each once."""
        return tuple(dict.fromkeys(step.why for step in self.steps))

    @property
    def mean_min(self) -> float:
        """All of them together, in minutes."""
        return math.fsum(step.minutes.mean for step in self.steps)


class Alike(NamedTuple, Generic[Row]):
    """What is the same at several places: one line of a table, ticked at each."""

    row: Row
    positions: tuple[str, ...]


def job_page(card: JobCard, texts: Texts, audience: Audience, drawings: Sequence[Drawing] = ()) -> str:
    """One page that needs nothing beside it. In print the drawings stay away unless the reader ticks that they come."""
    template = _environment().get_template(f"job_{audience}.html.j2")
    return template.render(
        card=card, texts=texts, audience=audience, drawings=drawings, phases=phases_of(card.steps),
        holds=[step for step in card.steps if step.hold], bolts=alike(card.torques), notes=notes_of(card.torques),
        advice=alike(card.advice), open_points=card.open,
        asked_for=asked_for,
        dense=audience == "mechanic" and len(card.steps) > _MOST_ROOMY_STEPS, small_min=_SMALL_MIN,
        plain=plain_of(card.steps, texts), outcome=outcome_of(card, texts, audience), safety=safety_of(card),
        risks=list(risks_told(card, texts, audience)),
        total_cost=None if card.parts_cost is None else card.parts_cost + card.work_cost,
    )  # fmt: skip


def phases_of(steps: Iterable[Step]) -> list[tuple[str, list[Run]]]:
    """The steps in their order, by phase; equal work that follows on itself is one run."""
    told: dict[tuple[str, str], int] = {}
    phases: list[tuple[str, list[Run]]] = []
    for phase, of_phase in groupby(steps, key=lambda step: step.phase):
        runs = []
        for _, run in groupby(of_phase, key=_work):
            first, *others = run
            number = told.setdefault((first.operation, first.what), first.number)
            runs.append(Run((first, *others), None if number == first.number else number))
        phases.append((phase, runs))
    return phases


def _work(step: Step) -> tuple[object, ...]:
    return step.operation, step.what, step.hold, step.final, step.waits_min, step.asked


def alike(rows: Iterable[Row]) -> list[Alike[Row]]:
    """Rows that differ in nothing but their position as one, each where its first one stands."""
    found: dict[Row, list[str]] = {}
    for row in rows:
        found.setdefault(replace(row, position=""), []).append(row.position)
    return [Alike(row, tuple(positions)) for row, positions in found.items()]


def notes_of(rows: Iterable[TorqueRow]) -> dict[Said, bool]:
    """What is told below the torque table, each once, and whether it is a caution."""
    notes: dict[Said, bool] = {}
    for row in rows:
        notes |= dict.fromkeys(row.cautions, True)
        if row.compound_why:
            notes.setdefault(row.compound_why, False)
    return notes


def plain_of(steps: Iterable[Step], texts: Texts) -> list[tuple[str, list[tuple[str, tuple[str, ...]]]]]:
    """What is done, in the customer's words, by phase: each thing once with all its places."""
    found: dict[str, dict[str, list[str]]] = {}
    for step in steps:
        told = texts.operation(step.operation, "customer", step.what)
        places = found.setdefault(step.phase, {}).setdefault(told, [])
        if step.position is not None:
            places.append(step.position)
    return [(phase, [(told, tuple(places)) for told, places in done.items()]) for phase, done in found.items()]


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("buildcheck.report"), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
