"""Rows of catalog/standards: vocabularies, joints, kinds, positions; and all tables, those of the workshop, too."""

from collections.abc import Callable, Iterable, Mapping
from functools import cached_property
from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from buildcheck.model.conditions import SeenLevels
from buildcheck.model.constraints import Implication, implications_of
from buildcheck.model.counter import Sort, TradeWord
from buildcheck.model.functions import FunctionRow, Powered
from buildcheck.model.levels import Level, Proof
from buildcheck.model.parts.base import IDENTIFIER, Record
from buildcheck.model.quantities import Vocabulary
from buildcheck.model.workshop import AdviceRow, Crowfoot, Fastener, Measurement, Operation, Shop, Slowdown, Wrench

Name = Annotated[str, Field(pattern=IDENTIFIER)]


class Term(Record):
    """One word of a vocabulary: the neutral id and the names that the trade has for it."""

    id: str
    what: str
    also_called: tuple[str, ...] = ()
    value: float | None = None
    deg: float | None = Field(default=None, description="the angle that goes with it, where it is sure")
    traits: dict[str, bool] = Field(default_factory=dict, description="for each trait of the vocabulary: is it so?")
    source: str


class VocabularyRow(Record):
    """All the words that attributes of one sort may hold. Each of its terms says each of its traits."""

    id: Name
    what: str
    traits: dict[str, str] = Field(default_factory=dict, description="what rules ask of a word, and what it means")
    terms: tuple[Term, ...]


class MatingRule(Record):
    """How the two sides a and b of a joint are compared.

    `equal`: the same word or a pair in `pairs`, or numbers no further apart than `tolerance`. `at-least`:
    a >= b - tolerance. `at-most`: a <= b + tolerance. `one-of`: one side's word is among the words that the other
    takes. `table`: the pair stands in `pairs`. `never`: the pairs in `pairs` do not mate, all other known pairs do.
    Where sizes are compared the tolerance of a measurement is stated, even if it is 0.
    Pairs are read from both sides unless they are `one_way`: then the first word of each is that of side a.
    """

    kind: Literal["equal", "at-least", "at-most", "one-of", "table", "never"]
    tolerance: Annotated[float, Field(ge=0)] | None = None
    pairs: tuple[tuple[str, str], ...] = ()
    one_way: bool = Field(default=False, description="does each pair hold from side a to side b only?")

    @model_validator(mode="after")
    def _only_pairs_have_a_direction(self) -> Self:
        if self.one_way and not self.pairs:
            raise ValueError("only pairs can be one_way")
        return self

    @property
    def leeway(self) -> float:
        """The tolerance as a number; 0 where words are compared."""
        return self.tolerance or 0.0


class Interface(Record):
    """A type of interface, what is compared, and the rule by which two sides of it mate."""

    id: Name
    what: str
    mates: MatingRule
    source: str


class OtherPlace(Record):
    """Where two parts meet in the same way at another place: what is left out is as in the row that lists it.

    Not so what joins the two or keeps them apart, which belongs to a place: it is said for each.
    """

    at: tuple[str, ...]
    of: str | None = None
    a: str | None = None
    b: str | None = None
    a_where: dict[str, str] | None = None
    adapter: str | None = None
    unless: str | None = None
    message: str | None = None

    @staticmethod
    def rows_of(row: dict[str, Any]) -> tuple[dict[str, Any], ...]:
        """A row of joints as it is written, and one of its own for each other place that it lists."""
        first = {column: value for column, value in row.items() if column != "also"}
        shared = {column: value for column, value in first.items() if column not in ("adapter", "unless")}
        return (first, *(shared | place for place in row.get("also", ())))


