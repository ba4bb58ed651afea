"""Hoses, housings and wires."""


from typing import Annotated, Literal

from pydantic import Field

from buildcheck.model.parts.base import Part
from buildcheck.model.quantities import Flag, Mm, Vocabulary, WordFact


class Line(Part):
    """What runs over the bike from one end to another and has to find its way."""


class Hose(Line):
    """A hydraulic brake hose. An end that can be cut passes any bore that the bare hose passes."""

    kind: Literal["hose"]
    outer_mm: Mm = None
    hose_system: Annotated[WordFact, Vocabulary("hose-system")] = None
    fluid: Annotated[WordFact, Vocabulary("fluid")] = Field(default=None, description="that it is made for")
    filled: Annotated[WordFact, Vocabulary("fluid")] = Field(
        default=None, description="the fluid that is in it, or was; none of one that is sold dry"
    )
    bend_radius_min_mm: Mm = None
    length_mm: Mm = None
    start_fitting_mm: Mm = Field(default=None, description="widest size of the fitting at the lever end")
    end_fitting_mm: Mm = Field(default=None, description="widest size of the fitting at the caliper end")
    start_cuttable: Flag = None
    end_cuttable: Flag = None


class Housing(Line):
    """Housing with its inner cable, for a brake, for shifting, or for a dropper post.

    One that comes without a cable has the cable head `none`; the cable is then a part of its own, as is a new one in an
    old housing.
    """

    kind: Literal["housing"]
    use: Annotated[WordFact, Vocabulary("housing-use")] = None
    outer_mm: Mm = None
    bend_radius_min_mm: Mm = None
    length_mm: Mm = None
    cable_head: Annotated[WordFact, Vocabulary("cable-head")] = None
    cable_max_mm: Mm = Field(default=None, description="thickest inner cable that runs freely in it")
    start_fitting_mm: Mm = None
    end_fitting_mm: Mm = None
    start_cuttable: Flag = None
    end_cuttable: Flag = None


class InnerCable(Part):
    """An inner cable by itself: new in a housing that stays, or in one that comes without."""

    kind: Literal["inner-cable"]
    use: Annotated[WordFact, Vocabulary("housing-use")] = None
    cable_head: Annotated[WordFact, Vocabulary("cable-head")] = None
    diameter_mm: Mm = None
    length_mm: Mm = None
class Wire(Line):
    """An electric wire with a plug at each end."""

    kind: Literal["wire"]
    outer_mm: Mm = None
    bend_radius_min_mm: Mm = None
    length_mm: Mm = None
    start_plug: Annotated[WordFact, Vocabulary("plug")] = None
    end_plug: Annotated[WordFact, Vocabulary("plug")] = None
    start_fitting_mm: Mm = None
    end_fitting_mm: Mm = None
    start_cuttable: Flag = None
    end_cuttable: Flag = None

    @property
    def plugs(self) -> tuple[str, ...] | None:
        """The plugs at its two ends; None if one of them is not known."""
        ends = (self.start_plug, self.end_plug)
        return None if None in ends else tuple(sorted({plug for plug in ends if plug is not None}))
