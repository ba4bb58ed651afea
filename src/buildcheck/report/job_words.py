"""What the text and the page of a job card both tell, in the words of their reader."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.model.job import JobCard
from buildcheck.model.levels import Since, Verdict
from buildcheck.model.report import ChangeItem, Outcome
from buildcheck.model.sentences import Said
from buildcheck.model.texts import Audience, Texts

_SAFETY = ("safety-first-ride", "safety-check-again", "safety-stop-riding")


def outcome_of(card: JobCard, texts: Texts, audience: Audience) -> str:
    """What comes of the job. It is the verdict, unless the request is impossible, or needs more than was asked for."""
    if card.verdict is Verdict.BLOCKED:
        return texts.outcome("impossible" if card.search is Outcome.IMPOSSIBLE else "no-way-found", audience)
    if card.remedy is None or card.verdict is Verdict.UNDECIDED:
        return texts.verdict(card.verdict, audience)
    asked = {item.position for item in card.change}
    more = any(part.id is not None and part.position not in asked for part in card.parts)
    return texts.outcome("with-parts" if more else "with-less", audience)


def asked_for(item: ChangeItem, card: JobCard, texts: Texts, audience: Audience) -> str:
    """One thing that the customer asked for, in words."""
    at = texts.position(item.position, audience)
    if item.take_off:
        return texts.label("request-take-off", position=at)
    named = next((part.name for part in card.parts if part.position == item.position), item.fit or item.renew or "")
    part, where = texts.told(named) if isinstance(named, Said) else named, _where(item, texts, audience)
    if item.renew is not None:
        return texts.label("request-renew", position=at, part=part)
    if item.fit is None:
        return texts.label("request-move", position=at, where=where)
    told = texts.label("request-fit", position=at, part=part)
    return texts.label("request-where", request=told, where=where) if where else told


def _where(item: ChangeItem, texts: Texts, audience: Audience) -> str:
    words = [texts.label(f"where-{key}", name=texts.position(name, audience)) for key, name in item.where.items()
             if key != "place"]  # fmt: skip
    return ", ".join([*words, *([texts.label("where-place", name=texts.word(item.place))] if item.place else [])])


def risks_told(card: JobCard, texts: Texts, audience: Audience) -> Iterator[str]:
    """Every caution for the mechanic; for the customer those that concern the rider, in plain words."""
    if audience == "mechanic":
        for risk in card.risks:
            told = texts.told(risk.message)
            yield told if risk.since is Since.CHANGE else texts.label("risk-before", risk=told)
        return
    places: dict[tuple[str, Since], list[str]] = {}
    for risk in card.risks:
        if risk.rider:
            places.setdefault((risk.name, risk.since), []).append(texts.position(risk.positions[0], audience))
    for (name, since), at in places.items():
        where = ", ".join(dict.fromkeys(at))
        told = texts.label("risk-at", places=where[:1].upper() + where[1:], risk=texts.risk(name))
        yield told if since is Since.CHANGE else texts.label("risk-before-customer", risk=told)


def safety_of(card: JobCard) -> list[str]:
    """The sentences for the rider, by their labels: on the bike as it stands, and on what is done to it."""
    unsafe = card.verdict is Verdict.BLOCKED and card.stands is Verdict.BLOCKED
    braking = any(part.position.endswith(("-pads", "-rotor", "-caliper")) for part in card.parts)
    done = [*_SAFETY, *(["safety-new-brakes"] if braking else [])] if card.steps else []
    return [*(["safety-not-ridden"] if unsafe else []), *done]
