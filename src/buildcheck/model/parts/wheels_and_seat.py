"""Wheels, tyres, axles, seat, pedals, adapters and what is hung on the bike."""


from typing import Annotated, Literal

from pydantic import Field

from buildcheck.model.parts.base import Part
from buildcheck.model.quantities import (
    Bar,
    Deg,
    Flag,
    Kg,
    Lux,
    Mm,
    NewtonMetre,
    SignedMm,
    Teeth,
    Vocabulary,
    WordFact,
    WordsFact,
)


class Wheel(Part):
    """A built wheel: rim, spokes, hub, and for a rear wheel the freehub body."""

    kind: Literal["front-wheel", "rear-wheel"]
    bead_seat_mm: Annotated[WordFact, Vocabulary("bead-seat")] = None
    rim_inner_mm: Mm = None
    rim_outer_mm: Mm = Field(default=None, description="over the tracks of a rim brake")
    rim_type: Annotated[WordFact, Vocabulary("rim-type")] = None
    rim_pressure_max_bar: Bar = None
    rim_depth_mm: Mm = Field(default=None, description="edge at the tyre to the spokes, which the valve must pass")
    tubeless: Flag = Field(default=None, description="rim made to hold air without a tube")
    tyre_width_min_mm: Mm = Field(default=None, description="narrowest tyre that the rim's maker allows")
    tyre_width_max_mm: Mm = Field(default=None, description="widest tyre that the rim's maker allows")
    valve_hole_mm: Mm = Field(default=None, description="diameter of the hole for the valve")
    brake_track: Flag = None
    axle_type: Annotated[WordFact, Vocabulary("axle-type")] = None
    nut_thread: Annotated[WordFact, Vocabulary("nut-thread")] = Field(
        default=None, description="of its axle, where nuts hold it"
    )
    over_locknut_mm: Mm = None
    end_caps: Annotated[WordFact, Vocabulary("end-caps")] = Field(
        default=None, description="family of exchangeable end caps that the hub takes; none where it has none"
    )
    rotor_mount: Annotated[WordFact, Vocabulary("rotor-mount")] = None
    rotor_lockrings: Annotated[WordsFact, Vocabulary("lockring", many=True)] = Field(
        default=None, description="lockrings that go on this hub, with its axle and end caps"
    )
    freehub: Annotated[WordsFact, Vocabulary("freehub", many=True)] = None
    freehub_length_mm: Mm = Field(default=None, description="length of the freehub body; 0 where there is none")
    chainline_mm: Mm = Field(default=None, description="middle of the wheel to the middle of its sprockets")
    hub_shift_system: Annotated[WordFact, Vocabulary("shift-system")] = Field(
        default=None, description="of a gear hub; none for any other hub"
    )
    axle_flats_mm: Mm = Field(default=None, description="of a gear hub: across the flats of its axle")
    non_turn_washers: Annotated[WordsFact, Vocabulary("dropout", many=True)] = Field(
        default=None, description="of a gear hub: dropouts for which it has washers that hold its axle against turning"
    )
    gear_ratios: tuple[Annotated[float, Field(gt=0, lt=5)], ...] | None = Field(
        default=None, description="of a gear hub: turns of the wheel for one turn of the sprocket, lowest gear first"
    )
    hub_brake: Annotated[WordFact, Vocabulary("hub-brake")] = None
    hub_brake_pull: Annotated[WordFact, Vocabulary("cable-pull")] = Field(
        default=None, description="cable pull that a drum or roller brake needs; none for any other hub"
    )


class Tyre(Part):
    """A tyre, by its bead seat and section width (ISO 5775)."""

    kind: Literal["tyre"]
    bead_seat_mm: Annotated[WordFact, Vocabulary("bead-seat")] = None
    width_mm: Mm = None
    bead: Annotated[WordFact, Vocabulary("bead")] = None
    tubeless: Flag = None
    pressure_min_bar: Bar = None
    pressure_max_bar: Bar = None
    pressure_bar: Bar = Field(
        default=None, description="what it is pumped to: its maker's advice, or what a bike file states"
    )
    design_rim_mm: Mm = Field(default=None, description="inner rim width on which it has its marked width")
    straight_side_ok: Flag = Field(default=None, description="its maker allows it on straight-side (hookless) rims")


