"""What every catalogue record has: identity, price, ways for lines, places to mount things, plugs.

The files of this folder do not postpone their annotations: pydantic would evaluate the text of each one, and making
the classes would take a third longer at the start of every command.
"""


from math import pi
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from buildcheck.model.quantities import Flag, Gram, Kg, Mm, Mm2, Vocabulary, WordFact, WordsFact

IDENTIFIER = r"^[a-z0-9]+(?:[-.][a-z0-9]+)*$"

UNTOLD = "untold-"  # what the id of a part without a record begins with


class Record(BaseModel):
    """Strict and unchanging: an unknown key is an error, and nothing is altered after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class Offer(Record):
    """One supplier's offer for a part."""

    supplier: str
    price_eur: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    in_stock: Annotated[int, Field(ge=0)] = 0
    lead_days: Annotated[int, Field(ge=0)] = 0


class Bore(Record):
    """The narrowest section of a passage.

    `open` is a run in the open air or under the bar tape, without a limit. A `slot` has rounded ends. For
    an `irregular` bore `inscribed_mm` is the thickest round rod that passes, and `area_mm2` its section.
    """

    shape: Literal["open", "round", "slot", "irregular"]
    diameter_mm: Mm = None
    width_mm: Mm = None
    height_mm: Mm = None
    inscribed_mm: Mm = None
    area_mm2: Mm2 = None

    @model_validator(mode="after")
    def _sizes_of_its_own_shape(self) -> Self:
        own = {
            "open": set(),
            "round": {"diameter_mm"},
            "slot": {"width_mm", "height_mm"},
            "irregular": {"inscribed_mm", "area_mm2"},
        }[self.shape]
        sizes = {"diameter_mm", "width_mm", "height_mm", "inscribed_mm", "area_mm2"}
        for name in sorted(self.model_fields_set & sizes - own):
            raise ValueError(
                f"a bore of shape {self.shape} has no {name}; it has {', '.join(sorted(own)) or 'no size'}"
            )
        rod, area = self.inscribed_mm, self.area_mm2
        if rod is not None and area is not None and rod.low**2 * pi / 4 > area.high + 1e-9:
            raise ValueError(f"a rod of {rod} mm does not fit into a section of {area} mm²: one of the two is wrong")
        return self


class Passage(Record):
    """A way for lines through or along a part, from one opening to another.

    Openings are the names of positions (`lever-left`, `front-caliper`), of common points of a bike
    (catalog/standards/openings.yaml), or `@below` and `@above`: the faces towards the neighbours in the
    stack on the steerer. `bend_radius_mm` is the tightest bend on the way; leave it out if it is not known
    and write `straight: true` where there is none.
    """

    id: Annotated[str, Field(pattern=IDENTIFIER)]
    start: str
    end: str
    bore: Bore
    length_mm: Mm = None
    bend_radius_mm: Mm = None
    straight: bool = False
    steering_slack_mm: Mm = Field(default=None, description="extra length for turning the bars; none if left out")
    along_stack: bool = Field(default=False, description="longer by the spacers under the stem")
    carries: tuple[Literal["hose", "housing", "wire"], ...] = ("hose", "housing", "wire")


class Place(Record):
    """A spot on a part where another thing can be mounted: a clamp zone, a bar end, a pair of bosses."""

    id: Annotated[str, Field(pattern=IDENTIFIER)]
    type: Annotated[str, Vocabulary("place")]
    diameter_mm: Mm = None
    width_mm: Mm = Field(default=None, description="length of the zone that clamps share; one thing only if left out")
    opening: str | None = Field(default=None, description="where a line reaches a thing that is mounted here")
    exposed: Flag = Field(default=None, description="can be reached with a charger plug when the bike is built")
    load_max_kg: Kg = Field(default=None, description="most that all things in it may weigh, with what they carry")


class Mount(Record):
    """One way in which a part can be mounted on a place of another part."""

    type: Annotated[str, Vocabulary("place")]
    diameter_min_mm: Mm = None
    diameter_max_mm: Mm = None
    width_mm: Mm = None
    tubes: Annotated[WordsFact, Vocabulary("tube", many=True)] = Field(
        default=None, description="where it goes round a tube: the tubes that it is made for"
    )


class Port(Record):
    """Sockets of one kind on an electric device."""

    plug: Annotated[WordFact, Vocabulary("plug")] = None
    count: Annotated[int, Field(ge=1, le=12)] = 1


class Part(Record):
    """A catalogue record. `passages` left out means that nobody knows whether it has a way for lines."""

    __slots__ = ("_token",)  # no field, so that a copy has none of it

    kind: str
    id: Annotated[str, Field(pattern=IDENTIFIER)]
    maker: str
    name: str
    price_eur: Annotated[float, Field(ge=0, allow_inf_nan=False)] | None = None
    weight_g: Gram = None
    offers: tuple[Offer, ...] = ()
    material: Annotated[WordFact, Vocabulary("material")] = None
    passages: tuple[Passage, ...] | None = None
    places: tuple[Place, ...] = ()
    mounts: tuple[Mount, ...] = ()
    ports: tuple[Port, ...] = ()
    power: Literal["battery", "dynamo"] | None = None
    charge_port: bool = False
    note: str | None = None

    @model_validator(mode="after")
    def _each_name_once(self) -> Self:
        for what, names in (
            ("passage", [p.id for p in self.passages or ()]),
            ("place", [p.id for p in self.places]),
        ):
            for name in names:
                if names.count(name) > 1:
                    raise ValueError(f"two {what} records are both named {name!r}; each name stands once")
        return self

    def has_record(self) -> bool:
        """Has it one? Of a part without, nothing is known but what was measured."""
        return not self.id.startswith(UNTOLD)

    def lists(self, name: str) -> bool:
        """Is it known which places, mounts or ports it has? A record that names none has none."""
        return self.has_record() or name in self.model_fields_set

    @property
    def plugs(self) -> tuple[str, ...] | None:
        """The plugs that its sockets take; None if one of them is not known."""
        if not (self.ports or self.lists("ports")):
            return None
        found = {port.plug for port in self.ports}
        return None if None in found else tuple(sorted(plug for plug in found if plug is not None))

    def best_price_eur(self) -> float | None:
        """The lowest price anybody asks for it, or None."""
        prices = [offer.price_eur for offer in self.offers]
        if self.price_eur is not None:
            prices.append(self.price_eur)
        return min(prices, default=None)


def token_of(part: Part) -> object:
    """Stands for this very record, not for an equal one or a copy: what is kept under it is never another record's."""
    token: object = getattr(part, "_token", None)
    if token is None:
        token = object()
        object.__setattr__(part, "_token", token)
    return token


def vocabulary_of(record: type[Part], attribute: str) -> str:
    """The vocabulary that the words of an attribute come from; empty if it takes none."""
    field = record.model_fields.get(attribute)
    marks = field.metadata if field is not None else ()
    return next((mark.name for mark in marks if isinstance(mark, Vocabulary)), "")


def is_list_of_words(record: type[Part], attribute: str) -> bool:
    """Can an attribute hold several words of its vocabulary?"""
    field = record.model_fields.get(attribute)
    return field is not None and any(isinstance(mark, Vocabulary) and mark.many for mark in field.metadata)
