"""Shifting, chain, sprockets and cranks."""


from typing import Annotated, Literal

from pydantic import Field

from buildcheck.model.parts.base import Part
from buildcheck.model.quantities import Count, Flag, Links, Mm, Ratio, Speeds, Teeth, Vocabulary, WordFact, WordsFact


class _ForChains(Part):
    """What a chain runs over; with `_ForBelts` it is told which of the two a part is for."""

    @property
    def drive_link(self) -> str:
        """Which of the two it is for."""
        return "chain"


class _ForBelts(Part):
    """A toothed belt, or what it runs over."""

    belt_profile: Annotated[WordFact, Vocabulary("belt-profile")] = None
    belt_teeth: Teeth = None

    @property
    def drive_link(self) -> str:
        """Which of the two it is for."""
        return "belt"


class RearDerailleur(_ForChains):
    """A rear derailleur."""

    kind: Literal["rear-derailleur"]
    mount: Annotated[WordFact, Vocabulary("hanger")] = None
    shift_system: Annotated[WordFact, Vocabulary("shift-system")] = None
    speeds: Speeds = None
    sprocket_max_teeth: Teeth = None
    sprocket_min_teeth: Teeth = None
    capacity_teeth: Teeth = None
    shift_ratio: Ratio = Field(default=None, description="sideways travel of the chain for each mm of cable")


class ChainTensioner(_ForChains):
    """A pulley or two on an arm with a spring that keep a chain tight, and shift nothing."""

    kind: Literal["chain-tensioner"]
    mount: Annotated[WordFact, Vocabulary("hanger")] = None
    capacity_teeth: Teeth = Field(default=None, description="what it takes up, as of a rear derailleur")
    thickness_mm: Mm = Field(default=None, description="of the teeth of its pulleys, for the chain's inner width")


class FrontDerailleur(_ForChains):
    """A front derailleur."""

    kind: Literal["front-derailleur"]
    mount: Annotated[WordFact, Vocabulary("front-derailleur-mount")] = None
    pull: Annotated[WordFact, Vocabulary("front-derailleur-pull")] = None
    front_shift_system: Annotated[WordFact, Vocabulary("shift-system")] = None
    difference_max_teeth: Teeth = None
    ring_max_teeth: Teeth = None
    ring_min_teeth: Teeth = Field(default=None, description="smallest big ring that its cage follows")
    chainline_mm: Mm = None


class Cassette(_ForChains):
    """A cassette, freewheel or single sprocket."""

    kind: Literal["cassette"]
    freehub: Annotated[WordFact, Vocabulary("freehub")] = None
    speeds: Speeds = None
    smallest_teeth: Teeth = None
    largest_teeth: Teeth = None
    sprocket_pitch_mm: Mm = None
    body_length_mm: Mm = Field(default=None, description="length of the freehub body that it fills without a spacer")
    sprocket_thickness_mm: Mm = None
    chain_speeds: Annotated[WordsFact, Vocabulary("chain-speeds", many=True)] = None
    sprockets: tuple[Annotated[int, Field(ge=8, le=60)], ...] | None = Field(
        default=None, description="teeth of each sprocket, the smallest first"
    )


class Chain(_ForChains):
    """A chain; a bike file states the links that are on it."""

    kind: Literal["chain"]
    speeds: Annotated[WordsFact, Vocabulary("chain-speeds", many=True)] = None
    outer_width_mm: Mm = None
    inner_width_mm: Mm = None
    links: Links = None
    half_link: Flag = Field(default=None, description="a half link, inner at one end and outer at the other, is let in")


class Crankset(_ForChains):
    """Crank arms with spindle, with rings where they do not come apart; or the right arm with all of that alone."""

    kind: Literal["crankset"]
    arms: Literal["both", "right"] = Field(default="both", description="which arms the record stands for")
    spindle: Annotated[WordFact, Vocabulary("spindle")] = None
    spindle_length_mm: Mm = None
    arm_length_mm: Mm = None
    pedal_thread: Annotated[WordFact, Vocabulary("pedal-thread")] = None
    ring_mounts: Annotated[WordsFact, Vocabulary("ring-mount", many=True)] = Field(
        default=None, description="at all places but the innermost of several"
    )
    inner_ring_mounts: Annotated[WordsFact, Vocabulary("ring-mount", many=True)] = Field(
        default=None, description="at the innermost place; the same as at the others where all rings share a circle"
    )
    chainline_mm: Mm = Field(default=None, description="middle of the bike to the middle of the rings")
    rings: Count = None
    ring_spacing_mm: Mm = Field(default=None, description="from one ring to the next; 0 with one ring")
    ring_min_teeth: Teeth = Field(default=None, description="smallest ring that clears the arms of its spider")
    left_ring_mounts: Annotated[WordsFact, Vocabulary("ring-mount", many=True)] = Field(
        default=None, description="on the left arm, for the timing chain of a tandem; none where it has no spider"
    )
    largest_ring_teeth: Teeth = Field(default=None, description="where the rings do not come off")
    smallest_ring_teeth: Teeth = Field(default=None, description="where the rings do not come off")
    bearing_span_mm: Mm = Field(
        default=None, description="outer face to outer face of the bearings that it is made for"
    )
    arm_room_mm: Mm = Field(default=None, description="clear width between the arms where they pass the stays")
    q_factor_mm: Mm = Field(default=None, description="outer face to outer face of the arms at the pedals")
    speeds: Annotated[WordsFact, Vocabulary("chain-speeds", many=True)] = None


