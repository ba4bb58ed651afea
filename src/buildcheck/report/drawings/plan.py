"""Where the main points of a bike stand in the side view, and from them where each position sits.

Our own schematic figures in mm of a sheet 170 mm wide: the wheels are in scale with each other, the rest is not.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal, NamedTuple

from buildcheck.model.pictures import FrameForm, Outline
from buildcheck.report.drawings.canvas import Point

GROUND = 103.0
Edge = Literal["top", "left", "right", "bottom"]
Anchor = Literal["rear", "front", "crank", "seat", "saddle", "head_top", "head_low", "fork_top", "bar"]
_MM = 25.0 / 349.0  # a wheel of 698 mm over the tread, 35-622, has a radius of 25 mm here
_USUAL_WHEEL_MM: dict[FrameForm, float] = {"child": 510.0, "folding": 490.0}
_SMALLER: dict[FrameForm, float] = {"tandem": 0.8, "carrier": 0.9}  # long bikes are drawn smaller
_BESIDE_RIM = 1.0


class Seat(NamedTuple):
    """Where a position sits on the bike, the edge its number stands at, and its rank along that edge.

    The rank is a place in mm along the edge; things that sit over each other get one that keeps their lines apart.
    """

    x: float
    y: float
    edge: Edge
    rank: float | None = None

    def moved(self, across: float, down: float) -> Seat:
        """The same seat elsewhere."""
        along = across if self.edge in ("top", "bottom") else down
        rank = None if self.rank is None else self.rank + along
        return Seat(self.x + across, self.y + down, self.edge, rank)


class MainPoints(NamedTuple):
    """The main points of a bike; `second_crank` and `second_seat` are those of a tandem's front rider."""

    rear: Point
    front: Point
    crank: Point
    seat: Point
    saddle: Point
    head_top: Point
    head_low: Point
    fork_top: Point
    bar: Point
    second_crank: Point | None = None
    second_seat: Point | None = None


_DIAMOND = MainPoints(
    (46, 78), (124, 78), (77, 81), (67.5, 41), (64.4, 31), (106.5, 39), (110.5, 51), (110.5, 51), (116, 27)
)  # fmt: skip
_FRAMES: dict[FrameForm, MainPoints] = {
    "diamond": _DIAMOND,
    "full-suspension": _DIAMOND._replace(front=(128, 78), seat=(67.5, 46)),
    "child": MainPoints(
        (52, 84), (118, 84), (78, 86), (70.5, 54), (68, 46), (103, 52), (106, 61), (106, 61), (110, 41)
    ),
    "folding": MainPoints(
        (48, 85), (122, 85), (77, 84), (69.5, 60), (64.4, 31), (107, 58), (109.6, 66), (109.6, 66), (111, 27)
    ),
    "tandem": MainPoints(
        (28, 83), (148, 83), (55, 86), (47, 50), (44.6, 41), (127, 48), (130.6, 58.5), (130.6, 58.5), (136, 36),
        second_crank=(92, 86), second_seat=(84, 50),
    ),
    "carrier": MainPoints((34, 82), (148, 84), (62, 85), (53.5, 48), (51, 39), (86, 46), (89, 60), (135, 66), (92, 34)),
}  # fmt: skip


class BikePlan(NamedTuple):
    """A frame with the radii of its wheels, and what is drawn on it."""

    frame: MainPoints
    rear_radius: float
    front_radius: float
    of: Outline

    @property
    def drop(self) -> bool:
        """Is the bar drawn with drops? One of an unknown kind is."""
        return self.of.bar not in ("flat", "swept", "bullhorn")

    def at(self, *anchors: Anchor) -> Point:
        """The middle between main points."""
        return _middle([getattr(self.frame, anchor) for anchor in anchors])

    def rim_brake(self, end: Literal["front", "rear"]) -> Point:
        """Where the fork or the seat stay passes the rim."""
        hub, up = (self.frame.front, self.frame.fork_top) if end == "front" else (self.frame.rear, self.frame.seat)
        radius = self.front_radius if end == "front" else self.rear_radius
        share = (radius - _BESIDE_RIM) / math.dist(hub, up)
        return hub[0] + (up[0] - hub[0]) * share, hub[1] + (up[1] - hub[1]) * share


