"""Laws 1 and 10: what holds of a half-told bike holds of the whole one, whatever is where nobody told what is there.

Positions of a bundled bike are made untold: a part loses its record, or nobody knows whether anything is there. What is
decided then is what is decided of the bike with all that is told.
"""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, note
from hypothesis import strategies as st

from buildcheck.library.bikes import bike_from
from buildcheck.library.folders import bundled_bike
from buildcheck.library.yaml_text import read_document, read_file
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.levels import Verdict
from buildcheck.vetting import Vetting, verdict_of
from laws.bench import BIKES, NOTHING, catalogue, usual_vetting, vetting

_LAID = ("on", "place", "from", "to")
FITS = (Verdict.FITS, Verdict.FITS_WITH_EXTRA_WORK)


def _verdict(of: Vetting, change: Change) -> Verdict:
    return verdict_of(of.findings(change), changed=change != NOTHING)


@st.composite
def changes(draw: st.DrawFn, bike: Bike) -> Change:
    """Nothing, a part less, or any part of the catalogue in place of another."""
    position = draw(st.sampled_from([spot.position for spot in bike.main_spots()]))
    row = catalogue().standards.position(position)
    assert row is not None
    parts = [part.id for part in catalogue().of_kinds(row.kinds)]
    fits = st.sampled_from(parts).map(lambda part: Change(((part, position),)))
    return draw(st.one_of(fits, fits, fits, st.just(Change((), (position,))), st.just(NOTHING)))


@st.composite
def half_told(draw: st.DrawFn, name: str, change: Change) -> dict[str, Any]:
    """The file of a bundled bike, of which some positions are no longer told; more of them around the change."""
    said: Any = read_file(bundled_bike(name)).value
    parts = dict(said["parts"])
    bearing = {entry["on"] for entry in parts.values() if "on" in entry}
    met = {
        side.position for joint in usual_vetting(name).before.joints for side in (joint.a, joint.b)
        if any(at in (joint.a.position, joint.b.position) for _, at in change.fit)
    }  # fmt: skip
    near = sorted(met & parts.keys())
    far = st.sets(st.sampled_from(sorted(parts)), min_size=1, max_size=8)
    dropped = draw(st.one_of(st.sets(st.sampled_from(near), min_size=1, max_size=2), far) if near else far)
    for position in sorted(dropped):
        if position in bearing or draw(st.booleans()):
            kind = catalogue().kind_of(parts[position]["part"])
            parts[position] = {"kind": kind, **{key: parts[position][key] for key in _LAID if key in parts[position]}}
        elif not ("on" in parts[position] and any(position == at for _, at in change.fit)):
            parts[position] = "unknown"  # but not what says where the part that is asked for goes
    return {**said, "parts": parts}


@pytest.mark.parametrize("name", BIKES)
@given(data=st.data())
def test_what_is_decided_of_a_half_told_bike_is_so_of_the_whole_one(name: str, data: st.DataObject) -> None:
    whole = usual_vetting(name)
    change = data.draw(changes(whole.bike), label="change")
    said = data.draw(half_told(name, change), label="half told")
    half = vetting(bike_from(read_document(json.dumps(said), "half.yaml"), catalogue()))
    told = _verdict(half, change)
    note(f"told: {[(f.level, f.name, f.positions) for f in half.findings(change)]}")
    if told is Verdict.BLOCKED:
        assert _verdict(whole, change) is Verdict.BLOCKED
    elif told in FITS:
        assert _verdict(whole, change) in FITS


def test_a_bike_of_which_nothing_is_told_is_undecided() -> None:
    text = "bike: nothing\nname: Nothing\nuse: city\nparts: {}\n"
    bare = vetting(bike_from(read_document(text, "bare.yaml"), catalogue()))
    assert bare.check().verdict is Verdict.UNDECIDED


def test_a_bike_that_is_told_whole_asks_for_no_filling() -> None:
    assert all(not usual_vetting(name).fillings for name in BIKES)
