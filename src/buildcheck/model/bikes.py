"""A bike as its file says it, and a bike with its parts looked up."""

from collections.abc import Collection, Container, Hashable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated, Any, Literal, Self

from pydantic import Field, GetJsonSchemaHandler, model_validator

from buildcheck.model.parts.base import IDENTIFIER, Part, Record, token_of
from buildcheck.model.quantities import Vocabulary, WordsFact
from buildcheck.model.standards import PositionRow

NONE, NOT_KNOWN = "none", "unknown"
PRESENCE = "presence"  # of a part at a position, told as if it were one of its attributes


class Spot(Record):
    """What a bike file says of one position: a part of the catalogue, or a part of a kind without a record.

    `none` for a part says that nothing is there, `unknown` that nobody knows whether anything is. With neither part nor
    kind, what is said adds to what the file that this one is `like` says of the position.
    """

    part: Annotated[str | None, Field(pattern=IDENTIFIER)] = None
    kind: str | None = Field(default=None, description="a part of this kind is there, and it has no record")
    measured: dict[str, Any] = Field(default_factory=dict)
    condition: Annotated[WordsFact, Vocabulary("condition", many=True)] = Field(
        default=None, description="what somebody saw on this very part; leave it out where nothing was noted"
    )
    on: str | None = None
    place: str | None = None
    start: str | None = Field(default=None, alias="from")
    end: str | None = Field(default=None, alias="to")
    note: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _a_bare_part_id(cls, raw: Any) -> Any:
        if isinstance(raw, dict) and raw.get("part") in (NONE, NOT_KNOWN):
            word = raw["part"]
            raise ValueError(f"{word} stands alone after the position; of a part without a record say its kind")
        return {"part": raw} if isinstance(raw, str) else raw

    @model_validator(mode="after")
    def _one_thing_is_there(self) -> Self:
        if self.part is not None and self.kind is not None:
            raise ValueError("a part has its kind in its record: say part or kind, not both")
        return self

    @property
    def is_empty(self) -> bool:
        """Does the file say that nothing is there?"""
        return self.part == NONE

    @property
    def is_not_known(self) -> bool:
        """Does the file say that nobody knows whether anything is there?"""
        return self.part == NOT_KNOWN

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: Any, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        full = handler.resolve_ref_schema(handler(schema))
        word = {"properties": {"part": {"enum": [NONE, NOT_KNOWN]}}, "required": ["part"]}
        full["not"] = {"anyOf": [{"required": ["part", "kind"]}, word]}
        return {"anyOf": [{"type": "string", "pattern": IDENTIFIER}, full]}


class BikeFile(Record):
    """A bike file: which part sits in each position, and what was measured on this very bike.

    What is not said is as on the bike that it is `like`. A position that nobody told of is not known: something may be
    there. Only `none` says that nothing is, of one position or, under `others`, of all that are not named.
    """

    like: str | None = Field(
        default=None,
        min_length=1,
        description="a bundled bike, an outline such as outline/gravel, or another file by its path from this one: "
        "what this file does not say is as there",
    )
    bike: Annotated[str, Field(pattern=IDENTIFIER)]
    name: str
    use: Literal["city", "trekking", "young-adult", "mountain", "racing", "delivery", "tandem", "bmx"] = Field(
        description="kind of bicycle in ISO 4210-2, which sets other limits for each, and the kinds that it leaves out"
    )
    motor: Literal["at-the-cranks", "in-the-front-wheel", "in-the-rear-wheel", "elsewhere"] | None = Field(
        default=None, description="where a motor drives it: no rule looks at that; left out of a bike that has none"
    )
    fixed_wheel_brakes: bool = Field(
        default=False,
        description="the law where it is ridden takes a fixed sprocket for the rear brake; nothing said, it does not",
    )
    in_use: bool = Field(
        default=False,
        description="it is ridden today as it is told here: what is fitted works together, so that facts and limits "
        "follow from it; nothing said, it does not count as ridden, as a build from a box",
    )
    note: str | None = None
    others: Literal["none", "unknown"] = Field(
        default="unknown", description="what is in the positions that are not named: nothing, or nobody knows"
    )
    parts: dict[str, Spot]
    own_parts: tuple[dict[str, Any], ...] = ()


@dataclass(frozen=True, slots=True)
class Fitted:
    """A part in its position. `measured` names the attributes that were measured on this bike, `condition`
    what somebody saw on this very part; it goes with the part.

    `renewed`: the change puts the same part in new. `where` gives file:line of an attribute; for a position that a
    one-piece part fills too, `home` names the position that the part is entered under. `token` stands for this very
    part; `kept` holds what was read off it.
    """

    position: str
    home: str
    part: Part
    measured: frozenset[str] = frozenset()
    condition: tuple[str, ...] = ()
    on: str | None = None
    place: str | None = None
    start: str | None = None
    end: str | None = None
    where: Mapping[str, str] = field(default_factory=dict, compare=False, hash=False)
    renewed: bool = False
    token: object = field(init=False, compare=False, repr=False)
    kept: dict[str, Any] = field(init=False, default_factory=dict, compare=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "token", token_of(self.part))

    @property
    def is_main(self) -> bool:
        """False for the extra positions that a one-piece part fills."""
        return self.home == self.position

    def written_at(self, attribute: str) -> str:
        """file:line of an attribute, or of the part's record where the attribute is not written."""
        return self.where.get(attribute) or self.where.get("", "")


