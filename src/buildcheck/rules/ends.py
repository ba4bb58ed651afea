"""The two ends of a bike: the positions there, and how fork and frame name what they offer to them."""

from __future__ import annotations

from typing import NamedTuple


class End(NamedTuple):
    """One end of a bike by its name, the position that holds its wheel, and the positions there."""

    name: str
    holder: str
    wheel: str
    tyre: str
    tube: str
    end_caps: str
    caliper: str
    pads: str
    brake_adapter: str
    rotor: str
    rotor_adapter: str
    straddle: str
    hanger: str
    crown_hanger: str

    def on_holder(self, attribute: str) -> str:
        """An attribute of the holder that is about this end: of the frame, which has more than one end, by `rear_`."""
        return attribute if self.holder == "fork" else f"rear_{attribute}"


def _end(name: str, holder: str) -> End:
    whats = (
        "wheel", "tyre", "tube", "end-caps", "caliper", "pads", "brake-adapter", "rotor", "rotor-adapter", "straddle",
        "cable-hanger", "crown-hanger",
    )  # fmt: skip
    return End(name, holder, *(f"{name}-{what}" for what in whats))


FRONT, REAR = _end("front", "fork"), _end("rear", "frame")
ENDS = (FRONT, REAR)
