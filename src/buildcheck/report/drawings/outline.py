"""The bike of the side view: a schematic outline of our own, and where each position sits on it."""

from __future__ import annotations

from typing import Literal, NamedTuple

import svg

from buildcheck.report.drawings.canvas import GREY, PALE, Point, circle, curve, run

REAR_HUB, FRONT_HUB, CRANK = (46.0, 78.0), (124.0, 78.0), (77.0, 81.0)
WHEEL = 25.0
HEAD_TOP, HEAD_LOW, SEAT = (106.5, 39.0), (110.5, 51.0), (67.5, 41.0)
STEM_LOW, STEM_TOP = (104.2, 31.4), (103.1, 28.0)
BAR = (116.0, 27.0)
Edge = Literal["top", "left", "right", "bottom"]


class Seat(NamedTuple):
    """Where a position sits on the bike, the edge its number stands at, and its rank along that edge.

    The rank is a place in mm along the edge; things that sit over each other get one that keeps their lines apart.
    """

    x: float
    y: float
    edge: Edge
    rank: float | None = None


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
SEATS: dict[str, Seat] = {
    "frame": Seat(88, 40, "top", 62),
    "fork": Seat(116.2, 65.8, "right", 66),
    "headset-upper": Seat(106.2, 38, "top", 74),
    "headset-lower": Seat(110.8, 52, "right", 60),
    "headset-cover": Seat(105.8, 36.6, "top", 78),
    "spacer": Seat(105, 34, "top", 84),
    "stem": Seat(108, 28.6, "top", 108),
    "steerer-plug": Seat(102.8, 27, "top", 104),
    "steerer-shim": Seat(103.4, 29.5, "top", 98),
    "bar-clamp-shim": Seat(115, 27.5, "top", 112),
    "handlebar": Seat(117, 26.6, "top", 116),
    "bar-tape": Seat(121, 39, "right", 40),
    "lever-left": Seat(124.8, 28, "right", 22),
    "lever-right": Seat(125.6, 30, "right", 28),
    "shifter-left": Seat(122.5, 26.7, "top", 134),
    "shifter-right": Seat(123.5, 27, "top", 140),
    "dropper-remote": Seat(120, 26.6, "top", 128),
    "front-brake-line": Seat(112.7, 57.4, "right", 62),
    "rear-brake-line": Seat(93, 65, "bottom", 96),
    "front-shift-line": Seat(97.5, 60.5, "bottom", 104),
    "rear-shift-line": Seat(89, 70, "bottom", 92),
    "dropper-line": Seat(75.4, 70, "bottom", 80),
    "wire": Seat(88, 60, "bottom"),
    "junction": Seat(84, 73.6, "bottom", 88),
    "battery": Seat(68.8, 48, "top", 20),
    "front-caliper": Seat(120, 72, "right", 72),
    "front-rotor": Seat(128.5, 74, "right", 78),
    "front-pads": Seat(121.5, 73.6, "right", 76),
    "front-brake-adapter": Seat(119, 70, "right", 70),
    "front-rotor-adapter": Seat(126.3, 77, "right", 82),
    "front-wheel": Seat(141, 90, "right", 98),
    "front-tyre": Seat(145.6, 90.5, "right", 100),
    "front-tube": Seat(141.5, 94.5, "right", 104),
    "front-end-caps": Seat(125.4, 79.6, "right", 90),
    "front-axle": Seat(124, 78, "right", 86),
    "rear-caliper": Seat(51, 74.5, "left", 64),
    "rear-rotor": Seat(42.5, 74, "left", 72),
    "rear-pads": Seat(49.6, 75.6, "left", 68),
    "rear-brake-adapter": Seat(53, 74, "left", 60),
    "rear-rotor-adapter": Seat(43.8, 76.8, "left", 76),
    "rear-wheel": Seat(29, 90, "left", 98),
    "rear-tyre": Seat(24.4, 90.5, "left", 100),
    "rear-tube": Seat(28.5, 94.5, "left", 104),
    "rear-end-caps": Seat(44.6, 79.6, "left", 88),
    "rear-axle": Seat(46, 78, "left", 82),
    "bottom-bracket": Seat(77, 81, "bottom", 84),
    "bb-adapter": Seat(78.5, 79.5, "bottom", 90),
    "bb-spacer": Seat(75.7, 82.2, "bottom", 74),
    "spindle-adapter": Seat(78.3, 82.6, "bottom", 86),
    "crankset": Seat(82, 88, "bottom", 92),
    "chainring": Seat(72.4, 86.4, "bottom", 68),
    "cassette": Seat(47, 81.6, "bottom", 44),
    "freehub-spacer": Seat(45, 80.8, "bottom", 38),
    "chain": Seat(60, 87.6, "bottom", 60),
    "rear-derailleur": Seat(49, 90, "bottom", 50),
    "front-derailleur": Seat(73.4, 71.6, "bottom", 64),
    "pedals": Seat(86.5, 93.6, "bottom", 98),
    "cleats": Seat(89.5, 92.2, "bottom", 102),
    "seatpost": Seat(66, 35, "top", 36),
    "seatpost-shim": Seat(67, 39.4, "top", 31),
    "seat-clamp": Seat(67.6, 41.6, "top", 26),
    "saddle": Seat(62, 28.8, "top", 42),
    "accessory": Seat(84, 50, "top", 56),
}