@dataclass(frozen=True, slots=True)
class Bike:
    """A bike with its parts looked up; positions in the order of the file, `own_parts` as the file adds them.

    `to_come` holds the parts that facts are known of before they are fitted, by part id and position. After a
    change `layout` remembers how the positions lay that it emptied, for when they are filled again, and `first` what
    was on the bike before any change: where a new line leads follows from that. `untold` names the positions of which
    nobody knows what is there; where a bike needs something, a part without a record stands for it in `fitted`.
    `in_use`: it is ridden today.
    """

    id: str
    name: str
    use: str
    fitted: Mapping[str, Fitted]
    own_parts: Mapping[str, tuple[Part, Mapping[str, str]]] = field(default_factory=dict)
    to_come: Mapping[tuple[str, str], Fitted] = field(default_factory=dict)
    motor: str | None = None
    layout: Mapping[str, Fitted] = field(default_factory=dict, compare=False, repr=False)
    first: Mapping[str, Fitted] = field(default_factory=dict, compare=False, repr=False)
    fixed_wheel_brakes: bool = False
    untold: frozenset[str] = frozenset()
    in_use: bool = False
    lies: Hashable = field(init=False, compare=False, repr=False)  # what sits where, as a key
    _mains: tuple[Fitted, ...] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        spots = self.fitted.values()
        lies = tuple(
            (spot.position, spot.home, spot.token, spot.condition, spot.on, spot.place, spot.start, spot.end)
            for spot in spots
        )
        object.__setattr__(self, "lies", lies)
        object.__setattr__(self, "_mains", tuple(spot for spot in spots if spot.is_main))

    def __contains__(self, position: object) -> bool:
        return position in self.fitted

    def __getitem__(self, position: str) -> Fitted:
        return self.fitted[position]

    def get(self, position: str | None) -> Fitted | None:
        """The part at a position, or None."""
        return None if position is None else self.fitted.get(position)

    def main_spots(self) -> tuple[Fitted, ...]:
        """Each part once, under the position that it is entered under."""
        return self._mains

    def with_whole_parts(self, positions: Collection[str]) -> frozenset[str]:
        """These positions, and all that the one-piece parts in them fill."""
        homes = {self.fitted[name].home for name in positions if name in self.fitted}
        return frozenset(positions) | {name for name, spot in self.fitted.items() if spot.home in homes}

    def with_fitted(self, fitted: Mapping[str, Fitted]) -> Self:
        """The same bike with other parts."""
        return replace(self, fitted=fitted)


@dataclass(frozen=True, slots=True)
class Placing:
    """Where a part is to go: on which position, in which place of it, and for a line from where to where.

    What is None follows from the position and from what is fitted, as ever.
    """

    position: str
    on: str | None = None
    place: str | None = None
    start: str | None = None
    end: str | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """What a customer asks for: parts to fit, positions to empty, positions whose part is to be put in new.

    `move` names what stays on the bike and goes to another place, each with the position that is to carry it; a wire,
    with the position whose name tells where it is to lead. `placed` tells where parts are to go, those that are fitted
    and those that stay.
    """

    fit: tuple[tuple[str, str], ...] = ()
    take_off: tuple[str, ...] = ()
    move: tuple[tuple[str, str], ...] = ()
    renew: tuple[str, ...] = ()
    placed: tuple[Placing, ...] = ()

    def with_more(
        self, fit: Iterable[tuple[str, str]] = (), take_off: Iterable[str] = (), move: Iterable[tuple[str, str]] = (),
        renew: Iterable[str] = (),
    ) -> Self:  # fmt: skip
        """The same change with more that is done."""
        return replace(
            self, fit=(*self.fit, *fit), take_off=(*self.take_off, *take_off), move=(*self.move, *move),
            renew=(*self.renew, *renew),
        )  # fmt: skip

    @property
    def moved(self) -> tuple[Placing, ...]:
        """What stays on the bike and is to lie elsewhere."""
        fitted = {position for _, position in self.fit}
        return tuple(placing for placing in self.placed if placing.position not in fitted)

    @property
    def positions(self) -> frozenset[str]:
        """Every position that the customer spoke of; empty where nothing is asked for."""
        fitted = (position for _, position in self.fit)
        return frozenset((*fitted, *self.take_off, *self.renew, *(placing.position for placing in self.placed)))


def default_support(row: PositionRow, filled: Container[str]) -> str | None:
    """What a part is mounted on if nothing else is said: the first position of its row that is filled."""
    return next((name for name in row.on if name in filled), None)
