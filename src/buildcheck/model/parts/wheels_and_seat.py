"""Wheels, tyres, axles, seat, pedals, adapters and what is hung on the bike."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from buildcheck.model.parts.base import Part
from buildcheck.model.quantities import Bar, Flag, Mm, Vocabulary, WordFact, WordsFact


class Wheel(Part):
    """A built wheel: rim, spokes, hub, and for a rear wheel the freehub body."""

    kind: Literal["front-wheel", "rear-wheel"]
    bead_seat_mm: Annotated[WordFact, Vocabulary("bead-seat")] = None
    rim_inner_mm: Mm = None
    rim_type: Annotated[WordFact, Vocabulary("rim-type")] = None
    rim_pressure_max_bar: Bar = None
    brake_track: Flag = None
    axle_type: Annotated[WordFact, Vocabulary("axle-type")] = None
    over_locknut_mm: Mm = None
    rotor_mount: Annotated[WordFact, Vocabulary("rotor-mount")] = None
    freehub: Annotated[WordsFact, Vocabulary("freehub", many=True)] = None


class Tyre(Part):
    """A tyre, by its bead seat and section width (ISO 5775)."""

    kind: Literal["tyre"]
    bead_seat_mm: Annotated[WordFact, Vocabulary("bead-seat")] = None
    width_mm: Mm = None
    tubeless: Flag = None
    pressure_min_bar: Bar = None
    pressure_max_bar: Bar = None


class Axle(Part):
    """A thru-axle or a quick-release skewer or a pair of axle nuts."""

    kind: Literal["axle"]
    axle_type: Annotated[WordFact, Vocabulary("axle-type")] = None
    thread: Annotated[WordFact, Vocabulary("axle-thread")] = None
    length_mm: Mm = None


class Seatpost(Part):
    """A seat post, rigid or dropper."""

    kind: Literal["seatpost"]
    diameter_mm: Mm = None
    length_mm: Mm = None
    insertion_min_mm: Mm = None
    rails: Annotated[WordsFact, Vocabulary("rails", many=True)] = None
    travel_mm: Mm = Field(default=None, description="0 for a rigid post")
    actuation: Annotated[WordFact, Vocabulary("dropper-actuation")] = None


class SeatClamp(Part):
    """A collar on the seat tube."""

    kind: Literal["seat-clamp"]
    diameter_mm: Mm = None


class Saddle(Part):
    """A saddle."""

    kind: Literal["saddle"]
    rails: Annotated[WordFact, Vocabulary("rails")] = None


class Pedals(Part):
    """A pair of pedals."""

    kind: Literal["pedals"]
    pedal_thread: Annotated[WordFact, Vocabulary("pedal-thread")] = None
    cleat: Annotated[WordFact, Vocabulary("cleat")] = None


class Accessory(Part):
    """A lamp, a bag, a computer, a rack: anything that needs a place on the bike."""

    kind: Literal["accessory"]
    use: Annotated[WordFact, Vocabulary("accessory-use")] = None


class Adapter(Part):
    """A part with two sides that lets two unlike interfaces meet.

    Side a faces the part at the position that the joint is listed at, side b the other one.
    """

    kind: Literal["adapter"]
    interface: Annotated[str, Vocabulary("interface")]
    side_a_mm: Mm = None
    side_b_mm: Mm = None
    side_a: Annotated[WordFact, Vocabulary("any")] = None
    side_b: Annotated[WordFact, Vocabulary("any")] = None
