"""Law 7: the same part new is as an equal one from the shelf, and a clean one new makes nothing worse."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from buildcheck.model.bikes import Bike, Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Verdict
from buildcheck.model.parts import PART_KINDS
from buildcheck.model.pieces import OF_THE_PIECE, new_piece, of_the_piece
from buildcheck.model.report import Work
from laws.bench import BIKES, bike, blocking, catalogue, findings_of, verdict, vetting
from laws.test_work import work_of

WORSE = (Verdict.BLOCKED, Verdict.UNDECIDED)


@st.composite
def spots(draw: st.DrawFn) -> tuple[Bike, str]:
    of = bike(draw(st.sampled_from(BIKES)))
    return of, draw(st.sampled_from(sorted(spot.position for spot in of.main_spots())))


def seen(of: Bike, position: str, *words: str) -> Bike:
    """The bike with something seen on a part."""
    fitted = {
        name: replace(spot, condition=words) if spot.home == position else spot for name, spot in of.fitted.items()
    }
    return of.with_fitted(fitted)


def told(findings: tuple[Finding, ...], name: str, other: str) -> list[tuple[str, Level, str, tuple[str, ...]]]:
    """The findings, one name of a part put for the other."""
    return sorted(
        (each.name, each.level, str(each.message).replace(name, other), each.positions) for each in findings
    )  # fmt: skip


@given(spots())
def test_the_same_part_new_is_as_its_like_from_the_shelf(spot: tuple[Bike, str]) -> None:
    of, position = spot
    there = of[position]
    sold = catalogue().part(there.part.id) if there.part.id in catalogue() else None
    twin = new_piece(there.part, there.measured, sold).model_copy(update={"id": "twin"})
    other = replace(of, own_parts={**of.own_parts, "twin": (twin, dict(there.where))})
    renewed, fitted = Change(renew=(position,)), Change((("twin", position),))
    ours, theirs = findings_of(of, renewed), findings_of(other, fitted)
    # what was read off the neighbours of the old part is known of the same sort, and of no other
    if not any(key[0] == position for key in vetting(of).inferred):
        assert told(ours, "", "") == told(theirs, "", "")
    assert [unit.id for unit in work_of(of, renewed, findings=False).operations] == [
        unit.id for unit in work_of(other, fitted, findings=False).operations
    ]


@given(spots())
def test_a_clean_part_new_makes_nothing_worse(spot: tuple[Bike, str]) -> None:
    """But for what is sold in another length: a steerer and a chain are cut, and no chain grows."""
    of, position = spot
    change = Change(renew=(position,))
    assert blocking(findings_of(of, change)) <= blocking(findings_of(of))
    assert verdict(of, change) not in WORSE
    assert work_of(of, change) != Work()


@given(spots(), st.sampled_from(["worn", "cracked", "contaminated", "bent", "corroded", "seized"]))
def test_what_was_seen_on_the_old_part_is_gone_with_it(spot: tuple[Bike, str], word: str) -> None:
    of, position = spot
    clean, dirty = findings_of(of, Change(renew=(position,))), findings_of(
        seen(of, position, word), Change(renew=(position,))
    )  # fmt: skip
    stuck = [each for each in dirty if each.name == "part-stuck"]  # it has to come off first
    assert told(clean, "", "") == told(tuple(each for each in dirty if each not in stuck), "", "")


@given(spots())
def test_new_twice_is_new_once(spot: tuple[Bike, str]) -> None:
    of, position = spot
    assert findings_of(of, Change(renew=(position, position))) == findings_of(of, Change(renew=(position,)))


def test_what_belongs_to_a_piece_is_an_attribute_of_its_kind() -> None:
    for kind, names in OF_THE_PIECE.items():
        assert names <= PART_KINDS[kind].model_fields.keys()
        assert of_the_piece(kind) == names
    assert not of_the_piece("saddle")
