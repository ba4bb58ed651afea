"""Frame, fork and everything that sits on the steerer or the stem."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator

from buildcheck.model.parts.base import Part
from buildcheck.model.quantities import Count, Deg, Flag, Mm, SignedMm, Vocabulary, WordFact, WordsFact
from buildcheck.trade.headset import parse_half


class Frame(Part):
    """A frame, with the dropouts and the bottom-bracket shell it is made with."""

    kind: Literal["frame"]
    size_name: str | None = None
    head_tube_upper: Annotated[WordFact, Vocabulary("headset-seat")] = None
    head_tube_lower: Annotated[WordFact, Vocabulary("headset-seat")] = None
    head_tube_length_mm: Mm = None
    head_angle_deg: Deg = None
    bb_shell: Annotated[WordFact, Vocabulary("bb-shell")] = None
    bb_shell_width_mm: Mm = None
    rear_axle_type: Annotated[WordFact, Vocabulary("axle-type")] = None
    rear_over_locknut_mm: Mm = None
    rear_axle_thread: Annotated[WordFact, Vocabulary("axle-thread")] = None
    rear_axle_length_mm: Mm = None
    rear_brake_mount: Annotated[WordsFact, Vocabulary("brake-mount", many=True)] = None
    rear_rotor_min_mm: Mm = None
    rear_rotor_max_mm: Mm = None
    rear_tyre_max_mm: Mm = None
    bead_seat_mm: Annotated[WordsFact, Vocabulary("bead-seat", many=True)] = None
    chainstay_length_mm: Mm = None
    hanger: Annotated[WordFact, Vocabulary("hanger")] = None
    front_derailleur_mount: Annotated[WordsFact, Vocabulary("front-derailleur-mount", many=True)] = None
    front_derailleur_pull: Annotated[WordsFact, Vocabulary("front-derailleur-pull", many=True)] = None
    seat_tube_bore_mm: Mm = None
    seat_tube_outer_mm: Mm = None
    seatpost_insertion_min_mm: Mm = None
    seatpost_insertion_max_mm: Mm = None


class Fork(Part):
    """A fork. `steerer_length_mm` is what the maker supplies; a bike file states what is left after cutting."""

    kind: Literal["fork"]
    steerer_mm: Mm = Field(default=None, description="outer diameter where the stem clamps")
    steerer_inner_mm: Mm = None
    steerer_section: Annotated[WordFact, Vocabulary("steerer-section")] = None
    steerer_material: Annotated[WordFact, Vocabulary("material")] = None
    steerer_length_mm: Mm = Field(default=None, description="from the crown race seat to the top")
    threaded: Flag = None
    crown_seat_mm: Mm = None
    spacers_below_max_mm: Mm = None
    spacers_above_max_mm: Mm = None
    axle_type: Annotated[WordFact, Vocabulary("axle-type")] = None
    over_locknut_mm: Mm = None
    axle_thread: Annotated[WordFact, Vocabulary("axle-thread")] = None
    axle_length_mm: Mm = None
    brake_mount: Annotated[WordsFact, Vocabulary("brake-mount", many=True)] = None
    rotor_min_mm: Mm = None
    rotor_max_mm: Mm = None
    tyre_max_mm: Mm = None
    bead_seat_mm: Annotated[WordsFact, Vocabulary("bead-seat", many=True)] = None
    axle_to_crown_mm: Mm = None
    offset_mm: SignedMm = None
    travel_mm: Mm = None


class Headset(Part):
    """The upper or the lower half of a headset: cup where it has one, bearing and race.

    `code` is the open headset code of this half, such as IS42/28.6 (type, bore of the head tube, and the
    steerer or the crown seat it passes).
    """

    kind: Literal["headset"]
    half: Literal["upper", "lower"]
    code: str | None = None
    stack_mm: Mm = Field(default=None, description="height above, or below, the end of the head tube")
    bearing_inner_mm: Mm = None
    bearing_outer_mm: Mm = None
    bearing_height_mm: Mm = None
    bearing_inner_deg: Deg = None
    bearing_outer_deg: Deg = None
    cover_fit: Annotated[WordFact, Vocabulary("cover-fit")] = None
    threaded: Flag = None

    @field_validator("code")
    @classmethod
    def _a_code_of_the_grammar(cls, code: str | None) -> str | None:
        if code is None or code == "unknown":
            return None
        half = parse_half(code)
        return f"{half.type}{half.bore_code}/{half.fits_mm:g}"

    @property
    def seat(self) -> str | None:
        """The head-tube seat that this half takes, such as IS42."""
        return None if self.code is None else parse_half(self.code).seat

    @property
    def fits_mm(self) -> float | None:
        """The steerer (upper half) or crown seat (lower half) diameter in its code."""
        return None if self.code is None else parse_half(self.code).fits_mm


class HeadsetCover(Part):
    """The cover over the upper bearing; a cover for enclosed lines carries them past the bearing."""

    kind: Literal["headset-cover"]
    height_mm: Mm = None
    cover_fit: Annotated[WordFact, Vocabulary("cover-fit")] = None
    top_section: Annotated[WordFact, Vocabulary("stack-section")] = None
    bore_mm: Mm = None


class Spacer(Part):
    """One spacer on the steerer."""

    kind: Literal["spacer"]
    height_mm: Mm = None
    bore_mm: Mm = None
    section: Annotated[WordFact, Vocabulary("stack-section")] = None
    split: Flag = Field(default=None, description="goes on without taking the stem off")


class Stem(Part):
    """A stem that clamps a threadless steerer, or a quill stem for a threaded one."""

    kind: Literal["stem"]
    steerer_clamp_mm: Mm = None
    steerer_section: Annotated[WordFact, Vocabulary("steerer-section")] = None
    quill_mm: Mm = None
    quill_insertion_min_mm: Mm = None
    stack_mm: Mm = Field(default=None, description="height of the steerer clamp")
    bar_clamp_mm: Mm = None
    length_mm: Mm = None
    angle_deg: Deg = None
    base_section: Annotated[WordFact, Vocabulary("stack-section")] = None
    steering_angle_deg: Deg = Field(default=None, description="free turn to each side, where a stop limits it")


class Handlebar(Part):
    """A handlebar. `grip_mm` is the diameter where levers or grips sit."""

    kind: Literal["handlebar"]
    bar_type: Annotated[WordFact, Vocabulary("bar-type")] = None
    clamp_mm: Mm = None
    grip_mm: Mm = None
    inner_mm: Mm = Field(default=None, description="bore at the bar end, for plugs")
    width_mm: Mm = None
    reach_mm: Mm = None
    drop_mm: Mm = None
    rise_mm: SignedMm = None
    extensions_allowed: Flag = None


class BarStem(Part):
    """A one-piece bar and stem; it fills the positions of both."""

    kind: Literal["bar-stem"]
    bar_type: Annotated[WordFact, Vocabulary("bar-type")] = None
    steerer_clamp_mm: Mm = None
    steerer_section: Annotated[WordFact, Vocabulary("steerer-section")] = None
    stack_mm: Mm = None
    length_mm: Mm = None
    angle_deg: Deg = None
    base_section: Annotated[WordFact, Vocabulary("stack-section")] = None
    grip_mm: Mm = None
    inner_mm: Mm = None
    width_mm: Mm = None
    reach_mm: Mm = None
    drop_mm: Mm = None
    rise_mm: SignedMm = None
    steering_angle_deg: Deg = None
    extensions_allowed: Flag = None


class SteererPlug(Part):
    """What the top cap's bolt pulls on: a star nut or an expanding plug, with the cap."""

    kind: Literal["steerer-plug"]
    plug_type: Annotated[WordFact, Vocabulary("steerer-plug")] = None
    steerer_inner_min_mm: Mm = None
    steerer_inner_max_mm: Mm = None
    depth_mm: Mm = None
    leaves_room_for_lines: Flag = None


class BarCovering(Part):
    """Bar tape or grips."""

    kind: Literal["bar-tape", "grips"]
    grip_mm: Mm = Field(default=None, description="bar diameter that grips fit; tape fits any")
    length_mm: Mm = None
    thickness_mm: Mm = None
    pieces: Count = None
