"""The wiring before and after: devices as a tree from where the power comes from, wires with their lengths."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import networkx as nx
import svg

from buildcheck.model.pictures import Device, Side, WireEdge, WiringTree
from buildcheck.report.drawings.canvas import (
    GREY,
    HEAD,
    INK,
    PALE,
    TEXT,
    WHITE,
    WIDTH,
    Drawing,
    Point,
    circle,
    line,
    rect,
    rows_of,
    run,
    sheet,
    wide,
    words,
)
from buildcheck.report.drawings.voice import Voice

# Of a leaf: its height. Of a device: half its size, the room for its name, the way to where its wires part.
_LEAF, _HALF, _NAME, _STEP, _BEND = 11.0, 2.3, 22.0, 32.0, 6.0
Places = dict[str, tuple[int, float]]


def wiring(before: Side | None, after: Side, voice: Voice) -> Drawing:
    """The electric systems, before the change and after it beside each other."""
    title = voice.tell("wiring-title")
    drawn: list[svg.Element] = [words(2, 4.5, title, HEAD, bold=True)]
    key, top = _key(voice, 9.5)
    drawn += key
    sides = [("before", before), ("after", after)] if before is not None else [("now", after)]
    width = (WIDTH - 4) / len(sides)
    bottoms, told = [top + 8], []
    for index, (when, side) in enumerate(sides):
        assert side is not None
        more, bottom = _panel(side.wiring, voice.tell(when), voice, 2 + index * (width + 2), width - 4, top + 6)
        drawn += more
        bottoms.append(bottom)
        told.append(f"{voice.tell(when)}: {_told(side.wiring, voice)}.")
    if len(sides) == 2:
        drawn.append(line((WIDTH / 2, top + 3), (WIDTH / 2, max(bottoms)), PALE))
    return sheet("wiring", title, voice.tell("wiring-alt", trees=" ".join(told)), max(bottoms) + 2, drawn)


def _panel(
    trees: Sequence[WiringTree], head: str, voice: Voice, left: float, width: float, top: float
) -> tuple[list[svg.Element], float]:
    drawn: list[svg.Element] = [words(left, top, head, TEXT + 0.2, bold=True)]
    if not trees:
        return [*drawn, words(left, top + 5, voice.tell("wiring-none"))], top + 8
    for tree in trees:
        drawn.append(words(left, top + 5, voice.tell("wiring-system", system=voice.word(tree.system)), colour=GREY))
        more, top = _tree(tree, voice, left, width, top + 8)
        drawn += more
    return drawn, top


def _tree(tree: WiringTree, voice: Voice, left: float, width: float, top: float) -> tuple[list[svg.Element], float]:
    """A tree from left to right: names of leaves stand beside them, those of branches below."""
    places, leaves = layout(tree)
    layers = max(layer for layer, _ in places.values())
    step = min(_STEP, (width - 7 - _NAME) / max(1, layers))
    spots = {name: (left + 6 + step * layer, top + _LEAF * row + 3) for name, (layer, row) in places.items()}
    drawn: list[svg.Element] = []
    for wire in tree.wires:
        drawn += _wire(wire, voice, sorted((spots[wire.start], spots[wire.end])))
    branches = {name for wire in tree.wires for name in (wire.start, wire.end) if _leads_on(tree, places, name)}
    for device in tree.devices:
        drawn += _device(
            device, voice, spots[device.position], device.position in branches, width - step * layers - 7 - 4
        )
    return drawn, top + _LEAF * leaves + 1


def _leads_on(tree: WiringTree, places: Places, name: str) -> bool:
    """Does a wire lead from this device to one further to the right?"""
    others = [wire.end if wire.start == name else wire.start for wire in tree.wires if name in (wire.start, wire.end)]
    return any(places[other][0] > places[name][0] for other in others)


def layout(tree: WiringTree) -> tuple[Places, int]:
    """The layer and the row of each device: a leaf has a row of its own, a branch the middle of its leaves.

    What is not connected stands below. Also returns the number of rows.
    """
    graph: nx.Graph[str] = nx.Graph([(wire.start, wire.end) for wire in tree.wires])
    graph.add_nodes_from(device.position for device in tree.devices)
    power = {device.position for device in tree.devices if device.power is not None}
    places: Places = {}
    row = 0
    for members in sorted(nx.connected_components(graph), key=lambda names: (-len(names), min(names))):
        root = min(members, key=lambda name: (name not in power, -graph.degree(name), name))
        branches: nx.DiGraph[str] = nx.bfs_tree(graph, root, sort_neighbors=sorted)
        row = _settle(branches, root, 0, row, places)
    return places, row


def _settle(branches: nx.DiGraph[str], name: str, layer: int, row: int, places: Places) -> int:
    """Give a device and what hangs on it their places from this row on; the next free row."""
    children = list(branches.successors(name))
    free = row
    for child in children:
        free = _settle(branches, child, layer + 1, free, places)
    middle = math.fsum(places[child][1] for child in (children[0], children[-1])) / 2 if children else float(row)
    places[name] = layer, middle
    return free if children else row + 1


def _wire(wire: WireEdge, voice: Voice, ends: Sequence[Point]) -> Iterator[svg.Element]:
    """A wire with its length over it; one that closes a ring, between two devices of a layer, is a dashed bow."""
    (x1, y1), (x2, y2) = ends
    text = voice.size(wire.length, unit=False)
    if x1 == x2:
        yield line((x1, y1), (x2, y2), INK, 0.35, dashed=True)
        yield words(x1 + 1, (y1 + y2) / 2 + 3, text)
        return
    bend = x1 + _BEND
    path = run([(x1, y1), (bend, y1), (bend, y2), (x2, y2)], INK, 0.35)
    path.data = {"wire": wire.wire}
    yield path
    yield words(x2 - 3.4, y2 - 0.9, text, TEXT, "end")


def _device(device: Device, voice: Voice, spot: Point, branch: bool, room: float) -> Iterator[svg.Element]:
    yield _shape(device, spot)
    x, y = spot
    if not device.part:
        yield words(x, y + 1, "?", TEXT, "middle")
    rows = rows_of(voice.position(device.position, device.row), 2 * _BEND if branch else room)
    for index, row in enumerate(rows):
        if branch:
            yield words(x - 1, y + _HALF + 2.8 + 2.9 * index, row, TEXT, "middle")
        else:
            yield words(x + 4, y + 0.95 + 2.9 * (index - (len(rows) - 1) / 2), row)


def _shape(device: Device, spot: Point) -> svg.Element:
    """A device by its kind: a circle gives power, a square joins, a triangle is worked by hand, the rest are boxes."""
    x, y = spot
    if not device.part:
        return rect(x - _HALF, y - _HALF, 2 * _HALF, 2 * _HALF, WHITE, INK, dashed=True)
    if device.power is not None:
        return circle(x, y, _HALF, INK)
    if device.kind == "junction":
        return rect(x - 1.6, y - 1.6, 3.2, 3.2, PALE, INK, 0.5)
    if device.kind == "lever":
        return run([(x - _HALF, y + _HALF - 0.4), (x + _HALF, y + _HALF - 0.4), (x, y - _HALF)], INK, 0.4, closed=True)
    return rect(x - 3, y - _HALF + 0.3, 6, 2 * _HALF - 0.6, WHITE, INK, 0.4)


def _key(voice: Voice, top: float) -> tuple[list[svg.Element], float]:
    samples = {
        "battery": Device("", "", "x", "battery", "battery"),
        "junction": Device("", "", "x", "junction"),
        "lever": Device("", "", "x", "lever"),
        "device": Device("", "", "x", ""),
        "missing": Device("", "", "", ""),
    }
    drawn, x = list[svg.Element](), 5.5
    for name, device in samples.items():
        text = voice.tell(f"wiring-{name}")
        if x + 5 + wide(text) > WIDTH:
            x, top = 5.5, top + 5.2
        drawn += [_shape(device, (x, top - 1)), words(x + 4.6, top, text)]
        x += 10 + wide(text)
    return [*drawn, words(2, top + 5, voice.tell("wiring-unit"), colour=GREY)], top + 5


def _told(trees: Sequence[WiringTree], voice: Voice) -> str:
    return ". ".join(_told_tree(tree, voice) for tree in trees) or voice.tell("wiring-none")


def _told_tree(tree: WiringTree, voice: Voice) -> str:
    names = {device.position: voice.position(device.position, device.row) for device in tree.devices}
    edges = [
        voice.tell(
            "wiring-edge", wire=voice.position(wire.wire, "wire"), start=names[wire.start], end=names[wire.end],
            length=voice.size(wire.length),
        )
        for wire in tree.wires
    ]  # fmt: skip
    wired = {end for wire in tree.wires for end in (wire.start, wire.end)}
    alone = [name for position, name in names.items() if position not in wired]
    told = [*edges, *([voice.tell("wiring-alone", devices=", ".join(alone))] if alone else [])]
    return f"{voice.tell('wiring-system', system=voice.word(tree.system))}: {'; '.join(told)}"