class Belt(_ForBelts):
    """A toothed belt that drives the rear wheel; it has no joint that could be opened."""

    kind: Literal["belt"]

    @property
    def endless(self) -> bool:
        """Whether it goes on only where the frame can be opened, which a belt always does."""
        return True


class BeltRing(_ForBelts):
    """The front sprocket of a belt."""

    kind: Literal["belt-ring"]
    ring_mount: Annotated[WordFact, Vocabulary("ring-mount")] = None
    bolt_kind: Annotated[WordFact, Vocabulary("ring-bolts")] = Field(default=None, description="what they are made of")

    @property
    def place_in_set(self) -> str:
        """Its place among several: a belt runs on one only."""
        return "single"


class BeltSprocket(_ForBelts):
    """The rear sprocket of a belt."""

    kind: Literal["belt-sprocket"]
    freehub: Annotated[WordFact, Vocabulary("freehub")] = None


class CrankArm(Part):
    """A left crank arm apart from its set."""

    kind: Literal["crank-arm"]
    spindle: Annotated[WordFact, Vocabulary("spindle")] = None
    arm_length_mm: Mm = None
    pedal_thread: Annotated[WordFact, Vocabulary("pedal-thread")] = None
    thread_hand: Annotated[WordFact, Vocabulary("thread-hand")] = None
    left_ring_mounts: Annotated[WordsFact, Vocabulary("ring-mount", many=True)] = Field(
        default=None, description="for the timing chain of a tandem; none where it has no spider"
    )


class Chainring(_ForChains):
    """One chainring."""

    kind: Literal["chainring"]
    ring_mount: Annotated[WordFact, Vocabulary("ring-mount")] = None
    bolt_kind: Annotated[WordFact, Vocabulary("ring-bolts")] = Field(default=None, description="what they are made of")
    teeth: Teeth = None
    place_in_set: Annotated[WordFact, Vocabulary("ring-place")] = None
    thickness_mm: Mm = Field(default=None, description="of the teeth, for the chain's inner width")
    speeds: Annotated[WordsFact, Vocabulary("chain-speeds", many=True)] = None


class BottomBracket(Part):
    """A bottom bracket."""

    kind: Literal["bottom-bracket"]
    shell: Annotated[WordFact, Vocabulary("bb-shell")] = None
    shell_width_min_mm: Mm = None
    shell_width_max_mm: Mm = None
    widths_between: Flag = Field(
        default=None, description="it takes every width between the two; false for `68 or 73` and no other"
    )
    spindle: Annotated[WordFact, Vocabulary("spindle")] = None
    spindle_length_mm: Mm = Field(default=None, description="of a bottom bracket that has its own spindle")
    bearing_span_mm: Mm = Field(
        default=None, description="outer face to outer face of its bearings in the narrowest shell that it is for"
    )
    chainline_mm: Mm = Field(default=None, description="that its own spindle gives the cranks made for it")
    eccentricity_mm: Mm = Field(
        default=None, description="how far its spindle lies beside the middle of the shell, to tension the chain; or 0"
    )


class WidthSpacer(Part):
    """A ring that fills a width: beside a bottom-bracket cup, or behind a cassette."""

    kind: Literal["bb-spacer", "freehub-spacer"]
    thickness_mm: Mm = None
    bore_mm: Mm = None


class Battery(Part):
    """The battery of wired electronic shifting."""

    kind: Literal["battery"]
    diameter_mm: Mm = None
    shift_system: Annotated[WordFact, Vocabulary("shift-system")] = None


class Junction(Part):
    """A junction of wired electronic shifting, with or without a charge port."""

    kind: Literal["junction"]
    wireless_updates: Flag = None
