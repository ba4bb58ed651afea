"""The bike of the side view, drawn as this one is built: an outline of our own."""

from __future__ import annotations

import math
from typing import Literal

import svg

from buildcheck.report.drawings.canvas import GREY, PALE, WHITE, Point, circle, curve, run
from buildcheck.report.drawings.plan import GROUND, BikePlan

_TUBE, _INSIDE = 1.5, 0.9
_ROTOR = 6.0


def outline(plan: BikePlan) -> list[svg.Element]:
    """The bike: wheels, frame, fork, bar, saddle, cranks and what it carries. An unknown bar is drawn as a drop bar."""
    return [*_wheels(plan), *_carried(plan), *_drive(plan), *_frame(plan), *_fork(plan), *_saddles(plan),
            *_cockpit(plan), *_brakes(plan)]  # fmt: skip


def _wheels(plan: BikePlan) -> list[svg.Element]:
    found: list[svg.Element] = []
    for hub, radius in ((plan.frame.rear, plan.rear_radius), (plan.frame.front, plan.front_radius)):
        found += [
            circle(*hub, radius, "none", GREY, 1.6), circle(*hub, radius - 2.4, "none", GREY, 0.5),
            circle(*hub, 1.6, WHITE, GREY, 0.5),
        ]  # fmt: skip
    return found


def _drive(plan: BikePlan) -> list[svg.Element]:
    hub, crank, second = plan.frame.rear, plan.frame.crank, plan.frame.second_crank
    found = [circle(*hub, 4.4, "none", GREY, 0.5), *_cranks(crank)]
    over = run([(hub[0], hub[1] - 4.4), (crank[0], crank[1] - 7.4)], GREY, 0.35)
    if plan.of.chain == "derailleur":
        jockey = (hub[0] + 4, min(hub[1] + 13, GROUND - 5))
        found += [
            circle(*jockey, 2, WHITE, GREY, 0.4),
            run([(hub[0], hub[1] + 4), (hub[0] + 4, hub[1] + 8), jockey], GREY, 0.4),
            run([(crank[0] + 0.5, crank[1] + 7.4), (jockey[0] + 1, jockey[1] + 2)], GREY, 0.35),
        ]  # fmt: skip
    else:
        found.append(run([(hub[0], hub[1] + 4.4), (crank[0], crank[1] + 7.4)], GREY, 0.35))
    if second is not None:
        found += [
            *_cranks(second),
            *(run([(crank[0], y), (second[0], y)], GREY, 0.35) for y in (crank[1] - 7.4, crank[1] + 7.4)),
        ]
    return [*found, over]


def _cranks(at: Point) -> list[svg.Element]:
    x, y = at
    return [
        circle(x, y, 7.4, "none", GREY, 0.5), circle(x, y, 1.8, WHITE, GREY, 0.5),
        run([at, (x + 9, y + 12)], GREY, 1.1), run([(x + 6, y + 13), (x + 12.5, y + 13)], GREY, 1.1),
    ]  # fmt: skip


def _tubes(*tubes: tuple[Point, ...]) -> list[svg.Element]:
    return [*(run(tube, GREY, _TUBE) for tube in tubes), *(run(tube, WHITE, _INSIDE) for tube in tubes)]


def _between(start: Point, end: Point, share: float) -> Point:
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


def _frame(plan: BikePlan) -> list[svg.Element]:
    frame = plan.frame
    top, low = _between(frame.head_top, frame.head_low, 0.2), _between(frame.head_top, frame.head_low, 0.8)
    head = [run([frame.head_top, frame.head_low], GREY, 3.2), run([frame.head_top, frame.head_low], WHITE, 2.4)]
    seat_tube, down_tube = (frame.seat, frame.crank), (low, frame.crank)
    top_tube = (_between(frame.seat, frame.crank, 0.06), top)
    rear = ((frame.crank, frame.rear), (_between(frame.seat, frame.crank, 0.04), frame.rear))
    if plan.of.form == "folding":
        beam = (_between(top, low, 0.5), _between(frame.seat, frame.crank, 0.55))
        x, y = _between(*beam, 0.45)
        hinge = run([(x, y - 3), (x, y + 3)], GREY, 0.8)
        return [*_tubes(seat_tube, *rear), run(beam, GREY, 3.4), run(beam, WHITE, 2.6), hinge, *head]
    if plan.of.form == "full-suspension":
        pivot, rocker = _between(frame.crank, frame.seat, 0.2), _between(frame.seat, frame.crank, 0.3)
        shock = (rocker, _between(frame.crank, low, 0.45))
        joints = [circle(*point, 0.9, WHITE, GREY, 0.4) for point in (pivot, rocker)]
        stays = _tubes(seat_tube, top_tube, down_tube, (pivot, frame.rear), (rocker, frame.rear))
        return [*stays, *head, run(shock, GREY, 2.4), *joints]
    if frame.second_crank is not None and frame.second_seat is not None:
        second = (frame.second_seat, frame.second_crank)
        return [*_tubes(seat_tube, second, top_tube, (low, frame.second_crank), (frame.crank, frame.second_crank),
                        (low, frame.crank), *rear), *head]  # fmt: skip
    if plan.of.form == "carrier":
        corner, end = (frame.head_low[0] + 5, 86.0), (frame.fork_top[0] - 9, 86.0)
        bed = [run([(corner[0] + 2, 82.5), (end[0] + 1, 82.5)], GREY, 1.0)]
        return [
            *_tubes(seat_tube, top_tube, down_tube, (low, corner, end, frame.fork_top), (frame.crank, corner), *rear),
            *head,
            *bed,
        ]
    return [*_tubes(seat_tube, top_tube, down_tube, *rear), *head]


