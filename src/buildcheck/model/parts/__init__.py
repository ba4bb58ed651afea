"""The part kinds, one record class each, told apart by `kind`."""

from __future__ import annotations

from typing import get_args

from buildcheck.model.parts.base import Bore, Mount, Offer, Part, Passage, Place, Port, Record
from buildcheck.model.parts.brakes import BrakePads, Caliper, Lever, Rotor
from buildcheck.model.parts.drivetrain import (
    Battery,
    BottomBracket,
    Cassette,
    Chain,
    Chainring,
    Crankset,
    FrontDerailleur,
    Junction,
    RearDerailleur,
    WidthSpacer,
)
from buildcheck.model.parts.frame_and_steering import (
    BarCovering,
    BarStem,
    Fork,
    Frame,
    Handlebar,
    Headset,
    HeadsetCover,
    Spacer,
    SteererPlug,
    Stem,
)
from buildcheck.model.parts.lines import Hose, Housing, Wire
from buildcheck.model.parts.wheels_and_seat import (
    Accessory,
    Adapter,
    AirHolder,
    Axle,
    Cleats,
    Pedals,
    Saddle,
    SeatClamp,
    Seatpost,
    Tyre,
    Wheel,
)

RECORD_CLASSES: tuple[type[Part], ...] = (
    Frame, Fork, Headset, HeadsetCover, Spacer, Stem, Handlebar, BarStem, SteererPlug, BarCovering,
    Lever, Caliper, Rotor, BrakePads, Hose, Housing, Wire, Junction, Battery,
    RearDerailleur, FrontDerailleur, Cassette, Chain, Crankset, Chainring, BottomBracket, WidthSpacer,
    Wheel, Tyre, AirHolder, Axle, Seatpost, SeatClamp, Saddle, Pedals, Cleats, Accessory, Adapter,
)  # fmt: skip

PART_KINDS: dict[str, type[Part]] = {
    kind: record for record in RECORD_CLASSES for kind in get_args(record.model_fields["kind"].annotation)
}

__all__ = ["PART_KINDS", "RECORD_CLASSES", "Bore", "Mount", "Offer", "Part", "Passage", "Place", "Port", "Record"]
