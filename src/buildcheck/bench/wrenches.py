"""Which of the shop's torque wrenches covers a range, and what to set on it where an adapter makes it longer."""

from __future__ import annotations

from typing import NamedTuple

from buildcheck.model.sentences import NOTHING, Said, Value, Word, named, say
from buildcheck.model.standards import Standards
from buildcheck.model.workshop import Crowfoot, Fastener, Wrench
from buildcheck.trade.bolts import adapter_setting_nm

Ends = tuple[float | None, float | None]


class Setting(NamedTuple):
    """A wrench in words, what to set on it in N m where that is not the torque itself, and what has to be said."""

    wrench: Said = NOTHING
    set_nm: float | None = None
    cautions: tuple[Said, ...] = ()


class _Fit(NamedTuple):
    """How a wrench suits a range: the share that it covers, and how far its target lies off the middle of the scale."""

    wrench: Wrench
    factor: float
    covered: float
    off_middle: float

    @property
    def rank(self) -> tuple[float, float, str]:
        return -round(self.covered, 9), round(self.off_middle, 9), self.wrench.id


def setting_for(standards: Standards, row: Fastener, ends: Ends | None) -> Setting:
    """The shop's wrench for a fastener with this range in N m; none by hand, for an empty range or an unknown one.

    The target is the middle of the range; no wrench is named whose scale does not reach it.
    """
    known = [end for end in ends or () if end is not None]
    if row.by_hand or not known:
        return Setting()
    low, high = min(known), max(known)
    crowfoot = standards.crowfeet[row.crowfoot] if row.crowfoot is not None else None
    fits = [fit for wrench in standards.wrenches if (fit := _fit(wrench, crowfoot, low, high)) is not None]
    if not fits:
        return Setting(cautions=(_out_of_reach(low, high),))
    best = min(fits, key=lambda fit: fit.rank)
    cautions = []
    if best.covered < 1:
        text = "The {wrench} covers only a part of the range: its scale runs from {low} to {high} N·m."
        told: dict[str, Value] = {"low": best.wrench.low_nm, "high": best.wrench.high_nm}
        cautions.append(say(text, wrench=Word(best.wrench.what), **told))
    if crowfoot is None:
        return Setting(named(Word(best.wrench.what)), None, tuple(cautions))
    target = (low + high) / 2
    cautions.append(
        say(
            "Set for {target} N·m at the bolt with the {crowfoot} ({offset} mm) at {angle} degrees to the wrench "
            "({length} mm); across it changes nothing.",
            target=target, crowfoot=Word(crowfoot.what), offset=crowfoot.offset_mm, angle=crowfoot.angle_deg,
            length=best.wrench.length_mm,
        )
    )
    both = say("{wrench} with {crowfoot}", wrench=Word(best.wrench.what), crowfoot=Word(crowfoot.what))
    return Setting(both, round(target * best.factor, 1), tuple(cautions))


def _fit(wrench: Wrench, crowfoot: Crowfoot | None, low: float, high: float) -> _Fit | None:
    factor = 1.0
    if crowfoot is not None:
        factor = adapter_setting_nm(1.0, wrench.length_mm, crowfoot.offset_mm, crowfoot.angle_deg)
    low, high = low * factor, high * factor
    target = (low + high) / 2
    if not wrench.low_nm <= target <= wrench.high_nm:
        return None
    covered = 1.0
    if high > low:
        covered = (min(high, wrench.high_nm) - max(low, wrench.low_nm)) / (high - low)
    middle, span = (wrench.low_nm + wrench.high_nm) / 2, wrench.high_nm - wrench.low_nm
    return _Fit(wrench, factor, covered, abs(target - middle) / span)


def _out_of_reach(low: float, high: float) -> Said:
    if low == high:
        return say("No torque wrench of the shop reaches {low} N·m.", low=low)
    return say("No torque wrench of the shop reaches {low} to {high} N·m.", low=low, high=high)