class JointRow(Record):
    """Where two positions meet through an interface, and the finding for sides that do not mate.

    `at` lists the positions that the row is about; `of` is the other position, or `from`, `to` or `on`:
    the lever end, the far end, or the support of the part at `at`. Where the two ends of a line meet
    through it, `a` is written `from.ATTRIBUTE`. Positions in `of`, `adapter` and `unless` may hold `{at}`.
    A caution about a size says with `blocks_beyond` how far from right it may be before it must not be ridden.
    What can end in a caution says whether that concerns the `rider`: who feels it, looks after it or runs a risk.
    """

    name: Name
    level: Level
    use_proves: Proof = Field(
        description="what a bike that is ridden today proves: with this fault it could not be `assembled`, or not be "
        "`ridden`; or `nothing`, since it can be there for years"
    )
    endangers: bool | None = Field(
        default=None,
        description="of what blocks and can be there for years: does it endanger the rider? Then it blocks every "
        "change to a bike in use, even one that has nothing to do with it",
    )
    rider: bool | None = Field(default=None, description="whether its caution is told to the rider, too")
    interface: Name
    at: tuple[str, ...]
    a: str
    of: str
    b: str
    a_kinds: tuple[str, ...] = ()
    b_kinds: tuple[str, ...] = ()
    a_where: dict[str, str] = Field(default_factory=dict, description="what the part at side a must be; * for anything")
    adapter: str | None = None
    unless: str | None = Field(default=None, description="position of a part that keeps the two apart if it is there")
    hides_shim: bool = False
    also: tuple[OtherPlace, ...] = Field(default=(), description="other places of which the same is said")
    blocks_beyond: float | None = Field(default=None, ge=0, description="the tolerance beyond which a caution blocks")
    message: str
    why: str
    cure: str
    source: str

    @model_validator(mode="after")
    def _danger_of_what_lasts(self) -> Self:
        lasts = self.use_proves is Proof.NOTHING
        if not lasts and Level.BLOCKS not in self.levels:
            raise ValueError("use proves nothing of a caution, which can be there on a bike that is ridden")
        if (self.endangers is not None) != (lasts and Level.BLOCKS in self.levels):
            raise ValueError("endangers is stated of what blocks and of which use proves nothing, and of nothing else")
        return self

    @model_validator(mode="after")
    def _limit_of_a_caution(self) -> Self:
        if self.blocks_beyond is not None and self.level is not Level.CAUTION:
            raise ValueError("only a caution has a limit beyond which it blocks; what blocks has its tolerance")
        return self

    @property
    def a_attribute(self) -> str:
        """The attribute of side a, without the relation before the dot."""
        return self.a.rpartition(".")[2]

    @property
    def levels(self) -> tuple[Level, ...]:
        """The levels that its finding may have, the most serious first."""
        return (self.level,) if self.blocks_beyond is None else (Level.BLOCKS, self.level)


class Contact(Record):
    """Where two parts stay in contact and are held together: what it takes that they neither seize nor are crushed.

    Side a belongs to the part at a position in `at`, side b to the part at `of`; a constant `a_is` or `b_is`
    tells the material where that of the part is another one, as that of a pedal's axle. `clamp` is the side whose
    maker states a least and a greatest torque, `torque` the attributes that hold them (`bar_clamp` for
    bar_clamp_torque_min_nm and bar_clamp_torque_max_nm), `borne` the attribute of the other side with the most
    that it bears.
    """

    id: Name
    what: str
    at: tuple[str, ...]
    of: str
    a: str = "material"
    b: str = "material"
    a_is: Annotated[str, Vocabulary("material")] | None = None
    b_is: Annotated[str, Vocabulary("material")] | None = None
    how: Literal["clamp", "insert", "thread", "press"] | None = Field(
        default=None, description="left out where only the torque is compared, since no compound goes between the two"
    )
    compound: Literal["grease", "thread-locker", "dry"] = Field(
        default="dry", description="between metals that are no titanium"
    )
    clamp: Literal["a", "b"] | None = None
    torque: str | None = None
    borne: str | None = None
    source: str

    @model_validator(mode="after")
    def _torque_whole(self) -> Self:
        if len({self.clamp is None, self.torque is None, self.borne is None}) > 1:
            raise ValueError("clamp, torque and borne stand together or not at all")
        return self


class KindRow(Record):
    """What a kind of part is to a bike. All of it is stated for every kind: a default would be forgotten."""

    id: Name
    seen: SeenLevels = Field(description="how serious it is what somebody saw on it")
    of_the_brake: bool = Field(description="what sticks or is grooved there is the brake")
    shifts: bool = Field(description="where it is wired, a bike whose system has no current must not be handed over")
    hangs_as: Literal["accessory", "wiring", "joined"] = Field(
        description="what needs a place to hang on, and as what it is told; `joined` by joints or by what carries it"
    )
    unsaid_material: Literal["metal", "any"] = Field(description="what it is clamped by where no record says so")
    if_stuck: str = Field(description="what to expect of one that is seized or corroded")
    source: str