class AirHolder(Part):
    """What holds the air in a tyre: an inner tube, or valve, tape and sealant in its place."""

    kind: Literal["inner-tube", "tubeless-kit"]
    bead_seat_mm: Annotated[WordsFact, Vocabulary("bead-seat", many=True)] = None
    tyre_min_mm: Mm = Field(default=None, description="narrowest tyre that an inner tube is for")
    tyre_max_mm: Mm = Field(default=None, description="widest tyre that an inner tube is for")
    tape_width_mm: Mm = Field(default=None, description="of a tubeless kit's rim tape; 0 for an inner tube")
    valve: Annotated[WordFact, Vocabulary("valve")] = None
    valve_mm: Mm = Field(default=None, description="diameter of the valve stem")
    valve_length_mm: Mm = None


class Axle(Part):
    """A thru-axle or a quick-release skewer or a pair of axle nuts."""

    kind: Literal["axle"]
    axle_type: Annotated[WordFact, Vocabulary("axle-type")] = None
    thread: Annotated[WordFact, Vocabulary("axle-thread")] = None
    nut_thread: Annotated[WordFact, Vocabulary("nut-thread")] = Field(default=None, description="of a pair of nuts")
    length_mm: Mm = None
    head: Annotated[WordFact, Vocabulary("axle-head")] = None
    hitch_allowed: Flag = Field(default=None, description="its maker lets a hitch be held under its head or nut")


class Seatpost(Part):
    """A seat post, rigid or dropper, or the cap over a seat mast."""

    kind: Literal["seatpost"]
    diameter_mm: Mm = Field(default=None, description="of what goes into the seat tube; 0 of a cap over a mast")
    sits: Annotated[WordFact, Vocabulary("post-seat")] = Field(
        default="in-the-tube", description="where it sits; left out of a post"
    )
    mast_mm: Mm = Field(default=None, description="bore of a cap over a seat mast")
    rails_least_mm: Mm = Field(default=None, description="of a cap: top of the mast to the saddle rails, pushed down")
    rails_most_mm: Mm = Field(default=None, description="the same, drawn up as far as its mark allows")
    length_mm: Mm = None
    insertion_min_mm: Mm = None
    rails: Annotated[WordsFact, Vocabulary("rails", many=True)] = None
    saddle_clamp: Annotated[WordFact, Vocabulary("saddle-clamp")] = None
    travel_mm: Mm = Field(default=None, description="0 for a rigid post")
    actuation: Annotated[WordFact, Vocabulary("dropper-actuation")] = None
    lowest_mm: Mm = Field(
        default=None, description="seat tube top to saddle rails, pushed in as far as it goes and let down"
    )
    head_mm: Mm = Field(default=None, description="upper end of the length to the saddle rails")
    setback_mm: SignedMm = None
    clamps_allowed: Flag = Field(default=None, description="its maker lets a clamp go round it")
    clamp_torque_max_nm: NewtonMetre = Field(default=None, description="most that the post bears from the seat clamp")
    rail_torque_min_nm: NewtonMetre = Field(default=None, description="least that its maker asks for at the rails")
    rail_torque_max_nm: NewtonMetre = Field(default=None, description="most that its maker allows at the rails")


class SeatClamp(Part):
    """A collar on the seat tube."""

    kind: Literal["seat-clamp"]
    diameter_mm: Mm = None
    torque_min_nm: NewtonMetre = Field(default=None, description="least that its maker asks for")
    torque_max_nm: NewtonMetre = Field(default=None, description="most that its maker allows")
    bolt_kind: Annotated[WordFact, Vocabulary("seat-bolts")] = Field(default=None, description="what closes it")


class HingeClamp(Part):
    """The lever, or bolt and nut, that closes a folding hinge, with its catch."""

    kind: Literal["hinge-clamp"]
    hinge: Annotated[WordFact, Vocabulary("folding-hinge")] = Field(default=None, description="that it closes")


class Saddle(Part):
    """A saddle."""

    kind: Literal["saddle"]
    rails: Annotated[WordFact, Vocabulary("rails")] = None
    height_mm: Mm = Field(default=None, description="rails to the top, where the rider sits")
    rail_torque_max_nm: NewtonMetre = Field(default=None, description="most that the rails bear from the post's clamp")
    made_for: Annotated[WordFact, Vocabulary("saddle-rider")] = Field(
        default=None, description="the rider and the riding: how wide, long and strong it is"
    )


