"""What is told of a part on this very bike: what was measured on it, and what was seen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from buildcheck.library.catalogue import Catalogue
from buildcheck.library.problems import InputError, Problem, did_you_mean
from buildcheck.library.rebuild import with_numbers
from buildcheck.library.records import fields_of, opening_problems, validated, with_neutral_words
from buildcheck.library.yaml_text import Document, Where
from buildcheck.model.bikes import Fitted, Spot
from buildcheck.model.parts import Part
from buildcheck.model.quantities import brief
from buildcheck.model.untold import with_unknowns


def measure(spot: Fitted, facts: Mapping[str, Any], catalogue: Catalogue, document: Document, path: Where) -> Fitted:
    """A fitted part with facts measured on this very bike. Raises InputError with the line of a bad one."""
    if not facts:
        return spot
    record = type(spot.part)
    known = fields_of(record).keys() - {"kind", "id"}  # these say which part it is
    kind = spot.part.kind
    problems = [
        Problem(document.key_place((*path, name)), f"a {kind} has no attribute {brief(name)} that could be measured"
                f"{did_you_mean(name, known)}", "meaning")
        for name in facts if name not in known
    ]  # fmt: skip
    if problems:
        raise InputError(problems)
    part = with_numbers(spot.part, facts) or _checked(spot.part, facts, catalogue, document, path)
    if not part.has_record():
        part = with_unknowns(part, frozenset(part.model_fields_set))
    where = {**spot.where, **{name: document.place((*path, name)).at_line for name in facts}}
    return replace(spot, part=part, measured=spot.measured | frozenset(facts), where=where)


def noted(spot: Fitted, record: Spot, catalogue: Catalogue, document: Document, path: Where) -> Fitted:
    """A fitted part with what was seen on it. Raises InputError with the line of a word that nobody knows."""
    if "condition" not in record.model_fields_set:
        return spot
    problems: list[Problem] = []
    place = (*path, "condition")
    if record.condition is None:
        text = "condition tells what was seen on this part; leave it out where nothing was noted"
        problems.append(Problem(document.place(place), text, "meaning"))
    seen = {"condition": record.condition}
    words = with_neutral_words(Spot, seen, catalogue.words, document, path, problems)["condition"]
    levels = catalogue.standards.kinds[spot.part.kind].seen.levels
    for word in [] if problems else [word for word in words if word not in levels]:
        text = f"nobody can see {word!r} on a {spot.part.kind}; expected of it: {', '.join(sorted(levels))}"
        problems.append(Problem(document.place(place), text, "meaning"))
    if problems:
        raise InputError(problems)
    where = {**spot.where, "condition": document.place(place).at_line}
    return replace(spot, condition=tuple(sorted(set(words))), where=where)


def _checked(part: Part, facts: Mapping[str, Any], catalogue: Catalogue, document: Document, path: Where) -> Part:
    """The part with other facts, through both stages. Raises InputError."""
    record = type(part)
    problems: list[Problem] = []
    plain = part.model_dump(mode="json", by_alias=True, exclude_unset=True)
    changed = validated(record, {**plain, **facts}, document, path)
    neutral = with_neutral_words(record, dict(facts), catalogue.words, document, path, problems)
    problems.extend(
        opening_problems(changed, document, path, catalogue.openings) if {"passages", "places"} & set(facts) else ()
    )
    if problems:
        raise InputError(problems)
    return record.model_validate({**plain, **neutral})
