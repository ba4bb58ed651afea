"""Which of the shop's torque wrenches covers a range, and what to set on it where an adapter makes it longer."""

from __future__ import annotations

from typing import NamedTuple

from buildcheck.model.standards import Standards
from buildcheck.model.workshop import Crowfoot, Fastener, Wrench
from buildcheck.trade.bolts import adapter_setting_nm

Ends = tuple[float | None, float | None]


class Setting(NamedTuple):
    """A wrench in words, what to set on it in N m where that is not the torque itself, and what has to be said."""

    wrench: str = ""
    set_nm: float | None = None
    cautions: tuple[str, ...] = ()


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
        return Setting(cautions=(f"No torque wrench of the shop reaches {_shown(low, high)}.",))
    best = min(fits, key=lambda fit: fit.rank)
    cautions = []
    if best.covered < 1:
        scale = f"{best.wrench.low_nm:g} to {best.wrench.high_nm:g} N·m"
        cautions.append(f"The {best.wrench.what} covers only a part of the range: its scale runs from {scale}.")
    if crowfoot is None:
        return Setting(best.wrench.what, None, tuple(cautions))
    target = (low + high) / 2
    cautions.append(
        f"Set for {target:g} N·m at the bolt with the {crowfoot.what} ({crowfoot.offset_mm:g} mm) at "
        f"{crowfoot.angle_deg:g} degrees to the wrench ({best.wrench.length_mm:g} mm); across it changes nothing."
    )
    return Setting(f"{best.wrench.what} with {crowfoot.what}", round(target * best.factor, 1), tuple(cautions))


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


def _shown(low: float, high: float) -> str:
    return f"{low:g} N·m" if low == high else f"{low:g} to {high:g} N·m"