def _fork(plan: BikePlan) -> list[svg.Element]:
    top, hub = plan.frame.fork_top, plan.frame.front
    if plan.of.form == "carrier":
        head = ((top[0] - 1.4, top[1] - 5), (top[0] + 1.4, top[1] + 5))
        rod = run([_between(plan.frame.head_top, plan.frame.head_low, 1.1), (top[0], top[1] + 6)], GREY, 0.6)
        return [*_tubes(((top[0] + 1.4, top[1] + 5), hub)), run(head, GREY, 3.2), run(head, WHITE, 2.4), rod]
    if plan.of.suspended_fork:
        middle = _between(top, hub, 0.45)
        return [
            run([top, middle], GREY, 1.3),
            run([top, middle], WHITE, 0.7),
            run([middle, hub], GREY, 2.8),
            run([middle, hub], WHITE, 2.0),
        ]
    bend = _between(top, hub, 0.45)
    return _tubes((top, (bend[0] - 1.6, bend[1] + 0.6), hub))


def _saddles(plan: BikePlan) -> list[svg.Element]:
    frame = plan.frame
    found = _saddle(frame.seat, frame.saddle)
    if frame.second_seat is not None:
        x, y = frame.second_seat
        saddle = (x + frame.saddle[0] - frame.seat[0], y + frame.saddle[1] - frame.seat[1])
        grip = run(
            [_between(frame.second_seat, saddle, 0.5), (x - 9, saddle[1] + 1.5), (x - 11, saddle[1] - 1)], GREY, 1.0
        )
        found += [*_saddle(frame.second_seat, saddle), grip]
    return found


def _saddle(seat: Point, saddle: Point) -> list[svg.Element]:
    x, y = saddle
    nose, middle, tail = (x + 9.1, y - 2.2), (x - 4.4, y - 2.6), (x - 9.9, y - 1.5)
    bends = ((x + 2, y - 1.4), (x - 8.4, y - 3.4))
    shape = "M{:.1f},{:.1f} Q{:.1f},{:.1f} {:.1f},{:.1f} Q{:.1f},{:.1f} {:.1f},{:.1f}".format(
        *tail, *bends[1], *middle, *bends[0], *nose
    )
    return [run([seat, saddle], GREY, 1.2), curve(shape, GREY, 1.8)]


def _cockpit(plan: BikePlan) -> list[svg.Element]:
    (x, y), foot = plan.frame.bar, plan.frame.head_top
    top = (x - 12.4, y + 2.6)
    steerer = [run([foot, top], GREY, 2.0), run([foot, top], WHITE, 1.3)]
    stem = [run([top, (x, y)], GREY, 1.8), run([top, (x, y)], WHITE, 1.1), circle(x, y, 1.3)]
    return [
        *steerer,
        *stem,
        *(curve(_path(shape, x, y), GREY, thick) for shape, thick in _BARS.get(plan.of.bar or "", _BARS["drop"])),
    ]


