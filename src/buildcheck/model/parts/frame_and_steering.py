"""Frame, fork and everything that sits on the steerer or the stem."""


from typing import Annotated, Literal

from pydantic import Field, field_validator

from buildcheck.model.parts.base import Part
from buildcheck.model.quantities import (
    Count,
    Deg,
    Flag,
    Kg,
    Mm,
    NewtonMetre,
    SignedMm,
    Teeth,
    Vocabulary,
    WordFact,
    WordsFact,
)
from buildcheck.trade.headset import parse_half


class Frame(Part):
    """A frame, with the dropouts and the bottom-bracket shell it is made with."""

    kind: Literal["frame"]
    size_name: str | None = None
    head_tube_upper: Annotated[WordFact, Vocabulary("headset-seat")] = None
    head_tube_lower: Annotated[WordFact, Vocabulary("headset-seat")] = None
    head_tube_length_mm: Mm = None
    head_angle_deg: Deg = None
    hinge: Annotated[WordFact, Vocabulary("folding-hinge")] = Field(
        default="none", description="at which it folds; left out of a frame that does not"
    )
    seats: Literal["one", "two"] = Field(default="one", description="how many riders drive it: two on a tandem")
    front_bb_shell: Annotated[WordFact, Vocabulary("bb-shell")] = Field(default=None, description="of a tandem")
    front_bb_shell_width_mm: Mm = None
    boom_length_mm: Mm = Field(default=None, description="of a tandem: from one bottom-bracket shell to the other")
    bb_shell: Annotated[WordFact, Vocabulary("bb-shell")] = None
    bb_shell_width_mm: Mm = None
    rear_axle_type: Annotated[WordFact, Vocabulary("axle-type")] = None
    rear_over_locknut_mm: Mm = None
    rear_axle_thread: Annotated[WordFact, Vocabulary("axle-thread")] = None
    rear_axle_length_mm: Mm = None
    rear_axle_head: Annotated[WordFact, Vocabulary("axle-head")] = None
    rear_axle_slot_mm: Mm = Field(
        default=None, description="how far the axle can move to tension the chain, in it or with its plate; 0 if fixed"
    )
    rear_dropout: Annotated[WordFact, Vocabulary("dropout")] = None
    opens_for_belt: Flag = Field(default=None, description="a stay or dropout opens, or passes above, for a belt")
    rear_slot_width_mm: Mm = Field(default=None, description="clear width of an open dropout, for the axle")
    rear_brake_mount: Annotated[WordsFact, Vocabulary("brake-mount", many=True)] = None
    rear_rotor_min_mm: Mm = None
    rear_rotor_max_mm: Mm = None
    rear_rotor_native_mm: Mm = Field(
        default=None, description="rotor for a caliper that sits on the mount without adapter"
    )
    rear_mount_thickness_mm: Mm = Field(default=None, description="what the bolts of a flat-mount caliper pass through")
    rear_brake_drop_mm: Mm = Field(default=None, description="rim brake: from its bolt or pivots to the axle")
    rear_cable_stop: Flag = Field(default=None, description="its own stop above the tyre for a straddled brake's cable")
    bridge_hole_mm: Mm = Field(default=None, description="through the bridge above the rear tyre; 0 without a hole")
    rear_tyre_max_mm: Mm = Field(default=None, description="widest tyre that the maker allows")
    rear_tyre_room_mm: Mm = Field(default=None, description="clear width between the stays where the tyre is widest")
    rear_tyre_radius_mm: Mm = Field(default=None, description="from the axle to the nearest thing the tread passes")
    bead_seat_mm: Annotated[WordsFact, Vocabulary("bead-seat", many=True)] = None
    chainstay_length_mm: Mm = Field(
        default=None, description="bottom bracket to rear axle; foremost, where the axle moves to tension the chain"
    )
    rear_travel_mm: Mm = Field(default=None, description="of the rear suspension; 0 for a rigid rear")
    shock_length_mm: Mm = Field(default=None, description="eye to eye of the shock that it is made for; 0 if rigid")
    shock_stroke_mm: Mm = Field(default=None, description="stroke of the shock that it is made for; 0 if rigid")
    shock_upper_mount: Annotated[WordFact, Vocabulary("shock-mount")] = None
    shock_upper_width_mm: Mm = Field(default=None, description="between the faces that hold the shock; 0 if rigid")
    shock_upper_bolt_mm: Mm = Field(default=None, description="diameter of the bolt there; 0 if rigid")
    shock_lower_mount: Annotated[WordFact, Vocabulary("shock-mount")] = None
    shock_lower_width_mm: Mm = Field(default=None, description="as above")
    shock_lower_bolt_mm: Mm = Field(default=None, description="as above")
    chain_growth_mm: Mm = Field(
        default=None, description="how much the rear suspension lengthens the chainstay; 0 if rigid"
    )
    ring_max_single_teeth: Teeth = Field(default=None, description="largest single ring that passes the stay")
    ring_max_outer_teeth: Teeth = Field(default=None, description="largest outer ring of two or three")
    crank_room_mm: Mm = Field(default=None, description="widest over the stays where the crank arms pass")
    wheelbase_mm: Mm = Field(default=None, description="with the fork that the geometry is stated for")
    front_centre_mm: Mm = Field(default=None, description="bottom bracket to front axle, with that same fork")
    fork_length_mm: Mm = Field(default=None, description="axle to crown of the fork that the geometry is stated for")
    fork_length_max_mm: Mm = Field(default=None, description="longest axle to crown that the maker allows")
    fork_travel_max_mm: Mm = Field(
        default=None, description="most travel that the maker allows a suspension fork; 0 where none is allowed"
    )
    fork_offset_mm: SignedMm = Field(default=None, description="offset of the fork that the geometry is stated for")
    hanger: Annotated[WordFact, Vocabulary("hanger")] = None
    front_derailleur_mount: Annotated[WordsFact, Vocabulary("front-derailleur-mount", many=True)] = None
    shifter_boss: Annotated[WordsFact, Vocabulary("bar-type", many=True)] = Field(
        default=None, description="places for shifters that the frame itself has"
    )
    front_derailleur_pull: Annotated[WordsFact, Vocabulary("front-derailleur-pull", many=True)] = None
    post_held_by: Annotated[WordFact, Vocabulary("post-holder")] = None
    seat_tube_bore_mm: Mm = Field(default=None, description="for the post; 0 of a frame with a seat mast")
    seat_mast_mm: Mm = Field(default=None, description="outer diameter of a seat mast")
    seat_tube_outer_mm: Mm = None
    down_tube_outer_mm: Mm = Field(default=None, description="where things are clamped; 0 if it is not round")
    top_tube_outer_mm: Mm = Field(default=None, description="as the down tube; 0 where there is none")
    seat_stay_outer_mm: Mm = Field(default=None, description="as the down tube; 0 where there is none")
    chainstay_outer_mm: Mm = Field(default=None, description="as the down tube; 0 where there is none")
    clamps_allowed: Flag = Field(default=None, description="its maker lets a load be clamped round its tubes")
    child_seat_max_kg: Kg = Field(
        default=None, description="most that a child seat may weigh with its child; 0 where the maker allows none"
    )
    trailer_max_kg: Kg = Field(
        default=None, description="most that a trailer may weigh, laden; 0 where the maker allows none"
    )
    permitted_total_kg: Kg = Field(
        default=None, description="most that bike, rider and luggage may weigh together; it stands on the frame"
    )
    built_kg: Kg = Field(default=None, description="this whole bike on a scale, without luggage")
    rider_kg: Kg = Field(default=None, description="who rides this bike, dressed, on a tandem both; if anybody asked")
    seatpost_insertion_min_mm: Mm = None
    seatpost_insertion_max_mm: Mm = None
    seat_tube_length_mm: Mm = Field(default=None, description="bottom bracket to the top of the seat tube")
    saddle_height_mm: Mm = Field(
        default=None, description="bottom bracket to the top of the saddle, as this rider has it"
    )
    seat_torque_max_nm: NewtonMetre = Field(default=None, description="most that the seat tube bears at its collar")


