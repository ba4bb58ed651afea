"""What the standards say of which parts go where, of what carries them, and of the ends of a line."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from buildcheck.library.problems import did_you_mean
from buildcheck.model.bikes import Fitted
from buildcheck.model.quantities import brief
from buildcheck.model.standards import PositionRow, Standards


def wrong_kind(part_id: str, kind: str, row: PositionRow, standards: Standards) -> str:
    """What to say of a part at a position that takes other kinds: what goes there, and where this one goes."""
    places = [other.id for other in standards.positions.values() if kind in other.kinds]
    return (
        f"{part_id!r} is of the kind {kind}; the position {row.id!r} takes {' or '.join(row.kinds)}. "
        f"Parts of the kind {kind} go to {' or '.join(places) or 'no position of these standards'}"
    )


def may_carry(spot: Fitted, carrier: str | None, standards: Standards) -> bool:
    """May this part be mounted on the part at that position?

    On what its row names; a thing with a mount, or of a row that names nothing and takes many, on anything but
    a line. In the stack a spacer stands on anything, and what comes above spacers stands on a spacer too.
    """
    row, on = standards.position(spot.position), standards.position(carrier or "")
    if row is None or on is None or row.line or on.line:
        return False
    if spot.part.mounts or (row.many and not row.on):
        return True
    if on.id in row.on or (row.many and on.id == row.id):
        return True
    order = list(standards.positions)
    above = on.many and order.index(on.id) < order.index(row.id)
    return row.stacked and on.stacked and (row.many or above)


def carriers(spot: Fitted, fitted: Mapping[str, Fitted], standards: Standards) -> list[str]:
    """The filled positions that may carry a part."""
    return [name for name in fitted if name != spot.position and may_carry(spot, name, standards)]


def beside_the_stack(spot: Fitted, fitted: Mapping[str, Fitted], standards: Standards) -> list[str]:
    """What stands in the stack beside a part that goes on the stack but is said to stand on something else."""
    row, on = standards.position(spot.position), standards.position(spot.on or "")
    if row is None or on is None or on.stacked or not _goes_on_the_stack(spot.position, standards):
        return []
    return [
        name for name in fitted
        if _goes_on_the_stack(name, standards) and not _stands_on(name, spot.position, fitted)
    ]  # fmt: skip


def _goes_on_the_stack(position: str, standards: Standards) -> bool:
    """Does a part here stand on other parts of the stack? The bearing at its foot does not."""
    row = standards.position(position)
    supports = [standards.positions[name] for name in row.on] if row is not None and row.stacked else []
    return any(support.stacked for support in supports)


def _stands_on(name: str | None, below: str, fitted: Mapping[str, Fitted]) -> bool:
    """Is one part the other, or somewhere above it?"""
    seen: set[str] = set()
    while name is not None and name != below and name in fitted and name not in seen:
        seen.add(name)
        name = fitted[name].on
    return name == below


def unfit_ends(spot: Fitted, standards: Standards) -> Iterator[tuple[str, str]]:
    """The ends of a line, `from` or `to`, that are at a position where no such line ends, and what to say of it."""
    row = standards.position(spot.position)
    for key, name in (("from", spot.start), ("to", spot.end)):
        end = standards.position(name or "")
        if row is None or name is None or end is None:
            continue
        if end.line:
            yield key, f"{spot.position!r} cannot run {key} {brief(name)}, which is a line itself"
        allowed = [known for key_, names in row.ends.items() if key_ == key for known in names]
        if allowed and end.id not in allowed:
            hint = did_you_mean(name, allowed)
            yield key, f"{spot.position!r} runs {key} {' or '.join(allowed)}, not {key} {brief(name)}{hint}"
