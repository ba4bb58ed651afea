"""The text of a bike file as it is begun: what it is like, and what matters for a change as lines to fill in."""

from __future__ import annotations

import json
import os
import re
import textwrap
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import NamedTuple

from buildcheck.library.folders import OUTLINE, bundled_names, is_bundled
from buildcheck.library.problems import FileLine, InputError, Problem, did_you_mean, shown

_WIDTH = 100


class Gap(NamedTuple):
    """A fact to fill in: where it goes, what it is in words, how it is measured; no attribute for the part itself."""

    position: str
    attribute: str | None
    title: str
    unit: str
    how: str


class Beginning(NamedTuple):
    """What a bike file begins with. `in_use`: it is ridden today."""

    like: str
    name: str
    use: str | None = None
    in_use: bool = True


def like_of(name: str, folder: Path, *, outline: bool = False) -> str:
    """What a file in a folder writes behind `like` for a bike, an outline or a file. Raises InputError."""
    option = "--outline" if outline else "--like"
    wanted = name if not outline or name.startswith(OUTLINE) else f"{OUTLINE}{name}"
    if is_bundled(wanted):
        return wanted
    if not outline and os.path.isfile(name):
        return Path(os.path.relpath(name, folder)).as_posix()
    known = [each for each in bundled_names() if each.startswith(OUTLINE) or not outline]
    names = [each.removeprefix(OUTLINE) if outline else each for each in known]
    what = "outline" if outline else "bike, outline or file"
    text = f"there is no {what} {shown(name)}{did_you_mean(name, names)}; there are {', '.join(names)}"
    raise InputError([Problem(FileLine(option, 1, 1), text, "meaning")])


def id_of(file: Path) -> str:
    """An id for the bike in a file, made from the file's name."""
    words = re.findall(r"[a-z0-9]+", file.name.removesuffix(file.suffix).casefold())
    return "-".join(words) or "my-bike"


def begun(beginning: Beginning, bike_id: str, day: str, asks: str = "", facts: Sequence[Gap] = ()) -> str:
    """The text of the file. `asks` is the command that puts the questions for the change that `facts` matter for."""
    lines = [
        f"# Begun on {day}. What is not said here is as on what it is like: say what you see or measure on this bike.",
        f"like: {_text(beginning.like)}",
        f"bike: {bike_id}",
        f"name: {_text(beginning.name)}",
    ]
    if beginning.use is not None:
        lines.append(f"use: {beginning.use}")
    if beginning.in_use:
        lines.append("in_use: true   # it is ridden today as it stands")
    else:
        lines.append("in_use: false   # it was never ridden as it stands")
    if facts:
        lines += ["", *_commented(asks, facts)]
    return "\n".join(lines) + "\n"


def _text(text: str) -> str:
    """A text as YAML has it: in quotes only where it needs them."""
    plain = re.fullmatch(r"[A-Za-z][\w ./,-]*[\w]", text) and text.casefold() not in ("null", "true", "false")
    return text if plain else json.dumps(text, ensure_ascii=False)


def _commented(asks: str, facts: Iterable[Gap]) -> Iterable[str]:
    """The facts as lines of a bike file, all of them comments. Without their first sign they are read."""
    yield "# This decides it. Fill in what you know and take off the sign before each line, or have it asked:"
    yield f"# {asks}"
    yield "# parts:"
    found: dict[str, list[Gap]] = {}
    for fact in facts:
        found.setdefault(fact.position, []).append(fact)
    for position, group in found.items():
        if group[0].attribute is None:
            yield f"#   # {group[0].title}. {group[0].how}"
            yield f"#   {position}: unknown"
            continue
        yield f"#   {position}:"
        yield "#     measured:"
        for fact in group:
            unit = f", in {fact.unit}" if fact.unit else ""
            for line in textwrap.wrap(f"{fact.title}{unit}. {fact.how}", _WIDTH, break_on_hyphens=False):
                yield f"#       # {line}"
            yield f"#       {fact.attribute}: unknown"
