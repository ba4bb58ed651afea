"""Small bikes made of a few parts, for tests that need no whole bike."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from buildcheck.fit.view import View
from buildcheck.model.bikes import Bike, Fitted
from buildcheck.model.parts import PART_KINDS, Part
from laws.bench import catalogue


def part(kind: str, **values: Any) -> Part:
    return PART_KINDS[kind].model_validate({"kind": kind, "id": f"own-{kind}", "maker": "Own", "name": kind, **values})


def fitted(position: str, of: Part, **more: Any) -> Fitted:
    return Fitted(position, more.pop("home", position), of, frozenset(more.pop("measured", ())), **more)


def view(spots: Iterable[Fitted]) -> View:
    return View(Bike("own", "own bike", "city", {spot.position: spot for spot in spots}), catalogue().standards)
