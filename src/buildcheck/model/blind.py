"""Attributes of parts that decide nothing, each with the reason: no change of one brings a caution, or anything worse.

A law holds this table to that on every bundled bike, and every other attribute to the contrary. A rule that comes to
read one of these takes its row out of here.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from buildcheck.model.parts import PART_KINDS


class Blind(NamedTuple):
    """One attribute of some kinds of part, or of all; `read` if a rule, a picture or the order of work looks at it.

    Parts that differ in nothing but what is never read are alike to the search for remedies.
    """

    attribute: str
    reason: str
    kinds: tuple[str, ...] = ()
    read: bool = True


def _of(kinds: str) -> tuple[str, ...]:
    return tuple(kinds.split())


def _but(kinds: str) -> tuple[str, ...]:
    return tuple(sorted(PART_KINDS.keys() - {*kinds.split()}))


DECIDES_NOTHING: tuple[Blind, ...] = (
    Blind("id", "a name", read=False),
    Blind("maker", "a name", read=False),
    Blind("name", "a name", read=False),
    Blind("note", "words for readers", read=False),
    Blind("offers", "what suppliers ask: the search counts it, and it fits no better for it", read=False),
    Blind("price_eur", "what it costs: the search counts it, and it fits no better for it", read=False),
    Blind("weight_g", "a light part fits as a heavy one does", read=False),
    Blind("size_name", "a maker's name for a size; the sizes themselves stand beside it", _of("frame"), read=False),
    Blind(
        "power", "it is no part of an electric system",
        _but("accessory battery front-derailleur front-wheel junction lever rear-derailleur"),
    ),
    Blind(
        "charge_port", "it is no part of wired shifting",
        _but("battery front-derailleur junction lever rear-derailleur"),
    ),
    Blind(
        "material", "it corrodes nothing and is clamped by nothing that its material matters to: at most a note",
        _of(
            "accessory adapter axle bar-stem bar-tape battery bb-spacer belt belt-ring belt-sprocket brake-pads "
            "caliper cassette chain chain-tensioner chainring cleats crank-arm crown-hanger freehub-spacer "
            "front-derailleur front-hanger grips headset-cover hinge-clamp hose housing inner-cable inner-tube "
            "junction lever pedal pedals rear-derailleur rear-hanger rear-shock rotor seat-clamp spacer steerer-plug "
            "stem straddle tubeless-kit tyre wire"
        ),
    ),
    Blind("light_lux", "a weak lamp fits as a bright one does: no remedy offers it for one", _of("accessory")),
    Blind("made_for", "whom it suits: no remedy offers another sort for it where one of its own does", _of("saddle")),
    Blind("grip_mm", "tape goes round a bar of any size", _of("bar-tape")),
    Blind("length_mm", "tape is cut to the bar", _of("bar-tape")),
    Blind("thickness_mm", "how it feels in the hand", _of("bar-tape grips"), read=False),
    Blind("pieces", "how many come in a box", _of("bar-tape grips"), read=False),
    Blind(
        "sprockets", "its ends are the smallest and the largest sprocket; the rest only makes the gears",
        _of("cassette"),
    ),
    Blind("gear_ratios", "the gears that it makes, which every rider may choose", _of("front-wheel rear-wheel")),
    Blind("q_factor_mm", "how wide the feet stand: the rider's choice", _of("crankset"), read=False),
    Blind("chainline_mm", "there are no sprockets on a front hub", _of("front-wheel")),
    Blind("freehub", "there are no sprockets on a front hub", _of("front-wheel")),
    Blind("freehub_length_mm", "there are no sprockets on a front hub", _of("front-wheel")),
    Blind("axle_flats_mm", "there are no gears in a front hub that would turn its axle", _of("front-wheel")),
    Blind("non_turn_washers", "there are no gears in a front hub that would turn its axle", _of("front-wheel")),
    Blind("hub_shift_system", "there are no gears in a front hub", _of("front-wheel")),
    Blind("drop_mm", "how the rider sits: no other part meets it", _of("handlebar bar-stem"), read=False),
    Blind("reach_mm", "how the rider sits: no other part meets it", _of("handlebar bar-stem"), read=False),
    Blind("rise_mm", "how the rider sits: it is told, and no other part meets it", _of("handlebar bar-stem")),
    Blind("setback_mm", "how the rider sits: the rails leave room to set it", _of("seatpost"), read=False),
    Blind("valve", "which pump goes on it; its stem's diameter and length decide", _of("inner-tube tubeless-kit")),
    Blind("tape_width_mm", "an inner tube has no tape", _of("inner-tube")),
    Blind("wireless_updates", "how its programs are renewed", _of("junction"), read=False),
    Blind("split", "whether the stem stays on while it is fitted: work, and not whether it fits", _of("spacer")),
    Blind(
        "leaves_room_for_lines", "no line runs inside the steerer: they pass it in the bearing", _of("steerer-plug"),
        read=False,
    ),
    Blind(
        "clamp_torque_max_nm", "its bolt may stay below it: what the bar bears is held against the least",
        _of("lever"),
    ),
    Blind(
        "torque_max_nm", "its bolt may stay below it: what the seat tube bears is held against the least",
        _of("seat-clamp"),
    ),
    Blind(
        "rail_torque_max_nm", "its bolts may stay below it: what the rails bear is held against the least",
        _of("seatpost"),
    ),
    Blind(
        "bolt_kind", "how tight they are drawn: read on the torque sheet",
        _of("bar-stem belt-ring chainring seat-clamp stem"),
    ),
    Blind("saddle_clamp", "how tight its bolts are drawn: the torque sheet tells it", _of("seatpost")),
    Blind(
        "bar_clamp_torque_max_nm", "its bolts may stay below it: what the bar bears is held against the least",
        _of("stem"),
    ),
    Blind(
        "steerer_clamp_torque_max_nm", "its bolts may stay below it: what the steerer bears is held against the least",
        _of("stem bar-stem"),
    ),
)  # fmt: skip
_NAMED = {f"{kind}.{row.attribute}": row for row in DECIDES_NOTHING for kind in row.kinds}
_OF_ALL = {row.attribute: row for row in DECIDES_NOTHING if not row.kinds}


def decides_nothing(name: str) -> Blind | None:
    """The row of an attribute, `stem.length_mm` or `passages.bore.area_mm2`; None for one that decides something."""
    return _NAMED.get(name) or (None if name.count(".") > 1 else _OF_ALL.get(name.rpartition(".")[2]))


@cache
def unseen(kind: str) -> frozenset[str]:
    """The attributes of a kind of part that no rule looks at."""
    return frozenset(row.attribute for row in DECIDES_NOTHING if not row.read and (not row.kinds or kind in row.kinds))
