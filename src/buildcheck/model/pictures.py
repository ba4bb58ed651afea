"""What the drawings of a job show, worked out: a drawing only draws it.

Sizes are in mm. A size that is not known, or known only on one side, stays so: no drawing makes up a figure.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from buildcheck.model.levels import Level


@dataclass(frozen=True, slots=True)
class Span:
    """A size in mm as far as it is known; an end that nobody knows is None."""

    low_mm: float | None
    high_mm: float | None

    @property
    def exact_mm(self) -> float | None:
        """The size, or None where it is not known to the mm."""
        return self.low_mm if self.low_mm == self.high_mm else None

    @property
    def unknown(self) -> bool:
        """True where nothing is known of it."""
        return self.low_mm is None and self.high_mm is None


@dataclass(frozen=True, slots=True)
class SeatedPart:
    """One position in the side view, with the most serious level of the findings that name it, None for none.

    `row` is its row in the standards, `part` the name of the part that sits there and empty where none does. `on`
    is what it is mounted on, `ends` where a line begins and ends. `changed`: another part sits there after the change.
    """

    position: str
    row: str
    part: str
    level: Level | None
    changed: bool = False
    on: str | None = None
    ends: tuple[str, ...] = ()


FrameForm = Literal["diamond", "folding", "full-suspension", "tandem", "carrier", "child"]


@dataclass(frozen=True, slots=True)
class Outline:
    """What the side view draws of a bike. Wheels over the tread in mm, None where that is not known.

    A brake is None where there is none or its kind is not known; `chain` tells what the chain runs through at the rear.
    `bar` is the kind of handlebar from the standards, None where it is not known. `carries`: uses of the accessories
    with what they are mounted on.
    """

    form: FrameForm = "diamond"
    front_wheel_mm: float | None = None
    rear_wheel_mm: float | None = None
    front_brake: Literal["disc", "rim", "hub"] | None = None
    rear_brake: Literal["disc", "rim", "hub"] | None = None
    chain: Literal["derailleur", "straight"] = "straight"
    suspended_fork: bool = False
    bar: str | None = None
    carries: tuple[tuple[str, str | None], ...] = ()


@dataclass(frozen=True, slots=True)
class SideView:
    """The bike from the side."""

    places: tuple[SeatedPart, ...]
    outline: Outline = Outline()


Course = Literal["open", "closed", "unknown", "none"]
"""How a line passes: in the open, through a bore, nobody knows whether at all, or not, for lack of a way."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """What one part on the way of a line takes of it. `passage` is empty where the part is only gone along.

    The slack for turning the bars has no position.
    """

    position: str | None
    row: str
    passage: str
    length: Span
    course: Course


@dataclass(frozen=True, slots=True)
class LinePath:
    """The way of one line, from its lever end on; without stretches where no way is known.

    `needed` is what the passages on its way take in all, `length` that of the line. `placed` is False where the thing
    at one of its ends has no place to sit; then this is the shortest of the ways that it could take.
    """

    line: str
    row: str
    part: str
    start: str | None
    end: str | None
    stretches: tuple[Stretch, ...]
    needed: Span
    length: Span
    placed: bool = True
    level: Level | None = None


@dataclass(frozen=True, slots=True)
class PackedLine:
    """One line in a bore. The centre, in mm from the middle of the bore, is None where no placement was found."""

    line: str
    row: str
    diameter: Span
    x_mm: float | None = None
    y_mm: float | None = None


@dataclass(frozen=True, slots=True)
class SharedBore:
    """A bore that several lines share, in mm. For an irregular one both sizes are those of the thickest round rod.

    `fits` is the answer for all the lines together; only a yes comes with centres, and they hold for the smallest
    bore and the thickest lines that are possible. `also`: other positions, each with its row, of the same section.
    """

    position: str
    row: str
    passage: str
    shape: Literal["round", "slot", "irregular"]
    width: Span
    height: Span
    lines: tuple[PackedLine, ...]
    fits: Literal["yes", "no", "unknown"]
    area_mm2: Span = Span(None, None)
    also: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Device:
    """A node of the wiring. `part` is empty where a wire leads to an empty position."""

    position: str
    row: str
    part: str
    kind: str
    power: str | None = None


@dataclass(frozen=True, slots=True)
class WireEdge:
    """A wire between two devices, with its own length."""

    wire: str
    start: str
    end: str
    length: Span


@dataclass(frozen=True, slots=True)
class WiringTree:
    """The devices and wires of one electric system."""

    system: str
    devices: tuple[Device, ...]
    wires: tuple[WireEdge, ...]


@dataclass(frozen=True, slots=True)
class StackItem:
    """One thing on the steerer with the height that it takes in the stack."""

    position: str
    row: str
    part: str
    height: Span


@dataclass(frozen=True, slots=True)
class Stack:
    """The stack on the steerer. Heights in mm: `base` is from the crown race seat to the top of the head tube.

    `items` stand on the head tube, from below. `steerer` is the length as cut, from the crown race seat. `gap` is how
    far the steerer ends below the top of the stack; below 0 it stands proud. For a threaded steerer, `threaded`, the
    stem is no part of the stack; None where it is not known.
    """

    base: Span
    items: tuple[StackItem, ...]
    steerer: Span
    gap: Span
    threaded: bool | None
    spacers_below: Span
    spacers_above: Span


@dataclass(frozen=True, slots=True)
class Side:
    """What is drawn twice: of the bike before the change, and after it. A bike without a fork has no stack."""

    lines: tuple[LinePath, ...]
    wiring: tuple[WiringTree, ...]
    stack: Stack | None


@dataclass(frozen=True, slots=True)
class Pictures:
    """The drawings of one job. `before` is None where a bike is looked at as it stands."""

    side_view: SideView = SideView(())
    before: Side | None = None
    after: Side = Side((), (), None)
    bores: tuple[SharedBore, ...] = ()
