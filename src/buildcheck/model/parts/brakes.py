"""Levers, calipers, rotors and the parts they need."""


from typing import Annotated, Literal

from pydantic import Field

from buildcheck.model.parts.base import Part
from buildcheck.model.quantities import Count, Mm, NewtonMetre, SignedMm, Speeds, Vocabulary, WordFact, WordsFact


class Lever(Part):
    """A brake lever, a shifter, both in one, or a remote. What it does not do is `none`, not left out."""

    kind: Literal["lever"]
    bar_type: Annotated[WordsFact, Vocabulary("bar-type", many=True)] = None
    clamp_mm: Mm = None
    brake: Annotated[WordFact, Vocabulary("brake-actuation")] = None
    cable_pull: Annotated[WordFact, Vocabulary("cable-pull")] = None
    brake_cable_head: Annotated[WordFact, Vocabulary("cable-head")] = None
    fluid: Annotated[WordFact, Vocabulary("fluid")] = Field(default=None, description="that its seals are made for")
    filled: Annotated[WordFact, Vocabulary("fluid")] = Field(
        default=None, description="the fluid that is in it, or that its maker sells it for"
    )
    hose_system: Annotated[WordFact, Vocabulary("hose-system")] = None
    piston_mm: Mm = None
    shift_system: Annotated[WordFact, Vocabulary("shift-system")] = None
    front_shift_system: Annotated[WordFact, Vocabulary("shift-system")] = None
    speeds: Speeds = None
    cable_per_shift_mm: Mm = Field(default=None, description="rear shift cable that one click pulls, on the mean")
    clamp_torque_min_nm: NewtonMetre = Field(default=None, description="least that its maker asks for at the bar")
    clamp_torque_max_nm: NewtonMetre = Field(default=None, description="most that its maker allows at the bar")
    hand: Annotated[WordFact, Vocabulary("hand")] = None
    twist_mm: Mm = Field(default=None, description="of a twist shifter: how much of the bar the hand turns; else 0")


class Caliper(Part):
    """A brake at the wheel: a disc caliper or a rim brake."""

    kind: Literal["caliper"]
    brake: Annotated[WordFact, Vocabulary("brake-actuation")] = None
    brake_type: Annotated[WordFact, Vocabulary("brake-type")] = None
    mount: Annotated[WordFact, Vocabulary("brake-mount")] = None
    cable_pull: Annotated[WordFact, Vocabulary("cable-pull")] = None
    fluid: Annotated[WordFact, Vocabulary("fluid")] = Field(default=None, description="that its seals are made for")
    filled: Annotated[WordFact, Vocabulary("fluid")] = Field(
        default=None, description="the fluid that is in it, or that its maker sells it for"
    )
    hose_system: Annotated[WordFact, Vocabulary("hose-system")] = None
    piston_mm: Mm = None
    pad_shape: Annotated[WordFact, Vocabulary("pad-shape")] = None
    rotor_step_mm: Mm = Field(
        default=None,
        description="how much larger a rotor than the mount's own it sits right for; 0 on post and flat mounts",
    )
    plate_flip_mm: Mm = Field(
        default=None,
        description="how much larger a rotor it serves with its plate turned over; 0 without such a plate",
    )
    rotor_thickness_min_mm: Mm = None
    rotor_thickness_max_mm: Mm = None
    reach_min_mm: Mm = Field(
        default=None, description="rim brake: from its bolt or pivots to the middle of the shoes, at their nearest"
    )
    reach_max_mm: Mm = Field(default=None, description="the same with the shoes at their farthest")
    rim_max_mm: Mm = Field(default=None, description="rim brake: widest rim between its shoes")
    arch_mm: SignedMm = Field(
        default=None,
        description="rim brake: underside of its arch, or of the cable across the tyre, above its bolt or pivots; "
        "negative below",
    )
    arch_width_mm: Mm = Field(default=None, description="rim brake: between its arms, where the tyre passes")
    straddles: Annotated[WordsFact, Vocabulary("straddle", many=True)] = Field(
        default=None, description="wires across the tyre that can join its arms; none where the cable goes to the brake"
    )
    pistons_per_side: Count = None
    bolt_length_mm: Mm = Field(default=None, description="of the bolts that hold it on a flat mount")
    bolt_reach_mm: Mm = Field(default=None, description="bolt that must stand out of the mount to hold in its threads")
    bolt_room_mm: Mm = Field(default=None, description="bolt that goes into its threads before it bottoms out")


class Rotor(Part):
    """A disc-brake rotor."""

    kind: Literal["rotor"]
    diameter_mm: Mm = None
    thickness_mm: Mm = None
    thickness_min_mm: Mm = Field(default=None, description="wear limit that stands on the rotor")
    lockring: Annotated[WordFact, Vocabulary("lockring")] = Field(default=None, description="the one it comes with")
    mount: Annotated[WordFact, Vocabulary("rotor-mount")] = None
    pad_compounds: Annotated[WordsFact, Vocabulary("pad-compound", many=True)] = None


class BrakePads(Part):
    """A pair of pads for one caliper."""

    kind: Literal["brake-pads"]
    pad_shape: Annotated[WordFact, Vocabulary("pad-shape")] = None
    compound: Annotated[WordFact, Vocabulary("pad-compound")] = None
    thickness_mm: Mm = Field(default=None, description="lining with its backing plate")
    thickness_min_mm: Mm = Field(default=None, description="wear limit, measured the same way")


class FrontHanger(Part):
    """A stop for the cable of a straddled front brake: a ring on the steerer, under locknut or stem."""

    kind: Literal["front-hanger"]
    height_mm: Mm = Field(default=None, description="of its ring, in the stack on the steerer")
    bore_mm: Mm = None


class RearHanger(Part):
    """A stop for the cable of a straddled rear brake: an arm under the bolt of the seat clamp or the seat lug."""

    kind: Literal["rear-hanger"]


class CrownHanger(Part):
    """A stop for the cable of a straddled brake: an arm on a bolt through the fork's crown or the frame's bridge."""

    kind: Literal["crown-hanger"]
    bolt_mm: Mm = Field(default=None, description="of the bolt that goes through crown or bridge")


class Straddle(Part):
    """The wire across the tyre that joins the two arms of a brake to its cable, with its yoke where it has one."""

    kind: Literal["straddle"]
    straddle_type: Annotated[WordFact, Vocabulary("straddle")] = None