class PositionRow(Record):
    """A position of a bike: what it takes, where it is mounted, which ways for lines it can offer."""

    id: Name
    what: str
    kinds: tuple[str, ...]
    left_off: Literal["never", "unmissed", "missed"] = Field(
        description="whether a remedy may leave it off; one that is missed counts with its price"
    )
    duty: Literal["brake", "shift_system", "front_shift_system", "none"] | None = Field(
        default=None, description="what a lever there is for: stated by every position that takes one"
    )
    inner_side: Literal["a", "b", "none"] | None = Field(
        default=None,
        description="the side that lies inside the other one where it is a sleeve: stated by every adapter's position",
    )
    many: bool = False
    on: tuple[str, ...] = ()
    stacked: bool = False
    goes_on: bool = Field(
        default=False, description="where its carrier comes off it is put on the next one of `on` that is there"
    )
    held_by: tuple[str, ...] = Field(default=(), description="positions that are loosened before the part comes off")
    also_on: tuple[str, ...] = Field(default=(), description="what it goes on after, besides what it is mounted on")
    after_carrier: bool = Field(default=False, description="sits inside its carrier and comes off only after that")
    hides: tuple[Name, ...] = Field(
        default=(), description="openings of its carrier: a place there that is not exposed is reached with it out"
    )
    steered: bool = Field(default=False, description="turns with the bar, and with it what it carries")
    set_after: tuple[Name, ...] = Field(default=(), description="positions: it is set anew when their part is replaced")
    needed: bool = False
    needed_if: dict[str, str] = Field(default_factory=dict)
    needed_why: str | None = None
    needed_unless: tuple[str, ...] = Field(default=(), description="positions that do without it where all are filled")
    thread_hand: Literal["right-hand", "left-hand"] | None = Field(
        default=None, description="the hand of the thread by which a part there is driven"
    )
    keeps: tuple[str, ...] = Field(default=(), description="attributes that another part in its place must share")
    does: tuple[str, ...] = Field(
        default=(),
        description="attributes that must not become none: what the part does, another in its place does, too",
    )
    when_new: dict[str, str] = Field(
        default_factory=dict, description="what a part must be that a remedy puts there where nothing was"
    )
    worth: tuple[str, ...] = Field(
        default=(),
        description="attributes of which another part in its place should have no less: as large a size, the same word",
    )
    poor: dict[str, tuple[str, ...]] = Field(
        default_factory=dict, description="words that give the rider less than any other of an attribute does"
    )
    felt: dict[str, Annotated[float, Field(ge=0)]] = Field(
        default_factory=dict, description="sizes that the rider feels, and by how much they may be others unnoticed"
    )
    fills: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    ways: tuple[tuple[str, str], ...] = ()
    way_rank: Annotated[int, Field(ge=1)] = Field(
        default=1,
        description="how reluctantly the part is exchanged for lack of a way: 1 for a spacer, high for a frame",
    )
    line: bool = False
    ends: dict[Literal["from", "to"], tuple[Name, ...]] = Field(
        default_factory=dict, description="positions that a line runs from and to; any where nothing is said"
    )


class Opening(Record):
    """A point of a bike where passages of several parts meet."""

    id: Name
    what: str