def seat_of(row: str, drop: bool) -> Seat | None:
    """Where the part of a row sits; None for a row that has no seat of its own."""
    return SEATS.get(row) if drop or row not in _FLAT else _FLAT[row]


def seat_beside(row: str, drop: bool) -> Seat:
    """A seat beside that of what something is mounted on; beside the frame's if that has none either."""
    carrier = seat_of(row, drop) or SEATS["frame"]
    return carrier._replace(x=carrier.x + 2, y=carrier.y - 0.4)


def outline(bar: str | None) -> list[svg.Element]:
    """The bike: wheels, frame, fork, bar, saddle and crank. A bar of an unknown kind is drawn as a drop bar."""
    return [*_wheels(), *_drive(), *_frame(), *_saddle(), *_cockpit(bar)]


def _wheels() -> list[svg.Element]:
    found: list[svg.Element] = []
    for hub in (REAR_HUB, FRONT_HUB):
        found += [
            circle(*hub, WHEEL, "none", GREY, 1.6), circle(*hub, WHEEL - 2.4, "none", GREY, 0.5),
            circle(*hub, 6.2, "none", GREY, 0.3, dashed=True), circle(*hub, 1.6, "#ffffff", GREY, 0.5),
        ]  # fmt: skip
    return found


def _drive() -> list[svg.Element]:
    jockey = (50.0, 91.0)
    return [
        circle(*CRANK, 7.4, "none", GREY, 0.5), circle(*CRANK, 1.8, "#ffffff", GREY, 0.5),
        circle(*REAR_HUB, 4.4, "none", GREY, 0.5),
        run([(46, 73.6), (77, 73.6)], GREY, 0.35), run([(77.5, 88.4), (51, 93)], GREY, 0.35),
        circle(*jockey, 2, "#ffffff", GREY, 0.4), run([(46, 82), (50, 86), jockey], GREY, 0.4),
        run([CRANK, (86, 93)], GREY, 1.1), run([(83, 94), (89.5, 94)], GREY, 1.1),
    ]  # fmt: skip


def _frame() -> list[svg.Element]:
    tubes: list[list[Point]] = [
        [SEAT, CRANK], [(68.2, 43.4), (107.2, 41.4)], [(109.6, 48.5), CRANK], [CRANK, REAR_HUB], [(68, 42.6), REAR_HUB],
    ]  # fmt: skip
    found = [run(tube, GREY, 1.5) for tube in tubes] + [run(tube, "#ffffff", 0.9) for tube in tubes]
    fork = [(111, 53), (114.5, 63), FRONT_HUB]
    found += [run(fork, GREY, 1.5), run(fork, "#ffffff", 0.9), run([HEAD_TOP, HEAD_LOW], GREY, 3.2)]
    return [*found, run([HEAD_TOP, HEAD_LOW], "#ffffff", 2.4)]


def _saddle() -> list[svg.Element]:
    return [run([SEAT, (64.4, 31)], GREY, 1.2), curve("M54.5,29.5 Q56,27.6 60,28.4 Q66,29.6 73.5,28.8", GREY, 1.8)]


def _cockpit(bar: str | None) -> list[svg.Element]:
    steerer = [run([HEAD_TOP, STEM_TOP], GREY, 2.0), run([HEAD_TOP, STEM_TOP], "#ffffff", 1.3)]
    stem = [run([(103.6, 29.6), BAR], GREY, 1.8), run([(103.6, 29.6), BAR], "#ffffff", 1.1), circle(*BAR, 1.3)]
    if bar in ("flat", "swept"):
        rise = "M116,27 Q113,25 110,25.4 Q104,25.6 97,24.6" if bar == "swept" else "M116,27 Q114,25.6 110,25.4 L97,24.6"
        return [*steerer, *stem, curve(rise, GREY, 1.4), curve("M111,27 Q117,29.6 116.6,33", GREY, 0.7)]
    drop = "M116,27 L122.5,26.6 Q128.5,27.4 127.4,33 Q126,39 117,39"
    if bar == "bullhorn":
        drop = "M116,27 Q120,29.6 124,28.4 L130,24.6"
    lever = curve("M124.6,27 Q129.4,27.4 129.6,31 Q129.6,35 126.6,37", GREY, 0.7)
    return [*steerer, *stem, curve(drop, GREY, 1.4), lever]


def ground() -> svg.Element:
    """The floor that the bike stands on."""
    return run([(16, 103.9), (154, 103.9)], PALE, 0.4)
