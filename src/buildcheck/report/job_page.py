"""The job card as one A4 page of HTML: for the bench, or in plain words for the customer. It computes nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache
from itertools import groupby
from typing import NamedTuple, Protocol

from jinja2 import Environment, PackageLoader, StrictUndefined

from buildcheck.model.job import JobCard, Step, TorqueRow
from buildcheck.model.levels import Level, Verdict
from buildcheck.model.texts import Audience, Texts

_SAFETY = ("safety-first-ride", "safety-check-again", "safety-stop-riding")


class Picture(Protocol):
    """A drawing with its title and what stands for it where it cannot be seen."""

    @property
    def id(self) -> str:
        """Unlike any other of the page."""

    @property
    def title(self) -> str:
        """What stands above it."""

    @property
    def alt(self) -> str:
        """What it shows, in words."""

    @property
    def svg(self) -> str:
        """One SVG element."""


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
    def whys(self) -> tuple[str, ...]:
        """What calls for them, each once."""
        return tuple(dict.fromkeys(step.why for step in self.steps))

    @property
    def mean_min(self) -> float:
        """All of them together, in minutes."""
        return sum(step.minutes.mean for step in self.steps)


class Bolts(NamedTuple):
    """Fasteners at several places that are tightened alike: one line of the torque table."""

    row: TorqueRow
    positions: tuple[str, ...]


def job_page(card: JobCard, texts: Texts, audience: Audience, drawings: Sequence[Picture] = ()) -> str:
    """One page that needs nothing beside it. In print the drawings stay away unless the reader ticks that they come."""
    bolts = bolts_of(card.torques)
    whys = list(dict.fromkeys(bolt.row.compound_why for bolt in bolts if bolt.row.compound_why))
    template = _environment().get_template(f"job_{audience}.html.j2")
    return template.render(
        card=card, texts=texts, audience=audience, drawings=drawings, phases=phases_of(card.steps),
        holds=[step for step in card.steps if step.hold], bolts=bolts, whys=whys, plain=plain_of(card.steps, texts), safety=_safety(card),
        open_points=[reason for reason in card.blocking if reason.level in (Level.BLOCKS, Level.UNKNOWN)],
        names={part.id: part.name for part in card.parts if part.id is not None},
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


def bolts_of(rows: Iterable[TorqueRow]) -> list[Bolts]:
    """The torque table with alike fasteners in one line, each where its first one stands."""
    found: dict[TorqueRow, list[str]] = {}
    for row in rows:
        found.setdefault(replace(row, position=""), []).append(row.position)
    return [Bolts(row, tuple(positions)) for row, positions in found.items()]


def plain_of(steps: Iterable[Step], texts: Texts) -> list[tuple[str, list[tuple[str, tuple[str, ...]]]]]:
    """What is done, in the customer's words, by phase: each thing once with all its places."""
    found: dict[str, dict[str, list[str]]] = {}
    for step in steps:
        told = texts.operation(step.operation, "customer", step.what)
        places = found.setdefault(step.phase, {}).setdefault(told, [])
        if step.position is not None:
            places.append(step.position)
    return [(phase, [(told, tuple(places)) for told, places in done.items()]) for phase, done in found.items()]


def _safety(card: JobCard) -> list[str]:
    """The sentences for the rider, by their labels."""
    blocked = ["safety-not-ridden"] if card.verdict is Verdict.BLOCKED else []
    braking = any(part.position.endswith(("-pads", "-rotor", "-caliper")) for part in card.parts)
    return [*blocked, *_SAFETY, *(["safety-new-brakes"] if braking else [])]


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("buildcheck.report"), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
