"""The part kinds, one record class each, told apart by `kind`."""


from typing import get_args

from buildcheck.model.parts import brakes, drivetrain, frame_and_steering, lines, wheels_and_seat
from buildcheck.model.parts.base import Bore, Mount, Offer, Part, Passage, Place, Port, Record

# Every record of these modules that says its kind; a base of several says none.
RECORD_CLASSES: tuple[type[Part], ...] = tuple(
    record
    for module in (frame_and_steering, brakes, lines, drivetrain, wheels_and_seat)
    for record in vars(module).values()
    if isinstance(record, type) and issubclass(record, Part) and get_args(record.model_fields["kind"].annotation)
)

PART_KINDS: dict[str, type[Part]] = {
    kind: record for record in RECORD_CLASSES for kind in get_args(record.model_fields["kind"].annotation)
}

__all__ = ["PART_KINDS", "RECORD_CLASSES", "Bore", "Mount", "Offer", "Part", "Passage", "Place", "Port", "Record"]