def plan_of(outline: Outline) -> BikePlan:
    """The plan of a bike; a wheel of which nothing is known is drawn in the size that is usual on such a frame."""
    frame = _FRAMES[outline.form]
    rear, front = (_radius(outline.form, size) for size in (outline.rear_wheel_mm, outline.front_wheel_mm))
    standing = frame._replace(rear=(frame.rear[0], GROUND - rear), front=(frame.front[0], GROUND - front))
    return BikePlan(standing, rear, front, outline)


def _radius(form: FrameForm, size_mm: float | None) -> float:
    known = _USUAL_WHEEL_MM.get(form, 698.0) if size_mm is None else size_mm
    return known / 2 * _MM * _SMALLER.get(form, 1.0)


def _middle(points: Sequence[Point]) -> Point:
    return math.fsum(x for x, _ in points) / len(points), math.fsum(y for _, y in points) / len(points)


# Each seat as it is on the diamond frame, and the main points with which it moves.
_SEATS: dict[str, tuple[Seat, tuple[Anchor, ...]]] = {
    "frame": (Seat(88, 40, "top", 62), ("seat", "head_top")),
    "fork": (Seat(116.2, 65.8, "right", 66), ("fork_top", "front")),
    "headset-upper": (Seat(106.2, 38, "top", 74), ("head_top",)),
    "headset-lower": (Seat(110.8, 52, "right", 60), ("head_low",)),
    "headset-cover": (Seat(105.8, 36.6, "top", 78), ("head_top",)),
    "spacer": (Seat(105, 34, "top", 84), ("head_top",)),
    "stem": (Seat(108, 28.6, "top", 108), ("bar",)),
    "steerer-plug": (Seat(102.8, 27, "top", 104), ("bar",)),
    "steerer-shim": (Seat(103.4, 29.5, "top", 98), ("bar",)),
    "bar-clamp-shim": (Seat(115, 27.5, "top", 112), ("bar",)),
    "handlebar": (Seat(117, 26.6, "top", 116), ("bar",)),
    "bar-tape": (Seat(121, 39, "right", 40), ("bar",)),
    "lever-left": (Seat(124.8, 28, "right", 22), ("bar",)),
    "lever-right": (Seat(125.6, 30, "right", 28), ("bar",)),
    "shifter-left": (Seat(122.5, 26.7, "top", 134), ("bar",)),
    "shifter-right": (Seat(123.5, 27, "top", 140), ("bar",)),
    "dropper-remote": (Seat(120, 26.6, "top", 128), ("bar",)),
    "front-brake-line": (Seat(112.7, 57.4, "right", 62), ("fork_top", "front")),
    "rear-brake-line": (Seat(93, 65, "bottom", 96), ("head_low", "crank")),
    "front-shift-line": (Seat(97.5, 60.5, "bottom", 104), ("head_low", "crank")),
    "rear-shift-line": (Seat(89, 70, "bottom", 92), ("head_low", "crank")),
    "dropper-line": (Seat(75.4, 70, "bottom", 80), ("seat", "crank")),
    "wire": (Seat(88, 60, "bottom"), ("head_low", "crank")),
    "junction": (Seat(84, 73.6, "bottom", 88), ("crank",)),
    "battery": (Seat(68.8, 48, "top", 20), ("seat", "head_top")),
    "front-caliper": (Seat(120, 72, "right", 72), ("front",)),
    "front-rotor": (Seat(128.5, 74, "right", 78), ("front",)),
    "front-pads": (Seat(121.5, 73.6, "right", 76), ("front",)),
    "front-brake-adapter": (Seat(119, 70, "right", 70), ("front",)),
    "front-rotor-adapter": (Seat(126.3, 77, "right", 82), ("front",)),
    "front-wheel": (Seat(141, 90, "right", 98), ("front",)),
    "front-tyre": (Seat(145.6, 90.5, "right", 100), ("front",)),
    "front-tube": (Seat(141.5, 94.5, "right", 104), ("front",)),
    "front-end-caps": (Seat(125.4, 79.6, "right", 90), ("front",)),
    "front-axle": (Seat(124, 78, "right", 86), ("front",)),
    "rear-caliper": (Seat(51, 74.5, "left", 64), ("rear",)),
    "rear-rotor": (Seat(42.5, 74, "left", 72), ("rear",)),
    "rear-pads": (Seat(49.6, 75.6, "left", 68), ("rear",)),
    "rear-brake-adapter": (Seat(53, 74, "left", 60), ("rear",)),
    "rear-rotor-adapter": (Seat(43.8, 76.8, "left", 76), ("rear",)),
    "rear-wheel": (Seat(29, 90, "left", 98), ("rear",)),
    "rear-tyre": (Seat(24.4, 90.5, "left", 100), ("rear",)),
    "rear-tube": (Seat(28.5, 94.5, "left", 104), ("rear",)),
    "rear-end-caps": (Seat(44.6, 79.6, "left", 88), ("rear",)),
    "rear-axle": (Seat(46, 78, "left", 82), ("rear",)),
    "bottom-bracket": (Seat(77, 81, "bottom", 84), ("crank",)),
    "bb-adapter": (Seat(78.5, 79.5, "bottom", 90), ("crank",)),
    "bb-spacer": (Seat(75.7, 82.2, "bottom", 74), ("crank",)),
    "spindle-adapter": (Seat(78.3, 82.6, "bottom", 86), ("crank",)),
    "crankset": (Seat(82, 88, "bottom", 92), ("crank",)),
    "chainring": (Seat(72.4, 86.4, "bottom", 68), ("crank",)),
    "cassette": (Seat(47, 81.6, "bottom", 44), ("rear",)),
    "freehub-spacer": (Seat(45, 80.8, "bottom", 38), ("rear",)),
    "chain": (Seat(60, 87.6, "bottom", 60), ("rear", "crank")),
    "rear-derailleur": (Seat(49, 90, "bottom", 50), ("rear",)),
    "front-derailleur": (Seat(73.4, 71.6, "bottom", 64), ("crank",)),
    "pedals": (Seat(86.5, 93.6, "bottom", 98), ("crank",)),
    "cleats": (Seat(89.5, 92.2, "bottom", 102), ("crank",)),
    "seatpost": (Seat(66, 35, "top", 36), ("saddle",)),
    "seatpost-shim": (Seat(67, 39.4, "top", 31), ("seat",)),
    "seat-clamp": (Seat(67.6, 41.6, "top", 26), ("seat",)),
    "saddle": (Seat(62, 28.8, "top", 42), ("saddle",)),
    "accessory": (Seat(84, 50, "top", 56), ("seat", "head_top")),
}
# A bar that is not a drop bar has its levers and grips in other places.
_FLAT: dict[str, Seat] = {
    "handlebar": Seat(112, 25.5, "top", 116),
    "bar-tape": Seat(98, 24.5, "top", 97),
    "lever-left": Seat(109, 28.5, "right"),
    "lever-right": Seat(108, 29.5, "right"),
    "shifter-left": Seat(107, 26.6, "top", 106.6),
    "shifter-right": Seat(105.6, 26.4, "top", 106.2),
    "dropper-remote": Seat(110, 29, "right"),
}
_AT_RIM: dict[str, tuple[Literal["front", "rear"], float]] = {
    "front-caliper": ("front", 0.0), "front-pads": ("front", 1.2), "front-brake-adapter": ("front", -1.2),
    "rear-caliper": ("rear", 0.0), "rear-pads": ("rear", 1.2), "rear-brake-adapter": ("rear", -1.2),
}  # fmt: skip


def seat_of(row: str, plan: BikePlan) -> Seat | None:
    """Where the part of a row sits; None for a row that has no seat of its own."""
    if row not in _SEATS:
        return None
    seat, anchors = _SEATS[row]
    if not plan.drop:
        seat = _FLAT.get(row, seat)
    end, down = _AT_RIM.get(row, ("front", 0.0))
    if row in _AT_RIM and (plan.of.front_brake if end == "front" else plan.of.rear_brake) == "rim":
        x, y = plan.rim_brake(end)
        return Seat(x, y + down, seat.edge)
    new, old = plan.at(*anchors), _middle([getattr(_DIAMOND, anchor) for anchor in anchors])
    return seat.moved(new[0] - old[0], new[1] - old[1])


def seat_beside(row: str, plan: BikePlan) -> Seat:
    """A seat beside that of what something is mounted on; beside the frame's if that has none either."""
    carrier = seat_of(row, plan) or seat_of("frame", plan)
    assert carrier is not None  # the frame has one
    return carrier._replace(x=carrier.x + 2, y=carrier.y - 0.4)