class Fork(Part):
    """A fork. `steerer_length_mm` is what the maker supplies; a bike file states what is left after cutting."""

    kind: Literal["fork"]
    steerer_mm: Mm = Field(default=None, description="outer diameter where the stem clamps")
    steerer_inner_mm: Mm = None
    steerer_section: Annotated[WordFact, Vocabulary("steerer-section")] = None
    steerer_material: Annotated[WordFact, Vocabulary("material")] = None
    steerer_length_mm: Mm = Field(default=None, description="from the crown race seat to the top")
    threaded: Flag = None
    steerer_thread: Annotated[WordFact, Vocabulary("steerer-thread")] = None
    crown_seat_mm: Mm = None
    spacers_below_max_mm: Mm = None
    spacers_above_max_mm: Mm = None
    axle_type: Annotated[WordFact, Vocabulary("axle-type")] = None
    over_locknut_mm: Mm = None
    axle_thread: Annotated[WordFact, Vocabulary("axle-thread")] = None
    axle_length_mm: Mm = None
    axle_head: Annotated[WordFact, Vocabulary("axle-head")] = None
    brake_mount: Annotated[WordsFact, Vocabulary("brake-mount", many=True)] = None
    rotor_min_mm: Mm = None
    rotor_max_mm: Mm = None
    rotor_native_mm: Mm = Field(default=None, description="rotor for a caliper that sits on the mount without adapter")
    mount_thickness_mm: Mm = Field(default=None, description="what the bolts of a flat-mount caliper pass through")
    brake_drop_mm: Mm = Field(default=None, description="rim brake: from its bolt or pivots to the axle")
    cable_stop: Flag = Field(default=None, description="its own stop above the tyre for a straddled brake's cable")
    crown_hole_mm: Mm = Field(default=None, description="through the crown above the tyre; 0 without a hole")
    tyre_max_mm: Mm = Field(default=None, description="widest tyre that the maker allows")
    tyre_room_mm: Mm = Field(default=None, description="clear width between the legs where the tyre is widest")
    tyre_radius_mm: Mm = Field(default=None, description="from the axle to the nearest thing the tread passes")
    steerer_torque_max_nm: NewtonMetre = Field(
        default=None, description="most that the steerer bears from a stem clamp"
    )
    bead_seat_mm: Annotated[WordsFact, Vocabulary("bead-seat", many=True)] = None
    axle_to_crown_mm: Mm = None
    offset_mm: SignedMm = None
    travel_mm: Mm = None
    fork_leg_outer_mm: Mm = Field(default=None, description="of a round leg where things are clamped; 0 if not round")
    clamps_allowed: Flag = Field(default=None, description="its maker lets a load be clamped round its legs")