_Shape = tuple[tuple[str, tuple[Point, ...]], ...]
_LEVER: tuple[_Shape, float] = ((("M", ((-5, 0),)), ("Q", ((1, 2.6), (0.6, 6)))), 0.7)
# Bar and lever, from the middle of the bar; thickness in mm.
_BARS: dict[str, tuple[tuple[_Shape, float], ...]] = {
    "drop": (
        ((("M", ((0, 0),)), ("L", ((6.5, -0.4),)), ("Q", ((12.5, 0.4), (11.4, 6))), ("Q", ((10, 12), (1, 12)))), 1.4),
        ((("M", ((8.6, 0),)), ("Q", ((13.4, 0.4), (13.6, 4))), ("Q", ((13.6, 8), (10.6, 10)))), 0.7),
    ),
    "bullhorn": (
        ((("M", ((0, 0),)), ("Q", ((4, 2.6), (8, 1.4))), ("L", ((14, -2.4),))), 1.4),
        ((("M", ((8.6, 0),)), ("Q", ((13.4, 0.4), (13.6, 4)))), 0.7),
    ),
    "flat": (((("M", ((0, 0),)), ("Q", ((-2, -1.4), (-6, -1.6))), ("L", ((-19, -2.4),))), 1.4), _LEVER),
    "swept": (((("M", ((0, 0),)), ("Q", ((-3, -2), (-6, -1.6))), ("Q", ((-12, -1.4), (-19, -2.4)))), 1.4), _LEVER),
}  # fmt: skip


def _path(shape: _Shape, x: float, y: float) -> str:
    return " ".join(
        letter + " ".join(f"{x + across:.1f},{y + down:.1f}" for across, down in points) for letter, points in shape
    )


def _brakes(plan: BikePlan) -> list[svg.Element]:
    found: list[svg.Element] = []
    ends: tuple[tuple[Literal["front", "rear"], str | None, Point], ...] = (
        ("front", plan.of.front_brake, plan.frame.front), ("rear", plan.of.rear_brake, plan.frame.rear),
    )  # fmt: skip
    for end, brake, (x, y) in ends:
        inwards = -1 if end == "front" else 1
        if brake == "disc":
            found += [circle(x, y, _ROTOR, "none", GREY, 0.3, dashed=True),
                      run([(x + inwards * 3.2, y - 6.4), (x + inwards * 6.2, y - 3.6)], GREY, 1.8)]  # fmt: skip
        elif brake == "hub":
            found.append(circle(x, y, 3.2, "none", GREY, 0.9))
        elif brake == "rim":
            across, down = plan.rim_brake(end)
            found.append(run([(across - 2.2, down + 0.8), (across + 2.2, down - 0.8)], GREY, 1.8))
    return found


def _carried(plan: BikePlan) -> list[svg.Element]:
    found: list[svg.Element] = []
    for use, on in plan.of.carries:
        front = on == "fork" or (on or "").startswith("front")
        hub, radius = (plan.frame.front, plan.front_radius) if front else (plan.frame.rear, plan.rear_radius)
        if use == "mudguards":
            found += [
                _guard(plan.frame.rear, plan.rear_radius, 185, 300),
                _guard(plan.frame.front, plan.front_radius, 200, 310),
            ]
        elif use == "rack":
            level = hub[1] - radius - 4
            found.append(run([(hub[0] - 13, level), (hub[0] + (13 if not front else 8), level)], GREY, 0.9))
            found.append(run([(hub[0] - 7, level), hub, (hub[0] + 5, level)], GREY, 0.5))
        elif use in ("lamp-front", "lamp-rear"):
            found.append(_lamp(plan, use, on))
        elif use == "kickstand":
            foot = _between(plan.frame.crank, plan.frame.rear, 0.3)
            found.append(run([foot, (foot[0] - 7, GROUND)], GREY, 0.8))
    return found


def _guard(hub: Point, radius: float, start: float, end: float) -> svg.Element:
    """An arc round a wheel, in degrees clockwise from the right."""
    far = radius + 2.2
    points = [
        (hub[0] + far * math.cos(math.radians(turn)), hub[1] + far * math.sin(math.radians(turn)))
        for turn in (start, end)
    ]
    (x, y), (to_x, to_y) = points
    return curve(f"M{x:.1f},{y:.1f} A{far:.1f},{far:.1f} 0 0 1 {to_x:.1f},{to_y:.1f}", GREY, 0.9)


def _lamp(plan: BikePlan, use: str, on: str | None) -> svg.Element:
    frame = plan.frame
    if use == "lamp-rear":
        x, y = frame.rear[0] - plan.rear_radius * 0.75, frame.rear[1] - plan.rear_radius - 3
    elif on == "fork" or on == "frame":
        x, y = frame.fork_top[0] + 5, frame.fork_top[1] - 2
    else:
        x, y = frame.bar[0] + 4, frame.bar[1] + 4
    return run([(x - 1.3, y - 1.3), (x + 1.3, y - 1.3), (x + 1.3, y + 1.3), (x - 1.3, y + 1.3)], GREY, 0.5, closed=True)


def ground() -> svg.Element:
    """The floor that the bike stands on."""
    return run([(6, GROUND + 0.9), (168, GROUND + 0.9)], PALE, 0.4)