class Pedals(Part):
    """A pair of pedals."""

    kind: Literal["pedals"]
    pedal_thread: Annotated[WordFact, Vocabulary("pedal-thread")] = None
    cleat: Annotated[WordFact, Vocabulary("cleat")] = None


class Pedal(Part):
    """One pedal apart from its pair."""

    kind: Literal["pedal"]
    pedal_thread: Annotated[WordFact, Vocabulary("pedal-thread")] = None
    thread_hand: Annotated[WordFact, Vocabulary("thread-hand")] = None
    cleat: Annotated[WordFact, Vocabulary("cleat")] = None


class Cleats(Part):
    """The cleats under the rider's shoes."""

    kind: Literal["cleats"]
    cleat: Annotated[WordFact, Vocabulary("cleat")] = None


class Accessory(Part):
    """A lamp, a bag, a computer, a rack: anything that needs a place on the bike."""

    kind: Literal["accessory"]
    use: Annotated[WordFact, Vocabulary("accessory-use")] = None
    bead_seat_mm: Annotated[WordsFact, Vocabulary("bead-seat", many=True)] = Field(
        default=None, description="wheels that mudguards or stabilisers are made for"
    )
    tyre_max_mm: Mm = Field(default=None, description="widest tyre that runs under the mudguards")
    stays: Annotated[WordFact, Vocabulary("mudguard-stays")] = Field(
        default=None, description="what holds the stays of mudguards"
    )
    ring_max_teeth: Teeth = Field(default=None, description="of a chain guard: largest ring that goes into it")
    passes_derailleur: Flag = Field(default=None, description="of stabilisers: their arm leaves room for a derailleur")
    light_lux: Lux = Field(default=None, description="of a front lamp: what its maker states, in the middle at 10 m")
    load_kg: Kg = Field(
        default=None, description="what it weighs as it is ridden, with what is in it; of a hitch, the laden trailer"
    )
    load_max_kg: Kg = Field(default=None, description="of a rack: most that may be put on it")
    post_strap: Flag = Field(default=None, description="of a bag under the saddle: a strap of it goes round the post")
    child_seat_max_kg: Kg = Field(
        default=None, description="of a rack: most that a child seat on it may weigh with its child; 0 for none"
    )


class Adapter(Part):
    """A part with two sides that lets two unlike interfaces meet.

    Side a faces the part at the position that the joint is listed at, side b the other one; in a line side a faces the
    lever.
    """

    kind: Literal["adapter"]
    interface: Annotated[str, Vocabulary("interface")]
    side_a_mm: Mm = None
    side_b_mm: Mm = None
    side_a: Annotated[WordFact, Vocabulary("any")] = None
    side_b: Annotated[WordFact, Vocabulary("any")] = None
    rotor_step_mm: SignedMm = Field(default=None, description="how much larger a rotor a brake adapter asks for")
    eccentricity_mm: Mm = Field(
        default=None, description="how far beside the middle of the shell a bottom bracket lies in it; 0 if it does not"
    )
    hub_shift_mm: SignedMm = Field(default=None, description="how far end caps move the hub towards the drive side")
    end_caps: Annotated[WordFact, Vocabulary("end-caps")] = Field(default=None, description="family of its end caps")
    lockring: Annotated[WordFact, Vocabulary("lockring")] = Field(
        default=None, description="the one that a rotor adapter comes with"
    )
    thickness_mm: Mm = Field(
        default=None,
        description="of a brake adapter: what the caliper's bolts pass through; 0 if it has bolts of its own",
    )
    bolt_length_mm: Mm = Field(default=None, description="of a brake adapter's own bolts through a flat mount")
    bolt_reach_mm: Mm = Field(default=None, description="bolt that must stand out of the mount to hold in its threads")
    bolt_room_mm: Mm = Field(default=None, description="bolt that goes into its threads before it bottoms out")
    quill_insertion_min_mm: Mm = Field(default=None, description="of a quill adapter: from its lower end to its mark")
    post_mm: Mm = Field(default=None, description="of a quill adapter: length of the post that a stem clamps")
    race_shoulder_mm: Mm = Field(
        default=None, description="of a reducing race: outside, where the lower bearing sits on it"
    )
    race_angle_deg: Deg = Field(default=None, description="of the cone of a reducing race")
    pull_in_mm: Mm = Field(default=None, description="of a shift pull converter: cable that the shifter takes of it")
    pull_out_mm: Mm = Field(default=None, description="of a shift pull converter: cable that it pulls for that")