class RearShock(Part):
    """The shock of a rear suspension, with the bushings that it is fitted with."""

    kind: Literal["rear-shock"]
    length_mm: Mm = Field(default=None, description="eye to eye, or to the axis of a trunnion, let out")
    stroke_mm: Mm = None
    upper_mount: Annotated[WordFact, Vocabulary("shock-mount")] = None
    upper_width_mm: Mm = Field(default=None, description="of its bushing with its spacers, or of the trunnion")
    upper_bolt_mm: Mm = Field(default=None, description="diameter of the bolt that its bushing takes")
    lower_mount: Annotated[WordFact, Vocabulary("shock-mount")] = None
    lower_width_mm: Mm = None
    lower_bolt_mm: Mm = None
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
    usual_bearing_height_mm: Mm = Field(default=None, description="of the bearing with which its stack is stated")
    race_shoulder_mm: Mm = Field(
        default=None, description="outside of its compression ring, or of its crown race, where the bearing sits on it"
    )
    race_angle_deg: Deg = Field(default=None, description="of the cone of its compression ring, or of its crown race")
    cover_fit: Annotated[WordFact, Vocabulary("cover-fit")] = None
    threaded: Flag = None
    steerer_thread: Annotated[WordFact, Vocabulary("steerer-thread")] = Field(
        default=None, description="of an upper half that is screwed on"
    )

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
        """The true diameter of the steerer (upper half) or of the crown seat (lower half) that its code means."""
        if self.code is None:
            return None
        half = parse_half(self.code)
        return half.steerer_mm if self.half == "upper" else half.crown_seat_mm


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
    hinge: Annotated[WordFact, Vocabulary("folding-hinge")] = Field(
        default="none", description="at which it folds; left out of a stem that does not"
    )
    base_section: Annotated[WordFact, Vocabulary("stack-section")] = None
    steering_angle_deg: Deg = Field(default=None, description="free turn to each side, where a stop limits it")
    bar_clamp_torque_min_nm: NewtonMetre = Field(default=None, description="least that its maker asks for at the bar")
    bar_clamp_torque_max_nm: NewtonMetre = Field(default=None, description="most that its maker allows at the bar")
    steerer_clamp_torque_min_nm: NewtonMetre = Field(
        default=None, description="least that its maker asks for at the steerer"
    )
    steerer_clamp_torque_max_nm: NewtonMetre = Field(
        default=None, description="most that its maker allows at the steerer"
    )
    bolt_kind: Annotated[WordFact, Vocabulary("clamp-bolts")] = Field(
        default=None, description="of the clamp on the steerer"
    )


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
    clamps_allowed: Flag = Field(default=None, description="its maker lets a load be clamped round it")
    clamp_torque_max_nm: NewtonMetre = Field(default=None, description="most that the bar bears from the stem")
    grip_torque_max_nm: NewtonMetre = Field(default=None, description="most that the bar bears from a lever clamp")


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
    clamps_allowed: Flag = Field(default=None, description="its maker lets a load be clamped round it")
    steerer_clamp_torque_min_nm: NewtonMetre = Field(
        default=None, description="least that its maker asks for at the steerer"
    )
    steerer_clamp_torque_max_nm: NewtonMetre = Field(
        default=None, description="most that its maker allows at the steerer"
    )
    bolt_kind: Annotated[WordFact, Vocabulary("clamp-bolts")] = Field(
        default=None, description="of the clamp on the steerer"
    )
    grip_torque_max_nm: NewtonMetre = Field(default=None, description="most that the bar bears from a lever clamp")


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