class Standards:
    """All rows of catalog/standards and catalog/workshop. Each table is made when it is first asked for."""

    def __init__(
        self,
        rows: Callable[[str], Iterable[Any]],
        as_written: Callable[[str], Iterable[Mapping[str, Any]]] = lambda _table: (),
    ) -> None:
        self._rows, self._as_written = rows, as_written
        self._positions: dict[str, PositionRow | None] = {}
        self._having: dict[tuple[str, str], tuple[str, ...]] = {}

    @cached_property
    def vocabularies(self) -> Mapping[str, VocabularyRow]:
        """By id."""
        return {row.id: row for row in self._rows("vocabularies")}

    @cached_property
    def interfaces(self) -> Mapping[str, Interface]:
        """By id."""
        return {row.id: row for row in self._rows("interfaces")}

    @cached_property
    def joints(self) -> tuple[JointRow, ...]:
        """In the order of their names."""
        return tuple(sorted(self._rows("joints"), key=lambda row: row.name))

    @cached_property
    def contacts(self) -> tuple[Contact, ...]:
        """In the order of their file."""
        return tuple(self._rows("contacts"))

    @cached_property
    def implications(self) -> Mapping[tuple[str, str], tuple[Implication, ...]]:
        """By kind and attribute: what a record need not say, since it can be but one thing."""
        return implications_of(self._as_written("constraints"))

    @cached_property
    def positions(self) -> Mapping[str, PositionRow]:
        """By id."""
        return {row.id: row for row in self._rows("positions")}

    @cached_property
    def pairs(self) -> Mapping[str, PositionRow]:
        """The positions that do without a part where others are filled, by id."""
        return {name: row for name, row in self.positions.items() if row.needed_unless}

    @cached_property
    def kinds(self) -> Mapping[str, KindRow]:
        """By id."""
        return {row.id: row for row in self._rows("kinds")}

    @cached_property
    def functions(self) -> Mapping[str, FunctionRow]:
        """By id."""
        return {row.id: row for row in self._rows("functions")}

    @cached_property
    def chains(self) -> tuple[FunctionRow, ...]:
        """The functions that go from a control by a link to what it works."""
        return tuple(row for row in self.functions.values() if row.works)

    @cached_property
    def powered(self) -> Mapping[str, Powered]:
        """The functions that wires lead current for, by what they lead it to. Raises KeyError where no row is."""
        return {row.powered.of: row.powered for row in self.functions.values() if row.powered is not None}

    @cached_property
    def openings(self) -> Mapping[str, Opening]:
        """By id."""
        return {row.id: row for row in self._rows("openings")}

    @cached_property
    def operations(self) -> Mapping[str, Operation]:
        """By id."""
        return {row.id: row for row in self._rows("operations")}

    @cached_property
    def measurements(self) -> tuple[Measurement, ...]:
        """In the order of their file."""
        return tuple(self._rows("measurements"))

    @cached_property
    def fasteners(self) -> tuple[Fastener, ...]:
        """In the order of their file."""
        return tuple(self._rows("fasteners"))

    @cached_property
    def wrenches(self) -> tuple[Wrench, ...]:
        """The shop's torque wrenches, in the order of their file."""
        return tuple(self._rows("wrenches"))

    @cached_property
    def crowfeet(self) -> Mapping[str, Crowfoot]:
        """Adapters on torque wrenches, by id."""
        return {row.id: row for row in self._rows("crowfeet")}

    @cached_property
    def advice(self) -> tuple[AdviceRow, ...]:
        """In the order of their file."""
        return tuple(self._rows("advice"))

    @cached_property
    def slowdowns(self) -> Mapping[str, Slowdown]:
        """By id: the word of the condition."""
        return {row.id: row for row in self._rows("slowdowns")}

    @cached_property
    def follows_from(self) -> Mapping[str, tuple[str, ...]]:
        """By the name of a finding: those that it follows from, where they concern the same place."""
        return {row.id: row.follows_from for row in self._rows("follow_ups")}

    @cached_property
    def trade_words(self) -> tuple[TradeWord, ...]:
        """In the order of their file."""
        return tuple(self._rows("trade_words"))

    @cached_property
    def key_sizes(self) -> Mapping[str, tuple[str, ...]]:
        """By kind: the attributes by which its parts are told from each other."""
        return {row.id: row.shows for row in self._rows("key_sizes")}

    @cached_property
    def sorts(self) -> tuple[Sort, ...]:
        """What belongs at positions of many, the longest name first."""
        return tuple(sorted(self._rows("sorts"), key=lambda row: (-len(row.id), row.id)))

    @cached_property
    def shop(self) -> Shop:
        """The one of the last folder that states it. Raises IndexError if none does; the bundled one does."""
        shop: Shop = tuple(self._rows("shop"))[-1]
        return shop

    def words_with(self, vocabulary: str, trait: str) -> tuple[str, ...]:
        """The words of a vocabulary that have a trait. Raises KeyError if it has no such trait."""
        if (vocabulary, trait) not in self._having:
            terms = self.vocabularies[vocabulary].terms
            self._having[vocabulary, trait] = tuple(term.id for term in terms if term.traits[trait])
        return self._having[vocabulary, trait]

    def kinds_that_hang(self, *sorts: str) -> tuple[str, ...]:
        """The kinds of parts that need a place to hang on, as one of these sorts."""
        return tuple(row.id for row in self.kinds.values() if row.hangs_as in sorts)

    def position(self, name: str) -> PositionRow | None:
        """The row of a position; `spacer-2` belongs to the row `spacer`, which takes many."""
        if name not in self._positions:
            row = self.positions.get(name)
            stem = name
            while row is None and "-" in stem:
                stem = stem.rpartition("-")[0]
                candidate = self.positions.get(stem)
                row = candidate if candidate is not None and candidate.many else None
            self._positions[name] = row
        return self._positions[name]
